"""What is played: notes on strings, their bends and mutes."""

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError
from polepiece.strings import PalmMute, Pluck

LONGEST = 120.0  # s


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """A note's pitch over time: ``points`` of (s after the stroke, semitones), smooth between, held outside."""

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        times = [time for time, _ in self.points]
        if not times or times[0] < 0.0 or any(b <= a for a, b in pairwise(times)):
            raise InputError(f"a bend's times are {times}; they must rise from 0 s on.")
        if not all(-4.0 <= up <= 4.0 for _, up in self.points):
            raise InputError("a bend goes beyond 4 semitones. Is it in cents?")

    @property
    def highest(self) -> float:
        """Largest ratio of the bent pitch to the fretted one. Definition of a semitone."""
        return float(max(2.0 ** (up / 12.0) for _, up in self.points))

    def ratio(self, time: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return pitch ratio r at ``time`` (s) and its integral from 0 on (s), closed form.

        Notes
        -----
        Between two points r = r0 + (r1 - r0)(3 x^2 - 2 x^3), x the share of the way.
        The curve is an assumption; its integral is derived here.
        """
        t = np.asarray(time, dtype=float)
        at = np.array([0.0, *(time for time, _ in self.points)])
        level = 2.0 ** (np.array([self.points[0][1], *(up for _, up in self.points)]) / 12.0)
        span, rise = np.diff(at), np.diff(level)
        whole = np.concatenate([[0.0], np.cumsum(span * (level[:-1] + 0.5 * rise))])
        k = np.clip(np.searchsorted(at, t, side="right") - 1, 0, at.size - 1)
        inside = k < at.size - 1
        j = np.minimum(k, at.size - 2)
        x = np.where(inside, (t - at[j]) / np.where(span[j] > 0.0, span[j], 1.0), 0.0)
        ratio = np.where(inside, level[j] + rise[j] * x * x * (3.0 - 2.0 * x), level[-1])
        part = np.where(inside, span[j] * (level[j] * x + rise[j] * x**3 * (1.0 - 0.5 * x)), (t - at[-1]) * level[-1])
        return ratio, whole[k] + part


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One stroke: string 1 is the thin one; times in s from the start of the phrase.

    Notes of one strum share a ``stroke`` number other than 0: one movement of the hand.
    """

    string: int
    fret: int = 0
    onset: float
    duration: float
    pluck: Pluck = field(default_factory=Pluck)
    mute: PalmMute | None = None
    bend: Bend | None = None
    stroke: int = 0

    def __post_init__(self) -> None:
        if not 1 <= self.string <= 12:
            raise InputError(f"note on string {self.string}; strings count from 1, the thin one.")
        if not 0 <= self.fret <= 24:
            raise InputError(f"note at fret {self.fret}; allowed are 0 (open) to 24.")
        if not 0.0 <= self.onset <= LONGEST:
            raise InputError(f"note starts at {self.onset:g} s; allowed are 0 to {LONGEST:g} s.")
        if not 0.02 <= self.duration <= LONGEST:
            raise InputError(f"note lasts {self.duration:g} s; allowed are 0.02 to {LONGEST:g} s.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Phrase:
    """Notes and the length of the whole, s; ``touch`` is how hard the fretting finger touches, 1 as usual."""

    name: str
    notes: tuple[Note, ...]
    duration: float
    touch: float = 1.0

    def __post_init__(self) -> None:
        if not self.notes:
            raise InputError(f"phrase {self.name!r} has no notes.")
        if not 0.05 <= self.duration <= LONGEST:
            raise InputError(f"phrase {self.name!r} lasts {self.duration:g} s; allowed are 0.05 to {LONGEST:g} s.")
        late = max(note.onset for note in self.notes)
        if late >= self.duration:
            raise InputError(f"phrase {self.name!r} ends at {self.duration:g} s before its note at {late:g} s.")
