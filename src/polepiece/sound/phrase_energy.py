"""What a phrase of small strokes amounts to, in closed form: third octaves and loudness without a rendering.

The energy of two damped exponentials is 1/2 Re V_i V_j* times the integral of exp((s_i + s_j*) t): every partial with
itself, its two motions with each other, and partials of different strings that nearly coincide (a low E's fourth
and a high E's first beat; on an average they do not vanish).
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.descriptors import third_octave_weights, third_octaves
from polepiece.sound.loudness import k_weighting_power
from polepiece.sound.loudness_meter import HOP_S, gated_lufs
from polepiece.sound.phrase_lines import PhraseLines

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Places = NDArray[np.int_]

BEAT = 30.0  # Hz: two lines further apart average out, to 0.5 % of their product in a second
FAINT = 1e-9  # of the largest energy of a line: -90 dB, left out
FAINT_HEARD = 1e-6  # the same for loudness
CREST = 4.0  # peak over the rms of the loudest tenth of a second: where the absolute gate is, 50 dB under the music


@dataclass(frozen=True, slots=True, eq=False)
class _Pairs:
    """Pairs of lines that sound at the same time: 2 Re V_i V_j* exp((s_i + s_j*) t) / 4 or, of one, half of that."""

    start: Floats
    stop: Floats
    product: Complexes  # at t = start
    rate: Complexes  # s_i + s_j*
    frequency: Floats

    def energy(self, start: Floats | float, stop: Floats | float) -> Floats:
        """Integral of each pair between two times (clipped to its own), V^2 s."""
        low, high = np.maximum(self.start, start), np.minimum(self.stop, stop)
        span = np.maximum(high - low, 0.0)
        rate = np.where(np.abs(self.rate) < 1e-9, -1e-9, self.rate)
        whole = self.product * np.exp(rate * (low - self.start)) * np.expm1(rate * span) / rate
        return np.asarray(whole.real)


def _pairs(lines: PhraseLines, beat: float) -> _Pairs:
    order = np.argsort(lines.exponent.imag, kind="stable")
    found = [np.stack([order, order])]
    omega = lines.exponent.imag[order]
    for step in range(1, order.size):
        near = np.flatnonzero(omega[step:] - omega[:-step] < 2.0 * np.pi * beat)
        if not near.size:
            break
        i, j = order[near], order[near + step]
        together = np.minimum(lines.stop[i], lines.stop[j]) > np.maximum(lines.start[i], lines.start[j])
        alone = (lines.sweeping[i] | lines.sweeping[j]) & (lines.string[i] != lines.string[j])
        kept = together & ~alone
        found.append(np.stack([i[kept], j[kept]]))
    i, j = np.concatenate(found, axis=1)
    start = np.maximum(lines.start[i], lines.start[j])
    product = np.where(i == j, 0.5, 1.0) * lines.voltage[i] * lines.voltage[j].conj()
    product = product * np.exp(lines.exponent[i] * (start - lines.start[i]))
    product = product * np.exp(lines.exponent[j].conj() * (start - lines.start[j]))
    return _Pairs(
        start, np.minimum(lines.stop[i], lines.stop[j]), product, lines.exponent[i] + lines.exponent[j].conj(),
        0.5 * (lines.frequency[i] + lines.frequency[j]),
    )  # fmt: skip


def _own_energy(lines: PhraseLines) -> Floats:
    sigma = np.maximum(-2.0 * lines.exponent.real, 1e-9)
    return np.asarray(0.5 * np.abs(lines.voltage) ** 2 * -np.expm1(-sigma * (lines.stop - lines.start)) / sigma)


def _audible(lines: PhraseLines, share: float) -> PhraseLines:
    energy = _own_energy(lines)
    return lines.chosen(energy > share * np.max(energy, initial=0.0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PhraseEnergy:
    """Levels of a phrase of small strokes at the amplifier.

    Attributes
    ----------
    middle : shape (b,), exact mid-bands of the third octaves, Hz.
    third_octave_db : shape (b,), mean square over the phrase, dB re 1 V.
    loudness_lufs : after BS.1770, 1 V as full scale.
    """

    middle: Floats
    third_octave_db: Floats
    loudness_lufs: float


def phrase_energy(lines: PhraseLines) -> PhraseEnergy:
    """Return third octaves and loudness of ``lines``."""
    middle = third_octaves(25.0, 16e3)
    pairs = _pairs(_audible(lines, FAINT), BEAT)
    energy = pairs.energy(0.0, lines.duration)
    power = third_octave_weights(pairs.frequency, middle) @ energy / lines.duration
    with np.errstate(divide="ignore"):
        level = 10.0 * np.log10(np.maximum(power, 0.0))
    return PhraseEnergy(middle=middle, third_octave_db=level, loudness_lufs=phrase_loudness(lines))


def phrase_loudness(lines: PhraseLines) -> float:
    """Return the loudness (LUFS, 1 V as full scale) that BS.1770 gives to ``lines``."""
    pairs = _pairs(_audible(lines, FAINT_HEARD), BEAT)
    weighed = pairs.product * k_weighting_power(pairs.frequency)
    pairs = _Pairs(pairs.start, pairs.stop, weighed, pairs.rate, pairs.frequency)
    hops = int(np.ceil(lines.duration / HOP_S - 1e-9))
    energy = np.array([float(one) for one in _by_hop(pairs, hops)])
    mean_square = np.maximum(energy, 0.0) / HOP_S
    return gated_lufs(mean_square, seconds=lines.duration, peak=CREST * float(np.sqrt(np.max(mean_square))))


def _by_hop(pairs: _Pairs, hops: int) -> Iterator[float]:
    for hop in range(hops):
        low, high = hop * HOP_S, (hop + 1) * HOP_S
        on = (pairs.start < high) & (pairs.stop > low)
        some = _Pairs(*(getattr(pairs, name)[on] for name in _Pairs.__slots__))
        yield float(np.sum(some.energy(low, high)))
