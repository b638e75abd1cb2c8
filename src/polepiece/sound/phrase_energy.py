"""What a phrase of small strokes amounts to, in closed form: third octaves and loudness without a rendering.

The energy of two damped exponentials is 1/2 Re V_i V_j* times the integral of exp((s_i + s_j*) t): every partial with
itself, its two motions with each other, and partials of different strings that nearly coincide (a low E's fourth
and a high E's first beat; on an average they do not vanish).
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.band_energy import ringing_energy
from polepiece.sound.descriptors import third_octaves
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

    def energy(self, start: float, stop: float) -> Floats:
        """Mean energy of each pair between two times (clipped to its own), V^2 s."""
        return np.asarray(self.integral(start, stop).real)

    def integral(self, start: float, stop: float) -> Complexes:
        """Integral of each pair between two times (clipped to its own), V^2 s."""
        low, high = np.maximum(self.start, start), np.minimum(self.stop, stop)
        span = np.maximum(high - low, 0.0)
        rate = _away(self.rate)
        return np.asarray(self.product * np.exp(rate * (low - self.start)) * np.expm1(rate * span) / rate)


def _pairs(lines: PhraseLines, beat: float, *, alike: bool) -> tuple[Places, Places, _Pairs]:
    """Lines nearer than ``beat`` (Hz): first and second of each pair; each with itself and its group if ``alike``."""
    order = np.argsort(lines.exponent.imag, kind="stable")
    found = [np.stack([order, order])] if alike else [np.zeros((2, 0), dtype=int)]
    omega = lines.exponent.imag[order]
    for step in range(1, order.size):
        near = np.flatnonzero(omega[step:] - omega[:-step] < 2.0 * np.pi * beat)
        if not near.size:
            break
        i, j = order[near], order[near + step]
        together = np.minimum(lines.stop[i], lines.stop[j]) > np.maximum(lines.start[i], lines.start[j])
        alone = (lines.sweeping[i] | lines.sweeping[j]) & (lines.string[i] != lines.string[j])
        kept = together & ~alone & (alike | (lines.group[i] != lines.group[j]))
        found.append(np.stack([i[kept], j[kept]]))
    i, j = np.concatenate(found, axis=1)
    start = np.maximum(lines.start[i], lines.start[j])
    product = np.where(i == j, 0.5, 1.0) * lines.voltage[i] * lines.voltage[j].conj()
    product = product * np.exp(lines.exponent[i] * (start - lines.start[i]))
    product = product * np.exp(lines.exponent[j].conj() * (start - lines.start[j]))
    return i, j, _Pairs(
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
    heard = _audible(lines, FAINT)
    own = _together(heard) + _apart(heard)
    power = ringing_energy(heard, own, middle) / lines.duration
    with np.errstate(divide="ignore"):
        level = 10.0 * np.log10(np.maximum(power, 0.0))
    return PhraseEnergy(middle=middle, third_octave_db=level, loudness_lufs=phrase_loudness(lines))


def _together(lines: PhraseLines) -> Complexes:
    """V_n V_m integral exp((s_n + s_m) t), summed over the lines m of the group of n and their conjugates, (n,)."""
    own = np.zeros(lines.exponent.size, dtype=complex)
    for group in np.unique(lines.group):
        which = np.flatnonzero(lines.group == group)
        s, v = lines.exponent[which], lines.voltage[which]
        span = lines.stop[which[0]] - lines.start[which[0]]
        last = v * np.exp(s * span)
        plain, turned = 1.0 / (s[:, None] + s), 1.0 / _away(s[:, None] + s.conj())
        own[which] = last * (plain @ last + turned @ last.conj()) - v * (plain @ v + turned @ v.conj())
    return own


def _apart(lines: PhraseLines) -> Complexes:
    """The same over near lines of other groups that sound at the same time, (n,)."""
    i, j, pairs = _pairs(lines, BEAT, alike=False)
    own = np.zeros(lines.exponent.size, dtype=complex)
    whole = pairs.integral(0.0, lines.duration)
    np.add.at(own, i, whole)
    np.add.at(own, j, whole.conj())
    return own


def _away(rate: Complexes) -> Complexes:
    return np.where(np.abs(rate) < 1e-9, -1e-9, rate)


def phrase_loudness(lines: PhraseLines) -> float:
    """Return the loudness (LUFS, 1 V as full scale) that BS.1770 gives to ``lines``."""
    _, _, pairs = _pairs(_audible(lines, FAINT_HEARD), BEAT, alike=True)
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
