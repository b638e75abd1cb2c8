"""The physics of one pickup geometry, factorised once and asked many times.

A `PickupModel` depends on shapes alone (an `Anatomy` and where the strings run): changing the magnet, its charge,
steel, turns, gap or strings re-uses it.
"""

from collections.abc import Mapping
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar
from weakref import WeakKeyDictionary, WeakValueDictionary

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.coil import (
    Alternating,
    AlternatingSolution,
    WindingSet,
    alternating,
    flat_permeability,
    is_large,
    round_permeability,
    solve_alternating,
    source_potential,
    winding_set,
)
from polepiece.constants import MU_0
from polepiece.geometry import Mesh, Resolution, cut
from polepiece.kept import Kept
from polepiece.magnetics import Factors, MagnetLaw, MagnetState, Start, cache, factorise, forget_core, solve_state
from polepiece.pickup import slopes as across
from polepiece.pickup import stored
from polepiece.pickup.along import Written
from polepiece.pickup.anatomy import Anatomy, SteelPart, pickup_mesh
from polepiece.pickup.model import PickupModel, StringLayout
from polepiece.pickup.slopes import Slopes, beside_strings
from polepiece.pickup.steel_edges import sheet_impedances, steel_permeabilities
from polepiece.strings import (
    Beside,
    HeightTable,
    Rod,
    Sensed,
    StringSystem,
    Swing,
    chebyshev_heights,
    sense,
    sense_draws,
    string_cuts,
    swing,
)
from polepiece.threads import one_thread, side_by_side, together

Made = TypeVar("Made")
SAMPLES = np.array([0.0, 30, 80, 120, 250, 500, 1000, 1700, 2500, 3500, 5000, 7000, 10e3, 14e3, 20e3])  # Hz
LOWEST, HIGHEST, HEIGHTS = 0.7e-3, 9.5e-3, across.TABLE_HEIGHTS  # string axes above the pole tops, m, and table heights
DEFAULT = Resolution()
COARSE = Resolution(
    sectors=8, slice_height=2.6e-3, cap_rings=1, keeper_panel=5.0e-3, magnet_across=4, magnet_along=2,
    magnet_layers=2, rod_layers=8, rod_rings=2, rod_sectors=6,
)  # fmt: skip
ALIKE = 1e-6  # of a field: far more than rounding parts what a symmetry makes equal, far less than a meter tells
HALVES_FROM = 3000  # frequencies times unknowns, from where solving in two threads is worth their start


SYSTEMS = 8  # sets of strings kept for each model
_SYSTEMS: "WeakKeyDictionary[PickupModel, Kept[tuple[tuple[Rod, ...], object], StringSystem]]"
_SYSTEMS = WeakKeyDictionary()


@lru_cache(maxsize=24)
def pickup_model(anatomy: Anatomy, layout: StringLayout, resolution: Resolution = DEFAULT) -> PickupModel:
    """Return the model of ``anatomy``: from memory, from another process (`ahead`), from disk, or made anew."""
    key = (anatomy, layout, resolution)
    found = fetched(_COMING.pop(key, None)) or made_model(*key)
    _IN_MEMORY[key] = found
    return found


@lru_cache(maxsize=24)
def field_model(anatomy: Anatomy, layout: StringLayout, resolution: Resolution) -> PickupModel:
    """Return a model that is asked for fields alone: without replies to strings and slopes across them."""
    return made_model(anatomy, layout, resolution, senses=False)


def forget() -> None:
    """Forget the models of this process: for work that goes through many geometries and comes back to none."""
    pickup_model.cache_clear()
    field_model.cache_clear()
    forget_core()


def made_model(
    anatomy: Anatomy, layout: StringLayout, resolution: Resolution, *, folded: bool = True, senses: bool = True
) -> PickupModel:
    """Return the model of ``anatomy``, from disk or made anew; in its half x >= 0 where that can be (`pickup_mesh`)."""
    with one_thread():
        mesh = pickup_mesh(anatomy, resolution) if folded else cut(anatomy.assembly, resolution)
        return _model_on(mesh, anatomy, layout, senses)


