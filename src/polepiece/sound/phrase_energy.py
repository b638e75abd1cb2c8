"""What a phrase of small strokes amounts to, in closed form: third octaves and loudness without a rendering.

The energy of two damped exponentials is 1/2 Re V_i V_j* times the integral of exp((s_i + s_j*) t): every partial with
itself, its two motions with each other, and partials of different strings that nearly coincide (a low E's fourth
and a high E's first beat; on an average they do not vanish). What begins and ends suddenly is heard in other bands,
too: `polepiece.sound.band_energy`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.band_energy import ringing_energy
from polepiece.sound.descriptors import third_octave_weights
from polepiece.sound.line_pairs import LinePairs, low_pairs, near_pairs
from polepiece.sound.loudness import k_weighting_power
from polepiece.sound.loudness_meter import HOP_S, gated_lufs
from polepiece.sound.phrase_lines import BANDS, TIERS, PhraseLines

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Places = NDArray[np.int_]

BEAT = 30.0  # Hz: lines of two strings further apart average out, to 0.5 % of their product in a second
LOW = 300.0  # Hz: under it all lines are taken with each other; pulls of the plectrum and fades overlap there
FAINT = 1e-9  # of the largest energy of a line: -90 dB, left out
FAINT_HEARD = 1e-6  # the same for loudness
CREST = 4.0  # peak over the rms of the loudest tenth of a second: where the absolute gate is, 50 dB under the music


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
    heard = _audible(lines, FAINT)
    near = near_pairs(heard, BEAT)
    energy = ringing_energy(heard, _products(heard, near)) + _own_response(heard, near)
    with np.errstate(divide="ignore"):
        level = 10.0 * np.log10(np.maximum(energy / lines.duration, 0.0))
    return PhraseEnergy(middle=BANDS, third_octave_db=level, loudness_lufs=phrase_loudness(lines))


def _products(lines: PhraseLines, near: LinePairs) -> Complexes:
    """V_n V_m integral exp((s_n + s_m) t) of every line n, over all m and their conjugates, by tier: (j, n)."""
    out = np.zeros(lines.edge.shape, dtype=complex)
    for which in _members(lines.group):
        s, v = lines.exponent[which], lines.edge[:, which].T  # (m, tiers)
        last = v * np.exp(s * (lines.stop[which[0]] - lines.start[which[0]]))[:, None]
        plain, turned = 1.0 / (s[:, None] + s), 1.0 / (s[:, None] + s.conj())
        out[:, which] = (last * (plain @ last + turned @ last.conj()) - v * (plain @ v + turned @ v.conj())).T
    other = near.chosen(lines.group[near.first] != lines.group[near.second])
    turned_far, plain_low = low_pairs(lines, LOW, BEAT)
    for pairs, turned in ((other, True), (turned_far, True), (plain_low, False)):
        unit = pairs.integral()
        for tier, v in enumerate(lines.edge):
            second = v[pairs.second]
            whole = v[pairs.first] * (second.conj() if turned else second) * unit
            out[tier] += _summed(pairs.first, whole, v.size)
            out[tier] += _summed(pairs.second, whole.conj() if turned else whole, v.size)
    return out


def _own_response(lines: PhraseLines, near: LinePairs) -> Floats:
    """What lines have over what `PhraseLines.edge` says of them, (b,), V^2 s: each in its own place of the weight."""
    unit = near.integral() * np.where(near.first == near.second, 0.5, 1.0)
    frequency = 0.5 * (lines.frequency[near.first] + lines.frequency[near.second])
    own = (lines.voltage[near.first] * lines.voltage[near.second].conj() * unit).real
    out = np.empty(BANDS.size)
    for tier, v in zip(TIERS, lines.edge, strict=True):
        more = own - (v[near.first] * v[near.second].conj() * unit).real
        moved = np.flatnonzero(np.abs(more) > 0.0)
        out[tier] = third_octave_weights(frequency[moved], BANDS[tier]) @ more[moved]
    return out


def _summed(place: Places, value: Complexes, size: int) -> Complexes:
    real, imag = (np.bincount(place, weights=part, minlength=size) for part in (value.real, value.imag))
    return np.asarray(real + 1j * imag)


def _members(group: Places) -> list[Places]:
    order = np.argsort(group, kind="stable")
    return np.split(order, np.flatnonzero(np.diff(group[order])) + 1)


def _audible(lines: PhraseLines, share: float) -> PhraseLines:
    sigma = np.maximum(-2.0 * lines.exponent.real, 1e-9)
    energy = np.abs(lines.voltage) ** 2 * -np.expm1(-sigma * (lines.stop - lines.start)) / sigma
    return lines.chosen(energy > share * np.max(energy, initial=0.0))


def phrase_loudness(lines: PhraseLines) -> float:
    """Return the loudness (LUFS, 1 V as full scale) that BS.1770 gives to ``lines``.

    Raises
    ------
    MeasurementError
        When nothing is heard.
    """
    heard = _audible(lines, FAINT_HEARD)
    pairs = near_pairs(heard, BEAT)
    frequency = 0.5 * (heard.frequency[pairs.first] + heard.frequency[pairs.second])
    weight = heard.voltage[pairs.first] * heard.voltage[pairs.second].conj() * k_weighting_power(frequency)
    weight = weight * np.where(pairs.first == pairs.second, 0.5, 1.0)
    energy = []
    for hop in range(int(np.ceil(lines.duration / HOP_S - 1e-9))):
        low, high = hop * HOP_S, (hop + 1) * HOP_S
        on = (pairs.start < high) & (pairs.stop > low)
        energy.append(float(np.sum((weight[on] * pairs.chosen(on).integral(low, high)).real)))
    mean_square = np.maximum(np.array(energy), 0.0) / HOP_S
    return gated_lufs(mean_square, seconds=lines.duration, peak=CREST * float(np.sqrt(np.max(mean_square))))
