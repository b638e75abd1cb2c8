"""The bench: states of one guitar and of what changes make of it, fast, with intervals.

Magnet and coil solutions depend on the pickup without its gap, controls and strings; they are kept, so that
hundreds of candidates cost a string and circuit calculation each.
"""

from collections import OrderedDict
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import CubicSpline

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.circuit import ControlCircuit, Load, LoadedResponse, PickupCircuit, loaded_response, resonance
from polepiece.coil import winding_capacitance, winding_resistance
from polepiece.errors import InputError
from polepiece.geometry import Resolution
from polepiece.magnetics import MagnetState
from polepiece.materials import MagnetMaterial, catalogue
from polepiece.strings import Rod, Sensed, SpeakingString, StringSensing
from polepiece.voicing import engine, measures
from polepiece.voicing.anatomy import (
    Anatomy,
    anatomy,
    magnet_law,
    magnet_material,
    row_positions,
    steel_parts,
)
from polepiece.voicing.engine import MagnetForSound, PickupModel, StringLayout
from polepiece.voicing.gaps import safe_gaps, string_gaps, string_undersides
from polepiece.voicing.guitar import Guitar, Magnet, Pickup, String
from polepiece.voicing.measures import AT_1KHZ, GRID
from polepiece.voicing.spread import NOMINAL, Draw, draws, ninety
from polepiece.voicing.state import H2_AMPLITUDE, State

COARSE = Resolution(
    sectors=8, slice_height=2.6e-3, cap_rings=1, keeper_panel=5.0e-3, magnet_across=4, magnet_along=2,
    magnet_layers=2, rod_layers=8, rod_rings=2, rod_sectors=6,
)  # fmt: skip
UNKNOWN_GRADES = ("alnico-2", "alnico-3", "alnico-4", "alnico-5", "alnico-8", "ceramic-8")
STRING_PERMEABILITY, STRING_SATURATION = (60.0, 1000.0), (1.6, 2.0)  # stated assumption: no law of string wire is published
WRAP_PERMEABILITY = (2.0, 12.0)  # axial, of a magnetic wrap; assumption: turns touch, gaps between them
WRAP_NOMINAL = 5.0
LEAD_CAPACITANCE = 40e-12  # F, half a metre of screened lead inside the guitar; common practice 60-160 pF/m


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Magnetised:
    """A pickup with its magnet solved, for one or more nearby magnets: tables along the strings, per turn."""

    model: PickupModel
    state: MagnetState
    pickup_table: FloatArray  # (tables, nx, nz) A
    coil_table: FloatArray  # (coils, tables, nx, nz) per turn
    fields: engine.AlternatingSolution
    grid_inductance: ComplexArray  # (coils, coils, f) on GRID, per turn squared


