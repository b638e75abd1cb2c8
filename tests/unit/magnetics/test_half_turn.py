"""A pickup that is its own image under a half turn, solved by parities, is the same pickup solved whole."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.coil import Racetrack, alternating, solve_alternating, winding_set
from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Mesh, Resolution, SteelBar, SteelRod, cut
from polepiece.geometry.shapes import Section
from polepiece.magnetics import Elements, Factors, MagnetLaw, core, factorise, forget_core, solve_state
from polepiece.magnetics.folding import fold
from polepiece.magnetics.half_turn import HalfTurn, in_parts
from polepiece.magnetics.match import node_of
from polepiece.magnetics.pairs import Pairs
from polepiece.materials import LinearSteel, catalogue

COARSE = Resolution(sectors=6, slice_height=4e-3, cap_rings=1, rod_layers=4, rod_rings=2, rod_sectors=6)
ROUNDING = 1e-10  # share of the largest: the same sums in another order, through matrices of condition 1e4
SLOPED = np.array([0, 2])
LAWS = {"magnet": MagnetLaw(curve=catalogue.magnet("alnico-5").curve, recoil_permeability=3.7, charge=1.0)}
STEEL = {part: LinearSteel(permeability=300.0) for part in ("slugs", "cover")}


def rod(x: float, y: float, sign: float, top: float = 15e-3) -> MagnetRod:
    return MagnetRod(part="magnet", x=x, y=y, radius=2.4e-3, bottom=0.0, top=top, sign=sign)


def slug(x: float, y: float) -> SteelRod:
    return SteelRod(part="slugs", x=x, y=y, sections=(Section(bottom=0.0, top=12e-3, radius=2e-3),))


HALVES = Assembly(
    magnets=(rod(8e-3, 5e-3, 1.0), rod(-8e-3, -5e-3, -1.0)),
    rods=(slug(8e-3, 12e-3), slug(-8e-3, -12e-3)),
)
WITH_A_ROD_ON_THE_AXIS = Assembly(magnets=(*HALVES.magnets, rod(0.0, 0.0, 1.0, top=9e-3)), rods=HALVES.rods)
TWO_ROWS = Assembly(  # the same across y = 0: half of it is cut; an odd number of cells lies across the bar
    magnets=(
        MagnetBox(part="magnet", x_min=-5e-3, x_max=5e-3, y_min=-14e-3, y_max=14e-3, z_min=0.0, z_max=3e-3, easy=0),
    ),
    rods=tuple(slug(x, y) for x in (8e-3, -8e-3) for y in (5e-3, -5e-3)),
)
ODD_ROW = Assembly(  # unlike to either side of x = 0, and a pole on y = 0: nothing but its image in y is itself
    magnets=TWO_ROWS.magnets, rods=tuple(slug(8e-3, y) for y in (-10e-3, 0.0, 10e-3))
)
UNDER_A_SHEET = Assembly(  # some nodes of the sheet have no panels: those of the rods' ends are their neighbours'
    magnets=HALVES.magnets,
    bars=(
        SteelBar(
            part="cover", x_min=-13e-3, x_max=13e-3, y_min=-12e-3, y_max=12e-3, z_min=15.5e-3, z_max=15.9e-3,
            role="sheet",
        ),
    ),
)  # fmt: skip
COILS = tuple(
    Racetrack(
        x=side * 8e-3, y=side * 8e-3, inner_half_x=3e-3, inner_half_y=7e-3, outer_half_x=6e-3, outer_half_y=10e-3,
        bottom=3e-3, top=10e-3, turns=1.0,
    )
    for side in (1.0, -1.0)
)  # fmt: skip


def solved(mesh: Mesh, *, to: float = 12e-3) -> Factors:
    x = np.linspace(-12e-3, to, 7)
    probes = np.array([[(u, y, 18e-3) for u in x] for y in (5e-3, 1e-3, -6e-3)])
    return factorise(mesh, winding_set(mesh, COILS).sources, probes, SLOPED)


def apart(found: np.ndarray, known: np.ndarray) -> float:
    assert found.shape == known.shape and np.abs(known).max() > 0.0
    return float(np.abs(found - known).max() / np.abs(known).max())


@pytest.mark.parametrize(
    ("shapes", "to"),
    [
        pytest.param(HALVES, 12e-3, id="two halves"),
        pytest.param(WITH_A_ROD_ON_THE_AXIS, 12e-3, id="a rod on the axis"),
        pytest.param(ODD_ROW, 12e-3, id="an odd row"),
        pytest.param(TWO_ROWS, 12e-3, id="two rows"),
        pytest.param(UNDER_A_SHEET, 12e-3, id="under a sheet"),
        pytest.param(TWO_ROWS, 11e-3, id="two rows, strings that are not their own image"),
    ],
)
def test_both_parities_are_the_whole(shapes: Assembly, to: float, monkeypatch: pytest.MonkeyPatch) -> None:
    mesh = cut(shapes, COARSE if shapes is not UNDER_A_SHEET else replace(COARSE, cap_rings=3))
    found = solved(mesh, to=to)
    assert np.isin(np.arange(mesh.nodes), node_of(mesh)).all() == (shapes is not UNDER_A_SHEET)
    assert found.turn is not None
    assert mesh.mirrored == (shapes is TWO_ROWS)
    assert (len(found.turn.elements.own) > 0) == (shapes not in (HALVES, UNDER_A_SHEET))
    monkeypatch.setattr(core.HalfTurn, "of", classmethod(lambda *_: None))
    forget_core()
    known = solved(mesh, to=to)
    assert known.turn is None
    for name in (
        "charge_of_node", "network", "bare", "uniform", "source_charge", "drive", "direct", "probe_nodes",
        "probe_sources", "probe_reply",
    ):  # fmt: skip
        assert apart(getattr(found, name), getattr(known, name)) < ROUNDING, name
    assert found.beside is not None and known.beside is not None
    for name in ("nodes", "sources", "reply"):
        assert apart(getattr(found.beside, name), getattr(known.beside, name)) < ROUNDING, name
    charges = [solve_state(one, LAWS, STEEL).charge for one in (found, known)]
    assert apart(*charges) < 1e-6  # Newton's method stops at 1e-8 of the charge that moves
    henry = []
    for one in (found, known):
        system = alternating(one, winding_set(mesh, COILS))
        steel = np.full((len(system.edges), 1), 300.0, dtype=complex)
        mu = np.array([3.7 + 0j])
        henry.append(solve_alternating(system, np.zeros(1), steel=steel, magnet_flat=mu, magnet_up=mu).inductance.real)
    # bases of the same answers, but each parity's of its own, cut at 1e-2 of the strongest beside steel: 3e-4 here
    assert apart(*henry) < 1e-3


@pytest.mark.parametrize(
    "magnets",
    [
        pytest.param((rod(8e-3, 5e-3, 1.0), rod(-8e-3, -5e-3, -1.0, top=14e-3)), id="a longer rod"),
        pytest.param((rod(8e-3, 5e-3, 1.0), rod(-8e-3, -4e-3, -1.0)), id="another place"),
        pytest.param((rod(8e-3, 5e-3, 1.0), rod(-8e-3, 5e-3, -1.0)), id="an image in x = 0"),
        pytest.param((rod(1e-3, 0.0, 1.0), rod(8e-3, 5e-3, 1.0), rod(-8e-3, -5e-3, 1.0)), id="a rod beside the axis"),
    ],
)
def test_what_is_not_its_own_image_is_solved_whole(magnets: tuple[MagnetRod, ...]) -> None:
    mesh = cut(Assembly(magnets=magnets), COARSE)
    assert HalfTurn.of(mesh, Elements.of(mesh)) is None


def test_a_mirrored_half_is_not_its_own_image_where_its_rows_are_unlike() -> None:
    mesh = cut(Assembly(magnets=tuple(rod(x, y, 1.0) for x in (8e-3, -7e-3) for y in (5e-3, -5e-3))), COARSE)
    assert mesh.mirrored and HalfTurn.of(mesh, Elements.of(mesh)) is None


def test_a_folded_half_is_not_looked_at() -> None:
    mesh = fold(cut(Assembly(magnets=(rod(0.0, 5e-3, 1.0), rod(0.0, -5e-3, 1.0))), COARSE))
    assert mesh.folded and HalfTurn.of(mesh, Elements.of(mesh)) is None


def test_no_place_is_read_before_it_is_written(monkeypatch: pytest.MonkeyPatch) -> None:
    """Memory that is new may hold a signalling NaN (IEEE 754), which no product survives without a warning."""
    signalling = np.array([0x7FF0000000000001], dtype=np.uint64).view(float)
    monkeypatch.setattr(np, "empty_like", lambda rows: np.repeat(signalling, rows.size).reshape(rows.shape))
    pairs = Pairs(near=np.array([0]), far=np.array([1]), own=np.array([2]))
    with np.errstate(invalid="raise"):
        found = in_parts(pairs, np.array([[3.0, 1.0, 5.0]]))
    assert found[0] == pytest.approx([4.0 / np.sqrt(2.0), 5.0, 2.0 / np.sqrt(2.0)])
