"""A pickup folded in x = 0 is the whole pickup in other coordinates."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.coil import Racetrack, alternating, winding_set
from polepiece.errors import InputError
from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Mesh, Resolution, Section, SteelRod, cut
from polepiece.magnetics import Factors, MagnetLaw, factorise, fold, solve_state
from polepiece.materials import LinearSteel, catalogue
from polepiece.voicing import parse_guitar
from polepiece.voicing.anatomy import anatomy

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
    """Edges are numbered anew in a fold; those in x = 0 keep half of their area."""
    made = parse_guitar(
        'name = "G"\n[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "two-bar-single"\ncover = "none"\n'
    )
    whole = cut(anatomy(made.pickups[0]).assembly)
    folded = fold(whole)
    assert folded.folded and len(folded.passage_edge) == len(whole.passage_edge) > 0
    assert len(folded.step_edge) == len(whole.step_edge) > 0
    pairs = [*zip(whole.passage_edge.ravel(), folded.passage_edge.ravel()), *zip(whole.step_edge, folded.step_edge)]
    for there, here in pairs:
        assert (there < 0) == (here < 0)
        if there >= 0:
            assert folded.edge_area[here] == 0.5 * whole.edge_area[there]
            assert folded.edge_length[here] == whole.edge_length[there]