class Bench:
    """Evaluates states of guitars that share their geometry.

    Parameters
    ----------
    guitar : Guitar
        Only its seed for intervals matters here; any guitar may be given to the methods.
    seed : int
    """

    def __init__(self, guitar: Guitar | None = None, *, seed: int = 0, resolution: "Resolution | None" = None) -> None:
        self.seed = seed
        self.resolution = resolution or Resolution()
        self._magnetised: OrderedDict[object, Magnetised] = OrderedDict()
        self._moves: OrderedDict[object, _MagnetMoves] = OrderedDict()

    # --- the chain ---------------------------------------------------------------------------------
    def state(self, guitar: Guitar, pickup: str, draw: Draw = NOMINAL) -> State:
        """Return the state of one pickup of ``guitar``."""
        unit = guitar.pickup(pickup)
        magnetised = self.magnetised(guitar, unit)  # magnet and steel, coils: shapes, grade and history
        sensed = self.sensed(guitar, unit, magnetised, draw)  # strings in that field: V s/m per turn
        emf = self.string_emf(unit, magnetised, sensed, guitar)  # (k, coils, f) per turn, eddy currents in
        response = self.response(guitar, unit, magnetised, draw)  # circuit: V at the amplifier per V in a coil
        return self._numbers(guitar, unit, magnetised, sensed, emf, response)

    def magnetised(self, guitar: Guitar, unit: Pickup) -> Magnetised:
        """Return the solved magnet and coil fields of a pickup; kept for pickups that differ elsewhere only."""
        shape = anatomy(unit)
        layout = string_layout(guitar, unit, shape)
        key = (shape, layout, unit.magnet, unit.poles, self.resolution)
        if key in self._magnetised:
            self._magnetised.move_to_end(key)
            return self._magnetised[key]
        model = engine.pickup_model(shape, layout, self.resolution)
        near = next((m.state for m in reversed(self._magnetised.values()) if m.model is model), None)
        found = magnetise(model, unit, None, start=near)
        self._magnetised[key] = found
        while len(self._magnetised) > 64:
            self._magnetised.popitem(last=False)
        return found

    def sensed(
        self, guitar: Guitar, unit: Pickup, magnetised: Magnetised, draw: Draw = NOMINAL, *, quick: bool = False
    ) -> Sensed:
        """Return what the pickup has of every string, per turn."""
        y, height = string_places(guitar, unit)
        height = height + _height_error(draw, unit, len(y))
        table = magnetised.pickup_table
        if draw.number:
            table = table + self._moved(guitar, unit, magnetised, draw)
        rods = tuple(string_rod(s, draw) for s in guitar.strings)
        low, high = magnetised.model.layout.low, magnetised.model.layout.high
        return engine.sensed_strings(
            magnetised.model, rods, y, np.clip(height, low, high), table, magnetised.coil_table, quick=quick
        )

    def string_emf(self, unit: Pickup, magnetised: Magnetised, sensed: Sensed, guitar: Guitar) -> ComplexArray:
        """Return EMF per string velocity (k, coils, f) on GRID, V s/m, all coils the same way round."""
        y, _ = string_places(guitar, unit)
        factor = engine.eddy_factor(magnetised.model, sensed, y, magnetised.fields)
        n = np.array(turns(unit))
        static = (sensed.sensitivity * n)[:, :, None]
        return np.asarray(static * _over_frequency(factor, magnetised.fields.frequency))

    def response(
        self, guitar: Guitar, unit: Pickup, magnetised: Magnetised, draw: Draw = NOMINAL, *, bare: bool = False
    ) -> LoadedResponse:
        """Return the circuit's transfer from every coil to the amplifier on GRID."""
        circuit = pickup_circuit(guitar, unit, magnetised, draw, GRID, bare=bare)
        load = None if bare else circuit_load(guitar, draw)
        return loaded_response(GRID, circuit, load=load)

    def _numbers(
        self, guitar: Guitar, unit: Pickup, magnetised: Magnetised, sensed: Sensed, emf: ComplexArray,
        response: LoadedResponse,
    ) -> State:  # fmt: skip
        transfer = response.transfer
        power = np.abs(measures.combined(emf, transfer)) ** 2
        signs = np.sign(transfer[:, 0].real)
        n = np.array(turns(unit)) * signs
        total, second = sensed.sensitivity @ n, sensed.second @ n
        peak = resonance(GRID, _flattest(transfer), reference="plateau")
        wound = np.array([s.core_diameter < s.diameter for s in guitar.strings])
        y, height = string_places(guitar, unit)
        spoken = speaking_strings(guitar)
        rows = row_positions(unit, magnetised.model.anatomy.rows)
        strokes = []
        for k, string in enumerate(spoken):
            share = row_shares(magnetised.model, sensed, n, k)
            strokes.append(measures.stroke_modes(string, rows, tuple(round(float(s), 3) for s in share)))
        inductance = inductance_of(unit, magnetised, np.array([120.0, 1000.0]))
        level = 10.0 * np.log10(power[:, AT_1KHZ])
        field = engine.vertical_field(magnetised.model, magnetised.pickup_table, y, height)
        return State(
            level_db=measures.level_db(power),
            bands_db=measures.bands_db(power),
            wound_minus_plain_db=measures.wound_minus_plain_db(power, wound),
            attack_minus_sustain_db=measures.attack_minus_sustain_db(power, strokes) if strokes else {},
            resonance_hz=peak.frequency,
            resonance_db=peak.height_db,
            resonance_q=peak.quality,
            dc_resistance_ohm=pickup_resistance(unit),
            inductance_120hz_h=float(inductance[0].real),
            inductance_1khz_h=float(inductance[1].real),
            field_mt=tuple(1e3 * field),
            string_pull_n=tuple(sensed.force),
            partial_shift_cents=tuple(
                measures.shift_cents(s, float(g), unit.distance_from_bridge) for s, g in zip(spoken, sensed.stiffness)
            ),
            string_balance_db=tuple(level - measures.level_db(power)),
            h2_db=tuple(measures.h2_db(total, second, H2_AMPLITUDE)),
            frequency_hz=GRID,
            response_db=10.0 * np.log10(power.mean(axis=0) + 1e-300),
        )

    # --- intervals ---------------------------------------------------------------------------------
    def interval(
        self, before: Guitar, after: Guitar, pickup: str, *, draws: int = 64
    ) -> dict[str, tuple[float, float]]:
        """Return the 90 % interval of after minus before by dotted key, from paired draws."""
        return self.intervals(before, {"": after}, pickup, count=draws)[""]

    def intervals(
        self, before: Guitar, after: dict[str, Guitar], pickup: str, *, count: int = 64
    ) -> dict[str, dict[str, tuple[float, float]]]:
        """Return `interval` for several changed guitars; the draws of ``before`` are made once."""
        here = [self.drawn(before, pickup, d) for d in draws(count, self.seed)]
        out = {}
        for name, guitar in after.items():
            there = [self.drawn(guitar, pickup, d) for d in draws(count, self.seed)]
            keys = [k for k in here[0] if k in there[0]]
            out[name] = {k: ninety([b.get(k, 0.0) - a.get(k, 0.0) for a, b in zip(here, there)]) for k in keys}
        return out

    def drawn(self, guitar: Guitar, pickup: str, draw: Draw) -> dict[str, float]:
        """Return the numbers of one draw: sensitivities from the rest height, scaled to the nominal state's."""
        unit = guitar.pickup(pickup)
        magnetised = self.magnetised(guitar, unit)
        base = self._quick_base(guitar, unit, magnetised)
        nominal = base.nominal
        sensed = self.sensed(guitar, unit, magnetised, draw, quick=True)
        ratio = np.sum(sensed.sensitivity, axis=1) / np.sum(base.quick, axis=1)
        coil_move = _coil_moves(draw)
        circuit = pickup_circuit(guitar, unit, magnetised, draw, GRID, coil_move=coil_move)
        transfer = loaded_response(GRID, circuit, load=circuit_load(guitar, draw)).transfer
        power = np.abs(measures.combined(base.emf, transfer)) ** 2 * (ratio**2)[:, None]
        wound = np.array([s.core_diameter < s.diameter for s in guitar.strings])
        peak = resonance(GRID, _flattest(transfer), reference="plateau")
        level = 10.0 * np.log10(power[:, AT_1KHZ])
        inductance = inductance_of(unit, magnetised, np.array([120.0, 1000.0]), coil_move)
        out = {"level_db": measures.level_db(power)}
        out |= {f"bands_db.{k}": v for k, v in measures.bands_db(power).items()}
        gap = measures.wound_minus_plain_db(power, wound)
        if gap is not None:
            out["wound_minus_plain_db"] = gap
        out |= {f"attack_minus_sustain_db.{k}": v for k, v in nominal.attack_minus_sustain_db.items()}
        if peak.frequency is not None and peak.height_db is not None:
            out |= {"resonance_hz": peak.frequency, "resonance_db": peak.height_db}
            if peak.quality is not None:
                out["resonance_q"] = peak.quality
        out["dc_resistance_ohm"] = pickup_resistance(unit) * draw.factor("wire", 0.96, 1.04)
        out["inductance_120hz_h"], out["inductance_1khz_h"] = (float(x.real) for x in inductance)
        pull = sensed.force / base.force
        for k in range(len(level)):
            out[f"string_balance_db.{k + 1}"] = float(level[k] - measures.level_db(power))
            out[f"string_pull_n.{k + 1}"] = float(sensed.force[k])
            out[f"field_mt.{k + 1}"] = float(nominal.field_mt[k] * np.sqrt(abs(pull[k])))
        return out

    def _quick_base(self, guitar: Guitar, unit: Pickup, magnetised: Magnetised) -> "_QuickBase":
        y, height = string_places(guitar, unit)
        key = ("quick", id(magnetised), tuple(height), guitar.strings, guitar.controls, unit)
        if key not in self._moves:
            quick = self.sensed(guitar, unit, magnetised, quick=True)
            full = self.sensed(guitar, unit, magnetised)
            emf = self.string_emf(unit, magnetised, full, guitar)
            nominal = self.state(guitar, unit.name)
            self._keep(key, _QuickBase(quick=quick.sensitivity, force=quick.force, emf=emf, nominal=nominal))  # type: ignore[arg-type]
        return self._moves[key]  # type: ignore[return-value]

    def _keep(self, key: object, value: "_MagnetMoves") -> None:
        self._moves[key] = value
        while len(self._moves) > 256:
            self._moves.popitem(last=False)

    def _moved(self, guitar: Guitar, unit: Pickup, magnetised: Magnetised, draw: Draw) -> FloatArray:
        """Change of the pickup's table for one draw, from one-at-a-time moves on a coarse mesh."""
        key = (id(magnetised.model), unit.magnet, unit.poles)
        if key not in self._moves:
            self._keep(key, magnet_moves(guitar, unit, magnetised))
        return self._moves[key].at(draw, unit.magnet)

    # --- gap re-set --------------------------------------------------------------------------------
    def regap(self, before: State, guitar: Guitar, pickup: str) -> tuple[Guitar, float]:
        """Return the guitar with the gap re-set to the old level, and the metres it was lowered (raised: < 0).

        The move stops at the smallest safe gap and at 7 mm; the level may then still differ.
        """
        unit = guitar.pickup(pickup)
        room = min(gap - safe for gap, safe in zip(string_gaps(unit), safe_gaps(unit)))
        low, high = -max(room, 0.0), 7e-3 - max(string_gaps(unit))
        wrong = {}

        def error(move: float) -> float:
            if move not in wrong:
                wrong[move] = self.level(lowered(guitar, unit, move), unit.name) - before.level_db
            return wrong[move]

        if error(low) <= 0.0:
            return lowered(guitar, unit, low), low
        if error(high) >= 0.0:
            return lowered(guitar, unit, high), high
        a, b = (low, 0.0) if error(0.0) < 0.0 else (0.0, high)
        for _ in range(12):
            fa, fb = error(a), error(b)
            middle = a + (b - a) * min(max(fa / (fa - fb), 0.05), 0.95)
            value = error(middle)
            if abs(value) < 0.005 or b - a < 2e-6:
                break
            a, b = (middle, b) if value > 0.0 else (a, middle)
        return lowered(guitar, unit, middle), middle

    def level(self, guitar: Guitar, pickup: str) -> float:
        """Return the level alone, dB re 1 V s/m: what `state` says, without the rest."""
        unit = guitar.pickup(pickup)
        magnetised = self.magnetised(guitar, unit)
        sensed = self.sensed(guitar, unit, magnetised)
        emf = self.string_emf(unit, magnetised, sensed, guitar)
        transfer = self.response(guitar, unit, magnetised).transfer
        return measures.level_db(np.abs(measures.combined(emf, transfer)) ** 2)

    # --- for the renderer --------------------------------------------------------------------------
    def sensings(self, guitar: Guitar, pickup: str) -> tuple[list[StringSensing], ComplexArray]:
        """Return each string's flux polynomial by pole row, and the common response (f,) on GRID."""
        unit = guitar.pickup(pickup)
        magnetised = self.magnetised(guitar, unit)
        sensed = self.sensed(guitar, unit, magnetised)
        response = self.response(guitar, unit, magnetised)
        factor = engine.eddy_factor(magnetised.model, sensed, string_places(guitar, unit)[0], magnetised.fields)
        transfer = response.transfer
        n = np.array(turns(unit)) * np.sign(transfer[:, 0].real)
        rows = row_positions(unit, magnetised.model.anatomy.rows)
        total = sensed.sensitivity @ n
        out = []
        for k in range(len(guitar.strings)):
            share = row_shares(magnetised.model, sensed, n, k)
            out.append(
                StringSensing(
                    positions=np.array(rows), row_weights=np.ones(len(rows)), slope=share * total[k],
                    curvature=share * float(sensed.second[k] @ n), third=share * float(sensed.third[k] @ n),
                    horizontal=HORIZONTAL, aperture=aperture(magnetised.model, sensed, n, k),
                )
            )  # fmt: skip
        weight = np.abs(sensed.sensitivity * np.array(turns(unit)))
        eddy = np.einsum("kc,kcf->cf", weight, factor) / weight.sum(axis=0)[:, None]
        drive = (weight.sum(axis=0) / weight.sum())[:, None]
        common = (drive * np.abs(transfer[:, :1].real) ** 0 * _over_frequency(eddy, magnetised.fields.frequency))
        value = np.einsum("cf,cf->f", common, transfer * np.sign(transfer[:, :1].real))
        return out, np.asarray(value)


