"""The bench: states of one guitar and of what changes make of it, fast, with intervals.

Magnet and coil solutions depend on the pickup without its gap, controls and strings; they are kept, so that
hundreds of candidates cost a string and circuit calculation each.
"""

from collections import Counter, OrderedDict
from concurrent.futures import Executor, Future
from dataclasses import fields, replace
from typing import TypeVar

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.circuit import LoadedResponse, loaded_response, resonance
from polepiece.errors import MeasurementError
from polepiece.geometry import Resolution
from polepiece.strings import Sensed, StringSensing
from polepiece.voicing import engine, measures
from polepiece.voicing.anatomy import anatomy, row_positions
from polepiece.voicing.electrics import (
    STILL,
    CoilMove,
    circuit_load,
    coil_senses,
    flattest,
    inductance_of,
    over_frequency,
    pickup_circuit,
    pickup_resistance,
    turns,
)
from polepiece.voicing.engine import PickupModel, StringLayout
from polepiece.voicing.gaps import safe_gaps, string_gaps
from polepiece.voicing.guitar import Guitar, Pickup
from polepiece.voicing.intervals import (
    MagnetMoves,
    NominalState,
    drawn_numbers,
    drawn_strings,
    magnet_moves,
)
from polepiece.voicing.known import INDUCTANCE, as_measured, drawn_turns, told
from polepiece.voicing.magnetised import Magnetised, magnetise, near_start
from polepiece.voicing.measures import AT_1KHZ, GRID
from polepiece.voicing.settled import settled_moves
from polepiece.voicing.spread import NOMINAL, Draw, ninety
from polepiece.voicing.spread import draws as make_draws
from polepiece.voicing.state import H2_AMPLITUDE, State, difference
from polepiece.voicing.stringing import own_poles, speaking_strings, string_layout, string_places, string_rods
from polepiece.voicing.turning import pickup_model

Kept = TypeVar("Kept")
SILENT = "nothing of this pickup reaches the amplifier in this state: it is silent. The volume is 0; turn it up."
TURNED = 4  # geometries with screws at unlike heights that a bench keeps
# Horizontal against vertical sensitivity over a round pole, -14 to -18 dB, 3 dB either way: Horton and Moore,
# Am. J. Phys. 77 (2009), as quoted in a review (status: read at second hand); the middle is taken.
HORIZONTAL = 10.0 ** (-16.0 / 20.0)


def _all_screws(unit: Pickup, up: float) -> Pickup:
    return replace(unit, poles=replace(unit.poles, screw_raise=(up,) * len(unit.poles.screw_raise)))


def _shorten(kept: "OrderedDict[object, Kept]", most: int) -> None:
    while len(kept) > most:
        kept.popitem(last=False)