def _model_on(mesh: Mesh, anatomy: Anatomy, layout: StringLayout, senses: bool) -> PickupModel:
    table, points = string_probes(anatomy, layout)
    key = stored.name_of(mesh, anatomy, layout, senses)
    found = stored.unpacked(cache.load(key) or {}, mesh, anatomy)
    if found is not None:
        factors, windings, system, direct, slopes = found
    else:
        windings = winding_set(mesh, anatomy.coils, anatomy.plates)
        sloped = across.sloped(len(layout.y) if senses else 0)
        at = points[sloped].reshape(-1, 3)
        of_sheets = _sheets_in_air(windings, points)  # before: its kernel has threads of its own, as the factors' have
        factors, (of_coils, beside) = together(
            lambda: factorise(mesh, windings.sources, points, sloped, replies=senses),
            lambda: (_coils_in_air(windings, points), across.slopes_in_air(anatomy.coils, at)),
        )
        system = alternating(factors, windings)
        direct = np.asarray(factors.probe_sources) + np.concatenate([of_coils, of_sheets], axis=1)
        slopes = Slopes.of(factors, beside)
        cache.store(key, stored.packed(factors, windings, system, direct, slopes))
    return PickupModel(
        anatomy=anatomy, layout=layout, mesh=mesh, factors=factors, windings=windings, system=system, table=table,
        along=_written(factors, system, direct, slopes), slopes=slopes, stored_as=key,
    )  # fmt: skip


def _written(factors: Factors, system: Alternating, direct: FloatArray, slopes: Slopes) -> Written:
    nodes = np.asarray(factors.probe_nodes)
    return Written(nodes=nodes, reduced=system.reduce(nodes), direct=direct, slopes=slopes, system=system)


# --- a geometry that another process makes meanwhile --------------------------------------------------
_COMING: "dict[tuple[Anatomy, StringLayout, Resolution], Future[PickupModel]]" = {}
_IN_MEMORY: "WeakValueDictionary[tuple[Anatomy, StringLayout, Resolution], PickupModel]" = WeakValueDictionary()


def solve_ahead(executor: Executor, anatomy: Anatomy, layout: StringLayout, resolution: Resolution = DEFAULT) -> None:
    """Have ``executor`` make the model of a geometry that `pickup_model` will be asked for, unless it is there."""
    key = (anatomy, layout, resolution)
    if key not in _COMING and key not in _IN_MEMORY:
        _COMING[key] = executor.submit(made_model, *key)


def under_way(anatomy: Anatomy, layout: StringLayout, resolution: Resolution = DEFAULT) -> bool:
    """Return whether another process is making the model of a geometry at this moment."""
    coming = _COMING.get((anatomy, layout, resolution))
    return coming is not None and coming.running()


def fetched(coming: "Future[Made] | None") -> Made | None:
    """Return what another process made; None when it was not asked, has not begun, or is gone."""
    if coming is None or coming.cancel():
        return None
    with suppress(BrokenExecutor):
        return coming.result()
    return None


def string_probes(anatomy: Anatomy, layout: StringLayout) -> tuple[HeightTable, FloatArray]:
    """Return the table of heights along the strings and its points (tables * nz, nx, 3)."""
    cuts = string_cuts(layout.length, anatomy.rows)
    heights = chebyshev_heights(layout.low, layout.high, HEIGHTS)
    table = HeightTable(cuts=cuts, z=np.broadcast_to(heights, (len(layout.y), HEIGHTS)))
    points = np.array([[[(x, y, z) for x in table.x] for z in heights] for y in layout.y], dtype=float)
    return table, points.reshape(-1, len(table.x), 3)


def slope_points(anatomy: Anatomy, layout: StringLayout) -> FloatArray:
    """Return the places (tables * heights * nx, 3) of `PickupModel.slopes`."""
    _, points = string_probes(anatomy, layout)
    return points[across.sloped(len(layout.y))].reshape(-1, 3)


def sources_in_air(windings: WindingSet, points: FloatArray) -> FloatArray:
    """Return what coils and sheets alone make at ``points`` (..., 3): (n, w), A per A."""
    return np.concatenate([_coils_in_air(windings, points), _sheets_in_air(windings, points)], axis=1)


def _coils_in_air(windings: WindingSet, points: FloatArray) -> FloatArray:
    return np.stack([source_potential(c, points.reshape(-1, 3)) for c in windings.coils], axis=1)


def _sheets_in_air(windings: WindingSet, points: FloatArray) -> FloatArray:
    flat = points.reshape(-1, 3)
    return np.zeros((len(flat), 0)) if windings.sheets is None else windings.sheets.potential(flat)


# --- one state ---------------------------------------------------------------------------------------
def static_state(
    model: PickupModel, magnet: MagnetLaw, steels: Mapping[str, SteelPart], start: "MagnetState | Start | None" = None
) -> MagnetState:
    """Return the solved static state of ``model`` with one kind of magnet."""
    laws = {name: steels[name].law for name in model.mesh.parts if name in steels}
    with one_thread():
        return solve_state(model.factors, {"magnet": magnet}, laws, start=start)


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetForSound:
    """What alternating fields meet in a magnet: recoil permeability and resistivity (None: no current)."""

    permeability: float
    resistivity: float | None
    is_round: bool = False