HORIZONTAL = 10.0 ** (-16.0 / 20.0)  # horizontal against vertical sensitivity; published -14 to -18 dB for round poles


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _QuickBase:
    quick: FloatArray
    force: FloatArray
    emf: ComplexArray
    nominal: State


def magnetise(
    model: PickupModel,
    unit: Pickup,
    material: "MagnetMaterial | None" = None,
    *,
    start: "MagnetState | None" = None,
    with_coils: bool = True,
) -> Magnetised:
    """Solve magnet and coil fields of ``unit`` on ``model``."""
    stuff = material or magnet_material(unit.magnet)
    steels = steel_parts(unit)
    state = engine.static_state(model, magnet_law(unit.magnet, model.anatomy.covered_gap, stuff), steels, start)
    sound = MagnetForSound(
        permeability=stuff.recoil_permeability, resistivity=stuff.resistivity,
        is_round=unit.construction == "rod-single",
    )  # fmt: skip
    frequency = engine.SAMPLES if with_coils else engine.SAMPLES[:1]
    fields = engine.coil_fields(model, state, steels, sound, frequency)
    return Magnetised(
        model=model, state=state, pickup_table=engine.pickup_table(model, state),
        coil_table=engine.coil_tables(model, fields), fields=fields,
        grid_inductance=_over_frequency(fields.inductance, fields.frequency) if with_coils else fields.inductance,
    )  # fmt: skip


