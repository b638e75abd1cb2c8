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
    Even,
    Factors,
    MagnetState,
    Match,
    Parts,
    Start,
    Whole,
    exchange,
    place,
    unfolded,
    unfolding,
    whole,
)
from polepiece.pickup import engine
from polepiece.pickup.along import Exchanged
from polepiece.pickup.anatomy import Anatomy
from polepiece.pickup.engine import DEFAULT
from polepiece.pickup.model import Kin, PickupModel, StringLayout
from polepiece.pickup.slopes import HEIGHTS, ExchangedSlopes, outward, slopes_in_air
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
    air: FloatArray  # what the sources alone make at the whole's probes
    outward: Parts  # slopes away from y = 0 at the places of slopes
    air_slopes: FloatArray  # d/dy of what the coils alone make at the places of slopes and their images
    system: Alternating  # of the whole
    even: "Even | None"  # of a geometry that is even in x


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
    both = np.concatenate([points, points * [1.0, -1.0, 1.0]])
    places = engine.slope_points(anatomy, layout)
    return _Known(
        outward=outward(base, places), system=_system(base, windings, points),
        air_slopes=slopes_in_air(anatomy.coils, np.concatenate([places, places * [1.0, -1.0, 1.0]])),
        model=model, unfold=unfolding(model.mesh, half.mesh), base=base, windings=windings,
        air=engine.sources_in_air(windings, both), even=Even.of(base) if model.mesh.folded else None,
    )  # fmt: skip


def _system(base: Whole, windings: WindingSet, points: FloatArray) -> Alternating:
    """Return the reduced matrices of the whole: its factors are those of nothing exchanged."""
    both = np.concatenate([points, points * [1.0, -1.0, 1.0]])
    same = exchange(base, Match.of(base.mesh, base.mesh, base.elements), windings.sources, both, np.arange(len(both)))
    return alternating(same, windings, parity_basis(base, windings.coils))


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
    kept, added = match.kept, match.added
    sources = np.empty((match.elements.count, known.windings.sources.shape[1]))
    sources[kept] = known.windings.sources[match.old[kept]]
    at = match.elements.position[added]
    sources[added] = source_potentials(mesh, at, anatomy.coils, known.windings.sheets, added)
    table, points = engine.string_probes(anatomy, layout)
    places = np.array([folded.y.index(round(abs(y), 9)) + (len(folded.y) if y < 0.0 else 0) for y in layout.y])
    groups = (places[:, None] * table.z.shape[1] + np.arange(table.z.shape[1])).ravel()
    factors = exchange(base, match, sources, points, groups, known.even)
    windings = replace(known.windings, sources=sources)
    system = _exchanged_system(known.system, windings, factors, match)
    rows = (groups[:, None] * len(table.x) + np.arange(len(table.x))).ravel()

    def start(state: MagnetState) -> Start:
        even = unfolded(base, state.potential[known.unfold])
        return Start(potential=match.carry(base.mesh, even), bare=_bare_start(known, state))

    slopes = _slopes(known, match, anatomy, layout, places)
    along = Exchanged.of(factors, known.air[rows], slopes, system)
    return PickupModel(
        anatomy=anatomy, layout=layout, mesh=mesh, factors=factors, windings=windings, system=system, table=table,
        along=along, slopes=slopes, kin=Kin(model=known.model, start=start),
    )  # fmt: skip


def _exchanged_system(base: Alternating, windings: WindingSet, factors: Factors, match: Match) -> Alternating:
    """Return the reduced matrices of ``factors``: the base's, on the same basis of the magnets, and the update."""
    mesh, magnet, update = factors.mesh, factors.magnet_nodes, factors.update
    assert update is not None
    steel = np.setdiff1d(np.arange(mesh.nodes), magnet)
    basis = base.basis[np.searchsorted(base.magnet_nodes, match.old_node[magnet])]
    old = match.old_node[steel]
    column = np.where(old < 0, -1, np.searchsorted(base.steel_nodes, old))
    reduced = np.concatenate([column, base.steel_count + np.arange(basis.shape[1])])
    added = np.concatenate([update.nodes[steel], basis.T @ update.nodes[magnet]])
    edges = np.flatnonzero(~np.asarray(mesh.is_magnet_edge, dtype=bool))
    number = np.full(mesh.nodes, -1)
    number[steel] = np.arange(len(steel))
    network = (added * update.sign) @ added.T
    place(network, base.network, reduced)
    return replace(
        base, windings=windings, steel_nodes=steel, basis=basis, magnet_nodes=magnet,
        network=network,
        drive=np.concatenate([factors.drive[steel], basis.T @ factors.drive[magnet]]), direct=factors.direct,
        edges=edges, edge_a=number[mesh.edge_a[edges]], edge_b=number[mesh.edge_b[edges]],
        edge_weight=(mesh.edge_area / mesh.edge_length)[edges],
    )  # fmt: skip


def _slopes(known: _Known, match: Match, anatomy: Anatomy, layout: StringLayout, places: IntArray) -> ExchangedSlopes:
    """Slopes across the strings, from the base's and those of the elements that come."""
    points = engine.slope_points(anatomy, layout)
    each = len(points) // len(layout.y)
    rows = (places[:, None] * each + np.arange(each)).ravel()
    same = known.model.slopes.reply  # of the mirrored kin: a turned screw changes a few per cent of a few per cent
    groups = (places[:, None] * HEIGHTS + np.arange(HEIGHTS)).ravel()
    return ExchangedSlopes(
        base=known.base, match=match, outward=known.outward, rows=rows, air=known.air_slopes[rows],
        shown=match.elements.take(match.added).slopes_across(points), reply=np.concatenate([same, -same])[groups],
    )  # fmt: skip


def _bare_start(known: _Known, state: MagnetState) -> "FloatArray | None":
    """Potential of the magnets alone in air on the mirrored mesh, from a state of its model."""
    if state.bare is None:
        return None
    full = np.zeros(known.model.mesh.nodes)
    full[known.model.factors.magnet_nodes] = state.bare
    out: FloatArray = full[known.unfold][known.base.half.magnet_nodes]
    return out