class Bench:
    """Evaluates states of guitars; those that share their geometry share its factors.

    Parameters
    ----------
    seed : int
        Of the draws behind the intervals.
    resolution : Resolution, optional
    exact_screws : bool
        Solve screws of unlike heights as they stand (seconds for the first, then about half a second a geometry).
        Otherwise each string is taken over a pickup whose screws all stand as its own does: for screening, within
        about 5 % of a screw's effect.
    executor : Executor, optional
        Of another process, which solves what `ahead` names.
    """

    def __init__(
        self,
        *,
        seed: int = 0,
        resolution: "Resolution | None" = None,
        exact_screws: bool = True,
        executor: Executor | None = None,
    ) -> None:
        self.seed = seed
        self.executor = executor
        self.exact_screws = exact_screws
        self.resolution = resolution or Resolution()
        self._magnetised: OrderedDict[object, Magnetised] = OrderedDict()
        self._sensed: OrderedDict[object, tuple[Magnetised, Sensed]] = OrderedDict()  # with what its key names by id
        self._emf: OrderedDict[object, tuple[Sensed, ComplexArray]] = OrderedDict()
        self._moves: OrderedDict[object, MagnetMoves] = OrderedDict()
        self._drawn: OrderedDict[object, list[dict[str, float]]] = OrderedDict()
        self._settled: OrderedDict[object, tuple[Magnetised, CoilMove]] = OrderedDict()
        self._coming: dict[object, Future[MagnetMoves]] = {}

    # --- the chain ---------------------------------------------------------------------------------
    def state(self, guitar: Guitar, pickup: str) -> State:
        """Return the state of one pickup of ``guitar``."""
        unit = guitar.pickup(pickup)
        magnetised = self.magnetised(guitar, unit)  # magnet and steel, coils: shapes, grade and history
        sensed = self.sensed(guitar, unit, magnetised)  # strings in that field: V s/m per turn
        emf = self.string_emf(guitar, unit, magnetised, sensed)  # (k, coils, f) per turn, eddy currents in
        response = self.response(guitar, unit, magnetised)  # circuit: V at the amplifier per V in a coil
        return self._numbers(guitar, unit, magnetised, sensed, emf, response)

    def magnetised(self, guitar: Guitar, unit: Pickup) -> Magnetised:
        """Return the solved magnet and coil fields of a pickup; kept for pickups that differ elsewhere only."""
        unit = self._solved(unit)
        shape = anatomy(unit)
        layout = string_layout(guitar, unit, shape)
        key = (shape, layout, unit.magnet, unit.poles, self.resolution)
        if key in self._magnetised:
            self._magnetised.move_to_end(key)
            return self._magnetised[key]
        model = pickup_model(shape, layout, self.resolution)
        near = near_start(model, reversed(self._magnetised.values()))
        found = magnetise(model, unit, start=near)
        self._magnetised[key] = found
        _shorten(self._magnetised, 64)
        self._forget_turned()
        return found

    def _forget_turned(self) -> None:
        """Let the oldest turned geometries go: each is as large as a mirrored one and soon made again."""
        turned = dict.fromkeys(id(m.model) for m in self._magnetised.values() if m.model.kin is not None)
        gone = set(list(turned)[:-TURNED])
        for key in [k for k, m in self._magnetised.items() if id(m.model) in gone]:
            del self._magnetised[key]
        for at in [k for k, (m, _) in self._sensed.items() if id(m.model) in gone]:
            del self._sensed[at]

    def sensed(self, guitar: Guitar, unit: Pickup, magnetised: Magnetised) -> Sensed:
        """Return what the pickup has of every string, per turn; kept for guitars that differ in their controls only."""
        key = (id(magnetised), unit, guitar.strings)
        if key not in self._sensed:
            self._sensed[key] = (magnetised, self._sense(guitar, unit, magnetised))
            _shorten(self._sensed, 64)
        return self._sensed[key][1]

    def _sense(self, guitar: Guitar, unit: Pickup, magnetised: Magnetised) -> Sensed:
        if self._screens(unit):
            each = {r: self._uniform(guitar, unit, r) for r in set(unit.poles.screw_raise)}
            own = [unit.poles.screw_raise[k] for k in own_poles(guitar, unit)]
            return Sensed(
                **{f.name: np.stack([getattr(each[r], f.name)[k] for k, r in enumerate(own)]) for f in fields(Sensed)}
            )
        y, height = string_places(guitar, unit)
        rods = string_rods(guitar)
        return engine.sensed_strings(magnetised.model, rods, y, height, magnetised.pickup_table, magnetised.coil_table)

    def _screens(self, unit: Pickup) -> bool:
        """True when screws of unlike heights are to be screened string by string."""
        return not self.exact_screws and len(set(unit.poles.screw_raise)) > 1

    def _solved(self, unit: Pickup) -> Pickup:
        """Return the pickup whose magnet is solved for ``unit``: screened, all its screws as most of them."""
        return _all_screws(unit, Counter(unit.poles.screw_raise).most_common(1)[0][0]) if self._screens(unit) else unit

    def _uniform(self, guitar: Guitar, unit: Pickup, up: float) -> Sensed:
        alike = _all_screws(unit, up)
        return self.sensed(guitar, alike, self.magnetised(guitar, alike))

    def string_emf(self, guitar: Guitar, unit: Pickup, magnetised: Magnetised, sensed: Sensed) -> ComplexArray:
        """Return EMF per string velocity (k, coils, f) on GRID, V s/m, all coils the same way round; kept."""
        move = self.coil_move(guitar, unit, magnetised)
        key = (id(sensed), unit, guitar.strings, move.turns)
        if key not in self._emf:
            y, _ = string_places(guitar, unit)
            factor = engine.eddy_factor(magnetised.model, sensed, y, magnetised.coils.fields)
            static = (sensed.sensitivity * move.turns * np.array(turns(unit)))[:, :, None]
            emf = np.asarray(static * over_frequency(factor, magnetised.coils.fields.frequency))
            self._emf[key] = (sensed, emf)
            _shorten(self._emf, 64)
        return self._emf[key][1]

    def response(self, guitar: Guitar, unit: Pickup, magnetised: Magnetised) -> LoadedResponse:
        """Return the circuit's transfer from every coil to the amplifier on GRID.

        Raises
        ------
        MeasurementError
            When the volume stands at 0: a level and its bands have no number then.
        """
        if guitar.controls.volume_setting <= 0.0:
            raise MeasurementError(SILENT)
        move = self.coil_move(guitar, unit, magnetised)
        circuit = pickup_circuit(guitar, unit, magnetised.coils, NOMINAL, GRID, move=move)
        return loaded_response(GRID, circuit, load=circuit_load(guitar))

    def _numbers(
        self, guitar: Guitar, unit: Pickup, magnetised: Magnetised, sensed: Sensed, emf: ComplexArray,
        response: LoadedResponse,
    ) -> State:  # fmt: skip
        transfer = response.transfer
        power = np.abs(measures.combined(emf, transfer)) ** 2
        n = np.array(turns(unit)) * coil_senses(transfer)
        total, second = sensed.sensitivity @ n, sensed.second @ n
        peak = resonance(GRID, flattest(transfer), reference="plateau")
        wound = np.array([s.core_diameter < s.diameter for s in guitar.strings])
        y, height = string_places(guitar, unit)
        spoken = speaking_strings(guitar)
        strokes = self._strokes(guitar, unit, magnetised, sensed, n)
        move = self.coil_move(guitar, unit, magnetised)
        inductance = inductance_of(unit, magnetised.coils, np.array([120.0, 1000.0]), move)
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

    def ahead(self, guitar: Guitar, pickup: str, *, state: bool = True, interval: bool = False) -> None:
        """Have the other process, where there is one, solve what a state or its interval will ask for."""
        if self.executor is None:
            return
        unit = guitar.pickup(pickup)
        raised = sorted(set(unit.poles.screw_raise)) if self._screens(unit) else []
        for one in [_all_screws(unit, up) for up in raised] or [unit]:
            if state:
                shape = anatomy(one)
                engine.ahead(self.executor, shape, string_layout(guitar, one, shape), self.resolution)
        solved = self._solved(unit)
        layout = string_layout(guitar, solved, anatomy(solved))
        key = _moves_key(unit, layout)
        if interval and key not in self._moves and key not in self._coming:
            self._coming[key] = self.executor.submit(magnet_moves, unit, layout)

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
        sample = make_draws(count, self.seed)
        here = self.drawn(before, pickup, sample)
        now = self.state(before, pickup)
        out = {}
        for name, guitar in after.items():
            there = self.drawn(guitar, pickup, sample)
            keys = _in_all(here + there)
            moves = [[b[k] - a[k] for k in keys] for a, b in zip(here, there)]
            stated = difference(now, self.state(guitar, pickup))
            out[name] = dict(zip(keys, ninety(moves, [stated.get(key, np.nan) for key in keys])))
        return out

    def span(self, guitar: Guitar, pickup: str, *, draws: int = 64) -> dict[str, tuple[float, float]]:
        """Return the 90 % interval of one state itself by dotted key: what a meter may say of it."""
        found = self.drawn(guitar, pickup, make_draws(draws, self.seed))
        keys = _in_all(found)
        stated = self.state(guitar, pickup).numbers()
        return dict(
            zip(keys, ninety([[one[key] for key in keys] for one in found], [stated.get(key, np.nan) for key in keys]))
        )

    def drawn(self, guitar: Guitar, pickup: str, sample: list[Draw]) -> list[dict[str, float]]:
        """Return the numbers of every draw of one state."""
        unit = guitar.pickup(pickup)
        key = (guitar, unit.name, tuple(sample))
        if key not in self._drawn:
            magnetised = self.magnetised(guitar, unit)
            nominal = self._nominal(guitar, unit, magnetised)
            moves = self.moves(unit, magnetised)
            coils = self.coil_moves(guitar, unit, magnetised, sample)
            self._drawn[key] = drawn_numbers(guitar, unit, magnetised, moves, coils, nominal, sample)
            _shorten(self._drawn, 64)
        return self._drawn[key]

    def _strokes(
        self, guitar: Guitar, unit: Pickup, magnetised: Magnetised, sensed: Sensed, n: FloatArray
    ) -> list[measures.StrokeModes]:
        """Return the partials of every open string after the stated stroke, as the pole rows see them."""
        rows = row_positions(unit, magnetised.model.anatomy.rows)
        out = []
        for k, string in enumerate(speaking_strings(guitar)):
            share = row_shares(magnetised.model, sensed, n, k)
            out.append(measures.stroke_modes(string, rows, tuple(round(float(s), 3) for s in share)))
        return out

    def _nominal(self, guitar: Guitar, unit: Pickup, magnetised: Magnetised) -> NominalState:
        sensed = self.sensed(guitar, unit, magnetised)
        sensitivity, force = drawn_strings(guitar, unit, magnetised, None, [NOMINAL])
        n = np.array(turns(unit)) * coil_senses(self.response(guitar, unit, magnetised).transfer)
        return NominalState(
            strokes=self._strokes(guitar, unit, magnetised, sensed, n),
            state=self.state(guitar, unit.name), emf=self.string_emf(guitar, unit, magnetised, sensed),
            sensitivity=sensitivity[:, :, 0], force=force[:, 0],
            turns=self.coil_move(guitar, unit, magnetised).turns,
        )  # fmt: skip

    def moves(self, unit: Pickup, magnetised: Magnetised) -> MagnetMoves:
        """Return what the tolerances of bar and steel do to the field of a pickup; kept."""
        layout = magnetised.model.layout
        key = _moves_key(unit, layout)
        if key not in self._moves:
            found = engine.fetched(self._coming.pop(key, None)) or magnet_moves(unit, layout)
            self._moves[key] = found.scaled_to(magnetised.pickup_table)
            _shorten(self._moves, 64)
        return self._moves[key]

    def coil_moves(self, guitar: Guitar, unit: Pickup, magnetised: Magnetised, sample: list[Draw]) -> list[CoilMove]:
        """Return what each draw's steel and turns do to the coils; a measured inductance leaves less of it open."""
        unit = self._solved(unit)
        if told(guitar, unit, INDUCTANCE) is None:
            moves = self.moves(unit, magnetised)
            return [replace(moves.coil_at(draw), scale=drawn_turns(guitar, unit, draw) ** 2) for draw in sample]
        reference = as_measured(guitar, unit)
        here = self.moves(unit, magnetised)
        if reference == unit:
            return settled_moves(guitar, unit, magnetised.coils, here, here, sample)
        then = self.magnetised(guitar, reference)
        return settled_moves(guitar, reference, then.coils, self.moves(reference, then), here, sample)

    def coil_move(self, guitar: Guitar, unit: Pickup, magnetised: Magnetised) -> CoilMove:
        """Return `coil_moves` of the state itself; kept for states that differ in heights and controls only."""
        if told(guitar, unit, INDUCTANCE) is None:
            return STILL
        key = (id(magnetised), replace(unit, gap_bass=0.0, gap_treble=0.0), guitar.measured)
        if key not in self._settled:
            self._settled[key] = (magnetised, self.coil_moves(guitar, unit, magnetised, [NOMINAL])[0])
            _shorten(self._settled, 64)
        return self._settled[key][1]

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
        emf = self.string_emf(guitar, unit, magnetised, sensed)
        transfer = self.response(guitar, unit, magnetised).transfer
        return measures.level_db(np.abs(measures.combined(emf, transfer)) ** 2)

    # --- for the renderer --------------------------------------------------------------------------
    def string_responses(self, guitar: Guitar, pickup: str) -> list[ComplexArray]:
        """Return each string's own response (f,) on GRID, from what its `sensings` give to the amplifier.

        Eddy currents differ a little from string to string. A string whose coils cancel (under a thousandth of the
        strongest) is given the common response.
        """
        unit = guitar.pickup(pickup)
        magnetised = self.magnetised(guitar, unit)
        sensed = self.sensed(guitar, unit, magnetised)
        transfer = self.response(guitar, unit, magnetised).transfer
        total = sensed.sensitivity @ (np.array(turns(unit)) * coil_senses(transfer))
        whole = measures.combined(self.string_emf(guitar, unit, magnetised, sensed), transfer)
        common = total @ whole / max(float(total @ total), 1e-300)
        heard = np.abs(total) > 1e-3 * np.max(np.abs(total))
        return [np.asarray(w / t if ok else common) for w, t, ok in zip(whole, total, heard)]

    def sensings(self, guitar: Guitar, pickup: str) -> tuple[list[StringSensing], ComplexArray]:
        """Return each string's flux polynomial by pole row, and the common response (f,) on GRID.

        Eddy currents differ a little from string to string: the common response is within about 5 % of every
        string's own (within 25 % with the coils out of phase, where what is left is small). Sensitivity to motion
        across the strings is odd in y, as the mirror symmetry of the poles asks.
        """
        unit = guitar.pickup(pickup)
        magnetised = self.magnetised(guitar, unit)
        sensed = self.sensed(guitar, unit, magnetised)
        emf = self.string_emf(guitar, unit, magnetised, sensed)
        transfer = self.response(guitar, unit, magnetised).transfer
        n = np.array(turns(unit)) * coil_senses(transfer)
        y, _ = string_places(guitar, unit)
        rows = row_positions(unit, magnetised.model.anatomy.rows)
        total = sensed.sensitivity @ n
        out = []
        for k in range(len(guitar.strings)):
            share = row_shares(magnetised.model, sensed, n, k)
            out.append(
                StringSensing(
                    positions=np.array(rows), row_weights=np.ones(len(rows)), slope=share * total[k],
                    curvature=share * float(sensed.second[k] @ n), third=share * float(sensed.third[k] @ n),
                    sideways=share * float(sensed.sideways[k] @ n),
                    sideways_slope=share * float(sensed.sideways_slope[k] @ n),
                    horizontal=HORIZONTAL * float(np.sign(y[k])), aperture=apertures(magnetised.model, sensed, n, k),
                )
            )  # fmt: skip
        whole = measures.combined(emf, transfer)  # (k, f): what the common response times `total` stands for
        value = total @ whole / max(float(total @ total), 1e-300)  # least squares over the strings
        return out, np.asarray(value)


def _moves_key(unit: Pickup, layout: StringLayout) -> object:
    return (anatomy(unit), layout, unit.magnet, unit.poles)


def _in_all(drawn: list[dict[str, float]]) -> list[str]:
    """Return the keys that every draw has: a draw without a peak has no resonance."""
    common = set(drawn[0]).intersection(*drawn[1:])
    return [key for key in drawn[0] if key in common]


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


def apertures(model: PickupModel, sensed: Sensed, n: FloatArray, string: int) -> FloatArray:
    """Return the standard deviation of the sensing profile about each of its rows (rows,), m."""
    rows = np.array(model.anatomy.rows)
    weight = np.abs(sensed.profile[string].T @ n)
    x = model.table.x
    near = np.argmin(np.abs(x[:, None] - rows[None]), axis=1)
    out = []
    for row, place in enumerate(rows):
        own = weight[near == row]
        out.append(np.sqrt((own * (x[near == row] - place) ** 2).sum() / max(float(own.sum()), 1e-300)))
    return np.asarray(out)
