"""The pitch of a pluck, its partials and how long each of them rings."""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray

SKIPPED = 0.03  # s after the stroke: the pick's own noise and the bent string
SPAN = 0.4  # s of sound that a pitch is read from
LEAST_SPAN = 0.08  # s; shorter sounds have no pitch here
TOP = 5e3  # Hz, of the peaks that are looked at
DEPTH_DB = 45.0  # below the highest peak
PEAKS, ROOTS, PARTS = 40, 8, 12  # peaks kept; of these taken as roots; highest divisor, and partials that are scored
MATCH = 0.012  # a peak within this share of n f0 is partial n
MISSING_DB = 20.0  # what a partial that is not there takes off the score
STRANGE = 0.35  # share of its level that each of the highest peaks takes off when it is no partial
REFINED = 4  # partials that the pitch is averaged over; higher ones are sharp by stiffness
PARTIALS = 16  # partials that are followed
SHARP = 0.025  # a stiff string's partial lies up to this share above n f0 within `PARTIALS`
FRAME, HOP = 0.1, 0.02  # s, of the spectra that partials are followed in
FADED_DB = 45.0  # a partial is followed down to here, or
ABOVE_FLOOR_DB = 10.0  # to this much above what lies between the partials
LEAST_FALL_DB, LEAST_TIME = 3.0, 0.3  # dB, s: less says nothing of a decay

_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


@dataclass(frozen=True, slots=True, kw_only=True)
class Partial:
    """One partial of one pluck: Hz, amplitude 50 ms after the stroke (dB re full scale), s to fall by 60 dB."""

    number: int
    frequency: float
    amplitude_db: float
    t60: float | None  # None: it does not ring long enough above what is around it


def note_name(frequency: float) -> str:
    """Return the name of the nearest note of equal temperament, A4 = 440 Hz (ISO 16)."""
    steps = round(12.0 * float(np.log2(frequency / 440.0))) + 57  # from C0
    return f"{_NAMES[steps % 12]}{steps // 12}"


def pitch_of(
    samples: FloatArray, sample_rate: float, onset: float, end: float, *, low: float, high: float
) -> float | None:
    """Return the pitch of the note that begins at ``onset``, Hz; None where none is found.

    Parameters
    ----------
    samples : shape (t,), of the whole recording: what rang before the stroke is taken off.
    sample_rate : Hz.
    onset, end : s.
    low, high : Hz, where the pitch may lie.

    Notes
    -----
    Peaks of the power that came with the stroke (spectrum after less spectrum before). Each of the highest, divided
    by 1 to 12, is a candidate. It scores the levels of the peaks that it explains, less 20 dB for each of its first
    partials that is not there, weighted with 1/sqrt(n), and less a share of the highest peaks that it leaves
    unexplained: a string plucked again while it rings may have less of its first partial than before. The best is
    refined over its first four partials.
    An own rule; its weights are assumptions tried on recordings (tests).
    """
    begin = round((onset + SKIPPED) * sample_rate)
    size = round(min(SPAN, end - onset - SKIPPED) * sample_rate)
    if size < LEAST_SPAN * sample_rate:
        return None
    first = round((onset - 0.01) * sample_rate)
    held = np.pad(samples[max(0, first - size) : max(0, first)], (max(0, size - max(0, first)), 0))
    padded = 1 << int(np.ceil(np.log2(4 * size)))
    taper = np.hanning(size)
    power = np.abs(np.fft.rfft(samples[begin : begin + size] * taper, padded)) ** 2
    power = np.maximum(power - np.abs(np.fft.rfft(held * taper, padded)) ** 2, 0.0)
    hertz, level = _peaks(power, sample_rate / padded, 0.8 * low)
    if hertz.size == 0:
        return None
    roots = hertz[np.argsort(level)[::-1][:ROOTS]]
    candidates = (roots[:, None] / np.arange(1, PARTS + 1)).ravel()
    candidates = candidates[(candidates >= low) & (candidates <= high)]
    if candidates.size == 0:
        return None
    best = float(candidates[int(np.argmax([_score(one, hertz, level) for one in candidates]))])
    return _refined(best, hertz, level)


def _peaks(power: FloatArray, step: float, low: float) -> tuple[FloatArray, FloatArray]:
    """Return frequency (Hz) and height (dB above the depth looked at) of the highest peaks."""
    first, last = max(1, int(low / step)), min(power.size - 1, int(TOP / step))
    level = 10.0 * np.log10(power + 1e-300)
    inside = level[first:last]
    at = np.flatnonzero((inside > level[first - 1 : last - 1]) & (inside >= level[first + 1 : last + 1])) + first
    if at.size == 0 or power[at].max() <= 0.0:
        return np.empty(0), np.empty(0)
    at = at[level[at] > level[at].max() - DEPTH_DB]
    at = at[np.argsort(level[at])[::-1][:PEAKS]]
    a, b, c = level[at - 1], level[at], level[at + 1]
    place = at + np.clip(0.5 * (a - c) / (a - 2.0 * b + c - 1e-12), -0.5, 0.5)
    return place * step, b - b.max() + DEPTH_DB


