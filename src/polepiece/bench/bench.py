"""The bench: states of one guitar and of what changes make of it, fast, with intervals.

Magnet and coil solutions depend on the pickup without its gap, controls and strings; they are kept, so that
hundreds of candidates cost a string and circuit calculation each.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future
from copy import copy
from dataclasses import fields, replace
from functools import cache, partial

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.bench.intervals import DrawnPickup, MagnetMoves, drawn_numbers, drawn_strings, magnet_moves
from polepiece.bench.regap import falling_root, lowered, nearest_root
from polepiece.bench.settled import settled_moves
from polepiece.bench.state import State, difference
from polepiece.bench.state_numbers import state_of
from polepiece.bench.stroke import Energies, Taken, decibel
from polepiece.bench.switched import Heard, PickupOn, Switched, position_heard
from polepiece.draw_counts import DRAWS
from polepiece.errors import MeasurementError
from polepiece.geometry import Resolution
from polepiece.guitar import (
    INDUCTANCE,
    NOMINAL,
    Assumption,
    Draw,
    Guitar,
    Measured,
    Pickup,
    as_measured,
    assumed_gauges,
    drawn_turns,
    ninety,
    reading_of,
    safe_gaps,
    string_gaps,
    unchecked,
)
from polepiece.guitar import draws as make_draws
from polepiece.kept import Kept
from polepiece.pickup import (
    STILL,
    CoilMove,
    Magnetised,
    StringLayout,
    anatomy,
    engine,
    magnetise,
    near_start,
    over_frequency,
    own_poles,
    pickup_circuit,
    pickup_model,
    position_responses,
    row_positions,
    string_layout,
    string_places,
    string_rods,
    string_swing,
    tuned_strings,
    turns,
)
from polepiece.strings import Sensed, Swing

SILENT = "nothing of this pickup reaches the amplifier in this state: it is silent. The volume is 0; turn it up."
BLOCK = 128  # draws worked out together: more take a quarter longer each, and memory with their number
TURNED = 4  # geometries with screws at unlike heights that a bench keeps


def _all_screws(pickup: Pickup, up: float) -> Pickup:
    return replace(pickup, poles=replace(pickup.poles, screw_raise=(up,) * len(pickup.poles.screw_raise)))


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
        self._magnetised = Kept[object, Magnetised](64)
        self._sensed = Kept[object, tuple[Magnetised, Sensed]](64)  # with what its key names by id
        self._states = Kept[object, State](64)
        self._strokes = Kept[object, tuple[tuple[Sensed, ...], list[Taken]]](32)
        self._eddy = Kept[object, tuple[Sensed, ComplexArray]](64)
        self._swings = Kept[object, tuple[Sensed, Callable[[], Swing]]](4)  # each holds its geometry
        self._moves = Kept[object, MagnetMoves](64)
        self._drawn = Kept[object, list[dict[str, float]]](64)
        self._drawn_strings = Kept[object, tuple[Magnetised, tuple[FloatArray, FloatArray]]](64)  # with what id names
        self._settled = Kept[object, tuple[Magnetised, CoilMove]](64)
        self._coming: dict[object, Future[MagnetMoves]] = {}
        self.heard: Heard = None

    def heard_in(self, heard: Heard) -> "Bench":
        """Return this bench for another position: one of the guitar's, or names of pickups that are on side by side.

        None: each pickup where it is usually heard, by itself if it can be. What is solved is shared.
        """
        other = copy(self)
        other.heard = heard
        return other

    def alike(self) -> "Bench":
        """Return a bench of the same draws, fineness and position that has solved nothing; for another process."""
        other = Bench(seed=self.seed, resolution=self.resolution, exact_screws=self.exact_screws)
        other.heard = self.heard
        return other

    # --- the chain ---------------------------------------------------------------------------------
    def state(self, guitar: Guitar, pickup: str) -> State:
        """Return the state of one pickup of ``guitar`` in the position that is heard."""
        the_pickup = guitar.pickup(pickup)
        key = (guitar, the_pickup.name, position_heard(guitar, the_pickup.name, self.heard))
        if key not in self._states:
            switched = self.switched(
                guitar, the_pickup
            )  # magnets, coils, strings and circuit of all pickups that are on
            strokes = self.strokes(guitar, switched)  # partials of the stated stroke as every coil takes them
            voltages = [one.voltage(switched.channel_responses(k)) for k, one in enumerate(strokes)]
            move = self.coil_move(guitar, switched.pickups[0].pickup, switched.pickups[0].magnetised)
            self._states[key] = state_of(guitar, switched, strokes, Energies.of(strokes, voltages), move)
        return self._states[key]

    def switched(self, guitar: Guitar, pickup: Pickup) -> Switched:
        """Return the pickups that are on when ``pickup`` is heard, itself first, and the circuit behind them.

        Raises
        ------
        InputError
            When ``pickup`` is not on in the position.
        MeasurementError
            When nothing of it gets through, as with its volume at 0: a level and its bands have no number then.
        """
        position = position_heard(guitar, pickup.name, self.heard)
        order = [pickup.name, *(one for one in position.on if one != pickup.name)]
        on = tuple(self.pickup_on(guitar, guitar.pickup(one)) for one in order)
        (response,) = position_responses(guitar, position, [{one.pickup.name: one.circuit for one in on}])
        if not np.any(response.transfers[0]):
            raise MeasurementError(SILENT)
        return Switched(position=position, pickups=on, response=response)

    def pickup_on(self, guitar: Guitar, pickup: Pickup) -> PickupOn:
        """Return one pickup with what its strings are to it."""
        magnetised = self.magnetised(guitar, pickup)  # magnet and steel, coils: shapes, grade and history
        sensed = self.sensed(guitar, pickup, magnetised)  # strings in that field: V s/m per turn
        move = self.coil_move(guitar, pickup, magnetised)
        if id(sensed) not in self._swings:
            later = cache(partial(string_swing, guitar, pickup, magnetised, sensed))
            self._swings[id(sensed)] = (sensed, later)
        return PickupOn(
            pickup=pickup, magnetised=magnetised, sensed=sensed, turns=move.turns * np.array(turns(pickup)),
            eddy=self.eddy(guitar, pickup, magnetised, sensed),
            distance=np.array(row_positions(pickup, tuple(magnetised.model.table.x))),
            circuit=pickup_circuit(guitar, pickup, magnetised.coils, NOMINAL, move=move),
            swing=self._swings[id(sensed)][1],
        )  # fmt: skip

    def strokes(self, guitar: Guitar, switched: Switched) -> list[Taken]:
        """Return what all coils take of the stated stroke on every open string; kept for other controls."""
        strings = tuned_strings(guitar)
        seen = tuple(one.sensed for one in switched.pickups)  # each of one pickup at its place
        key = (tuple(map(id, seen)), tuple(one.turns.tobytes() for one in switched.pickups), tuple(strings))
        if key not in self._strokes:
            self._strokes[key] = (seen, switched.strokes(strings))
        return self._strokes[key][1]

    def magnetised(self, guitar: Guitar, pickup: Pickup) -> Magnetised:
        """Return the solved magnet and coil fields of a pickup; kept for pickups that differ elsewhere only."""
        pickup = self._solved(pickup)
        shape = anatomy(pickup)
        layout = string_layout(guitar, pickup, shape)
        key = (shape, layout, pickup.magnet, pickup.poles, self.resolution)
        if key in self._magnetised:
            return self._magnetised[key]
        model = pickup_model(shape, layout, self.resolution)
        near = near_start(model, reversed(self._magnetised.values()))
        found = magnetise(model, pickup, start=near)
        self._magnetised[key] = found
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

    def sensed(self, guitar: Guitar, pickup: Pickup, magnetised: Magnetised) -> Sensed:
        """Return what the pickup has of every string, per turn; kept for guitars that differ in their controls only."""
        key = (id(magnetised), pickup, guitar.strings)
        if key not in self._sensed:
            self._sensed[key] = (magnetised, self._sense(guitar, pickup, magnetised))
        return self._sensed[key][1]

    def _sense(self, guitar: Guitar, pickup: Pickup, magnetised: Magnetised) -> Sensed:
        if self._screens(pickup):
            each = {r: self._uniform(guitar, pickup, r) for r in set(pickup.poles.screw_raise)}
            own = [pickup.poles.screw_raise[k] for k in own_poles(guitar, pickup)]
            return Sensed(
                **{f.name: np.stack([getattr(each[r], f.name)[k] for k, r in enumerate(own)]) for f in fields(Sensed)}
            )
        y, height = string_places(guitar, pickup)
        rods = string_rods(guitar)
        return engine.sensed_strings(
            magnetised.model, rods, y, height, magnetised.pickup_table, magnetised.coil_table, magnetised.slopes
        )

    def _screens(self, pickup: Pickup) -> bool:
        """True when screws of unlike heights are to be screened string by string."""
        return not self.exact_screws and len(set(pickup.poles.screw_raise)) > 1

    def _solved(self, pickup: Pickup) -> Pickup:
        """Return the pickup whose magnet is solved for ``pickup``: screened, all its screws as most of them."""
        return (
            _all_screws(pickup, Counter(pickup.poles.screw_raise).most_common(1)[0][0])
            if self._screens(pickup)
            else pickup
        )

    def _uniform(self, guitar: Guitar, pickup: Pickup, up: float) -> Sensed:
        alike = _all_screws(pickup, up)
        return self.sensed(guitar, alike, self.magnetised(guitar, alike))

    def eddy(self, guitar: Guitar, pickup: Pickup, magnetised: Magnetised, sensed: Sensed) -> ComplexArray:
        """Return what eddy currents leave of each coil's sensitivity for each string (k, coils, f) on GRID; kept."""
        if id(sensed) not in self._eddy:
            y, _ = string_places(guitar, pickup)
            factor = engine.eddy_factor(magnetised.model, sensed, y, magnetised.coils.fields)
            self._eddy[id(sensed)] = (sensed, over_frequency(factor, magnetised.coils.fields.frequency))
        return self._eddy[id(sensed)][1]

    def solve_ahead(self, guitar: Guitar, pickup: str, *, state: bool = True, interval: bool = False) -> None:
        """Have the other process, where there is one, solve what a state or its interval will ask for."""
        if self.executor is None:
            return
        the_pickup = guitar.pickup(pickup)
        raised = sorted(set(the_pickup.poles.screw_raise)) if self._screens(the_pickup) else []
        for one in [_all_screws(the_pickup, up) for up in raised] or [the_pickup]:
            if state:
                shape = anatomy(one)
                engine.solve_ahead(self.executor, shape, string_layout(guitar, one, shape), self.resolution)
        solved = self._solved(the_pickup)
        layout = string_layout(guitar, solved, anatomy(solved))
        key = _moves_key(the_pickup, layout)
        if interval and key not in self._moves and key not in self._coming:
            self._coming[key] = self.executor.submit(magnet_moves, the_pickup, layout)

    def meanwhile(self, guitar: Guitar, pickup: str) -> None:
        """Solve here what an interval will ask for, while the other process makes the geometry of the same pickup."""
        solved = self._solved(guitar.pickup(pickup))
        shape = anatomy(solved)
        layout = string_layout(guitar, solved, shape)
        key = _moves_key(guitar.pickup(pickup), layout)
        coming = self._coming.get(key)
        if coming is not None and engine.under_way(shape, layout, self.resolution) and coming.cancel():
            self._coming[key] = Future()
            self._coming[key].set_result(magnet_moves(guitar.pickup(pickup), layout))

    # --- intervals ---------------------------------------------------------------------------------
    def interval(
        self, before: Guitar, after: Guitar, pickup: str, *, draws: int = DRAWS, there: "Bench | None" = None
    ) -> dict[str, tuple[float, float]]:
        """Return the 90 % interval of after minus before by dotted key, from paired draws.

        ``there`` is this bench in the position in which ``after`` is heard, where it is another one.
        """
        return self.intervals(before, {"": after}, pickup, count=draws, there=there)[""]

    def intervals(
        self, before: Guitar, after: dict[str, Guitar], pickup: str, *, count: int = 64, there: "Bench | None" = None
    ) -> dict[str, dict[str, tuple[float, float]]]:
        """Return `interval` for several changed guitars; the draws of ``before`` are made once."""
        then = there or self
        sample = make_draws(count, self.seed)
        here = self.drawn(before, pickup, sample)
        now = self.state(before, pickup)
        out = {}
        for name, guitar in after.items():
            later = then.drawn(guitar, pickup, sample)
            keys = _in_all(here + later)
            moves = [[b[k] - a[k] for k in keys] for a, b in zip(here, later)]
            stated = difference(now, then.state(guitar, pickup))
            out[name] = dict(zip(keys, ninety(moves, [stated.get(key, np.nan) for key in keys])))
        return out

    def span(self, guitar: Guitar, pickup: str, *, draws: int = DRAWS) -> dict[str, tuple[float, float]]:
        """Return the 90 % interval of one state itself by dotted key: what a meter may say of it."""
        found = self.drawn(guitar, pickup, make_draws(draws, self.seed))
        keys = _in_all(found)
        stated = self.state(guitar, pickup).numbers()
        return dict(
            zip(keys, ninety([[one[key] for key in keys] for one in found], [stated.get(key, np.nan) for key in keys]))
        )

    def drawn(self, guitar: Guitar, pickup: str, sample: list[Draw]) -> list[dict[str, float]]:
        """Return the numbers of every draw of one state."""
        the_pickup = guitar.pickup(pickup)
        key = (guitar, the_pickup.name, position_heard(guitar, the_pickup.name, self.heard), tuple(sample))
        if key not in self._drawn:
            switched = self.switched(guitar, the_pickup)
            strokes = self.strokes(guitar, switched)
            stated = self.state(guitar, the_pickup.name)
            found: list[dict[str, float]] = []
            for at in range(0, len(sample), BLOCK):
                part = sample[at : at + BLOCK]
                drawn = [self._drawn_pickup(guitar, one, part) for one in switched.pickups]
                found += drawn_numbers(guitar, switched, strokes, drawn, stated, part)
            self._drawn[key] = found
        return self._drawn[key]

    def _drawn_pickup(self, guitar: Guitar, on: PickupOn, sample: list[Draw]) -> DrawnPickup:
        sensitivity, force = self.drawn_strings(guitar, on.pickup, on.magnetised, sample)
        return DrawnPickup(
            on=on, ratio=sensitivity[:, :, 1:] / sensitivity[:, :, :1], pull=force[:, 1:] / force[:, :1],
            coils=self.coil_moves(guitar, on.pickup, on.magnetised, sample),
        )  # fmt: skip

    def drawn_strings(
        self, guitar: Guitar, pickup: Pickup, magnetised: Magnetised, sample: Sequence[Draw]
    ) -> tuple[FloatArray, FloatArray]:
        """Return sensitivity (k, coils, 1 + d) per turn and pull (k, 1 + d), the nominal guitar first; kept.

        What is asked for again is the state before, once for each row of a plan, and pickups that a move does not
        touch: the key holds what a draw of this pickup reads, and nothing of the controls or of other pickups.
        """
        own = f"pickups[{next(k for k, one in enumerate(guitar.pickups) if one.name == pickup.name)}]"
        entries: tuple[Assumption | Measured, ...] = (*guitar.assumed, *guitar.measured)
        read = tuple(
            one for one in entries if not one.path.startswith(("pickups[", "controls.")) or one.path.startswith(own)
        )
        key = (id(magnetised), pickup, guitar.strings, guitar.scale_length, read, tuple(sample))
        if key not in self._drawn_strings:
            moves = self.moves(pickup, magnetised)
            self._drawn_strings[key] = (
                magnetised, drawn_strings(guitar, pickup, magnetised, moves, [NOMINAL, *sample])
            )  # fmt: skip
        return self._drawn_strings[key][1]

    def moves(self, pickup: Pickup, magnetised: Magnetised) -> MagnetMoves:
        """Return what the tolerances of bar and steel do to the field of a pickup; kept."""
        layout = magnetised.model.layout
        key = _moves_key(pickup, layout)
        if key not in self._moves:
            found = engine.fetched(self._coming.pop(key, None)) or magnet_moves(pickup, layout)
            self._moves[key] = found.scaled_to(magnetised.pickup_table)
        return self._moves[key]

    def coil_moves(self, guitar: Guitar, pickup: Pickup, magnetised: Magnetised, sample: list[Draw]) -> list[CoilMove]:
        """Return what each draw's steel and turns do to the coils; a measured inductance leaves less of it open."""
        pickup = self._solved(pickup)
        if reading_of(guitar, pickup, INDUCTANCE) is None:
            moves = self.moves(pickup, magnetised)
            return [replace(moves.coil_at(draw), scale=drawn_turns(guitar, pickup, draw) ** 2) for draw in sample]
        reference = as_measured(guitar, pickup)
        here = self.moves(pickup, magnetised)
        if reference == pickup:
            return settled_moves(guitar, pickup, magnetised.coils, here, here, sample)
        then = self.magnetised(guitar, reference)
        return settled_moves(guitar, reference, then.coils, self.moves(reference, then), here, sample)

    def coil_move(self, guitar: Guitar, pickup: Pickup, magnetised: Magnetised) -> CoilMove:
        """Return `coil_moves` of the state itself; kept for states that differ in heights and controls only."""
        if reading_of(guitar, pickup, INDUCTANCE) is None:
            return STILL
        gauges = assumed_gauges(guitar, pickup)
        key = (id(magnetised), unchecked(pickup, gap_bass=0.0, gap_treble=0.0), guitar.measured, gauges)
        if key not in self._settled:
            self._settled[key] = (magnetised, self.coil_moves(guitar, pickup, magnetised, [NOMINAL])[0])
        return self._settled[key][1]

    # --- gap re-set --------------------------------------------------------------------------------
    def regap(self, before: State, guitar: Guitar, pickup: str) -> tuple[Guitar, float]:
        """Return the guitar with the gap re-set to the old level, and the metres it was lowered (raised: < 0).

        The move stops at the smallest safe gap and at 7 mm; the level may then still differ. Of several gaps with
        the old level it is the nearest: two pickups out of phase may have more than one.
        """
        the_pickup = guitar.pickup(pickup)
        room = min(gap - safe for gap, safe in zip(string_gaps(the_pickup), safe_gaps(the_pickup)))
        low, high = -max(room, 0.0), 7e-3 - max(string_gaps(the_pickup))

        def error(move: float) -> float:
            return self.level(lowered(guitar, the_pickup, move), the_pickup.name) - before.level_db

        alone = len(position_heard(guitar, the_pickup.name, self.heard).on) == 1
        move = falling_root(error, low, high) if alone else nearest_root(error, low, high)
        return lowered(guitar, the_pickup, move), move

    def level(self, guitar: Guitar, pickup: str) -> float:
        """Return the level alone, dB re 1 V: what `state` says, without the rest."""
        switched = self.switched(guitar, guitar.pickup(pickup))
        strokes = self.strokes(guitar, switched)
        voltages = [one.voltage(switched.channel_responses(k)) for k, one in enumerate(strokes)]
        return float(decibel(Energies.of(strokes, voltages).strings.mean()))


def _moves_key(pickup: Pickup, layout: StringLayout) -> object:
    return (anatomy(pickup), layout, pickup.magnet, pickup.poles)


def _in_all(drawn: list[dict[str, float]]) -> list[str]:
    """Return the keys that every draw has: a draw without a peak has no resonance."""
    common = set(drawn[0]).intersection(*drawn[1:])
    return [key for key in drawn[0] if key in common]
