"""What a row does in the other positions of the switches: on together with another pickup, and split.

A bench asks it of every change: the neck pickup may be cured and the middle position spoilt.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from polepiece.bench import BANDS, Bench, State, position_heard, threshold_of
from polepiece.coil import Wiring
from polepiece.guitar import Guitar, Pickup, SwitchPosition, has_free_switch, positions_of
from polepiece.moves import moved_between, rewire
from polepiece.planning.estimates import StateBench
from polepiece.planning.scoring import NAMED

Both = Callable[[Guitar, Sequence[str]], State]
SPLITS: tuple[Wiring, ...] = ("split-screws", "split-slugs")
SMALLEST = 0.05  # dB; rounds to 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """One other position of the switches after a change, against the same position before it."""

    setting: str  # "both on", "split-screws" or "split-slugs" as a wiring is named, or the switch's name for it
    pickups: tuple[str, ...]
    difference: Mapping[str, float]  # level_db and bands_db.*, after minus before; bands against the level
    in_phase: bool | None  # after it, several pickups on; None for one
    words: str


class Positions:
    """Positions of one pickup of one guitar; what holds before any change is computed once.

    Parameters
    ----------
    bench : StateBench
    both : callable or None
        `together` on a bench; None: nothing is said of several pickups on.
    base : Guitar
    pickup : str
    """

    def __init__(self, bench: StateBench, both: Both | None, base: Guitar, pickup: str) -> None:
        self.bench, self.both, self.base, self.pickup = bench, both, base, pickup
        self._together: dict[str, State] = {}
        self._split: dict[str, State] = {}

    def after(self, guitar: Guitar) -> tuple[Position, ...]:
        """Return every other position of ``guitar``, the base after a change."""
        if isinstance(self.bench, Bench) and not has_free_switch(self.base):
            out = [self._at(guitar, one) for one in self._switched() if one.name in self.moved(guitar)]
        else:
            others = [one.name for one in self.base.pickups if one.name != self.pickup]
            out = [self._both_on(guitar, other) for other in others] if self.both is not None else []
        pickup = guitar.pickup(self.pickup)
        if can_split(pickup) and not self.base.pickup(self.pickup).wiring.startswith("split") and not self._has_split():
            out += [self._split_to(guitar, pickup, wiring) for wiring in SPLITS]
        return tuple(out)

    def moved(self, guitar: Guitar) -> tuple[str, ...]:
        """Return the names of the positions that ``guitar`` moves; none where there is one position only."""
        return moved_between(self.base, guitar) if len(positions_of(self.base)) > 1 else ()

    def _switched(self) -> list[SwitchPosition]:
        """Return the positions of the switch in which the pickup is on, but for the one in which it is judged."""
        assert isinstance(self.bench, Bench)
        here = position_heard(self.base, self.pickup, self.bench.heard)
        return [one for one in positions_of(self.base) if self.pickup in one.on and one != here]

    def _has_split(self) -> bool:
        return any(self.pickup in one.wirings for one in positions_of(self.base))

    def _at(self, guitar: Guitar, position: SwitchPosition) -> Position:
        assert isinstance(self.bench, Bench)
        there = self.bench.heard_in(position)
        if position.name not in self._together:
            self._together[position.name] = there.state(self.base, self.pickup)
        was, now = self._together[position.name], there.state(guitar, self.pickup)
        return self._compared(position.name, position.name, position.on, was, now)

    def _both_on(self, guitar: Guitar, other: str) -> Position:
        assert self.both is not None
        names = (self.pickup, other)
        if other not in self._together:
            self._together[other] = self.both(self.base, names)
        was, now = self._together[other], self.both(guitar, names)
        name = "both on" if len(self.base.pickups) == 2 else f"{self.pickup} and {other} on"
        return self._compared("both on", name, names, was, now)

    @staticmethod
    def _compared(setting: str, name: str, on: tuple[str, ...], was: State, now: State) -> Position:
        moved = _moved(_state_numbers(was), _state_numbers(now))
        phase = "" if now.in_phase is None or (now.in_phase and was.in_phase) else _phase_words(was, now)
        if now.hum_cancelling != was.hum_cancelling:
            phase += (", " if phase else "") + ("hum cancels now" if now.hum_cancelling else "hum cancels no more")
        words = position_words(name, moved, phase)
        return Position(setting=setting, pickups=on, difference=moved, in_phase=now.in_phase, words=words)

    def _split_to(self, guitar: Guitar, pickup: Pickup, wiring: Wiring) -> Position:
        if wiring not in self._split:
            self._split[wiring] = self.bench.state(_wired(self.base, self.pickup, wiring), self.pickup)
        was, now = self._split[wiring], self.bench.state(_wired(guitar, self.pickup, wiring), self.pickup)
        moved = _moved(_state_numbers(was), _state_numbers(now))
        name = f"split to the {pickup.built.coil_left_by(wiring)}" + (
            ", if its lead allows" if pickup.lead == "unknown" else ""
        )
        words = position_words(name, moved)
        return Position(setting=wiring, pickups=(self.pickup,), difference=moved, in_phase=None, words=words)


def _phase_words(was: State, now: State) -> str:
    words = "in phase" if now.in_phase else "out of phase"
    return words + (", as before" if now.in_phase == was.in_phase else " now")


def can_split(pickup: Pickup) -> bool:
    """Tell whether one coil of a pickup can be switched off; a lead that is not known may have the wires for it."""
    return pickup.built.can_split and pickup.lead != "two-conductor"


def _wired(guitar: Guitar, pickup: str, wiring: Wiring) -> Guitar:
    return rewire(guitar, guitar.pickups.index(guitar.pickup(pickup)), wiring)


def _state_numbers(state: State) -> dict[str, float]:
    return {"level_db": state.level_db, **{f"bands_db.{band}": state.bands_db[band] for band in BANDS}}


def _moved(was: Mapping[str, float], now: Mapping[str, float]) -> dict[str, float]:
    return {key: now[key] - was[key] for key in was}


def position_words(name: str, moved: Mapping[str, float], phase: str = "") -> str:
    """Return a position in words, such as "both on: level +0.4 dB, presence -0.7 dB".

    The level is always said, bands from where a change is named better or worse (`scoring.NAMED` of a threshold).

    Parameters
    ----------
    name : str
    moved : mapping
        level_db and bands_db.*, dB.
    phase : str
        What is to be said of the phase.
    """
    level = moved["level_db"]
    parts = [f"level {level:+.1f} dB" if abs(level) >= SMALLEST else "level as before"]
    for band in BANDS:
        value = moved[f"bands_db.{band}"]
        if abs(value) >= NAMED * threshold_of(band):
            parts.append(f"{band} {value:+.1f} dB")
    return f"{name}: {', '.join([*parts, *([phase] if phase else [])])}"
