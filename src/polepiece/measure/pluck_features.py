"""Numbers of each pluck that before and after are compared by: third octaves, bands, attack against sustain, decay."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.measure.bootstrap import LEAST
from polepiece.measure.pluck import LEAD, THIRDS, HeardPluck
from polepiece.sound import ATTACK_S, RESPONSE_BANDS, SUSTAIN_S, band_power, power_spectrum, third_octave_edges

LONGEST = 3.0  # s of a pluck that its spectrum is taken over
CLEAR = 10.0  # a band counts where the pluck has this many times the power of the noise: 0.4 dB of it at most is noise
MOSTLY = 0.8  # of the plucks of a string must have a band, on either side
LEVEL_AT = (700.0, 1420.0)  # Hz: third octaves 800, 1000, 1250 Hz, the octave about 1 kHz that the level is read in
DECAYING = 6  # partials that the decay is averaged over
FADE = 0.1  # share of the whole span over which it is faded out
EDGE = 0.01  # s over which attack and sustain are faded into one another
_EDGES = third_octave_edges(THIRDS)
_DIGITS = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)


def nominal(middle: float) -> float:
    """Return the nominal frequency of a third octave, Hz: 1258.9 is called 1250 (IEC 61260-1, annex E)."""
    steps = round(10.0 * float(np.log10(middle)))
    return float(_DIGITS[steps % 10] * 10.0 ** (steps // 10))


NOMINAL = tuple(nominal(one) for one in THIRDS)
NAMES: tuple[str, ...] = (
    "level_db",
    "whole_level_db",
    *(f"bands_db.{band}" for band in RESPONSE_BANDS),
    *(f"attack_minus_sustain_db.{band}" for band in RESPONSE_BANDS),
    "decay_time_percent",
    *(f"third_octave_db.{one:g}" for one in NOMINAL),
    *(f"attack_third_octave_db.{one:g}" for one in NOMINAL),
)
"""Quantities in the order of the columns of `feature_table`; names that `polepiece predict` has mean the same."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Raw:
    """Power of one pluck in third octaves (b,), NaN where noise covers it; logarithms of decay times (p,)."""

    whole: float
    long: FloatArray
    attack: FloatArray
    sustain: FloatArray
    decay: FloatArray


def feature_table(before: Sequence[HeardPluck], after: Sequence[HeardPluck]) -> tuple[FloatArray, FloatArray]:
    """Return the quantities (plucks, q) of one string or note on both sides, columns as `NAMES`.

    Both sides are read over the same span and in the same bands, else their difference would be one of method.

    Notes
    -----
    A third octave counts for a note where a partial of it lies inside and the pluck stands 10 dB out of the noise.
    The noise is not taken off: where nothing in a recording is quiet it is ringing strings. The edges move with the
    pitch of the pluck, so that no partial changes sides when a string was tuned anew. The level is the mean over the
    third octaves 800, 1000 and 1250 Hz in dB: a prediction states it at 1 kHz. A band is the mean over its third
    octaves in dB, less the level: all parts of it count alike, as in a prediction, however the string fills them. A
    prediction takes the mean of powers: where a change slopes by 10 dB within one band (a tone control) the two differ
    by about 1 dB; where it slopes by 3 dB, by less than 0.1 dB.
    """
    everyone = [*before, *after]
    pitch = float(np.mean([one.pitch for one in everyone]))
    span = min(LONGEST, *(one.duration for one in everyone))
    raw = [_raw(one, pitch, span) for one in everyone]
    sides = (slice(0, len(before)), slice(len(before), None))
    has = _with_partial(pitch)

    def shared(name: str) -> FloatArray:
        table = np.array([getattr(one, name) for one in raw])
        there = np.isfinite(table)
        kept = np.all([(there[side].mean(axis=0) >= MOSTLY) & (there[side].sum(axis=0) >= LEAST) for side in sides],
                      axis=0)  # fmt: skip
        return np.where(kept & (has if name != "decay" else True), table, np.nan)

    with np.errstate(divide="ignore", invalid="ignore"):
        long, attack = 10.0 * np.log10(shared("long")), 10.0 * np.log10(shared("attack"))
        early, late = shared("attack"), shared("sustain")
        level = _mean(long, _between(LEVEL_AT))
        bands = [_mean(long, _between(edges)) - level for edges in RESPONSE_BANDS.values()]
        length = min(SUSTAIN_S, span) - ATTACK_S
        ratios = [
            10.0 * np.log10(_sum(early, late, _between(edges)) * ATTACK_S / length) for edges in RESPONSE_BANDS.values()
        ]
        whole = 10.0 * np.log10([one.whole for one in raw])
    decay = _mean(shared("decay"), np.ones(DECAYING, dtype=bool))
    table = np.column_stack([level, whole, *bands, *ratios, decay, long, attack])
    return table[sides[0]], table[sides[1]]


def _raw(pluck: HeardPluck, pitch: float, span: float) -> _Raw:
    rate = pluck.sample_rate
    parts = (
        faded(pluck.part(-LEAD, span), round(LEAD * rate), round(FADE * span * rate)),
        faded(pluck.part(-LEAD, ATTACK_S), round(LEAD * rate), round(EDGE * rate)),
        faded(pluck.part(ATTACK_S - EDGE, min(SUSTAIN_S, span)), round(EDGE * rate), round(EDGE * rate)),
    )
    long, attack, sustain = (_thirds(part, rate, pluck.pitch / pitch, pluck.noise) for part in parts)
    times = {one.number: one.t60 for one in pluck.partials}
    decay = [np.log(times.get(n) or np.nan) for n in range(1, DECAYING + 1)]
    return _Raw(whole=float(np.mean(parts[0] ** 2)), long=long, attack=attack, sustain=sustain, decay=np.array(decay))


def faded(part: FloatArray, rise: int, fall: int) -> FloatArray:
    """Return ``part`` with raised cosines at its ends (samples): a hard cut fills high bands."""
    out = part.copy()
    for count, end in ((rise, slice(None, rise)), (fall, slice(None, -fall - 1, -1))):
        out[end] *= 0.5 - 0.5 * np.cos(np.pi * (np.arange(count) + 0.5) / count)
    return out


def _thirds(part: FloatArray, rate: int, sharper: float, noise: FloatArray) -> FloatArray:
    """Return the mean square in each third octave; NaN where the noise covers it."""
    power = band_power(*power_spectrum(part, rate), _EDGES[0] * sharper, _EDGES[1] * sharper)
    return np.where((power > CLEAR * noise) & (power > 0.0), power, np.nan)


def _with_partial(pitch: float) -> "np.ndarray":
    low, high = _EDGES
    return np.floor(high / pitch) > np.floor(low / pitch)


def _between(edges: tuple[float, float]) -> "np.ndarray":
    return (edges[0] <= THIRDS) & (edges[1] >= THIRDS)


def _mean(table: FloatArray, columns: "np.ndarray") -> FloatArray:
    """Return the mean over those of ``columns`` that the string has; NaN for a pluck that lacks one of them."""
    kept = columns & np.isfinite(table).any(axis=0)
    return np.asarray(table[:, kept].mean(axis=1)) if kept.any() else np.full(len(table), np.nan)


def _sum(early: FloatArray, late: FloatArray, columns: "np.ndarray") -> FloatArray:
    kept = columns & np.isfinite(early).any(axis=0) & np.isfinite(late).any(axis=0)
    if not kept.any():
        return np.full(len(early), np.nan)
    return np.asarray(early[:, kept].sum(axis=1) / late[:, kept].sum(axis=1))
