"""Two takes of one's own for a blind trial: same notes, aligned by the first stroke of both, cut to one length."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.auditioning.same_notes import TOGETHER, first_of_both
from polepiece.errors import InputError
from polepiece.measure import find_onsets
from polepiece.sound import Recording, condition_of, settled

LEAD = 0.05  # s of a take kept before its first stroke
FADE_IN, FADE_OUT = 0.01, 0.05  # s: a take that is cut in the middle of a sound does not click
LONGEST, SHORTEST = 30.0, 1.0  # s
CANCELLED = 1e-2  # of the peak: 40 dB down, nothing but what the channels do not share is left
SILENCE = 0.25  # s put before a take, so that a stroke at its very beginning rises out of something
AT_ONCE, FRAME = 0.02, 0.05  # s: what rises this early may be the beginning of the file alone; of the frames of level
LOUD_DB = 20.0  # a stroke at the very beginning is at most so far under the loudest frame; hiss lies deeper (choice)
FADED_DB = 6.0  # and so far above the quietest tenth of the frames: a hum is as loud all along (choice)
NUDGED, STEP, EDGE = 8e-3, 1e-3 / 3.0, (0.02, 0.06)  # s: most and grid of the last shift; of the stroke, before, after
POWER_OVER, FLOOR = 2e-3, 1e-4  # s: a window of the stroke's power; of its greatest, what lies lower is hiss (40 dB)


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
    """Return two takes cut so that the first stroke of both falls together, mixed to one channel, at one sample rate.

    Which stroke is the first of both is asked of all of them and of the notes (`first_of_both`): a stroke that one take
    has before is left out, and said.

    Raises
    ------
    InputError
        When a take holds no stroke, or less than a second of it is left.
    MeasurementError
        When a take is silent or so clipped that nothing is left.
    """
    rate = min(one.sample_rate for one in takes)
    sounds, onsets, words = [], [], []
    for one in takes:
        condition = condition_of(one.samples, one.sample_rate, name=one.path.name)
        words += [f"{one.path.name}: {said.split('. ')[0].rstrip('.')}." for said in condition.words]
        mono = _mono(settled(one.samples, condition), one)
        if one.sample_rate != rate:
            import soxr  # here: few takes differ in rate

            mono = np.asarray(soxr.resample(mono, one.sample_rate, rate, quality="VHQ"))
            words.append(f"{one.path.name}: brought from {one.sample_rate} to {rate} Hz, as the other take has.")
        found = _onsets(mono, rate)
        if not len(found):
            raise InputError(f"{one.path}: no stroke is found in it; it cannot be aligned with the other take.")
        sounds.append(mono)
        onsets.append(found)
    begins = first_of_both(onsets, sounds, rate)
    for one, begin in zip(takes, begins):
        if begin:
            many = "a stroke" if begin == 1 else f"{begin} strokes"
            words.append(f"{one.path.name}: begins with {many} that the other take does not have, left out.")
    at = [float(found[begin]) for found, begin in zip(onsets, begins)]
    at[1] += _nudge(sounds, at, rate)
    cut = [_from(mono, one - LEAD, rate) for mono, one in zip(sounds, at)]
    onsets = [found[begin:] - one + LEAD for found, begin, one in zip(onsets, begins, at)]
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


def _onsets(mono: FloatArray, rate: int) -> FloatArray:
    """Return when strokes begin, s; one at the very beginning of the file too, but not the file's own hiss or hum."""
    found = np.asarray(find_onsets(np.concatenate([np.zeros(round(SILENCE * rate)), mono]), rate)) - SILENCE
    size = round(FRAME * rate)
    if not len(found) or found[0] > AT_ONCE or len(mono) < size:
        return found
    power = np.mean(mono[: len(mono) // size * size].reshape(-1, size) ** 2, axis=1)
    over_hum = power[0] >= 10.0 ** (0.1 * FADED_DB) * np.quantile(power, 0.1)
    stroke = over_hum and power[0] >= 10.0 ** (-0.1 * LOUD_DB) * power.max()
    return found if stroke else np.asarray(find_onsets(mono, rate))


def _nudge(sounds: Sequence[FloatArray], at: Sequence[float], rate: int) -> float:
    """Return how much later the other stroke is taken, s, so that the two rise and pulse together.

    An instant alone may be one pulse of the string late, 2 to 12 ms. Definition: of the shifts up to NUDGED the one at
    which the levels of the two strokes differ least.
    """
    (before, after), reach, step = EDGE, round(NUDGED / STEP), STEP * rate
    window, levels = round(POWER_OVER * rate), []
    for sound, one, more in ((sounds[0], at[0], 0), (sounds[1], at[1], reach)):
        summed = np.concatenate([[0.0], np.cumsum(np.square(sound))])
        count = round((before + after) / STEP) + 1 + 2 * more
        here = np.round((one - before) * rate + (np.arange(count) - more) * step).astype(int)
        power = summed[np.clip(here + window, 0, len(sound))] - summed[np.clip(here, 0, len(sound))]
        levels.append(10.0 * np.log10(power / max(power.max(), 1e-300) + FLOOR))
    still, moved = levels
    unlike = [float(np.mean((still - moved[k : k + len(still)]) ** 2)) for k in range(2 * reach + 1)]
    return float((int(np.argmin(unlike)) - reach) * STEP)


def _from(mono: FloatArray, begin: float, rate: int) -> FloatArray:
    """Return a take from so many seconds on; silence before it where they are negative: it begins with its stroke."""
    first = round(begin * rate)
    return np.concatenate([np.zeros(max(0, -first)), mono[max(0, first) :]])[: round(LONGEST * rate)]


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
