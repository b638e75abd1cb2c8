"""90 % intervals by sampling: what the tolerances of bar, steel, strings, wire and heights do to a prediction.

A draw does not solve the magnet again: the potential along the strings moves by one-at-a-time changes that were
solved on a coarse mesh (a response surface; the tests hold its error against the full chain). Strings are solved
for every draw.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.bench.state import BANDS, State
from polepiece.bench.stroke import Energies, Taken, decibel
from polepiece.bench.switched import PickupOn, Switched
from polepiece.circuit import LoadedResponse, resonance
from polepiece.errors import ConvergenceError
from polepiece.geometry import Resolution
from polepiece.guitar import SIGMAS, Draw, Guitar, Magnet, Pickup, known
from polepiece.magnetics import MagnetState
from polepiece.materials import QUANTITIES, MagnetMaterial, catalogue, in_use, pickup_bars
from polepiece.pickup import (
    AT_1KHZ,
    GRID,
    CoilMove,
    Magnetised,
    PickupModel,
    StringLayout,
    anatomy,
    engine,
    flattest,
    inductance_of,
    magnet_for_sound,
    magnet_law,
    magnet_material,
    over_frequency,
    pickup_circuit,
    pickup_resistance,
    position_responses,
    steel_parts,
    steel_records,
    string_offsets,
    string_places,
    string_rods,
    turns,
    wound_strings,
)
from polepiece.strings import moved_across

END_SAMPLES = engine.SAMPLES[[0, 3, 5, 7, 9, 11, 13, 14]]  # within 4.5 % of the largest of all samples: a test


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnPickup:
    """One pickup that is on, in d draws."""

    on: PickupOn
    ratio: FloatArray  # (k, c, d) sensitivity over the nominal one
    pull: FloatArray  # (k, d) pull over the nominal one
    coils: list[CoilMove]  # what steel and turns do to its coils


def drawn_strings(
    guitar: Guitar, pickup: Pickup, magnetised: Magnetised, moves: "MagnetMoves | None", draws: list[Draw]
) -> tuple[FloatArray, FloatArray]:
    """Return sensitivity (k, coils, d) per turn and pull (k, d) of every draw."""
    y, height = string_places(guitar, pickup)
    low, high = magnetised.model.layout.low, magnetised.model.layout.high
    heights = np.stack([height + _height_error(d, len(y)) for d in draws], axis=1)
    ratio = known.field_ratio(guitar, pickup)
    moved = [moves.at(d, pickup.magnet, ratio) if moves is not None and d.number else 0.0 for d in draws]
    tables = np.stack([magnetised.pickup_table + m for m in moved])
    rods = [string_rods(guitar, d) for d in draws]
    return engine.drawn_strings(magnetised.model, rods, y, np.clip(heights, low, high), tables, magnetised.coil_table)


def drawn_numbers(
    guitar: Guitar, switched: Switched, strokes: Sequence[Taken], drawn: Sequence[DrawnPickup], nominal: State,
    draws: list[Draw],
) -> list[dict[str, float]]:  # fmt: skip
    """Return the numbers of `State` (those that a draw moves) for every draw."""
    responses = _responses(guitar, switched, drawn, draws)
    transfer = np.stack([np.concatenate(one.transfers) for one in responses])  # (d, c, f)
    turned = [np.array([m.turns for m in one.coils]) / _stated_turns(one.on) for one in drawn]  # (d,) each
    across, lean, place = _beside(guitar, drawn, turned, draws)
    voltages = [
        stroke.voltage(transfer * eddy, towards=across[k] * lean[k], across=across[k], offset=place[k])
        for k, (stroke, eddy) in enumerate(zip(strokes, switched.eddy))
    ]
    energies = Energies.of(strokes, voltages).numbers(wound_strings(guitar))
    out = []
    for number, draw in enumerate(draws):
        one = {key: float(value[number]) for key, value in energies.items()}
        one |= {f"bands_own_db.{b}": one["level_db"] + one[f"bands_db.{b}"] for b in BANDS}
        emf = np.concatenate(
            [d.on.emf * d.ratio[:, :, number, None] * t[number] for d, t in zip(drawn, turned)], axis=1
        )[:, :, AT_1KHZ]
        small = np.abs(np.einsum("kc,c->k", emf, transfer[number][:, AT_1KHZ])) ** 2
        one["sensitivity_1khz_db"] = float(decibel(small.mean()))
        out.append(one | _resonance(responses[number]) | _own(guitar, switched, drawn[0], nominal, draw, number))
    return out


def _responses(
    guitar: Guitar, switched: Switched, drawn: Sequence[DrawnPickup], draws: list[Draw]
) -> list[LoadedResponse]:
    """Return the response of every draw, solved together."""
    circuits = [
        {
            on.pickup.name: pickup_circuit(guitar, on.pickup, on.magnetised.coils, draw, move=one.coils[number])
            for one in drawn
            for on in (one.on,)
        }
        for number, draw in enumerate(draws)
    ]
    return position_responses(guitar, switched.position, circuits, draws)


def _stated_turns(on: PickupOn) -> float:
    """Return the factor on the turns that a measured inductance gives the nominal state; 1 without."""
    return float(on.turns[0] / turns(on.pickup)[0])


def _beside(
    guitar: Guitar, drawn: Sequence[DrawnPickup], turned: Sequence[FloatArray], draws: list[Draw]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return (k, d, c): factors on all that each coil takes, on the part towards the pole, and places beside it, m."""
    factors, leans, places = [], [], []
    for one, turn in zip(drawn, turned):
        offset = np.stack([string_offsets(guitar, one.on.pickup, draw) for draw in draws], axis=1)  # (k, d)
        moved, _ = moved_across(one.on.sensed, offset)  # (k, c, d)
        stated = np.where(one.on.sensed.sensitivity == 0.0, 1.0, one.on.sensed.sensitivity)[:, :, None]
        factors.append(one.ratio * turn)
        leans.append(moved / stated)
        places.append(np.broadcast_to(offset[:, None], moved.shape))
    return tuple(np.swapaxes(np.concatenate(parts, axis=1), 1, 2) for parts in (factors, leans, places))  # type: ignore[return-value]


