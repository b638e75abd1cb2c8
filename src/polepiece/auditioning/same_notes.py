"""Which stroke of two takes is the first of both: by when strokes fall, and by which notes sound."""

from collections.abc import Sequence

import numpy as np

from polepiece.arrays import FloatArray

TOGETHER = 0.15  # s: strokes that are further apart do not belong together; a sixteenth at 100 beats a minute
TRIED = 4  # strokes of each that may be the first one of both: a pick that touches, a count-in (choice)
NEARLY = 0.5  # of the most strokes that fall together: so many are enough where the notes say so; some are not found
LOWEST, HIGHEST = 60.0, 2500.0  # Hz: fundamentals and their first partials
WINDOW, HOP = 0.1, 0.02  # s; two semitones of the low E are told apart by their partials
FLOOR = 1e-5  # of the greatest power: what lies lower is hiss


def first_of_both(onsets: Sequence[FloatArray], sounds: Sequence[FloatArray], sample_rate: int) -> tuple[int, int]:
    """Return which stroke of each of two takes is the same note, the first of both.

    Parameters
    ----------
    onsets : two, each (n,), s, rising.
    sounds : the takes, each (t,).
    sample_rate : Hz.

    Notes
    -----
    Even strokes fit one another at any shift by a few of them, and some are not found: of all shifts at which nearly as
    many fall together as at the best, the one at which the same notes sound (`_alike`) is taken. Definition.
    """
    first, other = onsets
    places = [(i, j) for i in range(min(TRIED, len(first))) for j in range(min(TRIED, len(other)))]
    near = {place: _near(first, other, *place) for place in places}
    most = max(near.values())
    left = [place for place in places if near[place] >= NEARLY * most]
    if len(left) > 1:
        one, two = (_notes(sound, sample_rate) for sound in sounds)
        alike = {(i, j): _alike(one, two, float(first[i] - other[j])) for i, j in left}
        i, j = max(left, key=lambda place: (alike[place], near[place], -sum(place)))
    else:
        i, j = left[0]
    while i and j and abs((first[i] - first[i - 1]) - (other[j] - other[j - 1])) <= TOGETHER:
        i, j = i - 1, j - 1  # a first stroke that came a little early is one of both all the same
    return i, j


def _near(first: FloatArray, other: FloatArray, i: int, j: int) -> float:
    """Return how many strokes fall together from these two on; less for those that are apart."""
    apart = np.abs((first[i:] - first[i])[:, None] - (other[j:] - other[j])[None, :]).min(axis=1)
    return float(np.clip(1.0 - apart / TOGETHER, 0.0, None).sum())


def _notes(sound: FloatArray, sample_rate: int) -> FloatArray:
    """Return the level of each semitone over the mean of all in each frame, dB, (frames, semitones)."""
    size, hop = round(WINDOW * sample_rate), HOP * sample_rate
    padded = np.pad(sound, (size // 2, size))
    begins = (np.arange(int(len(sound) / hop) + 1) * hop).astype(int)
    edges = LOWEST * 2.0 ** (np.arange(np.log2(HIGHEST / LOWEST) * 12.0 + 1.0) / 12.0)
    width = 1 << int(np.ceil(np.log2(4 * size)))
    bins = np.unique(np.round(edges * width / sample_rate).astype(int))
    taper, rows = np.hanning(size), []
    for batch in np.array_split(begins, max(1, len(begins) // 64)):
        power = np.abs(np.fft.rfft(padded[batch[:, None] + np.arange(size)] * taper, width)[:, : bins[-1] + 1]) ** 2
        rows.append(np.add.reduceat(power, bins[:-1], axis=1))
    power = np.concatenate(rows)
    level = 10.0 * np.log10(power + FLOOR * max(float(power.max()), 1e-300))
    return np.asarray(level - level.mean(axis=1, keepdims=True))


def _alike(first: FloatArray, other: FloatArray, later: float) -> float:
    """Return the correlation of which notes come and go in both while both sound, the first one ``later`` (s).

    A hum, and how bright a take is, stand still and do not count; how loud it is neither. Pearson's coefficient,
    definition.
    """
    shift = round(later / HOP)
    one, two = first[max(shift, 0) :], other[max(-shift, 0) :]
    count = min(len(one), len(two))
    if count < 2:
        return 0.0
    one, two = (rows[:count] - rows[:count].mean(axis=0) for rows in (one, two))
    size = float(np.sqrt(np.sum(one**2) * np.sum(two**2)))
    return float(np.sum(one * two)) / size if size > 0.0 else 0.0
