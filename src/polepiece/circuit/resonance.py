"""Where a response peaks, how high, and how sharp."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from polepiece.arrays import FloatArray
from polepiece.errors import InputError

Reference = Literal["plateau", "1 kHz"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Resonance:
    """A peak; every figure is None where there is none."""

    frequency: float | None  # Hz
    height_db: float | None  # above the reference
    quality: float | None  # frequency / width 3.01 dB below the peak; None where one side never falls that far
    reference: Reference


def resonance(frequency: ArrayLike, response: ArrayLike, *, reference: Reference = "plateau") -> Resonance:
    """Highest peak of a response between the ends of its frequencies.

    Parameters
    ----------
    frequency : array_like, shape (f,)
        Hz, rising and positive. About 100 values a decade place a peak of Q 5 within 0.1 %.
    response : array_like, shape (f,)
        Transfer or impedance, complex or its magnitude; any unit.
    reference : {"plateau", "1 kHz"}
        What the height is counted from: the value at the lowest frequency given, or that at 1 kHz.

    Returns
    -------
    Resonance
        All None when the response has no maximum inside, as a pickup turned down or loaded with a large
        capacitor may have.

    Raises
    ------
    InputError
        When the frequencies do not rise, or the reference lies outside them.

    Notes
    -----
    The top is that of the parabola through the three highest values, in dB over log f. The two ends of the
    width are interpolated in the same way, linearly. A low-pass response less than 3.01 dB high has no lower
    end, so no ``quality``.
    Quality: frequency over the width at half power, a definition.
    """
    hertz, size = np.asarray(frequency, dtype=float), np.abs(np.asarray(response))
    if hertz.ndim != 1 or size.shape != hertz.shape or hertz.size < 3:
        raise InputError(f"frequency {hertz.shape} and response {size.shape} must be equal lists of three or more.")
    if hertz[0] <= 0.0 or np.any(np.diff(hertz) <= 0.0):
        raise InputError("frequency must rise from above 0 Hz.")
    if reference == "1 kHz" and not hertz[0] <= 1000.0 <= hertz[-1]:
        raise InputError(f"1 kHz lies outside {hertz[0]:g} to {hertz[-1]:g} Hz; use the plateau as reference.")
    none = Resonance(frequency=None, height_db=None, quality=None, reference=reference)
    if not np.all(np.isfinite(size)) or np.any(size <= 0.0):
        return none  # silence has no peak
    octave, level = np.log2(hertz), 20.0 * np.log10(size)
    inside = level[1:-1]
    # 1e-9 dB: rounding of a flat response is no peak
    tops = np.flatnonzero((inside > level[:-2] + 1e-9) & (inside >= level[2:])) + 1
    if tops.size == 0:
        return none
    top = int(tops[np.argmax(level[tops])])
    place, height = _parabola(octave[top - 1 : top + 2], level[top - 1 : top + 2])
    zero = level[0] if reference == "plateau" else float(np.interp(np.log2(1000.0), octave, level))
    ends = _crossing(octave, level, top, height, -1), _crossing(octave, level, top, height, 1)
    quality = None
    if ends[0] is not None and ends[1] is not None:
        quality = float(2.0**place / (2.0 ** ends[1] - 2.0 ** ends[0]))
    return Resonance(frequency=float(2.0**place), height_db=float(height - zero), quality=quality, reference=reference)


def _parabola(x: FloatArray, y: FloatArray) -> tuple[float, float]:
    """Top of the parabola through three points whose middle one is the highest."""
    rise, fall = (y[1] - y[0]) / (x[1] - x[0]), (y[2] - y[1]) / (x[2] - x[1])  # divided differences: textbooks
    a = (fall - rise) / (x[2] - x[0])
    b = rise + a * (x[1] - x[0])  # slope at the middle point
    return float(x[1] - b / (2.0 * a)), float(y[1] - b * b / (4.0 * a))


def _crossing(octave: FloatArray, level: FloatArray, top: int, height: float, step: int) -> float | None:
    """Where the response first falls to half power on one side of the top, or None."""
    wanted = height - 10.0 * np.log10(2.0)
    at = top
    while level[at] > wanted:
        at += step
        if not 0 <= at < level.size:
            return None
    before = at - step
    if level[before] == level[at]:  # the top itself lies at the wanted level: cannot be, it is 3 dB down
        return None
    share = (level[before] - wanted) / (level[before] - level[at])
    return float(octave[before] + share * (octave[at] - octave[before]))