# --- what a draw moves -----------------------------------------------------------------------------
MOVES = ("remanence", "coercivity", "energy_product", "recoil_permeability", "gap")
GAP_SPREAD = (0.02e-3, 0.2e-3)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _MagnetMoves:
    """Changes of the pickup's table for each quantity at its low and high end, and for other charges or grades."""

    ends: dict[str, tuple[FloatArray, FloatArray]]
    in_place: FloatArray | None  # change from outside to in place, where the charge is not known
    grades: tuple[FloatArray, ...]  # change to each possible grade, where the grade is not known

    def at(self, draw: Draw, magnet: Magnet) -> FloatArray:
        name = f"bar {magnet.grade} {magnet.constants}"
        shared = {"gap"}
        total: FloatArray | float = 0.0
        for key, (low, high) in self.ends.items():
            z = draw.deviate(key if key in shared else f"{name} {key}") / 1.6449
            total = total + (0.5 * z * (z + 1.0) * high + 0.5 * z * (z - 1.0) * low if abs(z) <= 1.0 else
                             (z * high if z > 0 else -z * low))  # fmt: skip
        if self.in_place is not None:
            total = total + draw.share(f"{name} charge") * self.in_place
        if self.grades:
            total = total + self.grades[int(draw.share("unknown grade") * len(self.grades)) % len(self.grades)]
        return np.asarray(total)


