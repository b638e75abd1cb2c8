"""What a phrase of small strokes amounts to, in closed form: third octaves and loudness without a rendering.

The energy of two damped exponentials is 1/2 Re V_i V_j* times the integral of exp((s_i + s_j*) t): every partial with
itself, its two motions with each other, and partials of different strings that nearly coincide (a low E's fourth
and a high E's first beat; on an average they do not vanish). What begins and ends suddenly is heard in other bands,
too: `polepiece.sound.band_energy`.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.band_energy import filtered_energy
from polepiece.sound.line_pairs import near_pairs
from polepiece.sound.loudness import k_weighting_power
from polepiece.sound.loudness_meter import HOP_S, gated_lufs
from polepiece.sound.phrase_lines import BANDS, PhraseLines

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Places = NDArray[np.int_]

BEAT = 30.0  # Hz: lines of two strings further apart average out, to 0.5 % of their product in a second
LOUD = 1e-7  # of the largest energy of a line: these are taken with every other one
HEAVY = 2.0 * np.pi * BEAT  # 1/s: lines that die faster are wider than BEAT and do not average out against any other
FEW = 12  # lines of a pull, or of what a circuit does of its own
FAINT = 1e-9  # of the largest energy of a line: -90 dB, left out
FAINT_HEARD = 1e-6  # the same for loudness
GONE = 40.0  # nepers of one of two lines: 4e-18 of what they began with, nothing in double precision
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
    """Return third octaves and loudness of ``lines``.

    Derived in docs/theory/strings-and-sound.md, "What a phrase amounts to".
    """
    heard = _audible(lines, FAINT)
    energy = filtered_energy(heard, _products(heard), BANDS)
    with np.errstate(divide="ignore"):
        level = 10.0 * np.log10(np.maximum(energy / lines.duration, 0.0))
    return PhraseEnergy(middle=BANDS, third_octave_db=level, loudness_lufs=phrase_loudness(lines))


def _products(lines: PhraseLines) -> Complexes:
    """V_n V_m integral exp((s_n + s_m) t) of every line n, over all m and their conjugates, (n,)."""
    out = np.zeros(lines.voltage.size, dtype=complex)
    members = _members(lines.group)
    loud = _weighty(lines, LOUD)
    strong = [which[loud[which]] for which in members]
    for which in members:
        out[which] += _shared(lines, which, which)[0]
    for g, h in _meeting(lines, members):
        if strong[g].size and strong[h].size:
            for which, more in zip((strong[g], strong[h]), _shared(lines, strong[g], strong[h]), strict=True):
                out[which] += more
    near = near_pairs(lines, BEAT)
    near = near.chosen((lines.group[near.first] != lines.group[near.second]) & ~(loud[near.first] & loud[near.second]))
    whole = lines.voltage[near.first] * lines.voltage[near.second].conj() * near.integral()
    return out + _summed(near.first, whole, out.size) + _summed(near.second, whole.conj(), out.size)


def _shared(lines: PhraseLines, one: Places, other: Places) -> tuple[Complexes, Complexes]:
    """V_n V_m integral exp((s_n + s_m) t) of the lines n of ``one`` over those of ``other`` and their conjugates.

    The second is the same the other way round.
    """
    start = max(lines.start[one[0]], lines.start[other[0]])
    stop = min(lines.stop[one[0]], lines.stop[other[0]])
    s, z = lines.exponent[one], lines.exponent[other]
    plain, turned = 1.0 / (s[:, None] + z), 1.0 / (s[:, None] + z.conj())
    first, second = np.zeros(one.size, dtype=complex), np.zeros(other.size, dtype=complex)
    for sign, at in ((1.0, stop), (-1.0, start)):
        v = sign * lines.voltage[one] * np.exp(s * (at - lines.start[one[0]]))
        w = lines.voltage[other] * np.exp(z * (at - lines.start[other[0]]))
        first += v * (plain @ w + turned @ w.conj())
        second += w * (v @ plain + (turned.T @ v).conj())
    return first, second


def _meeting(lines: PhraseLines, members: list[Places]) -> Iterator[tuple[int, int]]:
    """Pairs of groups that sound at the same time; a sweeping one and another string are none."""
    head = np.array([which[0] for which in members])
    start, stop, string, sweeping = (one[head] for one in (lines.start, lines.stop, lines.string, lines.sweeping))
    for g in range(head.size - 1):
        rest = slice(g + 1, None)
        met = np.minimum(stop[g], stop[rest]) - np.maximum(start[g], start[rest]) > 1e-9
        met &= (string[rest] == string[g]) | ~(sweeping[rest] | sweeping[g])
        for h in np.flatnonzero(met):
            yield g, g + 1 + int(h)


def _summed(place: Places, value: Complexes, size: int) -> Complexes:
    real, imag = (np.bincount(place, weights=part, minlength=size) for part in (value.real, value.imag))
    return np.asarray(real + 1j * imag)


def _members(group: Places) -> list[Places]:
    order = np.argsort(group, kind="stable")
    return np.split(order, np.flatnonzero(np.diff(group[order])) + 1)


def _weighty(lines: PhraseLines, share: float) -> NDArray[np.bool_]:
    """True for lines of more than this share of the largest energy, the few of pulls and circuit, and heavy ones.

    A stroke on a damped string is the small rest that hundreds of wide lines leave of one another.
    """
    sigma = np.maximum(-2.0 * lines.exponent.real, 1e-9)
    energy = np.abs(lines.voltage) ** 2 * -np.expm1(-sigma * (lines.stop - lines.start)) / sigma
    few = np.bincount(lines.group)[lines.group] <= FEW
    return np.asarray((energy > share * np.max(energy, initial=0.0)) | few | _heavy(lines))


def _heavy(lines: PhraseLines) -> NDArray[np.bool_]:
    return np.asarray(-lines.exponent.real > HEAVY)


def _heavy_energy(lines: PhraseLines, gain: Floats, hops: int) -> Floats:
    """Energy (hops,) that heavy lines have with each other, each also with itself at twice its frequency.

    Not that of two nearer than `BEAT` at the difference of their frequencies: `near_pairs` has it. On a damped string
    these are millions of pairs, and group by group two products of a matrix (n, m) with a vector.
    """
    energy = np.zeros(hops)
    members, heavy = _members(lines.group), _heavy(lines)
    own = [which[heavy[which]] for which in members]
    for g, h in (*((k, k) for k in range(len(members))), *_meeting(lines, members)):
        if not (own[g].size and own[h].size):
            continue
        i, j = own[g], own[h]
        start, stop = np.max(lines.start[[i[0], j[0]]]), np.min(lines.stop[[i[0], j[0]]])
        first, last = int(start / HOP_S), min(int(np.ceil(min(stop, start + GONE / HEAVY) / HOP_S)), hops)
        time = np.clip(np.arange(first, last + 1) * HOP_S, start, stop)
        v, w = (
            lines.voltage[k] * gain[k] * np.exp(np.outer(time - lines.start[k[0]], lines.exponent[k])) for k in (i, j)
        )
        s, z = lines.exponent[i][:, None], lines.exponent[j]
        far = np.abs(s.imag - z.imag) >= 2.0 * np.pi * BEAT
        level = np.sum((v @ (1.0 / (s + z)) * w + v @ np.where(far, 1.0 / (s + z.conj()), 0.0) * w.conj()).real, axis=1)
        energy[first:last] += np.diff(level) * (0.5 if g == h else 1.0)
    return energy


def _audible(lines: PhraseLines, share: float) -> PhraseLines:
    return lines.chosen(_weighty(lines, share))


def phrase_loudness(lines: PhraseLines) -> float:
    """Return the loudness (LUFS, 1 V as full scale) that BS.1770 gives to ``lines``.

    Raises
    ------
    MeasurementError
        When nothing is heard.
    """
    heard = _audible(lines, FAINT_HEARD)
    gain = np.sqrt(k_weighting_power(heard.frequency))
    near = near_pairs(heard, BEAT)
    energy = _heavy_energy(heard, gain, int(np.ceil(lines.duration / HOP_S - 1e-9)))
    weight = heard.voltage[near.first] * gain[near.first] * heard.voltage[near.second].conj() * gain[near.second]
    weight = weight * np.where(near.first == near.second, 0.5, 1.0)
    for hop in range(energy.size):
        low, high = hop * HOP_S, (hop + 1) * HOP_S
        on = (near.start < high) & (near.stop > low)
        energy[hop] += float(np.sum((weight[on] * near.chosen(on).integral(low, high)).real))
    mean_square = np.maximum(energy, 0.0) / HOP_S
    return gated_lufs(mean_square, seconds=lines.duration, peak=CREST * float(np.sqrt(np.max(mean_square))))
