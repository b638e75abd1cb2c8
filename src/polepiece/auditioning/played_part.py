"""The part of a sound that a trial plays over and over: fixed before it, so that loudness is matched over just that."""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.typed_number import MINUSES, typed_float

SHORTEST = 1.0  # s: a few of the 0.4 s blocks that BS.1770 measures
FADE = 0.005  # s at both ends: no click, and too short to be heard as a fade


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedPart:
    """From second to second."""

    begin: float
    end: float

    def __post_init__(self) -> None:
        if not (self.begin >= 0.0 and self.end - self.begin >= SHORTEST):
            raise InputError(
                f"the part is from {self.begin:g} to {self.end:g} s; {SHORTEST:g} s or more are played, from 0 on."
            )

    def check(self, seconds: float) -> None:
        """Refuse a sound that lasts so many ``seconds`` and is over before the part is.

        Raises
        ------
        InputError
        """
        if self.end > seconds + FADE:
            raise InputError(f"the part ends at {self.end:g} s; the sound is over after {seconds:.1f} s.")

    def cut(self, sound: FloatArray, sample_rate: float) -> FloatArray:
        """Return this part of a sound (t,) or (t, c), faded over `FADE` at its ends.

        Raises
        ------
        InputError
            When the sound is over before the part is.
        """
        self.check(len(sound) / sample_rate)
        first, last = round(self.begin * sample_rate), round(self.end * sample_rate)
        out = np.array(sound[first:last], dtype=float)
        count = round(FADE * sample_rate)
        ramp = 0.5 - 0.5 * np.cos(np.pi * (np.arange(count) + 0.5) / count)
        ramp = ramp if out.ndim == 1 else ramp[:, None]
        out[:count] *= ramp
        out[-count:] *= ramp[::-1]
        return out


def part_in(words: str) -> PlayedPart | None:
    """Return the part that was typed, as "1.5-4"; None for nothing typed: the whole.

    Raises
    ------
    InputError
        When it cannot be read, or is shorter than `SHORTEST`.
    """
    typed = words.strip().removesuffix("s").strip()
    if not typed:
        return None
    for mark in (" to ", "..", *MINUSES):
        begin, found, end = typed.partition(mark)
        if found and begin.strip():
            allowed = "seconds from and to, such as 1.5-4"
            said = (typed_float(one, f"the part {words!r}", allowed=allowed) for one in (begin, end))
            return PlayedPart(begin=next(said), end=next(said))
    raise InputError(f"the part is {words!r}; write seconds from and to, such as 1.5-4.")
