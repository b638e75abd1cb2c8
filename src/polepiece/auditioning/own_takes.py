"""Two takes of one's own for a blind trial: same notes, aligned by their first strokes, cut to one length."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.measure import find_onsets
from polepiece.sound import Recording, condition_of, settled

LEAD = 0.05  # s of a take kept before its first stroke
FADE_IN, FADE_OUT = 0.01, 0.05  # s: a take that is cut in the middle of a sound does not click
LONGEST, SHORTEST = 30.0, 1.0  # s
CANCELLED = 1e-2  # of the peak: 40 dB down, nothing but what the channels do not share is left
TOGETHER = 0.15  # s: strokes that are further apart do not belong together; a sixteenth at 100 beats a minute


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OwnTakes:
    """Takes that can be switched between, and what is to be known of them.

    Attributes
    ----------
    sounds : each (t,), all of one length, without offset.
    sample_rate : Hz, the lowest of the takes.
    strokes : how many are heard in each.
    apart_s : farthest distance of strokes that belong together, s.
    words : sentences: strokes, rates, and what is wrong with a take.
    """

    sounds: tuple[FloatArray, ...]
    sample_rate: int
    strokes: tuple[int, ...]
    apart_s: float
    words: tuple[str, ...]


def own_takes(takes: Sequence[Recording]) -> OwnTakes:
    """Return takes cut so that their first strokes fall together, mixed to one channel, at one sample rate.

    Raises
    ------
    InputError
        When a take holds no stroke, or less than a second of it is left.
    MeasurementError
        When a take is silent or so clipped that nothing is left.
    """
    rate = min(one.sample_rate for one in takes)
    cut, onsets, words = [], [], []
    for one in takes:
        condition = condition_of(one.samples, one.sample_rate, name=one.path.name)
        words += [f"{one.path.name}: {said.split('. ')[0].rstrip('.')}." for said in condition.words]
        mono = _mono(settled(one.samples, condition), one)
        if one.sample_rate != rate:
            import soxr  # here: few takes differ in rate

            mono = np.asarray(soxr.resample(mono, one.sample_rate, rate, quality="VHQ"))
            words.append(f"{one.path.name}: brought from {one.sample_rate} to {rate} Hz, as the other take has.")
        found = find_onsets(mono, rate)
        if not len(found):
            raise InputError(f"{one.path}: no stroke is found in it; it cannot be aligned with the other take.")
        begin = round((found[0] - LEAD) * rate)  # negative where a take begins with its stroke
        cut.append(np.concatenate([np.zeros(max(0, -begin)), mono[max(0, begin) :]])[: round(LONGEST * rate)])
        onsets.append(np.asarray(found) - found[0] + LEAD)
    count = min(map(len, cut))
    if count < SHORTEST * rate:
        raise InputError(f"less than {SHORTEST:g} s is left of a take after its first stroke.")
    onsets = [one[one < count / rate - FADE_OUT] for one in onsets]
    apart, said = _strokes(onsets, [one.path for one in takes])
    return OwnTakes(
        sounds=tuple(_faded(one[:count], rate) for one in cut), sample_rate=rate,
        strokes=tuple(map(len, onsets)), apart_s=apart, words=(said, *words),
    )  # fmt: skip


def _mono(samples: FloatArray, of: Recording) -> FloatArray:
    mono = np.asarray(samples if samples.ndim == 1 else samples.mean(axis=1), dtype=float)
    if np.max(np.abs(mono)) < CANCELLED * of.peak:
        raise InputError(
            f"{of.path}: its two channels cancel each other when they are mixed to one; one is turned over. Export one "
            "of them alone."
        )
    return mono


def _faded(sound: FloatArray, rate: int) -> FloatArray:
    out = np.array(sound)
    first, last = (_ramp(round(seconds * rate)) for seconds in (FADE_IN, FADE_OUT))
    out[: first.size] *= first
    out[-last.size :] *= last[::-1]
    return out


def _ramp(count: int) -> FloatArray:
    return np.asarray(0.5 - 0.5 * np.cos(np.pi * (np.arange(count) + 0.5) / count))


def _strokes(onsets: Sequence[FloatArray], paths: Sequence[Path]) -> tuple[float, str]:
    """Return how far strokes that belong together lie apart, s, and a sentence about them."""
    first, other = onsets
    nearest = np.abs(first[:, None] - other[None, :])
    together = nearest.min(axis=1) <= TOGETHER
    apart = float(nearest.min(axis=1)[together].max())
    if len(first) == len(other) and np.all(together) and np.all(nearest.min(axis=0) <= TOGETHER):
        return apart, f"{len(first)} strokes each, at most {1000.0 * apart:.0f} ms apart."
    return apart, (
        f"{paths[0].name} has {len(first)} strokes, {paths[1].name} {len(other)}; {int(together.sum())} fall together "
        f"within {1000.0 * TOGETHER:.0f} ms. Are they the same notes? Unlike playing is heard at once."
    )
