"""Pitch glide: a string that swings is longer, so it is tighter and sharper; the pitch falls as the swing dies.

The mean stretch over a period is that of all partials together,

    strain(t) = 1/8 sum_n (n pi/L)^2 (|w_n|^2 + |u_n|^2) exp(-2 sigma_n t),   f(t)/f = sqrt(1 + E A strain(t) / T)

with A the section of the core, which alone carries tension. The part of the stretch at twice the frequency of each
partial is left out (phantom partials; and up to half as much glide again for a string that moves in one mode and one
plane). So is what stretches behind nut and bridge, which makes the glide smaller. Legge and Fletcher, J. Acoust. Soc.
Am. 76 (1984) 5; Bank and Sujbert, J. Acoust. Soc. Am. 117 (2005) 2268 (both from memory).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.later import njit
from polepiece.strings import SpeakingString, StringModes

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

LEAST_CENTS = 1.0  # the last cent is left out, so the pitch is at most this flat: 3 to 5 cents are heard (memory)
FLOOR = 2.0 ** (LEAST_CENTS / 1200.0) - 1.0
STEPS = 8  # to a microsecond
TERMS = 48  # partials; slopes fall as 1/n^2 in energy, the rest is 1/48 of the whole at most
KNOT_S = 4e-3  # between knots of the time axis; cubic between them
HALF, DEGREE = 8, 5  # taps on each side; of the polynomial that each is between two samples
STRETCH = 256  # samples read together
BETA = 6.0  # of the Kaiser window


def stretch(modes: StringModes, amplitude: Complexes, string: SpeakingString) -> tuple[Floats, Floats]:
    """Return the relative rise of pitch of each partial's share at the stroke (k,) and its decay rate (k,), 1/s.

    ``amplitude`` (2 planes, 2 motions, n), m, as of `polepiece.sound.voice.mode_motion`. Derived here after
    the module's sources, first order in the strain (under 1e-3: 0.05 % of the glide).
    """
    stiffness = string.young_modulus * 0.25 * math.pi * string.core_diameter**2
    share = 0.5 * stiffness / string.tension * 0.125 * (math.pi / modes.length) ** 2
    rise, rate = np.empty((2, min(TERMS, modes.number.size)))
    _stretch(modes.number, amplitude, modes.decay, share, rise, rate)
    return rise, rate


@dataclass(frozen=True, slots=True, eq=False)
class Glide:
    """The time axis of one note along which its straight twin is read.

    Attributes
    ----------
    rise, rate : shape (k,), relative pitch of each term at the stroke, and its decay, 1/s.
    over : s after which less than `LEAST_CENTS` is left: from there on the pitch stands still.
    """

    rise: Floats
    rate: Floats
    over: float

    @classmethod
    def of(cls, modes: StringModes, amplitude: Complexes, string: SpeakingString) -> "Glide | None":
        """Return the glide of a stroke; None where it is under `LEAST_CENTS`.

        Its end by Newton's method, derived here.
        """
        rise, rate = stretch(modes, amplitude, string)
        if float(rise.sum()) <= FLOOR:
            return None
        rate = np.maximum(rate, 1e-3)
        return cls(rise, rate, _over(rise, rate, FLOOR))

    def ratio(self, time: ArrayLike) -> tuple[Floats, Floats]:
        """Return pitch ratio and its integral from 0 on (s) at ``time`` (t,) >= 0, s.

        Closed form, derived here.
        """
        t = np.asarray(time, dtype=float)
        until = np.minimum(t, self.over)
        fade = np.exp(-np.outer(until, self.rate))
        ratio = np.where(t < self.over, 1.0 + fade @ self.rise - FLOOR, 1.0)
        return ratio, t + (1.0 - fade) @ (self.rise / self.rate) - FLOOR * until

    def knots(self, first: int, count: int, rate: float) -> tuple[float, Floats, Floats]:
        """Return the time of the first knot (s) and ratio and read time (s) at knots `KNOT_S` apart.

        They cover ``count`` samples from sample ``first`` on, as far as those lie behind the stroke. The spacing is an
        assumption, tried in tests.
        """
        start = max(first, 0) / rate
        steps = max(math.ceil((first + count) / rate / KNOT_S - start / KNOT_S), 1)
        return start, *_knots(self.rise, self.rate, self.over, FLOOR, start, steps + 1)

    def axis(self, first: int, count: int, rate: float) -> tuple[Floats, Floats]:
        """Return ratio and read time (s), each (count,), from sample ``first`` on; before the stroke nothing moves.

        Definition of a cubic through values and slopes.
        """
        ratio, read = _axis(first, count, float(rate), *self.knots(first, count, rate))
        return ratio, read


def _weights() -> NDArray[np.float32]:
    """Return the tap at each place, (HALF, DEGREE + 1), as a polynomial in the part of a sample beyond the middle.

    The taps of the other half are the same, mirrored. Least squares over 513 places, -76 dB of the sum of all.
    """
    part = np.linspace(0.0, 1.0, 513)
    offset = np.arange(-HALF + 1, HALF + 1)[None] - part[:, None]
    window = np.i0(BETA * np.sqrt(np.maximum(1.0 - (offset / HALF) ** 2, 0.0))) / np.i0(BETA)
    taps = np.sinc(offset) * window
    taps /= taps.sum(axis=1, keepdims=True)
    powers = np.vander(part - 0.5, DEGREE + 1, increasing=True)
    return np.ascontiguousarray(np.linalg.lstsq(powers, taps[:, :HALF], rcond=None)[0].T, dtype=np.float32)


WEIGHTS = _weights()


@njit(cache=True)
def _stretch(number, amplitude, decay, share, rise, rate):  # type: ignore[no-untyped-def]
    for k in range(rise.size):
        up, side = amplitude[0, 0, k] + amplitude[0, 1, k], amplitude[1, 0, k] + amplitude[1, 1, k]
        square = up.real**2 + up.imag**2 + side.real**2 + side.imag**2
        rise[k], rate[k] = share * number[k] ** 2 * square, decay[0, k] + decay[1, k]


@njit(cache=True)
def _over(rise, rate, floor):  # type: ignore[no-untyped-def]
    over = 0.0
    for _ in range(STEPS):  # the logarithm of the sum is convex: Newton's steps from the left stay on the left
        left = falls = 0.0
        for k in range(rise.size):
            one = rise[k] * np.exp(-rate[k] * over)
            left += one
            falls += one * rate[k]
        over += left * np.log(left / floor) / falls
    return over


@njit(cache=True)
def _knots(rise, rate, over, floor, start, count):  # type: ignore[no-untyped-def]
    """Ratio and its integral at ``count`` knots from ``start`` (s) on: as `Glide.ratio`, an exponential a term."""
    ratio, read = np.empty(count), np.empty(count)
    moving = 0  # knots before the end
    while moving < count and start + moving * KNOT_S < over:
        moving += 1
    for i in range(count):
        until = start + i * KNOT_S if i < moving else over
        ratio[i], read[i] = 1.0, start + i * KNOT_S - floor * until
    for k in range(rise.size):
        fade, step, gain = rise[k] * np.exp(-rate[k] * start), np.exp(-rate[k] * KNOT_S), 1.0 / rate[k]
        for i in range(moving):
            ratio[i] += fade
            read[i] += (rise[k] - fade) * gain
            fade *= step
        last = (rise[k] - rise[k] * np.exp(-rate[k] * over)) * gain
        for i in range(moving, count):
            read[i] += last
    for i in range(moving):
        ratio[i] -= floor
    return ratio, read


@njit(cache=True, fastmath=True)
def _axis(first, count, rate, start, slope, value):  # type: ignore[no-untyped-def]
    ratio, read = np.ones(count), np.empty(count)
    low = min(max(-first, 0), count)
    for i in range(low):
        read[i] = (first + i) / rate
    step = 1.0 / (rate * KNOT_S)  # knots a sample
    begun = first * step - start / KNOT_S  # knots from the first one to sample 0 of these
    for k in range(slope.size - 1):
        high = count if k == slope.size - 2 else min(max(int(np.ceil((k + 1 - begun) / step)), low), count)
        rise, more = value[k + 1] - value[k], slope[k + 1] - slope[k]
        a, b = KNOT_S * slope[k] - rise, rise - KNOT_S * slope[k + 1]
        for i in range(low, high):
            x = begun + i * step - k
            read[i] = value[k] + x * rise + x * (1.0 - x) * (a * (1.0 - x) + b * x)
            ratio[i] = slope[k] + x * more
        low = high
    return ratio, read


@njit(cache=True, fastmath=True)
def _read(samples, others, place, gain, weights, out, put):  # type: ignore[no-untyped-def]
    part, low, high = np.empty(STRETCH, np.float32), np.empty(STRETCH, np.float32), np.empty(STRETCH, np.float32)
    out[:], put[:] = 0.0, 0.0
    first = 0
    while first < place.size:
        whole = int(place[first])  # never negative
        count = 0  # places that go on by a sample each
        while count < STRETCH and first + count < place.size and int(place[first + count]) == whole + count:
            part[count] = np.float32(place[first + count] - (whole + count) - 0.5)
            count += 1
        left = whole - HALF + 1
        for k in range(HALF):
            a, b, d, e, f, g = weights[k, 0], weights[k, 1], weights[k, 2], weights[k, 3], weights[k, 4], weights[k, 5]
            for i in range(count):
                x = part[i]
                square = x * x
                even, odd = (f * square + d) * square + a, ((g * square + e) * square + b) * x
                low[i], high[i] = even + odd, even - odd
            far = left + 2 * HALF - 1 - k
            for c in range(samples.shape[0]):
                one, other = samples[c, left + k : left + k + count], samples[c, far : far + count]
                sums = out[c, first : first + count]
                for i in range(count):
                    sums[i] += low[i] * one[i] + high[i] * other[i]
            for c in range(others.shape[0]):
                one, other = others[c, left + k : left + k + count], others[c, far : far + count]
                sums = put[c, first : first + count]
                for i in range(count):
                    sums[i] += low[i] * one[i] + high[i] * other[i]
        first += count
    for c in range(out.shape[0]):
        for i in range(place.size):
            out[c, i] *= np.float32(gain[i])


NONE = np.zeros((0, 0), dtype=np.float32)


def read_slowly(
    samples: NDArray[np.float32], place: Floats, *, gain: Floats, others: NDArray[np.float32] = NONE
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return ``samples`` (c, t) at ``place`` (u,) times ``gain`` (u,), and ``others`` (d, t) there as they are.

    Places lie HALF samples inside both ends at least; 32 bits. Windowed sinc, definition; its taps as polynomials in
    the part of a sample, so that a stretch of places is read at once (Farrow 1988, memory); up to 0.4 of the sample
    rate to -60 dB.
    """
    out, put = (np.empty((rows.shape[0], place.size), dtype=np.float32) for rows in (samples, others))
    _read(np.ascontiguousarray(samples), np.ascontiguousarray(others), place, gain, WEIGHTS, out, put)
    return out, put