def _resonance(response: LoadedResponse) -> dict[str, float]:
    peak = resonance(GRID, np.asarray(sum(flattest(one) for one in response.transfers)), reference="plateau")
    if peak.frequency is None or peak.height_db is None:
        return {}
    out = {"resonance_hz": peak.frequency, "resonance_db": peak.height_db}
    return out | ({} if peak.quality is None else {"resonance_q": peak.quality})


def _own(
    guitar: Guitar, switched: Switched, drawn: DrawnPickup, nominal: State, draw: Draw, number: int
) -> dict[str, float]:
    """Return what is of the pickup alone."""
    pickup = drawn.on.pickup
    wiring = switched.position.wirings.get(pickup.name, pickup.wiring)
    inductance = inductance_of(
        pickup, drawn.on.magnetised.coils, np.array([120.0, 1000.0]), drawn.coils[number], wiring
    )
    out = {
        "dc_resistance_ohm": pickup_resistance(pickup, wiring) * known.drawn_resistance(guitar, pickup, draw),
        "inductance_120hz_h": float(inductance[0].real), "inductance_1khz_h": float(inductance[1].real),
    }  # fmt: skip
    for k, pull in enumerate(drawn.pull[:, number]):
        out[f"string_pull_n.{k + 1}"] = float(nominal.string_pull_n[k] * pull)
        out[f"partial_shift_cents.{k + 1}"] = float(nominal.partial_shift_cents[k] * pull)
        out[f"field_mt.{k + 1}"] = float(nominal.field_mt[k] * np.sqrt(abs(pull)))
    return out