def magnet_moves(guitar: Guitar, unit: Pickup, magnetised: Magnetised) -> _MagnetMoves:
    """Solve the one-at-a-time changes on a coarse mesh, scaled to the fine table."""
    coarse = engine.pickup_model(anatomy(unit), magnetised.model.layout, COARSE)
    material = magnet_material(unit.magnet)
    centre = magnetise(coarse, unit, with_coils=False)
    scale = np.linalg.norm(magnetised.pickup_table) / np.linalg.norm(centre.pickup_table)

    def change(other: Pickup, stuff: "MagnetMaterial | None") -> FloatArray:
        steels = steel_parts(other)
        law = magnet_law(other.magnet, coarse.anatomy.covered_gap, stuff or magnet_material(other.magnet))
        state = engine.static_state(coarse, law, steels, centre.state)
        return np.asarray(scale * (engine.pickup_table(coarse, state) - centre.pickup_table))

    ends = {}
    for key in MOVES[:-1]:
        if key in material.spread:
            ends[key] = tuple(change(unit, material.with_constants(**{key: v}, limit=True)) for v in material.spread[key])
    if unit.construction != "rod-single" and unit.magnet.constants is None:
        extra = unit.magnet.bar_to_pole_gap
        ends["gap"] = tuple(
            change(replace(unit, magnet=replace(unit.magnet, bar_to_pole_gap=max(g, 0.0))), material)
            for g in (GAP_SPREAD[0] if extra >= GAP_SPREAD[0] else extra, max(GAP_SPREAD[1], extra))
        )
    in_place = None
    if unit.magnet.charge == "unknown":
        in_place = change(replace(unit, magnet=replace(unit.magnet, charge="in-place")), material)
    grades: tuple[FloatArray, ...] = ()
    if unit.magnet.grade == "unknown" and unit.magnet.constants is None:
        grades = tuple(
            change(replace(unit, magnet=replace(unit.magnet, grade=slug)), None) for slug in UNKNOWN_GRADES
        )
    return _MagnetMoves(ends=ends, in_place=in_place, grades=grades)  # type: ignore[arg-type]


