"""Models of pickups whose screws stand at unlike heights, made from a mirrored model that is known.

One screw at another height breaks the mirror symmetry of a pickup; all but that screw is still the same. The first
such model on a geometry prepares both parities of the mirrored one (`magnetics.whole`), each further one exchanges the
elements of the screws that differ (`magnetics.exchange`): exact, and no more than a tenth of the work. Even the first,
with the mirrored one made for it, costs less than a model without symmetry.
"""

import math
from collections import Counter
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.coil import Alternating, WindingSet, alternating, parity_basis, source_potentials, winding_set
from polepiece.geometry import Resolution, SteelRod, cut
from polepiece.kept import Kept
from polepiece.magnetics import (
    Factors,
    MagnetState,
    Match,
    Parts,
    Probes,
    Start,
    Whole,
    exchange,
    unfolded,
    unfolding,
    whole,
)
from polepiece.pickup import engine
from polepiece.pickup.anatomy import Anatomy
from polepiece.pickup.engine import DEFAULT, Kin, PickupModel, StringLayout
from polepiece.pickup.slopes import HEIGHTS, ExchangedSlopes, Slopes, outward, slopes_in_air
from polepiece.threads import one_thread

MOST_EXCHANGED = 3  # rods exchanged at once; with more a geometry is as soon made anew
REMEMBERED = 8  # mirrored models that a turned screw may start from
_requested = Kept[tuple[Anatomy, StringLayout, Resolution], None](REMEMBERED)


def pickup_model(anatomy: Anatomy, layout: StringLayout, resolution: Resolution = DEFAULT) -> PickupModel:
    """Return the model of ``anatomy``: by exchange where a mirrored kin is near, else as `engine.pickup_model`."""
    if anatomy.assembly.is_mirrored():
        _remember(anatomy, layout, resolution)
        return engine.pickup_model(anatomy, layout, resolution)
    folded = _folded(layout)
    known = [one for one, at, fineness in _requested if (at, fineness) == (folded, resolution)]
    near = sorted((turned_rods(anatomy, one), k) for k, one in enumerate(known))
    kin = known[near[0][1]] if near and near[0][0] <= MOST_EXCHANGED else nearest_mirrored(anatomy)
    if kin is not None and turned_rods(anatomy, kin) <= MOST_EXCHANGED:
        _remember(kin, folded, resolution)
        return turned_model(anatomy, layout, kin, resolution)
    return engine.pickup_model(anatomy, layout, resolution)


def forget() -> None:
    """Forget all models, so that the next are made anew."""
    _requested.clear()
    known_whole.cache_clear()
    turned_model.cache_clear()


def _remember(anatomy: Anatomy, layout: StringLayout, resolution: Resolution) -> None:
    _requested[anatomy, layout, resolution] = None


def _folded(layout: StringLayout) -> StringLayout:
    """The layout of the mirrored kin."""
    return replace(layout, y=tuple(sorted({round(abs(y), 9) for y in layout.y})))


def turned_rods(anatomy: Anatomy, other: Anatomy) -> float:
    """Return how many rods stand at another height in ``other``; infinite when more than that is different."""
    rods, others = anatomy.assembly.rods, other.assembly.rods
    if len(rods) != len(others):
        return math.inf
    straightened = tuple(replace(rod, sections=one.sections) for rod, one in zip(rods, others))
    if replace(anatomy, assembly=replace(anatomy.assembly, rods=straightened)) != other:
        return math.inf
    return sum(rod.sections != one.sections for rod, one in zip(rods, others))