CONSTANTS = QUANTITIES  # of a bar
MOVES = (*CONSTANTS, "gap")
GAP_SPREAD = (0.02e-3, 0.2e-3)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MagnetMoves:
    """Changes of the pickup's table for each quantity at its low and high end, and for other charges or grades."""

    ends: dict[str, tuple[FloatArray, FloatArray]]
    in_place: FloatArray | None  # change from outside to in place, where the charge is not known
    grades: tuple[FloatArray, ...]  # change to each possible grade, where the grade is not known
    coils: dict[str, tuple[ComplexArray, ComplexArray]]  # logarithms of the factors on the inductances at both ends
    table: FloatArray  # that all these are changes of
    together: FloatArray | None = None  # (4, 4) root of the correlations of a bar's constants, in the order of `MOVES`

    def scaled_to(self, table: FloatArray) -> "MagnetMoves":
        """Return the changes in proportion to a finer table of the same state."""
        scale = np.linalg.norm(table) / np.linalg.norm(self.table)
        return replace(
            self,
            ends={key: (scale * low, scale * high) for key, (low, high) in self.ends.items()},
            in_place=None if self.in_place is None else scale * self.in_place,
            grades=tuple(scale * one for one in self.grades),
            table=table,
        )

    def coil_at(self, draw: Draw, *, reversible: float | None = None) -> CoilMove:
        """Return the factors of one draw: the same steel before and after, each side by its own width.

        ``reversible`` is a deviate of the steel's permeability in place of the draw's own.
        """
        total: ComplexArray | float = 0.0
        for key, (low, high) in self.coils.items():
            z = draw.deviate(f"steel {key}") if key != "reversible" or reversible is None else reversible
            z /= SIGMAS
            total = total + abs(z) * (high if z > 0.0 else low)
        return CoilMove(factor=np.exp(total)) if self.coils else CoilMove()

    def at(self, draw: Draw, magnet: Magnet, read: "tuple[float, float, float] | None" = None) -> FloatArray:
        """Return the change of the table in one draw.

        With ``read``, the measured over the computed field at the pole tops and its 90 % range, every draw keeps the
        shape of its own field and has the strength that the meter read.
        """
        name = f"bar {magnet.grade} {magnet.constants}"
        shared = {"gap"}
        total: FloatArray | float = 0.0
        deviates = {key: draw.deviate(key if key in shared else f"{name} {key}") for key in self.ends}
        if self.together is not None:
            together = self.together @ [draw.deviate(f"{name} {key}") for key in CONSTANTS]
            deviates |= {key: float(one) for key, one in zip(CONSTANTS, together) if key in self.ends}
        for key, (low, high) in self.ends.items():
            z = deviates[key] / SIGMAS
            total = total + (0.5 * z * (z + 1.0) * high + 0.5 * z * (z - 1.0) * low if abs(z) <= 1.0 else
                             (z * high if z > 0 else -z * low))  # fmt: skip
        if self.in_place is not None:
            total = total + draw.share(f"{name} charge") * self.in_place
        if self.grades:
            total = total + self.grades[int(draw.share("unknown grade") * len(self.grades)) % len(self.grades)]
        pooled = in_use()
        if pooled is not None and pooled.charge is not None and magnet.charge == "outside" and read is None:
            value, least, most = pooled.charge
            total = (self.table + total) * draw.factor(
                f"{name} pooled charge", least / value, most / value
            ) - self.table
        if read is not None:
            middle, least, most = read
            own = 1.0 + float(np.sum(self.table * total) / np.sum(self.table**2))
            wanted = middle * draw.factor("measured field", least / middle, most / middle)
            total = (self.table + total) * wanted / own - self.table
        return np.asarray(total)


def magnet_moves(pickup: Pickup, layout: StringLayout) -> MagnetMoves:
    """Solve the one-at-a-time changes on a coarse mesh, or on the usual one.

    Panels that are hundreds of times as wide as the narrowest air between bar and steel may be too coarse to be told
    from what they face: a mesh that has no solution then.
    """
    try:
        return _moves_on(pickup, layout, engine.COARSE)
    except ConvergenceError:
        return _moves_on(pickup, layout, engine.DEFAULT)