def _height_error(draw: Draw, unit: Pickup, count: int) -> FloatArray:
    """Reading of the two gaps, +-0.1 mm each (90 %), the same before and after."""
    treble = draw.value("gap treble", 0.0, -1e-4, 1e-4)
    bass = draw.value("gap bass", 0.0, -1e-4, 1e-4)
    return np.linspace(treble, bass, count) if count > 1 else np.array([treble])


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilMove:
    """Factors on inductance and on its loss part, from steel and wire that are not known exactly."""

    inductance: float = 1.0
    loss: float = 1.0


def _coil_moves(draw: Draw) -> CoilMove:
    # reversible permeability 10-500 and resistivity of the steel: 6 % on L, 25 % on its loss (tests hold the figures)
    return CoilMove(inductance=draw.factor("steel L", 0.94, 1.04), loss=draw.factor("steel loss", 0.8, 1.25))


# --- pieces of the guitar ----------------------------------------------------------------------------
def string_places(guitar: Guitar, unit: Pickup) -> tuple[FloatArray, FloatArray]:
    """Return y and height of each string's axis (k,), m, string 1 first."""
    count = len(guitar.strings)
    ys = anatomy(unit).pole_y
    under = string_undersides(unit)
    spread = np.linspace(0.0, 1.0, count) if count > 1 else np.zeros(1)
    y = np.array([s.y if s.y is not None else np.interp(t, np.linspace(0, 1, len(ys)), ys)
                  for s, t in zip(guitar.strings, spread)])  # fmt: skip
    height = np.array(
        [s.height if s.height is not None else np.interp(t, np.linspace(0, 1, len(under)), under) + 0.5 * s.diameter
         for s, t in zip(guitar.strings, spread)]
    )  # fmt: skip
    return y, height


def string_layout(guitar: Guitar, unit: Pickup, shape: Anatomy) -> StringLayout:
    """Return where tables along the strings are needed."""
    y, _ = string_places(guitar, unit)
    if shape.assembly.is_mirrored():
        y = np.abs(y)
    lengths = {s.length for s in guitar.strings}
    if len(lengths) != 1:
        raise InputError(f"all strings need one modelled length; given are {sorted(1e3 * v for v in lengths)} mm.")
    return StringLayout(
        y=tuple(sorted({round(float(v), 9) for v in y})), length=lengths.pop(), low=shape.top + engine.LOWEST,
        high=shape.top + engine.HIGHEST,
    )  # fmt: skip


def string_rod(string: String, draw: Draw = NOMINAL) -> Rod:
    """Return the magnetic rod of a string; its law is a stated assumption and moves with the draw."""
    if string.permeability is not None:
        return Rod(diameter=string.core_diameter, initial_permeability=string.permeability)
    if draw.number:
        z = draw.deviate("string permeability") / 1.6449
        low, high = np.log(STRING_PERMEABILITY[0]), np.log(STRING_PERMEABILITY[1])
        initial = float(np.exp(0.5 * (low + high) + 0.5 * z * (high - low)))
        saturation = draw.value("string saturation", string.saturation, *STRING_SATURATION)
    else:
        initial, saturation = string.initial_permeability, string.saturation
    wrap = 1.0
    if string.wrap in ("nickel-plated-steel", "stainless", "pure-nickel") and string.core_diameter < string.diameter:
        wrap = draw.value("wrap", WRAP_NOMINAL, *WRAP_PERMEABILITY)
    return Rod(
        diameter=string.core_diameter, initial_permeability=max(initial, 1.0), saturation=saturation,
        wrap_diameter=string.diameter if wrap > 1.0 else 0.0, wrap_permeability=max(wrap, 1.0),
    )  # fmt: skip


def speaking_strings(guitar: Guitar) -> list[SpeakingString]:
    """Return the strings as the motion needs them; strings without pitch or mass are left out."""
    return [
        SpeakingString(
            diameter=s.diameter, core_diameter=s.core_diameter, unit_mass=s.unit_mass, pitch=s.pitch,
            length=guitar.scale_length,
        )
        for s in guitar.strings
        if s.unit_mass is not None and s.pitch is not None
    ]  # fmt: skip


