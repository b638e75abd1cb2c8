"""A pickup folded in x = 0 is the whole pickup in other coordinates."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.coil import Racetrack, alternating, winding_set
from polepiece.errors import InputError
from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Mesh, Resolution, Section, SteelRod, cut
from polepiece.magnetics import Factors, MagnetLaw, factorise, fold, solve_state
from polepiece.materials import LinearSteel, catalogue

COARSE = Resolution(
    sectors=6, slice_height=3e-3, cap_rings=1, keeper_panel=5e-3, magnet_across=4, magnet_along=2, magnet_layers=2,
    rod_layers=5, rod_rings=2, rod_sectors=6,
)  # fmt: skip
ROUNDING = 1e-10  # share of the largest: the same sums in another order, through matrices of condition 1e4
SLOPED = np.array([0, 3])  # which groups of probes carry slopes
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
    return factorise(mesh, winding_set(mesh, (COIL,)).sources, probes(), SLOPED)


def apart(found: np.ndarray, known: np.ndarray) -> float:
    assert found.shape == known.shape and np.abs(known).max() > 0.0
    return float(np.abs(found - known).max() / np.abs(known).max())


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


@pytest.mark.parametrize("mirror", [True, False])
@pytest.mark.parametrize("assembly", [rods(15e-3, 16e-3), bar(2), two_bars()], ids=["staggered", "bar", "two bars"])
def test_slopes_across_the_strings_are_those_of_the_whole_pickup(assembly: Assembly, mirror: bool) -> None:
    mesh = cut(assembly, COARSE, mirror=None if mirror else False)
    one, other = solved(fold(mesh)), solved(mesh)
    assert one.mesh.folded and one.beside is not None and other.beside is not None
    assert apart(one.beside.reply, other.beside.reply) < ROUNDING
    assert apart(one.beside.sources, other.beside.sources) < ROUNDING
    assert apart(one.probe_sources, other.probe_sources) < ROUNDING
    potential = np.cos(300.0 * other.mesh.node_position[:, 1:]).sum(axis=1)  # anything that is even in x
    own = np.cos(300.0 * one.mesh.node_position[:, 1:]).sum(axis=1)
    assert apart(one.beside.nodes @ own, other.beside.nodes @ potential) < ROUNDING
    assert apart(one.probe_nodes @ own, other.probe_nodes @ potential) < ROUNDING


def test_slopes_of_the_reply_are_those_of_its_own_probes() -> None:
    """The slope at slice i of what a charge on slice j calls up: both halves, by differences over half a micrometre."""
    mesh, step = fold(cut(rods(15e-3, 16e-3), COARSE)), np.array([0.0, 0.5e-6, 0.0])
    here = probes()[:1][:, probes()[0, :, 0] != 0.0]

    def reply(at: np.ndarray) -> np.ndarray:
        """Reply at ``at`` to charges on ``here``: both among the probes of one group, its own image in x = 0."""
        both = np.concatenate([here, at], axis=1)
        x, moved = both[0, :, 0], np.arange(both.shape[1]) >= here.shape[1]
        order = np.lexsort((np.sign(x) * moved, x))
        place = np.argsort(order)
        found = factorise(mesh, probes=both[:, order]).probe_reply[0][np.ix_(place, place)]
        return np.asarray(found[here.shape[1] :, : here.shape[1]])

    slope = factorise(mesh, probes=here, sloped=np.array([0])).beside
    assert slope is not None
    expected = (reply(here + step) - reply(here - step)) / 1e-6
    assert apart(slope.reply[0], expected) < 1e-6  # rounding of 1e-13 over a step of 1e-4 of the distance, both ways


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
