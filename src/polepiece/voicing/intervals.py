"""90 % intervals by sampling: what the tolerances of bar, steel, strings, wire and heights do to a prediction.

A draw does not solve the magnet again: the potential along the strings moves by one-at-a-time changes that were
solved on a coarse mesh (a response surface; the tests hold its error against the full chain). Strings are solved
for every draw.
"""

from dataclasses import dataclass, replace

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.circuit import loaded_response, resonance
from polepiece.geometry import Resolution
from polepiece.magnetics import MagnetState
from polepiece.materials import MagnetMaterial, catalogue
from polepiece.voicing import engine, known, measures
from polepiece.voicing.anatomy import anatomy, magnet_law, magnet_material, steel_parts
from polepiece.voicing.electrics import (
    CoilMove,
    circuit_load,
    flattest,
    inductance_of,
    over_frequency,
    pickup_circuit,
    pickup_resistance,
)
from polepiece.voicing.guitar import Guitar, Magnet, Pickup
from polepiece.voicing.magnetised import Magnetised, magnet_for_sound, magnetise
from polepiece.voicing.measures import AT_1KHZ, GRID
from polepiece.voicing.spread import SIGMAS, Draw
from polepiece.voicing.state import State
from polepiece.voicing.stringing import string_places, string_rods

COARSE = Resolution(
    sectors=8, slice_height=2.6e-3, cap_rings=1, keeper_panel=5.0e-3, magnet_across=4, magnet_along=2,
    magnet_layers=2, rod_layers=8, rod_rings=2, rod_sectors=6,
)  # fmt: skip
END_SAMPLES = engine.SAMPLES[[0, 3, 5, 7, 9, 11, 13, 14]]  # within 4.5 % of the largest of all samples: a test
UNKNOWN_GRADES = ("alnico-2", "alnico-3", "alnico-4", "alnico-5", "alnico-8", "ceramic-8")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NominalState:
    """What the draws of one state are scaled from."""

    state: State
    emf: ComplexArray  # (k, coils, f) per string velocity on GRID
    sensitivity: FloatArray  # (k, coils) by the way of the draws
    force: FloatArray  # (k,)
    strokes: list[measures.StrokeModes]
    turns: float  # factor on the turns that belong to the resistance, from a measured inductance; 1 without


def drawn_strings(
    guitar: Guitar, unit: Pickup, magnetised: Magnetised, moves: "MagnetMoves | None", draws: list[Draw]
) -> tuple[FloatArray, FloatArray]:
    """Return sensitivity (k, coils, d) per turn and pull (k, d) of every draw."""
    y, height = string_places(guitar, unit)
    low, high = magnetised.model.layout.low, magnetised.model.layout.high
    heights = np.stack([height + _height_error(d, len(y)) for d in draws], axis=1)
    ratio = known.field_ratio(guitar, unit)
    moved = [moves.at(d, unit.magnet, ratio) if moves is not None and d.number else 0.0 for d in draws]
    tables = np.stack([magnetised.pickup_table + m for m in moved])
    rods = [string_rods(guitar, d) for d in draws]
    return engine.drawn_strings(magnetised.model, rods, y, np.clip(heights, low, high), tables, magnetised.coil_table)


def drawn_numbers(
    guitar: Guitar, unit: Pickup, magnetised: Magnetised, moves: "MagnetMoves", coils: list[CoilMove],
    base: NominalState, draws: list[Draw],
) -> list[dict[str, float]]:  # fmt: skip
    """Return the numbers of `State` (those that a draw moves) for every draw; ``coils`` are its inductances."""
    sensitivity, force = drawn_strings(guitar, unit, magnetised, moves, draws)
    ratio = sensitivity / base.sensitivity[:, :, None]
    wound = np.array([s.core_diameter < s.diameter for s in guitar.strings])
    out = []
    for k, draw in enumerate(draws):
        emf = base.emf * ratio[:, :, k, None] * (coils[k].turns / base.turns)
        out.append(_numbers(guitar, unit, magnetised, base, emf, force[:, k] / base.force, wound, draw, coils[k]))
    return out


def _numbers(
    guitar: Guitar, unit: Pickup, magnetised: Magnetised, base: NominalState, emf: ComplexArray, pull: FloatArray,
    wound: "np.ndarray", draw: Draw, move: CoilMove,
) -> dict[str, float]:  # fmt: skip
    circuit = pickup_circuit(guitar, unit, magnetised.coils, draw, GRID, move=move)
    transfer = loaded_response(GRID, circuit, load=circuit_load(guitar, draw)).transfer
    power = np.abs(measures.combined(emf, transfer)) ** 2
    peak = resonance(GRID, flattest(transfer), reference="plateau")
    level = 10.0 * np.log10(power[:, AT_1KHZ])
    inductance = inductance_of(unit, magnetised.coils, np.array([120.0, 1000.0]), move)
    out = {"level_db": measures.level_db(power)}
    out |= {f"bands_db.{k}": v for k, v in measures.bands_db(power).items()}
    gap = measures.wound_minus_plain_db(power, wound)
    if gap is not None:
        out["wound_minus_plain_db"] = gap
    attack = measures.attack_minus_sustain_db(power, base.strokes) if base.strokes else {}
    out |= {f"attack_minus_sustain_db.{k}": v for k, v in attack.items()}
    if peak.frequency is not None and peak.height_db is not None:
        out |= {"resonance_hz": peak.frequency, "resonance_db": peak.height_db}
        if peak.quality is not None:
            out["resonance_q"] = peak.quality
    out["dc_resistance_ohm"] = pickup_resistance(unit) * known.drawn_resistance(guitar, unit, draw)
    out["inductance_120hz_h"], out["inductance_1khz_h"] = (float(x.real) for x in inductance)
    nominal = base.state
    for k in range(len(level)):
        out[f"string_balance_db.{k + 1}"] = float(level[k] - out["level_db"])
        out[f"string_pull_n.{k + 1}"] = float(nominal.string_pull_n[k] * pull[k])
        if nominal.partial_shift_cents:  # test strings have no pitch
            out[f"partial_shift_cents.{k + 1}"] = float(nominal.partial_shift_cents[k] * pull[k])
        out[f"field_mt.{k + 1}"] = float(nominal.field_mt[k] * np.sqrt(abs(pull[k])))
    return out