def coil_fields(
    model: PickupModel,
    state: MagnetState,
    steels: Mapping[str, SteelPart],
    magnet: MagnetForSound,
    frequency: FloatArray = SAMPLES,
) -> AlternatingSolution:
    """Return inductances per turn squared and potentials per ampere-turn at ``frequency`` (f,)."""
    mesh, system = model.mesh, model.system
    steel = steel_permeabilities(mesh, system.edges, state.magnetization, steels, frequency)
    flat, up = magnet_permeabilities(mesh, magnet, frequency)
    sheets = sheet_impedances(mesh, model.anatomy.plates, state.magnetization, steels, frequency)

    def at(part: "slice") -> AlternatingSolution:
        return solve_alternating(
            system,
            frequency[part],
            steel=steel[:, part],
            magnet_flat=flat[part],
            magnet_up=up[part],
            sheets=sheets[:, part],
        )

    half = len(frequency) // 2
    with one_thread():
        if is_large(system) or len(frequency) * len(system.network) < HALVES_FROM:
            return at(slice(None))
        low, high = side_by_side(at, [slice(0, half), slice(half, None)])
    return AlternatingSolution(
        frequency=frequency, inductance=np.concatenate([low.inductance, high.inductance], axis=2),
        potential=np.concatenate([low.potential, high.potential]),
        currents=np.concatenate([low.currents, high.currents]),
    )  # fmt: skip


def magnet_permeabilities(
    mesh: Mesh, magnet: MagnetForSound, frequency: FloatArray
) -> tuple[ComplexArray, ComplexArray]:
    """Return the complex mean permeability of the magnets along x, y and along z (f,)."""
    mu = magnet.permeability
    if magnet.resistivity is None:
        same = np.full(len(frequency), mu, dtype=complex)
        return same, same
    in_magnet = np.asarray(mesh.is_magnet_edge, dtype=bool)
    up = mesh.edge_axis == 2
    flat_scale = float(mesh.edge_scale[in_magnet & ~up].min())
    up_scale = float(mesh.edge_scale[in_magnet & up].min())
    if magnet.is_round:
        along = round_permeability(frequency, permeability=mu, resistivity=magnet.resistivity, radius=up_scale)
        return along, along
    return (
        flat_permeability(frequency, permeability=mu, resistivity=magnet.resistivity, half_thickness=flat_scale),
        flat_permeability(frequency, permeability=mu, resistivity=magnet.resistivity, half_thickness=up_scale),
    )


def pickup_table(model: PickupModel, state: MagnetState) -> FloatArray:
    """Return the static potential (tables, nx, nz) along the strings, A."""
    return np.asarray(model.shaped(model.factors.probe_nodes @ state.potential))


@lru_cache(maxsize=24)
def _static_model(anatomy: Anatomy, layout: StringLayout, resolution: Resolution) -> tuple[Factors, FloatArray]:
    """Return a geometry's factors without coils and what its charges make along the strings (tables * nz * nx, e)."""
    factors = factorise(pickup_mesh(anatomy, resolution))
    _, points = string_probes(anatomy, layout)
    return factors, factors.elements.potentials(points.reshape(-1, 3))


def static_table(
    anatomy: Anatomy,
    layout: StringLayout,
    resolution: Resolution,
    magnet: MagnetLaw,
    steels: Mapping[str, SteelPart],
    start: MagnetState | None = None,
) -> FloatArray:
    """Return `pickup_table` of a geometry that is asked for nothing else; ``start``: a state of one nearly the same."""
    factors, seen = _static_model(anatomy, layout, resolution)
    laws = {name: steels[name].law for name in factors.mesh.parts if name in steels}
    if start is not None and len(start.potential) != factors.mesh.nodes:
        start = None
    with one_thread():
        state = solve_state(factors, {"magnet": magnet}, laws, start=start)
    return np.swapaxes((seen @ state.charge).reshape(len(layout.y), HEIGHTS, -1), 1, 2)


def tables(model: PickupModel, state: MagnetState, found: AlternatingSolution) -> tuple[FloatArray, FloatArray, Beside]:
    """Return the static potential (tables, nx, nz) along the strings, A, each coil's, and the slopes of both along y.

    The coils' (coils, tables, nx, nz) are quasi-static and per ampere-turn, from the lowest frequency. Derived in
    docs/theory/coil.md: the charges' potential and that of the currents.
    """
    potential, slope = model.along.solved(state, found)
    values = np.moveaxis(model.shaped(potential), -1, 0)
    slopes = np.moveaxis(across.shaped(slope, model.table), -1, 0)
    return values[0], values[1:], Beside(pickup=slopes[0], coils=slopes[1:])


