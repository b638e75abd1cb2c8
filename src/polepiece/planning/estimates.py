"""States of many candidates, cheaply: a screw that is turned is estimated, everything else is computed.

A turned screw is a new geometry, which costs a thousand times a gap move. To put candidates in order, its
effect is read off one probe (all screws half a turn up) and taken string by string in proportion to the
turn; what is shown is computed exactly afterwards.
"""

from dataclasses import replace
from typing import Any, Protocol

import numpy as np

from polepiece.bench import State
from polepiece.draw_counts import DRAWS
from polepiece.guitar import Guitar, string_gaps
from polepiece.moves import apply, parse_change, with_pickup

PROBE = 0.3175e-3  # m, about half a turn of any usual thread
LOWER = 0.5  # mm, how far all strings are farther away in the probe of heights
LOWERED = "lowered"  # its name among the probes


class StateBench(Protocol):
    """What the plan needs of a bench."""

    def state(self, guitar: Guitar, pickup: str) -> State:
        """Return the state of one pickup."""

    def regap(self, before: State, guitar: Guitar, pickup: str) -> tuple[Guitar, float]:
        """Return the guitar with the gap re-set to the level of ``before``, and how far it was lowered, m."""

    def interval(
        self, before: Guitar, after: Guitar, pickup: str, *, draws: int = DRAWS
    ) -> dict[str, tuple[float, float]]:
        """Return the 90 % interval of after minus before by dotted key."""

    def solve_ahead(self, guitar: Guitar, pickup: str, *, state: bool = True, interval: bool = False) -> None:
        """Announce what will be asked for, so that another process can begin with it."""


class Estimator:
    """States of one pickup for candidates that start from one guitar."""

    def __init__(self, bench: StateBench, base: Guitar, pickup: str) -> None:
        self.bench, self.base, self.pickup = bench, base, pickup
        self.before = bench.state(base, pickup)
        self._probes: dict[str, State] = {}

    def is_estimated(self, guitar: Guitar) -> bool:
        """Whether `state` would estimate: a screw stands otherwise than at the start."""
        return bool(self.turned_rows(guitar))

    def turned_rows(self, guitar: Guitar) -> dict[str, np.ndarray]:
        """Return how far each screw is up from the start, in probes, of each row in which one is, by its field."""
        here, there = guitar.pickup(self.pickup).poles, self.base.pickup(self.pickup)
        rows = (row.pole.turned_by for row in there.built.rows if row.pole.turns)
        moved = ((attr, getattr(here, attr), getattr(there.poles, attr)) for attr in rows)
        return {attr: (np.array(now) - np.array(was)) / PROBE for attr, now, was in moved if now != was}

    def state(self, guitar: Guitar) -> State:
        """Return the state, estimated where a screw was turned."""
        found = self.bench.state(self.solved(guitar), self.pickup)
        count = len(guitar.strings)
        wound = np.array([one.core_diameter < one.diameter for one in guitar.strings])
        for attr, screws in self.turned_rows(guitar).items():
            found = shifted(found, self.before, self.probe(attr), over_strings(screws, count), wound)
        return found

    def solved(self, guitar: Guitar) -> Guitar:
        """Return the guitar that the bench is asked for: where it would estimate, the screws as at the start."""
        if not self.is_estimated(guitar):
            return guitar
        pickup, start = guitar.pickup(self.pickup), self.base.pickup(self.pickup)
        there: dict[str, Any] = {attr: getattr(start.poles, attr) for attr in self.turned_rows(guitar)}
        poles = replace(pickup.poles, **there)
        return with_pickup(guitar, guitar.pickups.index(pickup), poles=poles)

    def probe(self, attr: str) -> State:
        """Return the state with every screw of a row half a turn up (whatever the gaps allow: it is never planned)."""
        if attr not in self._probes:
            self._probes[attr] = self.bench.state(self.probed(attr), self.pickup)
        return self._probes[attr]

    def probed(self, attr: str) -> Guitar:
        """Return the guitar of `probe`."""
        pickup = self.base.pickup(self.pickup)
        up: dict[str, Any] = {attr: tuple(round(one + PROBE, 12) for one in getattr(pickup.poles, attr))}
        place = self.base.pickups.index(pickup)
        return with_pickup(self.base, place, poles=replace(pickup.poles, **up))

    def screened(self, guitar: Guitar) -> State:
        """Return the state of a guitar whose pickup stands at another height, read off one probe of heights.

        String by string in proportion to how much farther away each is: good enough to choose what is computed first.

        Raises
        ------
        InputError
            When the pickup cannot be lowered by the probe.
        """
        if LOWERED not in self._probes:
            far = apply(self.base, self.pickup, [parse_change(f"lower={LOWER}mm")])
            self._probes[LOWERED] = self.bench.state(far, self.pickup)
        here, there = (np.array(string_gaps(one.pickup(self.pickup))) for one in (self.base, guitar))
        moved = over_strings((there - here) / (1e-3 * LOWER), len(guitar.strings))
        wound = np.array([one.core_diameter < one.diameter for one in guitar.strings])
        return shifted(self.before, self.before, self._probes[LOWERED], moved, wound)