MOVES = ("remanence", "coercivity", "energy_product", "recoil_permeability", "gap")
GAP_SPREAD = (0.02e-3, 0.2e-3)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MagnetMoves:
    """Changes of the pickup's table for each quantity at its low and high end, and for other charges or grades."""

    ends: dict[str, tuple[FloatArray, FloatArray]]
    in_place: FloatArray | None  # change from outside to in place, where the charge is not known
    grades: tuple[FloatArray, ...]  # change to each possible grade, where the grade is not known
    coils: dict[str, tuple[ComplexArray, ComplexArray]]  # logarithms of the factors on the inductances at both ends
    table: FloatArray  # that all these are changes of

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
        for key, (low, high) in self.ends.items():
            z = draw.deviate(key if key in shared else f"{name} {key}") / SIGMAS
            total = total + (0.5 * z * (z + 1.0) * high + 0.5 * z * (z - 1.0) * low if abs(z) <= 1.0 else
                             (z * high if z > 0 else -z * low))  # fmt: skip
        if self.in_place is not None:
            total = total + draw.share(f"{name} charge") * self.in_place
        if self.grades:
            total = total + self.grades[int(draw.share("unknown grade") * len(self.grades)) % len(self.grades)]
        if read is not None:
            middle, least, most = read
            own = 1.0 + float(np.sum(self.table * total) / np.sum(self.table**2))
            wanted = middle * draw.factor("measured field", least / middle, most / middle)
            total = (self.table + total) * wanted / own - self.table
        return np.asarray(total)


def magnet_moves(unit: Pickup, layout: engine.StringLayout) -> MagnetMoves:
    """Solve the one-at-a-time changes on a coarse mesh."""
    coarse = engine.pickup_model(anatomy(unit), layout, COARSE)
    material = magnet_material(unit.magnet)
    centre = magnetise(coarse, unit, with_coils=False)

    def change(other: Pickup, stuff: "MagnetMaterial | None") -> FloatArray:
        law = magnet_law(other.magnet, stuff or magnet_material(other.magnet))
        shape = anatomy(other)
        if shape == coarse.anatomy:
            table = engine.pickup_table(
                coarse, engine.static_state(coarse, law, steel_parts(other), start=centre.state)
            )  # fmt: skip
        else:  # another contact gap is another shape
            table = engine.static_table(shape, coarse.layout, COARSE, law, steel_parts(other))
        return np.asarray(table - centre.pickup_table)

    ends = {}
    for key in MOVES[:-1]:
        if key in material.spread:
            ends[key] = tuple(
                change(unit, material.with_constants(**{key: v}, limit=True)) for v in material.spread[key]
            )
    if gaps := _gap_ends(unit):
        ends["gap"] = tuple(change(other, material) for other in gaps)
    in_place = None
    if unit.magnet.charge == "unknown":
        in_place = change(replace(unit, magnet=replace(unit.magnet, charge="in-place")), material)
    grades: tuple[FloatArray, ...] = ()
    if unit.magnet.grade == "unknown" and unit.magnet.constants is None:
        grades = tuple(change(replace(unit, magnet=replace(unit.magnet, grade=slug)), None) for slug in UNKNOWN_GRADES)
    coils = coil_ends(unit, coarse, centre.state)
    table = centre.pickup_table
    return MagnetMoves(ends=ends, in_place=in_place, grades=grades, coils=coils, table=table)  # type: ignore[arg-type]


def _gap_ends(unit: Pickup) -> tuple[Pickup, ...]:
    """Return the pickup with the smallest and the largest contact gap; none where there is no contact to speak of."""
    if unit.construction == "rod-single" or unit.magnet.constants is not None:
        return ()
    extra = unit.magnet.bar_to_pole_gap
    gaps = (GAP_SPREAD[0] if extra >= GAP_SPREAD[0] else extra, max(GAP_SPREAD[1], extra))
    return tuple(replace(unit, magnet=replace(unit.magnet, bar_to_pole_gap=max(g, 0.0))) for g in gaps)


def coil_ends(
    unit: Pickup, coarse: engine.PickupModel, state: MagnetState
) -> dict[str, tuple[ComplexArray, ComplexArray]]:
    """Return what the ends of the steels' spread (reversible permeability, resistivity) do to the inductances.

    Logarithms of factors on GRID, solved on the coarse mesh; steel whose linear permeability the file gives is known.
    """
    steels = steel_parts(unit)
    own = {"slugs": unit.poles.slug_steel, "screws": unit.poles.screw_steel, "keeper": unit.poles.keeper_steel}
    unknown = {n: catalogue.steel(own[n].name or "1010") for n in coarse.mesh.parts if n in own and steels[n].biased}
    sound = magnet_for_sound(unit, magnet_material(unit.magnet))

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
