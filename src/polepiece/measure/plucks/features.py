"""Numbers of each pluck that before and after are compared by: energies of bands, third octaves, decay."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.measure.plucks.interval import LEAST
from polepiece.measure.plucks.takes import LEAD, THIRDS, HeardPluck
from polepiece.sound import (
    ATTACK_S,
    RESPONSE_BANDS,
    SUSTAIN_S,
    band_power,
    k_weighting_power,
    power_spectrum,
    third_octave_edges,
)

LONGEST = 3.0  # s of a pluck that its spectrum is taken over
CLEAR = 10.0  # a band counts where the pluck has this many times the power of the noise: 0.4 dB of it at most is noise
MOSTLY = 0.8  # of the plucks of a string must have a band, on either side
LEVEL_S = SUSTAIN_S  # s from the stroke over which level and bands are taken, as in a prediction
ONE_KHZ = (700.0, 1420.0)  # Hz: third octaves 800, 1000, 1250 Hz, the octave about 1 kHz
DECAYING = 6  # partials that the decay is averaged over
FADE = 0.1  # share of the whole span over which it is faded out
EDGE = 0.01  # s over which attack and sustain are faded into one another
PAST = 0.625 * EDGE  # s that a fade reaches past its cut: a raised cosine has 3/8 of the energy, so none is lost there
_EDGES = third_octave_edges(THIRDS)
_DIGITS = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)


def nominal(middle: float) -> float:
    """Return the nominal frequency of a third octave, Hz: 1258.9 is called 1250 (IEC 61260-1, annex E)."""
    steps = round(10.0 * float(np.log10(middle)))
    return float(_DIGITS[steps % 10] * 10.0 ** (steps // 10))


NOMINAL = tuple(nominal(one) for one in THIRDS)
COLUMNS: tuple[str, ...] = (
    "level",
    "whole",
    "about_1khz",
    *(f"{part}.{band}" for part in ("own", "attack", "sustain") for band in RESPONSE_BANDS),
    "decay",
    *(f"third_octave_db.{one:g}" for one in NOMINAL),
    *(f"attack_third_octave_db.{one:g}" for one in NOMINAL),
)
"""What `feature_table` tells of one pluck, dB; ``decay`` is the mean logarithm of decay times."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Raw:
    """One pluck in third octaves (b,), NaN where noise covers it; logarithms of decay times (p,).

    ``energy`` (3, b) is the K-weighted energy of the first second, the attack and the sustain; ``power`` their mean
    square without the weighting, which stands against ``noise`` (b,).
    """

    whole: float
    long: FloatArray
    attack: FloatArray
    energy: FloatArray
    power: FloatArray
    noise: FloatArray
    decay: FloatArray


def feature_table(before: Sequence[HeardPluck], after: Sequence[HeardPluck]) -> tuple[FloatArray, FloatArray]:
    """Return the numbers (plucks, q) of one string or note on both sides, columns as `COLUMNS`.

    Both sides are read over the same span and in the same bands, else their difference would be one of method.

    Notes
    -----
    A third octave counts for a note where a partial of it lies inside and the pluck stands 10 dB out of the noise.
    The noise is not taken off: where nothing in a recording is quiet it is ringing strings. The edges move with the
    pitch of the pluck, so that no partial changes sides when a string was tuned anew. Level, bands, attack and sustain
    are energies of the first second, K-weighted (ITU-R BS.1770) and summed over the third octaves that count: what a
    prediction sums over partials. Where a pluck was damped sooner, all plucks of that string are read up to there. A
    pluck has no number for a sum that does not stand 10 dB out of the noise.
    """
    everyone = [*before, *after]
    pitch = float(np.mean([one.pitch for one in everyone]))
    span = shared_span(everyone)
    raw = [_raw(one, pitch, span) for one in everyone]
    sides = (slice(0, len(before)), slice(len(before), None))
    has = _with_partial(pitch)

    def shared(name: str) -> FloatArray:
        table = np.array([getattr(one, name) for one in raw])
        return np.where(_kept(np.isfinite(table), sides) & (has if name != "decay" else True), table, np.nan)

    power, noise = np.array([one.power for one in raw]), np.array([one.noise for one in raw])[:, None]
    energy = np.array([one.energy for one in raw])
    kept = _kept((power > CLEAR * noise) & (power > 0.0), sides) & has

    def summed(part: int, columns: "np.ndarray") -> FloatArray:
        clear = power[:, part, columns].sum(axis=1) > CLEAR * noise[:, 0, columns].sum(axis=1)
        return np.where(clear, 10.0 * np.log10(energy[:, part, columns].sum(axis=1)), np.nan)

    inside = [_between(edges) for edges in RESPONSE_BANDS.values()]
    with np.errstate(divide="ignore", invalid="ignore"):
        long, attack = 10.0 * np.log10(shared("long")), 10.0 * np.log10(shared("attack"))
        level = summed(0, kept[0])
        own = [summed(0, kept[0] & one) for one in inside]
        parts = [summed(part, kept[1] & kept[2] & one) for part in (1, 2) for one in inside]
        whole = 10.0 * np.log10([one.whole for one in raw])
    decay = _mean(shared("decay"), np.ones(DECAYING, dtype=bool))
    about = _mean(long, _between(ONE_KHZ))
    table = np.column_stack([level, whole, about, *own, *parts, decay, long, attack])
    return table[sides[0]], table[sides[1]]


