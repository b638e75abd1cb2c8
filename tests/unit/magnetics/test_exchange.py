"""Exchange of screws against the same mesh factorised anew.

The plain way (`factorise` on the unmirrored mesh) is the outside judge: it knows neither parity nor exchange. Both
solve the same matrices, so only rounding is allowed for: 1e-9 of the largest number, some 1e4 times the rounding of one
sum.
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy import linalg

from polepiece.coil import winding_set
from polepiece.errors import ConvergenceError
from polepiece.geometry import Assembly, MagnetBox, Section, SteelBar, SteelRod, cut
from polepiece.magnetics import Even, Factors, Match, Whole, exchange, factorise, laplacian, solve_state, whole
from polepiece.materials import LangevinSteel
from tests.reference.small_pickup import COARSE
from verification.cases import humbucker, humbucker_coils, magnet_law

ROUNDING = 1e-9
SATURATING = {part: LangevinSteel(saturation=1.8, a=800.0) for part in ("slugs", "screws", "keeper")}


def two_bars() -> Assembly:
    """A single coil of four screws through a keeper between two bars."""
    sections = (Section(bottom=-3e-3, top=14e-3, radius=1.5e-3), Section(bottom=14e-3, top=16e-3, radius=2.6e-3))
    ys = (15e-3, 5e-3, -5e-3, -15e-3)
    shape = {"y_min": -21e-3, "y_max": 21e-3, "z_min": 0.0, "z_max": 3e-3, "easy": 0, "marks": ys}
    return Assembly(
        rods=tuple(SteelRod(part="screws", x=0.0, y=y, sections=sections, through=(0.0, 3e-3)) for y in ys),
        bars=(
            SteelBar(
                part="keeper", x_min=-2.5e-3, x_max=2.5e-3, y_min=-20e-3, y_max=20e-3, z_min=0.0, z_max=3e-3,
                holes=tuple((0.0, y, 1.5e-3) for y in ys),
            ),
        ),
        magnets=(
            MagnetBox(part="magnet", x_min=-9e-3, x_max=-2.7e-3, sign=1.0, **shape),
            MagnetBox(part="magnet", x_min=2.7e-3, x_max=9e-3, sign=-1.0, **shape),
        ),
    )  # fmt: skip


def turned(assembly: Assembly, moves: dict[int, float]) -> Assembly:
    """Raise some screws, counted as they are listed, by metres."""
    screws = [k for k, rod in enumerate(assembly.rods) if rod.part == "screws"]
    rods = list(assembly.rods)
    for number, up in moves.items():
        rod = rods[screws[number]]
        raised = tuple(replace(s, bottom=s.bottom + up, top=s.top + up) for s in rod.sections)
        rods[screws[number]] = replace(rod, sections=raised)
    return replace(assembly, rods=tuple(rods))


class Case:
    """A mirrored geometry with both parities, and what is turned on it, both ways."""

    def __init__(self, assembly: Assembly, coils: tuple) -> None:
        self.assembly, self.coils = assembly, coils
        x = np.linspace(-20e-3, 20e-3, 7)
        near = np.array([[[u, y, z] for u in x] for y in (5e-3, 15e-3) for z in (19e-3, 22e-3)])
        self.probes = np.concatenate([near, near * [1.0, -1.0, 1.0]])
        half = cut(assembly, COARSE)
        mesh = cut(assembly, COARSE, mirror=False)
        factors = factorise(half, winding_set(half, coils).sources, near)
        self.base: Whole = whole(factors, mesh, winding_set(mesh, coils).sources, near)

    def both(self, assembly: Assembly) -> tuple[Factors, Factors]:
        """Return the factors of ``assembly`` by exchange and made anew."""
        mesh = cut(assembly, COARSE, mirror=False)
        sources = winding_set(mesh, self.coils).sources
        match = Match.of(mesh, self.base.mesh, self.base.elements)
        groups = np.arange(len(self.probes))
        return exchange(self.base, match, sources, self.probes, groups), factorise(mesh, sources, self.probes)


@pytest.fixture(scope="module")
def case() -> Case:
    return Case(humbucker(), humbucker_coils())


def apart(found: np.ndarray, known: np.ndarray) -> float:
    return float(np.abs(found - known).max() / np.abs(known).max())


def assert_same(found: Factors, known: Factors) -> None:
    for name in ("network", "drive", "direct", "probe_reply"):
        assert apart(getattr(found, name), getattr(known, name)) < ROUNDING, name
    for name in ("charge_of_node", "source_charge", "probe_nodes", "probe_sources"):
        columns = np.eye(getattr(known, name).shape[1])
        assert apart(getattr(found, name) @ columns, getattr(known, name)) < ROUNDING, name


MOVES = [{2: 0.4e-3}, {0: -0.8e-3}, {5: 2.5e-3}, {1: 0.8e-3, 4: -0.4e-3}, {0: 0.3e-3, 1: 0.6e-3, 2: 0.9e-3}]


@pytest.mark.parametrize("moves", MOVES, ids=str)
def test_exchanged_screws_are_those_of_the_mesh_solved_anew(case: Case, moves: dict[int, float]) -> None:
    found, known = case.both(turned(case.assembly, moves))
    assert_same(found, known)


@pytest.mark.parametrize("moves", [{1: 0.4e-3}, {3: -0.7e-3}], ids=str)
def test_a_single_coil_with_screws_too(moves: dict[int, float]) -> None:
    single = Case(two_bars(), humbucker_coils()[:1])
    assert_same(*single.both(turned(single.assembly, moves)))


def test_a_pair_turned_alike_is_the_mirrored_geometry(case: Case) -> None:
    """Two ways that share nothing but the integrals: the mirror path, and an exchange of both screws."""
    alike = turned(case.assembly, {1: 0.8e-3, 4: 0.8e-3})
    found, _ = case.both(alike)
    half = cut(alike, COARSE)
    assert half.mirrored
    known = factorise(half, winding_set(half, case.coils).sources, case.probes[: len(case.probes) // 2])
    assert apart(found.direct, 2.0 * known.direct) < ROUNDING
    law = {"magnet": magnet_law("A5", "outside", pure_recoil=False)}
    above = np.array([[-9e-3, 15e-3, 18e-3], [-9e-3, -15e-3, 18e-3], [9e-3, 5e-3, 18e-3]])
    fields = [f.elements.field(above, solve_state(f, law, SATURATING).charge) for f in (found, known)]
    assert apart(fields[0], fields[1]) < 1e-6  # Newton stops at 1e-8 of the charge


@pytest.mark.parametrize("charge", ["in-place", 1.0, 0.8])
def test_states_with_history_are_those_of_the_mesh_solved_anew(case: Case, charge: "str | float") -> None:
    found, known = case.both(turned(case.assembly, {2: 0.8e-3}))
    law = {"magnet": replace(magnet_law("A5", "outside", pure_recoil=False), charge=charge)}
    one, two = (solve_state(f, law, SATURATING) for f in (found, known))
    assert apart(one.potential, two.potential) < 1e-6  # Newton stops at 1e-8 of the charge
    assert apart(one.charge, two.charge) < 1e-6
    assert apart(one.magnetization, two.magnetization) < 1e-6


def test_nothing_exchanged_is_the_base_itself(case: Case) -> None:
    mesh = cut(case.assembly, COARSE, mirror=False)
    match = Match.of(mesh, case.base.mesh, case.base.elements)
    assert len(match.added) == len(match.removed) == len(match.node_removed) == 0
    found = exchange(case.base, match, case.base.sources, case.probes, np.arange(len(case.probes)))
    np.testing.assert_array_equal(found.network, case.base.network)
    np.testing.assert_array_equal(found.direct, case.base.direct)
    np.testing.assert_array_equal(found.probe_reply, case.base.probe_reply)


def test_only_the_screw_is_exchanged(case: Case) -> None:
    """A screw of 6 sectors is some 60 of this mesh's elements; keeper, bar and the other poles stay."""
    mesh = cut(turned(case.assembly, {2: 0.8e-3}), COARSE, mirror=False)
    match = Match.of(mesh, case.base.mesh, case.base.elements)
    y = case.assembly.rods[-4].y
    for places in (match.elements.position[match.added], case.base.elements.position[match.removed]):
        assert 0 < len(places) < 120
        assert np.hypot(places[:, 0] + 9e-3, places[:, 1] - y).max() < 2.7e-3