def nearest_mirrored(anatomy: Anatomy) -> "Anatomy | None":
    """Return the mirrored anatomy in which one rod of each unlike pair stands as the other, which has more like it."""
    rods = anatomy.assembly.rods
    alike = Counter((rod.part, rod.sections) for rod in rods)
    at = {_place(rod): rod for rod in rods}
    drawn = []
    for rod in rods:
        image = at.get(_place(replace(rod, y=-rod.y)))
        if image is None:
            return None
        both = (rod, image) if rod.y > 0.0 else (image, rod)
        drawn.append(replace(rod, sections=max(both, key=lambda r: alike[r.part, r.sections]).sections))
    found = replace(anatomy, assembly=replace(anatomy.assembly, rods=tuple(drawn)))
    return found if found.assembly.is_mirrored() else None


def _place(rod: SteelRod) -> tuple[str, int, int]:
    return rod.part, round(rod.x * 1e9), round(rod.y * 1e9)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Known:
    """All that turned models of one geometry share."""

    model: PickupModel  # mirrored, and folded where it can be
    unfold: IntArray  # node of ``model`` that each node of the mirrored mesh is like
    base: Whole
    windings: WindingSet  # on the whole mesh
    basis: FloatArray  # (magnet nodes of the whole, r)
    magnet_nodes: np.ndarray  # of the whole
    steel_nodes: np.ndarray
    air: FloatArray  # what the sources alone make at the whole's probes
    outward: Parts  # slopes away from y = 0 at the places of slopes
    air_slopes: FloatArray  # d/dy of what the coils alone make at the places of slopes and their images
    reduced: FloatArray  # potential at the whole's probes per potential of its steel nodes and amplitude of the basis


@lru_cache(maxsize=1)  # some 150 MB
def known_whole(anatomy: Anatomy, layout: StringLayout, resolution: Resolution) -> _Known:
    """Return both parities of a mirrored model: the work that its first turned screw costs.

    Derived in `magnetics.parity`.
    """
    model = engine.pickup_model(anatomy, layout, resolution)
    half = engine.made_model(anatomy, layout, resolution, folded=False) if model.mesh.folded else model
    mesh = cut(anatomy.assembly, resolution, mirror=False)
    windings = winding_set(mesh, anatomy.coils, anatomy.plates)
    _, points = engine.string_probes(anatomy, layout)
    base = whole(half.factors, mesh, windings.sources, points)
    pairs, magnet = base.of_nodes, half.factors.magnet_nodes
    magnet_nodes = np.sort(np.concatenate([pairs.near[magnet], pairs.far[magnet]]))
    steel_nodes = np.setdiff1d(np.arange(mesh.nodes), magnet_nodes)
    basis = parity_basis(base, len(anatomy.coils))
    lift = np.zeros((mesh.nodes, len(steel_nodes) + basis.shape[1]))
    lift[steel_nodes, np.arange(len(steel_nodes))] = 1.0
    lift[magnet_nodes, len(steel_nodes) :] = basis
    both = np.concatenate([points, points * [1.0, -1.0, 1.0]])
    places = engine.slope_points(anatomy, layout)
    return _Known(
        outward=outward(base, places),
        air_slopes=slopes_in_air(anatomy.coils, np.concatenate([places, places * [1.0, -1.0, 1.0]])),
        model=model, unfold=unfolding(model.mesh, half.mesh), base=base, windings=windings, basis=basis,
        magnet_nodes=magnet_nodes, steel_nodes=steel_nodes,
        air=engine.sources_in_air(windings, both), reduced=base.at_probes(lift),
    )  # fmt: skip


@lru_cache(maxsize=2)  # some 50 MB each
def turned_model(anatomy: Anatomy, layout: StringLayout, kin: Anatomy, resolution: Resolution) -> PickupModel:
    """Return the model of ``anatomy`` by exchange from the mirrored ``kin``."""
    with one_thread():  # two threads that share two cores with anything else: half as quick again
        return _turned(anatomy, layout, kin, resolution)