def shared_span(plucks: Sequence[HeardPluck]) -> float:
    """Return how long the plucks of one string are read, s: the shortest of them, `LONGEST` at most."""
    return min(LONGEST, *(one.duration for one in plucks))


def _raw(pluck: HeardPluck, pitch: float, span: float) -> _Raw:
    rate = pluck.sample_rate
    lead, edge, second = round(LEAD * rate), round(EDGE * rate), min(LEVEL_S + PAST, span)
    whole = faded(pluck.part(-LEAD, span), lead, round(FADE * span * rate))
    parts = (
        faded(pluck.part(-LEAD, second), lead, edge),
        faded(pluck.part(-LEAD, ATTACK_S + PAST), lead, edge),
        faded(pluck.part(ATTACK_S - PAST, second), edge, edge),
    )
    sharper = pluck.pitch / pitch
    long, _ = _thirds(whole, rate, sharper)
    each = [_thirds(part, rate, sharper) for part in parts]
    times = {one.number: one.t60 for one in pluck.partials}
    decay = [np.log(times.get(n) or np.nan) for n in range(1, DECAYING + 1)]
    return _Raw(
        whole=float(np.mean(whole**2)), long=_clear(long, pluck.noise), attack=_clear(each[1][0], pluck.noise),
        energy=np.array([weighted * (part.size / rate) / LEVEL_S for part, (_, weighted) in zip(parts, each)]),
        power=np.array([power for power, _ in each]), noise=pluck.noise, decay=np.array(decay),
    )  # fmt: skip


def faded(part: FloatArray, rise: int, fall: int) -> FloatArray:
    """Return ``part`` with raised cosines at its ends (samples): a hard cut fills high bands."""
    out = part.copy()
    for count, end in ((rise, slice(None, rise)), (fall, slice(None, -fall - 1, -1))):
        out[end] *= 0.5 - 0.5 * np.cos(np.pi * (np.arange(count) + 0.5) / count)
    return out


def _thirds(part: FloatArray, rate: int, sharper: float) -> tuple[FloatArray, FloatArray]:
    """Return the mean square in each third octave, plain and K-weighted."""
    frequency, power = power_spectrum(part, rate)
    low, high = _EDGES[0] * sharper, _EDGES[1] * sharper
    weighted = power * np.interp(frequency, *_weighting())
    return band_power(frequency, power, low, high), band_power(frequency, weighted, low, high)


@lru_cache(maxsize=1)
def _weighting() -> tuple[FloatArray, FloatArray]:
    hertz = np.geomspace(20.0, 20e3, 2000)
    return hertz, k_weighting_power(hertz)


def _clear(power: FloatArray, noise: FloatArray) -> FloatArray:
    """Return ``power``; NaN where the noise covers it."""
    return np.where((power > CLEAR * noise) & (power > 0.0), power, np.nan)


def _kept(there: "np.ndarray", sides: "tuple[slice, slice]") -> "np.ndarray":
    """Return which columns most plucks (first axis) have, on either side."""
    first, second = ((there[one].mean(axis=0) >= MOSTLY) & (there[one].sum(axis=0) >= LEAST) for one in sides)
    return np.asarray(first & second)


def _with_partial(pitch: float) -> "np.ndarray":
    low, high = _EDGES
    return np.floor(high / pitch) > np.floor(low / pitch)


def _between(edges: tuple[float, float]) -> "np.ndarray":
    return (edges[0] <= THIRDS) & (edges[1] >= THIRDS)


def _mean(table: FloatArray, columns: "np.ndarray") -> FloatArray:
    """Return the mean over those of ``columns`` that the string has; NaN for a pluck that lacks one of them."""
    kept = columns & np.isfinite(table).any(axis=0)
    return np.asarray(table[:, kept].mean(axis=1)) if kept.any() else np.full(len(table), np.nan)