def test_the_network_stays_symmetric_and_positive_definite(case: Case) -> None:
    found, _ = case.both(turned(case.assembly, {0: 2e-3, 3: -1e-3}))
    assert apart(found.network.T, found.network) < 1e-12
    assert linalg.eigvalsh(found.network).min() > 0.0
    assert linalg.eigvalsh(found.network + laplacian(found.mesh, np.full(len(found.mesh.edge_a), 279.0))).min() > 0.0


def test_another_magnet_is_refused(case: Case) -> None:
    other = replace(case.assembly, magnets=tuple(replace(m, x_max=m.x_max - 1e-3) for m in case.assembly.magnets))
    with pytest.raises(ConvergenceError, match="magnets"):
        case.both(other)


def test_the_network_of_even_states_is_that_of_the_mesh_solved_anew() -> None:
    """Nodes that are each other's image in x = 0 as one: sums of the whole network over both."""
    single = Case(two_bars(), humbucker_coils()[:1])
    mesh = cut(turned(single.assembly, {1: 0.4e-3}), COARSE, mirror=False)
    sources = winding_set(mesh, single.coils).sources
    match = Match.of(mesh, single.base.mesh, single.base.elements)
    groups = np.arange(len(single.probes))
    found = exchange(single.base, match, sources, single.probes, groups, Even.of(single.base))
    assert found.like is not None
    known = factorise(mesh, sources, single.probes).network
    summed = np.zeros((found.like.max() + 1, mesh.nodes))
    summed[found.like, np.arange(mesh.nodes)] = 1.0
    assert apart(found.network, summed @ known @ summed.T) < ROUNDING
    image = mesh.node_position * [-1.0, 1.0, 1.0]
    for node in (0, mesh.nodes // 2, mesh.nodes - 1):
        other = np.argmin(np.linalg.norm(mesh.node_position - image[node], axis=1))
        assert found.like[node] == found.like[other]


def test_a_pickup_with_two_unlike_rows_has_no_even_states(case: Case) -> None:
    with pytest.raises(ConvergenceError, match="not its own image in x = 0"):
        Even.of(case.base)
