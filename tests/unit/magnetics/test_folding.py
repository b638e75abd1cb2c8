"""A pickup folded in x = 0 is the whole pickup in other coordinates."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.coil import Alternating, Plate, Racetrack, alternating, solve_alternating, winding_set
from polepiece.coil.sheets import Sheets
from polepiece.errors import InputError
from polepiece.geometry import Assembly, MagnetBox, MagnetRod, Mesh, Resolution, Section, SteelBar, SteelRod, cut
from polepiece.magnetics import Factors, MagnetLaw, factorise, fold, solve_state
from polepiece.magnetics.match import node_of
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
STEEL = {part: LinearSteel(permeability=300.0) for part in ("slugs", "cover")}


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


def under_a_sheet() -> Assembly:
    """Rods before a steel sheet: some of its nodes round them have no panels, those of the rods' ends are others'."""
    sheet = SteelBar(
        part="cover", x_min=-8e-3, x_max=8e-3, y_min=-12e-3, y_max=12e-3, z_min=15.5e-3, z_max=15.9e-3, role="sheet"
    )
    return replace(rods(15e-3, 15e-3), bars=(sheet,))


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
    [rods(15e-3, 15e-3), rods(15e-3, 16e-3), bar(2), two_bars(), under_a_sheet()],
    ids=["alike", "staggered", "bar", "two bars", "under a sheet"],
)
def test_a_folded_pickup_is_the_whole_one(assembly: Assembly) -> None:
    mesh = cut(assembly, replace(COARSE, cap_rings=3) if assembly.bars else COARSE)
    has_panels = np.isin(np.arange(mesh.nodes), node_of(mesh))
    assert has_panels.all() == (not assembly.bars)
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


HOLES = tuple((0.0, y, 2.7e-3) for y in (5e-3, -5e-3))
COVER = Plate(
    x_min=-10e-3, x_max=10e-3, y_min=-12e-3, y_max=12e-3, z=16.5e-3, thickness=0.4e-3, resistivity=6.4e-8, skirt=9e-3,
    near_x=(0.0,), near_y=(-5e-3, 5e-3),
)  # fmt: skip
BASE = replace(COVER, x_min=-8e-3, x_max=8e-3, z=1.5e-3, skirt=0.0, resistivity=6.0e-8, holes=HOLES)
PIERCED = replace(COVER, z=12e-3, holes=HOLES)
UNDER = replace(BASE, z=-1.5e-3, holes=())
HERTZ = np.array([0.0, 120.0, 1e3, 5e3, 20e3])
PARITY = 1e-9  # share of the largest: through a V of condition 1e4 and the sheets' R and L of condition 1e3


def all_currents(sheets: Sheets, drives: np.ndarray) -> tuple[Sheets, np.ndarray]:
    """Stand in for `Sheets.reduced`: every current, none cut away."""
    return sheets, np.eye(sheets.unknowns)


def sounding(mesh: Mesh, plates: tuple[Plate, ...], magnet_modes: bool = True) -> dict[str, np.ndarray]:
    """Everything that sheets have a part in: L(f), what coils make along strings over frequency, replies, slopes."""
    windings = winding_set(mesh, (COIL,), plates)
    factors = factorise(mesh, windings.sources, probes(), np.arange(4))
    assert factors.beside is not None
    whole = None if magnet_modes else np.eye(len(factors.magnet_nodes))
    system = alternating(factors, windings, whole)
    steel = np.full((len(system.edges), len(HERTZ)), 90.0 - 30.0j)
    mu = np.full(len(HERTZ), 3.7 - 0.2j)
    found = solve_alternating(system, HERTZ, steel=steel, magnet_flat=mu, magnet_up=mu)
    assert windings.sheets is not None
    places = probes().reshape(-1, 3)
    air = windings.sheets.potential(places)
    own = system.reduce(np.asarray(factors.probe_nodes)) @ found.potential[:, :, 0].T
    own = own + (factors.probe_sources[:, 1:] + air) @ found.currents[:, :, 0].T + factors.probe_sources[:, :1]
    slope = (factors.beside.nodes @ system_nodes(system, found.potential[0, :, 0])) + factors.beside.sources[:, 0]
    return {
        "inductance": found.inductance, "along the strings": own, "change over frequency": own - own[:, :1],
        "reply": factors.probe_reply, "slope": slope, "slope of the reply": factors.beside.reply,
    }  # fmt: skip


def system_nodes(system: Alternating, reduced: np.ndarray) -> np.ndarray:
    out = np.zeros(len(system.steel_nodes) + len(system.magnet_nodes), dtype=complex)
    out[system.steel_nodes] = reduced[: system.steel_count]
    out[system.magnet_nodes] = system.basis @ reduced[system.steel_count :]
    return out


SHEETED = pytest.mark.parametrize(
    ("assembly", "plates"),
    [
        (rods(15e-3, 15e-3), (COVER, BASE)),
        (rods(15e-3, 16e-3), (COVER, UNDER)),
        (rods(15e-3, 16e-3), (PIERCED, BASE)),
        (bar(2), (PIERCED, UNDER)),
        (two_bars(), (COVER, replace(BASE, x_min=-12e-3, x_max=12e-3, z=4e-3))),
    ],
    ids=["rods through a plate", "staggered", "staggered through both", "bar, poles through", "two bars"],
)


@SHEETED
def test_sheets_fold_with_their_pickup(
    assembly: Assembly, plates: tuple[Plate, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Sheets, "reduced", all_currents)
    mesh = cut(assembly, COARSE)
    one, other = (sounding(m, plates, magnet_modes=False) for m in (fold(mesh), mesh))
    assert abs(other["change over frequency"]).max() > 1e-3 * abs(other["along the strings"]).max()  # sheets at work
    for name, value in one.items():
        assert np.abs(value - other[name]).max() < PARITY * np.abs(other[name]).max(), name


@pytest.mark.parametrize("assembly", [rods(15e-3, 15e-3), bar(2)], ids=["rods", "bar"])
def test_the_bases_of_a_folded_pickup_with_sheets_are_as_good(assembly: Assembly) -> None:
    """The cuts leave 1e-6 of the energy of the sheets and 1e-4 of the magnets' out, not the same on both meshes.

    1e-3 of an amplitude for each of the four bases.
    """
    mesh = cut(assembly, COARSE)
    one, other = (sounding(m, (PIERCED, UNDER)) for m in (fold(mesh), mesh))
    for name, value in one.items():
        assert np.abs(value - other[name]).max() < 4e-3 * np.abs(other[name]).max(), name


def test_a_hole_on_one_side_has_no_currents_of_one_parity() -> None:
    aside = replace(COVER, holes=((3e-3, 0.0, 2e-3),))
    assert not aside.is_even and COVER.is_even and PIERCED.is_even
    with pytest.raises(InputError, match="x = 0"):
        Sheets.of((aside,), mirrored=False, folded=True)


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