def _turned(anatomy: Anatomy, layout: StringLayout, kin: Anatomy, resolution: Resolution) -> PickupModel:
    folded = _folded(layout)
    known = known_whole(kin, folded, resolution)
    base = known.base
    mesh = cut(anatomy.assembly, resolution)
    match = Match.of(mesh, base.mesh, base.elements)
    stays, comes = match.stays, match.comes
    sources = np.empty((match.elements.count, known.windings.sources.shape[1]))
    sources[stays] = known.windings.sources[match.old[stays]]
    at = match.elements.position[comes]
    sources[comes] = source_potentials(mesh, at, anatomy.coils, known.windings.sheets, comes)
    table, points = engine.string_probes(anatomy, layout)
    places = np.array([folded.y.index(round(abs(y), 9)) + (len(folded.y) if y < 0.0 else 0) for y in layout.y])
    groups = (places[:, None] * table.z.shape[1] + np.arange(table.z.shape[1])).ravel()
    factors = exchange(base, match, sources, points, groups)
    windings = replace(known.windings, sources=sources)
    of_basis = np.searchsorted(known.magnet_nodes, match.old_node[factors.magnet_nodes])
    system = alternating(factors, windings, known.basis[of_basis])
    rows = (groups[:, None] * len(table.x) + np.arange(len(table.x))).ravel()

    def start(state: MagnetState) -> Start:
        even = unfolded(base, state.potential[known.unfold])
        return Start(potential=match.carry(base.mesh, even), bare=_bare_start(known, state))

    return PickupModel(
        anatomy=anatomy, layout=layout, mesh=mesh, factors=factors, windings=windings, system=system, table=table,
        probe_reduced=_reduced(known, match, factors, system), probe_direct=factors.probe_sources + known.air[rows],
        kin=Kin(model=known.model, start=start), slopes=_slopes(known, match, factors, anatomy, layout, places),
    )  # fmt: skip


def _slopes(
    known: _Known, match: Match, factors: Factors, anatomy: Anatomy, layout: StringLayout, places: IntArray
) -> Slopes:
    """Slopes across the strings, from the base's and those of the elements that come."""
    points = engine.slope_points(anatomy, layout)
    each = len(points) // len(layout.y)
    rows = (places[:, None] * each + np.arange(each)).ravel()
    nodes = ExchangedSlopes(
        base=known.base, match=match, outward=known.outward, rows=rows, charge_of_node=factors.charge_of_node,
        shown=match.elements.take(match.comes).slopes_across(points),
    )  # fmt: skip
    coils = len(anatomy.coils)
    called = factors.source_charge @ np.eye(factors.sources.shape[1])[:, :coils]
    same = known.model.slopes.reply  # of the mirrored kin: a turned screw changes a few per cent of a few per cent
    groups = (places[:, None] * HEIGHTS + np.arange(HEIGHTS)).ravel()
    reply = np.concatenate([same, -same])[groups]
    return Slopes(nodes=nodes, direct=known.air_slopes[rows] - nodes.of_charges(called), reply=reply)


def _bare_start(known: _Known, state: MagnetState) -> "FloatArray | None":
    """Potential of the magnets alone in air on the mirrored mesh, from a state of its model."""
    if state.bare is None:
        return None
    full = np.zeros(known.model.mesh.nodes)
    full[known.model.factors.magnet_nodes] = state.bare
    out: FloatArray = full[known.unfold][known.base.half.magnet_nodes]
    return out


def _reduced(known: _Known, match: Match, factors: Factors, system: Alternating) -> FloatArray:
    """Potential at the probes per reduced unknown: the base's, which is known, and what the exchange adds."""
    probes = factors.probe_nodes
    assert isinstance(probes, Probes)
    old = match.old_node[system.steel_nodes]
    column = np.searchsorted(known.steel_nodes, old)
    steel = len(known.steel_nodes)
    out = np.zeros((len(probes.rows), len(old) + known.basis.shape[1]))
    base = known.reduced[probes.rows]
    out[:, np.flatnonzero(old >= 0)] = base[:, column[old >= 0]]
    out[:, len(old) :] = base[:, steel:]
    return out + probes.left @ system.reduce(probes.right.T)
