"""Sheets as stream functions: closed forms against quadrature, a square against a disc, and branches."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from polepiece.coil import Plate, Racetrack, sheets
from polepiece.coil import _sheet_kernels as kernels
from polepiece.coil.branches import branches
from polepiece.coil.induction import sheet_potentials
from polepiece.coil.plates import SheetMesh
from polepiece.coil.sheets import Sheets
from polepiece.coil.winding import Loops, loop_potential
from polepiece.errors import InputError
from polepiece.geometry import Assembly, Section, SteelBar, SteelRod, cut
from polepiece.magnetics import Elements
from tests.reference.axisymmetric import Disc, inductance
from tests.reference.circles import RoundWinding

X, Y = np.array([0.0, 1.0, 1.7, 3.0]), np.array([-1.0, 0.0, 0.5, 2.0, 2.2])


def lines(grid: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    gauss, weight = np.polynomial.legendre.leggauss(40)
    half, middle = 0.5 * np.diff(grid), 0.5 * (grid[1:] + grid[:-1])
    return (middle[:, None] + half[:, None] * gauss).ravel(), (half[:, None] * weight).ravel()


def hat(t: np.ndarray, grid: np.ndarray, k: int) -> tuple[np.ndarray, np.ndarray]:
    nodes = np.eye(len(grid))[k]
    cell = np.clip(np.searchsorted(grid, t) - 1, 0, len(grid) - 2)
    return np.interp(t, grid, nodes), (np.diff(nodes) / np.diff(grid))[cell]


@pytest.mark.parametrize("node", [(0, 0), (1, 2), (3, 4), (3, 1), (2, 0)])
@pytest.mark.parametrize("point", [(0.3, 0.4, 0.6), (1.2, 1.9, -0.5), (5.0, 4.0, 2.0)])
def test_potentials_are_those_of_quadrature(node: tuple[int, int], point: tuple[float, float, float]) -> None:
    at = np.array([point])
    (x, wx), (y, wy) = lines(X), lines(Y)
    r = np.sqrt((x[:, None] - point[0]) ** 2 + (y[None] - point[1]) ** 2 + point[2] ** 2)
    (fx, dx), (fy, dy) = hat(x, X, node[0]), hat(y, Y, node[1])
    weight = np.outer(wx, wy) / (4.0 * math.pi)
    psi = (np.outer(fx, fy) * point[2] / r**3 * weight).sum()
    along_x, along_y = (np.outer(fx, dy) / r * weight).sum(), -(np.outer(dx, fy) / r * weight).sum()
    # Gauss's rule of 40 points a cell is exact to rounding half a cell away
    assert kernels.potentials(at, X, Y)[0][node] == pytest.approx(psi, rel=1e-9, abs=1e-12)
    found = kernels.vectors(at, X, Y)[0]
    assert (found[0][node], found[1][node]) == pytest.approx((along_x, along_y), rel=1e-9, abs=1e-12)


def plate(**more: object) -> Plate:
    sizes = {"x_min": -9e-3, "x_max": 9e-3, "y_min": -12e-3, "y_max": 12e-3, "z": 1e-3, "thickness": 5e-4}
    return Plate(**{**sizes, "resistivity": 2.9e-7, **more})  # type: ignore[arg-type]


def test_far_away_a_node_is_a_dipole_of_its_integral() -> None:
    sheets = Sheets.of((plate(holes=((0.0, 0.0, 3e-3),)),), mirrored=False)
    far = np.array([[0.3, 0.1, 0.5]])
    mesh = sheets.meshes[0]
    top = mesh.faces[0]
    weights = [np.convolve(np.diff(g), [0.5, 0.5], "full") for g in (top.first, top.second)]
    moment = np.zeros(len(mesh.position))
    np.add.at(moment, top.nodes.ravel(), np.outer(*weights).ravel())
    r = far[0] - mesh.position
    expected = (moment * r[:, 2] / (4.0 * math.pi * np.linalg.norm(r, axis=1) ** 3)) @ sheets.shape
    np.testing.assert_allclose(
        sheets.potential(far)[0], expected, rtol=3e-3, atol=1e-8
    )  # a graded hat's middle is up to 1 mm off its node: over 0.6 m


def test_a_grown_rim_is_a_wire() -> None:
    """psi = 1 up to a narrow rim is one ampere along the rim."""
    one = plate(cell=3e-3, fine=3e-3)
    sheets = Sheets.of((one,), mirrored=False)
    inner = np.array([abs(p[0]) < 8.9e-3 and abs(p[1]) < 11.9e-3 for p in sheets.meshes[0].position])
    lowest = np.linalg.lstsq(sheets.shape.toarray(), inner.astype(float), rcond=None)[0]
    points = np.array([[2e-3, 3e-3, 40e-3]])
    x, y = (np.unique(abs(sheets.meshes[0].position[:, k]))[-2:].mean() for k in (0, 1))
    one_of = {"x": 0.0, "y": 0.0, "z": 1e-3, "half_x": x, "half_y": y, "turns": 1.0}
    wire = Loops(**{name: np.array([value]) for name, value in one_of.items()})
    # the current is spread over the last cell: second order in its width over the distance
    assert float(sheets.potential(points)[0] @ lowest) == pytest.approx(
        float(loop_potential(points, wire)[0]), rel=0.01
    )


@pytest.mark.parametrize("hertz", [300.0, 3000.0, 20e3])
def test_a_square_sheet_is_nearly_a_round_one(hertz: float) -> None:
    """A square coil over a square sheet against a round coil over a round disc of the same areas: shape is worth 6 %."""  # noqa: E501
    round_of = 2.0 / math.sqrt(math.pi)
    coil = Racetrack(
        inner_half_x=4e-3, inner_half_y=4e-3, outer_half_x=9e-3, outer_half_y=9e-3, bottom=3e-3, top=9e-3, turns=1.0
    )
    one = Plate(x_min=-20e-3, x_max=20e-3, y_min=-20e-3, y_max=20e-3, z=0.0, thickness=5e-4, resistivity=2.9e-7)
    sheets = Sheets.of((one,), mirrored=True)
    mutual = sheets.linked(Loops.gauss(coil))
    jw = 2j * math.pi * hertz
    change = mutual @ np.linalg.solve(sheets.resistance + jw * sheets.inductance, -jw * mutual)
    winding = RoundWinding(inner_radius=4e-3 * round_of, outer_radius=9e-3 * round_of, bottom=3e-3, top=9e-3, turns=1.0)
    disc = Disc(outer_radius=20e-3 * round_of, thickness=0.5e-3, z=0.0, resistivity=2.9e-7)
    bare, with_disc = inductance(winding, (), (), [hertz])[0], inductance(winding, (), (disc,), [hertz])[0]
    assert abs(change - (with_disc - bare)) < 0.06 * abs(with_disc - bare)
    assert change.imag < 0.0  # the sheet only takes power


def test_parities_do_not_see_each_other_and_make_up_the_whole() -> None:
    both = Sheets.of((plate(skirt=4e-3),), mirrored=False)
    even = Sheets.of((plate(skirt=4e-3),), mirrored=True)
    first, second = both.blocks
    assert abs(both.inductance[first, second]).max() < 1e-9 * abs(both.inductance).max()  # rounding
    np.testing.assert_allclose(both.inductance[first, first], even.inductance, rtol=1e-9, atol=1e-20)
    assert both.unknowns == both.meshes[0].unknowns and first.stop == even.unknowns


def test_a_hole_has_one_value_and_its_own_square() -> None:
    mesh = SheetMesh.of(plate(holes=((4e-3, 5e-3, 2e-3),)))
    top = abs(mesh.position[:, :2] - [4e-3, 5e-3]).max(axis=1) < 1.6947e-3
    assert len(set(mesh.unknown[top])) == 1 and top.sum() >= 4
    with pytest.raises(InputError, match="does not lie inside"):
        plate(holes=((8.5e-3, 0.0, 2e-3),))


# --- branches ------------------------------------------------------------------------------------------
def poles(keeper: bool) -> Assembly:
    section = (Section(bottom=-6e-3, top=14e-3, radius=1.5e-3),)
    through = (0.0, 3e-3) if keeper else None
    rods = tuple(SteelRod(part="screws", x=0.0, y=y, sections=section, through=through) for y in (-5e-3, 5e-3))
    holes = tuple((0.0, y, 1.5e-3) for y in (-5e-3, 5e-3))
    bar = SteelBar(part="keeper", x_min=-3e-3, x_max=3e-3, y_min=-9e-3, y_max=9e-3, z_min=0.0, z_max=3e-3, holes=holes)
    return Assembly(rods=rods, bars=(bar,) if keeper else ())


@pytest.mark.parametrize(("z", "sign", "free"), [(12e-3, -1.0, "above"), (-1.5e-3, 1.0, "below")])
def test_the_cut_lies_where_a_screw_in_a_keeper_ends_freely(z: float, sign: float, free: str) -> None:
    mesh = cut(poles(keeper=True))
    (found,) = branches(mesh, [plate(z=z)])
    height = mesh.node_position[:, 2]
    beyond = (height > z) if free == "above" else (height < z)
    side = found.side(np.arange(mesh.nodes), height)
    np.testing.assert_array_equal(side, np.where(beyond, sign, 0.0))


def test_an_element_takes_the_branch_of_its_own_side_of_the_sheet() -> None:
    """A screw's head in slices: the ring under it lies below the sheet, the middle of the same slice above it."""
    head = (Section(bottom=-6e-3, top=12.4e-3, radius=1.5e-3), Section(bottom=12.4e-3, top=14e-3, radius=2.5e-3))
    mesh = cut(Assembly(rods=(SteelRod(part="screws", x=0.0, y=0.0, sections=head),)))
    sheet = Sheets.of((plate(z=12.6e-3, holes=((0.0, 0.0, 3e-3),)),), mirrored=mesh.mirrored)
    place, jump = Elements.of(mesh).position, sheet.jump(0, 0.0, 0.0)
    beyond = place[:, 2] > 12.6e-3
    node = mesh.node_position[np.concatenate([mesh.panel_node, mesh.cell_node]), 2]
    assert (beyond != (node > 12.6e-3)).any()
    ours = sheet_potentials(mesh, place, sheet) - sheet.potential(place)
    np.testing.assert_allclose(ours, np.where(beyond[:, None], -jump, 0.0), atol=1e-12 * np.abs(jump).max())