def _moves_on(pickup: Pickup, layout: StringLayout, resolution: Resolution) -> MagnetMoves:
    coarse = engine.field_model(anatomy(pickup), layout, resolution)
    material, steels = magnet_material(pickup.magnet), steel_parts(pickup)
    centre = engine.static_state(coarse, magnet_law(pickup.magnet, material), steels)
    middle = engine.pickup_table(coarse, centre)

    def change(other: Pickup, stuff: "MagnetMaterial | None") -> FloatArray:
        law = magnet_law(other.magnet, stuff or magnet_material(other.magnet))
        shape = anatomy(other)
        if shape == coarse.anatomy:
            table = engine.pickup_table(
                coarse, engine.static_state(coarse, law, steel_parts(other), start=centre)
            )  # fmt: skip
        else:  # another contact gap is another shape
            table = engine.static_table(shape, coarse.layout, resolution, law, steel_parts(other), centre)
        return np.asarray(table - middle)

    ends = {}
    for key in MOVES[:-1]:
        if key in material.spread:
            ends[key] = tuple(
                change(pickup, material.with_constants(**{key: v}, limit=True)) for v in material.spread[key]
            )
    if gaps := _gap_ends(pickup):
        ends["gap"] = tuple(change(other, material) for other in gaps)
    in_place = None
    if pickup.magnet.charge == "unknown":
        in_place = change(replace(pickup, magnet=replace(pickup.magnet, charge="in-place")), material)
    grades: tuple[FloatArray, ...] = ()
    if pickup.magnet.grade == "unknown" and pickup.magnet.constants is None:
        grades = tuple(
            change(replace(pickup, magnet=replace(pickup.magnet, grade=slug)), None) for slug in pickup_bars.LIKELY
        )
    coils = coil_ends(pickup, coarse, centre)
    return MagnetMoves(
        ends=ends, in_place=in_place, grades=grades, coils=coils, table=middle,  # type: ignore[arg-type]
        together=_root(material.together),
    )  # fmt: skip


def _root(correlations: tuple[tuple[float, ...], ...]) -> FloatArray | None:
    """Return the symmetric root of correlations; what digits leave below zero counts as zero."""
    if not correlations:
        return None
    sizes, axes = np.linalg.eigh(np.array(correlations))
    root = axes * np.sqrt(np.maximum(sizes, 0.0)) @ axes.T
    return np.asarray(root / np.linalg.norm(root, axis=1)[:, None])


def _gap_ends(pickup: Pickup) -> tuple[Pickup, ...]:
    """Return the pickup with the smallest and the largest contact gap; none where there is no contact to speak of."""
    if not pickup.built.bars or pickup.magnet.constants is not None:
        return ()
    extra = pickup.magnet.bar_to_pole_gap
    gaps = (GAP_SPREAD[0] if extra >= GAP_SPREAD[0] else extra, max(GAP_SPREAD[1], extra))
    return tuple(replace(pickup, magnet=replace(pickup.magnet, bar_to_pole_gap=max(g, 0.0))) for g in gaps)


def coil_ends(pickup: Pickup, coarse: PickupModel, state: MagnetState) -> dict[str, tuple[ComplexArray, ComplexArray]]:
    """Return what the ends of the steels' spread (reversible permeability, resistivity) do to the inductances.

    Logarithms of factors on GRID, solved on the coarse mesh; steel whose linear permeability the file gives is known.
    """
    steels = steel_parts(pickup)
    own = steel_records(pickup)
    unknown = {n: catalogue.steel(own[n].name or "1010") for n in coarse.mesh.parts if n in own and steels[n].biased}
    sound = magnet_for_sound(pickup, magnet_material(pickup.magnet))

    def solved(reversible: int | None = None, resistivity: int | None = None) -> ComplexArray:
        moved = dict(steels)
        for name, steel in unknown.items():
            part = steels[name]
            mu = part.reversible if reversible is None else steel.spread["reversible_permeability"][reversible]
            rho = part.resistivity
            if resistivity is not None and "resistivity" in steel.spread:
                rho = steel.spread["resistivity"][resistivity]
            moved[name] = replace(part, reversible=mu, resistivity=rho)
        fields = engine.coil_fields(coarse, state, moved, sound, END_SAMPLES)
        return over_frequency(fields.inductance, fields.frequency)

    if not unknown:
        return {}
    centre = solved()
    return {
        "reversible": (np.log(solved(reversible=0) / centre), np.log(solved(reversible=1) / centre)),
        "resistivity": (np.log(solved(resistivity=0) / centre), np.log(solved(resistivity=1) / centre)),
    }


def _height_error(draw: Draw, count: int) -> FloatArray:
    """Reading of the two gaps, +-0.1 mm each (90 %), the same before and after."""
    treble = draw.value("gap treble", 0.0, -1e-4, 1e-4)
    bass = draw.value("gap bass", 0.0, -1e-4, 1e-4)
    return np.linspace(treble, bass, count) if count > 1 else np.array([treble])