def _matched(root: float, hertz: FloatArray, level: FloatArray, parts: int) -> tuple[FloatArray, FloatArray]:
    """Return frequency and height of the peak at each partial of ``root``; NaN and 0 where there is none."""
    number = np.arange(1, parts + 1)
    near = np.abs(hertz[None, :] / (number[:, None] * root) - 1.0) < MATCH
    heights = np.where(near, level, -1.0)
    place = heights.argmax(axis=1)
    found = near.any(axis=1)
    return np.where(found, hertz[place], np.nan), np.where(found, heights[number - 1, place], 0.0)


def _score(root: float, hertz: FloatArray, level: FloatArray) -> float:
    """Return how well ``root`` explains the peaks."""
    parts = max(1, min(PARTS, int(TOP / root)))
    where, height = _matched(root, hertz, level, parts)
    weight = 1.0 / np.sqrt(np.arange(1, parts + 1))
    missing = np.isnan(where) & (np.arange(1, parts + 1) <= PARTS // 2)
    tops = np.argsort(level)[::-1][:ROOTS]
    ratio = hertz[tops] / root
    strange = np.abs(ratio / np.maximum(np.round(ratio), 1.0) - 1.0) >= MATCH
    return float(np.sum(weight * np.where(missing, -MISSING_DB, height)) - STRANGE * np.sum(level[tops][strange]))


def _refined(root: float, hertz: FloatArray, level: FloatArray) -> float:
    where, height = _matched(root, hertz, level, REFINED)
    weight = np.where(np.isnan(where), 0.0, 10.0 ** (height / 20.0))
    if weight.sum() <= 0.0:
        return root
    return float(np.sum(weight * np.nan_to_num(where) / np.arange(1, REFINED + 1)) / weight.sum())


def partials_of(samples: FloatArray, sample_rate: float, pitch: float) -> tuple[Partial, ...]:
    """Return the first partials of a pluck with their amplitudes and decay times.

    Parameters
    ----------
    samples : shape (t,), from the stroke to the end of the pluck.
    sample_rate : Hz.
    pitch : Hz.

    Notes
    -----
    The level of each partial is followed through spectra of 0.1 s (five periods of a lower note). A straight line
    through it, from 50 ms after the stroke until it has fallen by 45 dB or comes within 10 dB of what lies between
    the partials, gives amplitude and time: T60 = 60 dB / slope, 6.91 time constants. Beats of the two planes of
    vibration are evened out by the line.
    T60: definition; the limits of the line are assumptions.
    """
    size, hop = round(max(FRAME, 5.0 / pitch) * sample_rate), round(HOP * sample_rate)
    if samples.size < size + round(LEAST_TIME * sample_rate):
        return ()
    taper = np.hanning(size)
    begins = np.arange(0, samples.size - size + 1, hop)
    power = np.abs(np.fft.rfft(samples[begins[:, None] + np.arange(size)] * taper, 2 * size)) ** 2
    level: FloatArray = 10.0 * np.log10(power * (2.0 / taper.sum()) ** 2 + 1e-30)
    step = sample_rate / (2 * size)
    time: FloatArray = ((begins + size / 2) / sample_rate).astype(np.float64)
    out = []
    for number in range(1, PARTIALS + 1):
        middle = number * pitch
        if 1.05 * middle + pitch > 0.45 * sample_rate:
            break
        low = int((middle - min(0.01 * middle, 0.3 * pitch)) / step)
        high = int(np.ceil((middle + min(SHARP * middle, 0.3 * pitch)) / step)) + 1
        around = level[:, int((middle - 0.5 * pitch) / step) : int((middle + 0.5 * pitch) / step) + 1]
        band = level[:, low:high]
        found = _line(time, np.asarray(band.max(axis=1)), np.asarray(np.median(around, axis=1)))
        if found is not None:
            at, slope = found
            place = low + int(np.argmax(band[: max(1, len(band) // 4)].mean(axis=0)))
            out.append(Partial(number=number, frequency=place * step, amplitude_db=at, t60=slope))
    return tuple(out)


def _line(time: FloatArray, level: FloatArray, floor: FloatArray) -> tuple[float, float | None] | None:
    """Return the level at 50 ms and the decay time of a partial; None where it does not stand out."""
    top = int(np.argmax(level[: max(1, len(level) // 2)]))
    clear = (level > floor + ABOVE_FLOOR_DB) & (level > level[top] - FADED_DB)
    if not clear[top]:
        return None
    gone = np.flatnonzero(~clear[top:])
    last = top + int(gone[0]) if gone.size else len(level)
    if last - top < 3 or time[last - 1] - time[top] < LEAST_TIME:
        return float(level[top]), None
    slope, at_zero = np.polyfit(time[top:last], level[top:last], 1)
    at = float(at_zero + slope * 0.05)
    if -slope * (time[last - 1] - time[top]) < LEAST_FALL_DB:
        return at, None
    return at, float(-60.0 / slope)
