"""A pickup folded in x = 0 is the whole pickup in other coordinates."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.coil import Racetrack, alternating, winding_set
from polepiece.errors import InputError
from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Mesh, Resolution, Section, SteelBar, SteelRod, cut
from polepiece.magnetics import Factors, MagnetLaw, factorise, fold, solve_state
from polepiece.materials import LinearSteel, catalogue

COARSE = Resolution(
    sectors=6, slice_height=3e-3, cap_rings=1, keeper_panel=5e-3, magnet_across=4, magnet_along=2, magnet_layers=2,
    rod_layers=5, rod_rings=2, rod_sectors=6,
)  # fmt: skip
ROUNDING = 1e-10  # share of the largest: the same sums in another order, through matrices of condition 1e4
COIL = Racetrack(
    inner_half_x=3e-3, inner_half_y=8e-3, outer_half_x=6e-3, outer_half_y=11e-3, bottom=3e-3, top=10e-3, turns=1.0
)  # fmt: skip
LAWS = {"magnet": MagnetLaw(curve=catalogue.magnet("alnico-5").curve, recoil_permeability=3.7, charge=1.0)}
STEEL = {"slugs": LinearSteel(permeability=300.0)}


def rods(*tops: float) -> Assembly:
    ys = np.linspace(5e-3, -5e-3, len(tops))
    return Assembly(
        magnets=tuple(
            MagnetRod(part="magnet", x=0.0, y=float(y), radius=2.4e-3, bottom=0.0, top=t) for y, t in zip(ys, tops)
        )
    )


def bar(easy: int) -> Assembly:
    section = Section(bottom=5.1e-3, top=14e-3, radius=2.4e-3)
    slugs = tuple(SteelRod(part="slugs", x=0.0, y=y, sections=(section,)) for y in (5e-3, -5e-3))
    box = MagnetBox(
        part="magnet", x_min=-5e-3, x_max=5e-3, y_min=-9e-3, y_max=9e-3, z_min=0.0, z_max=5e-3, easy=easy,
        marks=(5e-3, -5e-3),
    )  # fmt: skip
    return Assembly(rods=slugs, magnets=(box,))


def two_bars() -> Assembly:
    box = MagnetBox(
        part="magnet", x_min=3e-3, x_max=11e-3, y_min=-9e-3, y_max=9e-3, z_min=0.0, z_max=3e-3, sign=-1.0,
        marks=(5e-3, -5e-3),
    )  # fmt: skip
    section = Section(bottom=0.0, top=14e-3, radius=2.4e-3)
    slugs = tuple(SteelRod(part="slugs", x=0.0, y=y, sections=(section,)) for y in (5e-3, -5e-3))
    return Assembly(rods=slugs, magnets=(replace(box, x_min=-11e-3, x_max=-3e-3, sign=1.0), box))


def probes() -> np.ndarray:
    x = np.linspace(-12e-3, 12e-3, 9)
    return np.array([[(u, y, z) for u in x] for y in (5e-3, 1e-3) for z in (18e-3, 20e-3)])


def solved(mesh: Mesh) -> Factors:
    return factorise(mesh, winding_set(mesh, (COIL,)).sources, probes())


@pytest.mark.parametrize(
    "assembly",
    [rods(15e-3, 15e-3), rods(15e-3, 16e-3), bar(2), two_bars()],
    ids=["alike", "staggered", "bar", "two bars"],
)
def test_a_folded_pickup_is_the_whole_one(assembly: Assembly) -> None:
    mesh = cut(assembly, COARSE)
    half = fold(mesh)
    assert half.folded and half.nodes < 0.65 * mesh.nodes  # what lies in the plane is there once in both
    one, other = solved(half), solved(mesh)
    assert one.probe_reply == pytest.approx(other.probe_reply, abs=ROUNDING * np.abs(other.probe_reply).max())
    static = [solve_state(f, LAWS, STEEL) for f in (one, other)]
    tables = [f.probe_nodes @ s.potential for f, s in zip((one, other), static)]
    assert tables[0] == pytest.approx(
        tables[1], abs=1e-7 * np.abs(tables[1]).max()
    )  # Newton stops at 1e-8 of the charge
    places = np.array([[1e-3, 2e-3, 19e-3], [-4e-3, 6e-3, 21e-3]])
    h = [f.elements.field(places, s.charge) for f, s in zip((one, other), static)]
    assert h[0] == pytest.approx(h[1], abs=1e-7 * np.abs(h[1]).max())
    inside = [s.mean_in_magnet(f.mesh) for f, s in zip((one, other), static)]
    assert inside[0] == pytest.approx(inside[1], rel=1e-7)
    systems = [alternating(f, winding_set(f.mesh, (COIL,))) for f in (one, other)]
    assert systems[0].factor * systems[0].direct == pytest.approx(systems[1].factor * systems[1].direct, rel=ROUNDING)


def test_a_bar_magnetised_along_x_is_not_even() -> None:
    mesh = cut(bar(0), COARSE)
    assert fold(mesh) is mesh


def test_a_rod_beside_the_plane_is_not_its_own_image() -> None:
    moved = rods(15e-3, 15e-3)
    aside = replace(moved, magnets=tuple(replace(m, x=1e-3) for m in moved.magnets))  # type: ignore[type-var]
    mesh = cut(aside, COARSE)
    assert fold(mesh) is mesh


def test_probes_that_have_no_image_are_refused() -> None:
    mesh = fold(cut(rods(15e-3, 15e-3), COARSE))
    with pytest.raises(InputError, match="own image"):
        factorise(mesh, probes=probes()[:, 1:])


def test_passages_through_keepers_and_steps_into_heads_are_those_of_the_whole() -> None:
    """Edges are numbered anew in a fold, as half of what stands beside x = 0 goes; those in it keep half their area."""
    headed = (Section(bottom=-2e-3, top=10e-3, radius=1.5e-3), Section(bottom=10e-3, top=12e-3, radius=2.5e-3))
    beside = tuple(SteelRod(part="slugs", x=x, y=5e-3, sections=headed) for x in (-9e-3, 9e-3))
    screw = SteelRod(part="screws", x=0.0, y=5e-3, sections=headed, through=(0.0, 3e-3))
    keeper = SteelBar(
        part="keeper", x_min=-3e-3, x_max=3e-3, y_min=-9e-3, y_max=9e-3, z_min=0.0, z_max=3e-3,
        holes=((0.0, 5e-3, 1.5e-3),),
    )  # fmt: skip
    whole = cut(Assembly(rods=(*beside, screw), bars=(keeper,)), COARSE)
    folded = fold(whole)
    assert folded.folded and (len(whole.passage_edge), len(folded.passage_edge)) == (1, 1)
    assert (len(whole.step_edge), len(folded.step_edge)) == (3, 2)
    for there, here in zip(whole.passage_edge.ravel(), folded.passage_edge.ravel()):
        assert there >= 0 and folded.edge_area[here] == 0.5 * whole.edge_area[there]
        assert folded.edge_length[here] == whole.edge_length[there]
    shares = []
    for edge, (_, _, permeance) in zip(folded.step_edge, folded.step_shape):
        shares.append(folded.edge_area[edge] / folded.edge_length[edge] / permeance)
    assert sorted(shares) == pytest.approx([0.5, 1.0])