def turns(unit: Pickup) -> tuple[float, ...]:
    """Return the turns of each coil, scaled to a measured resistance where one is given."""
    wound = _wound_resistances(unit)
    if unit.coil_resistances and len(unit.coil_resistances) == len(unit.coils):
        return tuple(c.turns * r / w for c, r, w in zip(unit.coils, unit.coil_resistances, wound))
    if unit.resistance is not None:
        scale = unit.resistance / (sum(wound) * _temperature(unit))
        return tuple(c.turns * scale for c in unit.coils)
    return tuple(
        c.turns * (c.resistance / w if c.resistance is not None else 1.0) for c, w in zip(unit.coils, wound)
    )


def _temperature(unit: Pickup) -> float:
    copper = catalogue.conductor("copper")
    return copper.resistivity_at(unit.temperature) / copper.resistivity


def _wound_resistances(unit: Pickup) -> list[float]:
    out = []
    for coil, shape in zip(unit.coils, anatomy(unit).coils):
        wire = catalogue.wire(coil.wire_awg, coil.wire_build)
        out.append(winding_resistance(shape.mean_turn, coil.turns, wire.resistance_per_metre()))
    return out


def coil_resistances(unit: Pickup) -> list[float]:
    """Return the resistance of each coil at 20 degC, ohm."""
    wound = _wound_resistances(unit)
    return [w * n / c.turns for w, n, c in zip(wound, turns(unit), unit.coils)]


def pickup_resistance(unit: Pickup) -> float:
    """Return the resistance between the pickup's leads at 20 degC, ohm, by its wiring."""
    r = coil_resistances(unit)
    if len(r) == 1 or unit.wiring in ("series", "out-of-phase"):
        return float(sum(r))
    if unit.wiring == "parallel":
        return float(1.0 / sum(1.0 / x for x in r))
    return float(r[0] if unit.wiring == "split-slugs" else r[1])


def coil_impedances(
    unit: Pickup, magnetised: Magnetised, frequency: FloatArray, move: CoilMove = CoilMove()  # noqa: B008
) -> ComplexArray:
    """Return Z (c, c, f) of the coils, all the same way round, ohm, without capacitance."""
    n = np.array(turns(unit))
    if frequency is GRID:
        inductance = magnetised.grid_inductance
    else:
        inductance = _over_frequency(magnetised.fields.inductance, magnetised.fields.frequency, frequency)
    inductance = inductance * np.outer(n, n)[:, :, None]
    static = (magnetised.fields.inductance[:, :, :1].real) * np.outer(n, n)[:, :, None]
    scaled = static * move.inductance + (inductance - static) * move.loss
    z = 2j * np.pi * frequency * scaled
    z[np.arange(len(n)), np.arange(len(n))] += np.array(coil_resistances(unit))[:, None]
    return np.asarray(z)


def inductance_of(
    unit: Pickup, magnetised: Magnetised, frequency: FloatArray, move: CoilMove = CoilMove()  # noqa: B008
) -> ComplexArray:
    """Return the inductance (f,) between the pickup's leads, H, without capacitance: Im Z/w and its loss."""
    z = coil_impedances(unit, magnetised, frequency, move)
    if len(z) == 1 or unit.wiring == "split-slugs":
        total = z[0, 0]
    elif unit.wiring == "split-screws":
        total = z[1, 1]
    elif unit.wiring == "parallel":
        total = (z[0, 0] * z[1, 1] - z[0, 1] ** 2) / (z[0, 0] + z[1, 1] + 2.0 * z[0, 1])
    else:
        sign = 1.0 if unit.wiring == "out-of-phase" else -1.0
        total = z[0, 0] + z[1, 1] + sign * 2.0 * z[0, 1]
    return np.asarray((total - pickup_resistance(unit)) / (2j * np.pi * frequency))


def coil_capacitances(unit: Pickup) -> tuple[float, ...]:
    """Return the estimated self-capacitance of each coil, F."""
    enamel = catalogue.enamel()
    out = []
    for coil, shape, n in zip(unit.coils, anatomy(unit).coils, turns(unit)):
        wire = catalogue.wire(coil.wire_awg, coil.wire_build)
        out.append(winding_capacitance(shape, n, bare=wire.bare[1], permittivity=enamel.permittivity))
    return tuple(out)