def sensed_strings(
    model: PickupModel,
    rods: tuple[Rod, ...],
    y: FloatArray,
    height: FloatArray,
    pickup: FloatArray,
    coils: FloatArray,
    slopes: Beside | None = None,
) -> Sensed:
    """Return what the pickup has of strings at ``y`` and ``height`` (k,); per turn of each coil.

    ``slopes`` of the tables along y: without them nothing is sensed of motion across the strings.
    """
    at = model.table_of(y)
    table = HeightTable(cuts=model.table.cuts, z=model.table.z[at])
    side = model.side_of(y)
    system = string_system(model, rods, tuple(zip(at.tolist(), side.tolist())))
    beside = None if slopes is None else beside_strings(slopes, at, side)
    return sense(system, table, height=height, pickup=pickup[at], coils=coils[:, at], beside=beside)


def swinging_strings(
    model: PickupModel, rods: tuple[Rod, ...], y: FloatArray, height: FloatArray,
    found: tuple[FloatArray, FloatArray, Beside], sensed: Sensed | None = None,
) -> Swing:  # fmt: skip
    """Return what strings at ``y`` and ``height`` (k,) link along wide swings; ``found``: `tables`."""
    at, side = model.table_of(y), model.side_of(y)
    table = HeightTable(cuts=model.table.cuts, z=model.table.z[at])
    system = string_system(model, rods, tuple(zip(at.tolist(), side.tolist())))
    pickup, coils, slopes = found
    return swing(
        system, table, height=height, pickup=pickup[at], coils=coils[:, at],
        beside=beside_strings(slopes, at, side), sensed=sensed,
    )  # fmt: skip


def drawn_strings(
    model: PickupModel,
    rods: "list[tuple[Rod, ...]]",
    y: FloatArray,
    height: FloatArray,
    pickup: FloatArray,
    coils: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Return sensitivity (k, coils, d) and force (k, d) for draws: height (k, d), pickup (d, tables, nx, nz)."""
    at = model.table_of(y)
    table = HeightTable(cuts=model.table.cuts, z=model.table.z[at])
    system = string_system(model, rods[0], tuple(zip(at.tolist(), model.side_of(y).tolist())))
    return sense_draws(system, table, height=height, pickup=pickup[:, at], coils=coils[:, at], rods=rods)


def string_system(model: PickupModel, rods: tuple[Rod, ...], tables: tuple[tuple[int, float], ...]) -> StringSystem:
    """Return the strings' self-potentials with the pickup's reply; kept as long as the model is.

    ``tables``: of each string its table and on which side it runs (`PickupModel.side_of`).
    """
    kept = _SYSTEMS.setdefault(model, Kept(SYSTEMS))
    if (rods, tables) not in kept:
        nz = model.table.z.shape[1]
        at, side = [t for t, _ in tables], np.array([s for _, s in tables])
        reply = model.factors.probe_reply.reshape(len(model.layout.y), nz, *model.factors.probe_reply.shape[1:])
        slope = across.reply_along(model.slopes.reply, model.table)[at] * side[:, None, None, None]
        kept[rods, tables] = StringSystem.of(model.table.cuts, rods, reply[at], slope)
    return kept[rods, tables]


def eddy_factor(model: PickupModel, sensed: Sensed, y: FloatArray, fields_: AlternatingSolution) -> ComplexArray:
    """Return each coil's sensitivity for each string (k, coils, f) over frequency, re its static value.

    A linear functional of the coils' potential: docs/theory/sensing.md.
    """
    at = model.table_of(y)
    coils = len(model.windings.coils)
    weight = np.zeros((len(at), len(model.layout.y), *sensed.functional.shape[:0:-1]))
    weight[np.arange(len(at)), at] = sensed.functional.swapaxes(1, 2)
    row, own = model.along.felt(weight.reshape(len(at), -1))
    value = np.moveaxis(row @ fields_.potential, 0, -1) + own[:, :coils, None]  # (f, k, c) by the library's own product
    if own.shape[-1] > coils:
        value = value + np.moveaxis(own[:, coils:] @ fields_.currents, 0, -1)
    static = value[:, :, :1].real
    return np.asarray(value / np.where(static == 0.0, 1.0, static))


def vertical_field(model: PickupModel, pickup: FloatArray, y: FloatArray, height: FloatArray) -> FloatArray:
    """Return B_z (k,) in T of largest size along each string's axis; of places alike in size, of the first.

    Two rows that are each other's image would otherwise be told apart by rounding, another way for every string.
    """
    at = model.table_of(y)
    table = HeightTable(cuts=model.table.cuts, z=model.table.z[at])
    _, first, _ = table.weights(height[:, None])
    bz = -MU_0 * np.einsum("khz,kxz->kx", first, pickup[at])
    size = np.abs(bz)
    return np.asarray(bz[np.arange(len(bz)), np.argmax(size >= (1.0 - ALIKE) * size.max(axis=1)[:, None], axis=1)])
