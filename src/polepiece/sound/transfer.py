"""A pickup with its circuit as one complex transfer function, sampled over frequency."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError
from polepiece.later import interpolate

STEEPEST = 4.0  # a continuation above the grid falls no faster than f^-4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PickupResponse:
    """Voltage at the amplifier's input per volt induced in the coil, eddy currents included.

    Attributes
    ----------
    frequency : shape (f,), Hz, rising, positive; some 20 points an octave from 20 Hz to 20 kHz or beyond.
    value : shape (f,), complex, exp(+j omega t).
    """

    frequency: NDArray[np.float64]
    value: NDArray[np.complex128]

    def __post_init__(self) -> None:
        frequency = np.array(self.frequency, dtype=float)
        value = np.array(self.value, dtype=complex)
        if frequency.ndim != 1 or frequency.size < 4 or frequency.shape != value.shape:
            raise InputError(
                f"a response needs at least 4 frequencies and one value each; got shapes {frequency.shape} "
                f"and {value.shape}."
            )
        if not (np.all(np.isfinite(frequency)) and np.all(np.isfinite(value))):
            raise InputError("a response holds a frequency or value that is not finite.")
        if frequency[0] <= 0.0 or np.any(np.diff(frequency) <= 0.0):
            raise InputError("the frequencies of a response must be positive and rise.")
        if not np.any(value):
            raise InputError("the response is zero everywhere: no sound would come out.")
        for name, array in (("frequency", frequency), ("value", value)):
            array.flags.writeable = False
            object.__setattr__(self, name, array)

    def at(self, frequency: ArrayLike) -> NDArray[np.complex128]:
        """Return the response at any frequency (Hz, >= 0).

        Notes
        -----
        Inside the grid: cubic spline over log frequency. Below it: the real part is held, the imaginary part
        goes to zero with f, as in any real network. Above it: the slope of the last third of an octave goes
        on (between flat and f^-4) with the last phase.
        """
        return np.asarray(responses_at([self], np.asarray(frequency, dtype=float))[0])


def responses_at(responses: Sequence[PickupResponse], frequency: NDArray[np.float64]) -> NDArray[np.complex128]:
    """Return several responses at the same frequencies (Hz, any shape), (m, ...): see `PickupResponse.at`."""
    out = np.empty((len(responses), *frequency.shape), dtype=complex)
    grids: dict[bytes, list[int]] = {}
    for place, one in enumerate(responses):
        grids.setdefault(one.frequency.tobytes(), []).append(place)
    for same in grids.values():
        grid = responses[same[0]].frequency
        out[same] = _continued(grid, np.stack([responses[k].value for k in same]), frequency)
    return out


def _continued(
    grid: NDArray[np.float64], value: NDArray[np.complex128], f: NDArray[np.float64]
) -> NDArray[np.complex128]:
    """Values (m, g) on a grid (g,), Hz, read and continued at ``f``, (m, ...)."""
    low, high = grid[0], grid[-1]
    spline = interpolate.CubicSpline(np.log(grid), value, axis=1)
    inside = np.asarray(spline(np.log(np.clip(f, low, high))), dtype=complex)
    below, above = f < low, f > high
    if np.any(below):
        inside.imag *= np.where(below, f, low) / low
    if np.any(above):
        near = max(high * 2.0 ** (-1.0 / 3.0), low)
        before, last = np.abs(spline(np.log(near))), np.abs(value[:, -1])
        slope = np.log(np.maximum(last, 1e-300) / np.maximum(before, 1e-300)) / np.log(high / near)
        slope = np.clip(slope, -STEEPEST, 0.0)
        beyond = np.log(f[above] / high)
        inside[:, above] = value[:, -1, None] * np.exp(slope[:, None] * beyond)
    return inside