def pickup_circuit(
    guitar: Guitar, unit: Pickup, magnetised: Magnetised, draw: Draw, frequency: FloatArray, *, bare: bool = False,
    coil_move: CoilMove = CoilMove(),  # noqa: B008
) -> PickupCircuit:  # fmt: skip
    """Return the pickup as the circuit sees it."""
    z = coil_impedances(unit, magnetised, frequency, coil_move)
    if bare:
        return PickupCircuit(impedance=z, wiring=unit.wiring, controls=ControlCircuit())
    if unit.capacitance is not None:
        own, across = (), unit.capacitance
    else:
        grow = draw.factor("winding capacitance", 0.4, 2.5)
        own, across = tuple(c * grow for c in coil_capacitances(unit)), LEAD_CAPACITANCE
    return PickupCircuit(
        impedance=z, wiring=unit.wiring, coil_capacitance=own, capacitance=across,
        controls=control_circuit(guitar, draw),
    )  # fmt: skip


def control_circuit(guitar: Guitar, draw: Draw = NOMINAL) -> ControlCircuit:
    """Return volume, tone and what hangs on them."""
    c = guitar.controls
    volume = c.volume_pot_measured or c.volume_pot * draw.factor("volume pot", 0.8, 1.2)
    tone = None
    if c.tone_pot is not None:
        tone = c.tone_pot_measured or c.tone_pot * draw.factor("tone pot", 0.8, 1.2)
    return ControlCircuit(
        volume_pot=volume, volume_setting=c.volume_setting, tone_pot=tone, tone_setting=c.tone_setting,
        tone_capacitor=c.tone_cap if tone is not None else None, tone_tap=c.tone_tap, bleed_capacitor=c.bleed_cap,
        bleed_resistor=c.bleed_resistor, bleed_wiring=c.bleed_wiring, shunt_resistor=c.shunt_resistor,
    )  # fmt: skip


def circuit_load(guitar: Guitar, draw: Draw = NOMINAL) -> Load:
    """Return cable and amplifier input."""
    c = guitar.controls
    assumed = any(a.path.endswith(("cable_pf", "cable_capacitance")) for a in guitar.assumed)
    cable = c.cable_capacitance * (draw.factor("cable", 0.6, 1.8) if assumed else draw.factor("cable", 0.95, 1.05))
    return Load(
        cable_capacitance=cable, input_resistance=c.input_resistance, input_capacitance=c.input_capacitance
    )


def lowered(guitar: Guitar, unit: Pickup, move: float) -> Guitar:
    """Return ``guitar`` with the whole pickup lowered by ``move`` m (raised where negative)."""
    moved = replace(unit, gap_bass=unit.gap_bass + move, gap_treble=unit.gap_treble + move)
    return replace(guitar, pickups=tuple(moved if p.name == unit.name else p for p in guitar.pickups))


def row_shares(model: PickupModel, sensed: Sensed, n: FloatArray, string: int) -> FloatArray:
    """Return the share of each pole row in a string's sensitivity (rows,), adding up to one."""
    rows = model.anatomy.rows
    profile = sensed.profile[string].T @ n
    if len(rows) == 1:
        return np.ones(1)
    near = np.argmin(np.abs(model.table.x[:, None] - np.array(rows)[None]), axis=1)
    parts = np.array([profile[near == r].sum() for r in range(len(rows))])
    return np.asarray(parts / parts.sum())


def aperture(model: PickupModel, sensed: Sensed, n: FloatArray, string: int) -> float:
    """Return the standard deviation of the sensing profile about its row, m."""
    rows = np.array(model.anatomy.rows)
    weight = np.abs(sensed.profile[string].T @ n)
    x = model.table.x
    near = np.argmin(np.abs(x[:, None] - rows[None]), axis=1)
    return float(np.sqrt((weight * (x - rows[near]) ** 2).sum() / weight.sum()))


def _over_frequency(values: ComplexArray, samples: FloatArray, frequency: FloatArray = GRID) -> ComplexArray:
    """Interpolate (…, samples) to ``frequency``: cubic in log(1 + f/50 Hz), which is smooth down to 0 Hz."""
    spline = CubicSpline(np.log1p(samples / 50.0), values, axis=-1)
    return np.asarray(spline(np.log1p(np.minimum(frequency, samples[-1]) / 50.0)))


def _flattest(transfer: ComplexArray) -> ComplexArray:
    """Return the response whose peak is the resonance: all coils driven alike, in the sense they join the output."""
    return np.asarray((transfer * np.sign(transfer[:, :1].real)).sum(axis=0))