def over_strings(of_poles: np.ndarray, strings: int) -> np.ndarray:
    """Return for each of ``strings`` (k,) what is known of every pole (n,), of which there may be more or fewer."""
    found: np.ndarray = np.interp(np.linspace(0, 1, strings), np.linspace(0, 1, len(of_poles)), of_poles)
    return found


def shifted(flat: State, before: State, probe: State, turned: np.ndarray, wound: np.ndarray) -> State:
    """Return ``flat`` moved by ``turned`` (k,) times what the probe did to each string.

    Parameters
    ----------
    flat, before, probe : State
        The candidate without its screws turned, the start, the start with every screw up by the probe.
    turned : ndarray, shape (k,)
        How far each string's screw is up, in probes; negative is down.
    wound : ndarray of bool, shape (k,)
    """
    mean = float(np.mean(turned))

    def scaled(key: str) -> float | None:
        a, b, c = (getattr(one, key) for one in (flat, before, probe))
        return None if a is None or b is None or c is None else float(a + mean * (c - b))

    def each(key: str) -> tuple[float, ...]:
        a, b, c = (np.asarray(getattr(one, key)) for one in (flat, before, probe))
        step = turned if a.shape == turned.shape else mean  # strings without pitch have no detuning
        return tuple(float(v) for v in a + step * (c - b))

    def loudness(state: State) -> np.ndarray:
        return state.level_db + np.asarray(state.string_balance_db)

    strings = loudness(flat) + turned * (loudness(probe) - loudness(before))
    power = 10 ** (strings / 10)
    level = 10 * float(np.log10(power.mean()))
    offset = flat.level_db - 10 * float(np.log10((10 ** (loudness(flat) / 10)).mean()))
    gap = None
    if wound.any() and not wound.all():
        gap = 10 * float(np.log10(power[wound].mean() / power[~wound].mean()))
        was = 10 ** (loudness(flat) / 10)
        assert flat.wound_minus_plain_db is not None
        gap += flat.wound_minus_plain_db - 10 * float(np.log10(was[wound].mean() / was[~wound].mean()))
    bands = {k: v + mean * (probe.bands_db[k] - before.bands_db[k]) for k, v in flat.bands_db.items()}
    return replace(
        flat,
        level_db=level + offset,
        bands_db=bands,
        sensitivity_1khz_db=flat.sensitivity_1khz_db + mean * (probe.sensitivity_1khz_db - before.sensitivity_1khz_db),
        wound_minus_plain_db=gap,
        resonance_hz=scaled("resonance_hz"),
        resonance_db=scaled("resonance_db"),
        string_balance_db=tuple(float(v) for v in strings - level - offset),
        string_pull_n=each("string_pull_n"),
        partial_shift_cents=each("partial_shift_cents"),
        field_mt=each("field_mt"),
        h2_db=each("h2_db"),
    )