def test_what_pierces_nothing_has_no_branch() -> None:
    mesh = cut(poles(keeper=True))
    assert not list(branches(mesh, [plate(z=15e-3), plate(z=-7e-3)]))
    assert not list(branches(mesh, [plate(z=12e-3, x_min=3e-3)]))  # beside the poles


def test_every_body_may_take_any_branch_as_a_whole() -> None:
    """A free rod has no net charge: what is added to all of its nodes alike changes nothing."""
    from polepiece.coil import alternating, solve_alternating, winding_set
    from polepiece.magnetics import factorise

    coil = Racetrack(
        inner_half_x=2e-3, inner_half_y=8e-3, outer_half_x=5e-3, outer_half_y=11e-3, bottom=4e-3, top=10e-3, turns=1.0
    )
    mesh = cut(poles(keeper=False))
    sheet = plate(z=12e-3, holes=((0.0, 5e-3, 2e-3), (0.0, -5e-3, 2e-3)))
    one = winding_set(mesh, (coil,), (sheet,))
    node_of = np.concatenate([mesh.panel_node, mesh.cell_node])
    assert one.sheets is not None
    body = np.ones((len(node_of), 1)) * np.concatenate([[0.0], one.sheets.jump(0, 0.0, 5e-3)])
    found = []
    for sources in (one.sources, one.sources + body):
        factors = factorise(mesh, sources)
        system = alternating(factors, one)
        mu = np.full((len(system.edges), 1), 300.0 + 0j)
        ones = np.ones(1, dtype=complex)
        found.append(
            solve_alternating(system, np.array([3e3]), steel=mu, magnet_flat=ones, magnet_up=ones).inductance[0, 0, 0]
        )
    assert found[0] == pytest.approx(found[1], rel=1e-9)


def test_what_sheets_are_to_each_other_is_kept_on_disk_by_their_meshes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("POLEPIECE_CACHE", str(tmp_path))
    one, other = plate(), plate(z=3e-3)
    made = Sheets._made((one, other), False, False)
    monkeypatch.setattr(sheets, "_inductance", lambda meshes: pytest.fail("integrated once more"))
    again = Sheets._made((replace(one, resistivity=2.0 * one.resistivity), other), False, False)
    assert np.array_equal(again.inductance, made.inductance)
    assert np.abs(again.resistance).sum() > 1.1 * np.abs(made.resistance).sum()  # of the material, not kept
    with pytest.raises(pytest.fail.Exception):  # nearer to each other: another mesh
        Sheets._made((one, plate(z=2e-3)), False, False)
