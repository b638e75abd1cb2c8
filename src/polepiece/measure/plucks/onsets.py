"""Where plucks begin in a recording, where each of them ends, and how loud the recording is between them."""

import numpy as np
from scipy.ndimage import maximum_filter1d, median_filter

from polepiece.arrays import FloatArray

HOP, WINDOW = 0.005, 0.023  # s
LAG = 3  # hops between the two spectra that are compared
LOWEST, HIGHEST = 70.0, 10e3  # Hz
DEPTH_DB = 70.0  # under the loudest bin of the recording: what lies lower is not looked at
RISE_DB = 3.8  # a pluck raises the mean level of the bins by this much more than its surroundings; echoes by about 3
NEIGHBOURS = 0.5  # s either way that "around" means
TOGETHER = 0.08  # s; two rises nearer than this are one stroke (pick touches, then lets go)
BATCH = 4096  # spectra at a time: memory stays at tens of MB for any length
FRAME = 0.05  # s, of the levels in `frame_levels_db`
MUTED_DB = 12.0  # fall within two frames that only a hand makes: a string fades by less than 60 dB/s after its attack
SETTLED = 0.3  # s after the stroke from which such a fall is looked for
TOUCH = 0.1  # of the stroke's power: what comes before counts from here on; pushing the string aside has 0.02 of it
AS_STEEP = 0.7  # of the steepest; the last such instant is the stroke: a window that ends between pulses begins early
QUIET_SHARE = 0.02  # of the frames of a recording, the quietest, are taken as its noise

ALIKE = 2.0  # of these, the ones within this many times the power of the quietest
DIGITAL = 1e-13  # mean square below any converter's noise


def find_onsets(samples: FloatArray, sample_rate: float) -> FloatArray:
    """Return when plucks begin, s.

    Parameters
    ----------
    samples : shape (t,), one channel.
    sample_rate : Hz.

    Returns
    -------
    onsets : shape (n,), rising. Where the power of 10 ms stands highest above that of the 10 ms before.

    Notes
    -----
    Spectral flux: mean over frequency of what each bin of the short-time spectrum (in dB) rises above the largest of
    its neighbours 15 ms before, against the running median. Beats of ringing strings stay within the neighbours.
    The maximum filter over frequency: Böck and Widmer 2013 (from memory); thresholds are assumptions.
    """
    flux = spectral_flux_db(samples, sample_rate)
    if flux.size < 3:
        return np.empty(0)
    around = median_filter(flux, size=2 * round(NEIGHBOURS / HOP) + 1, mode="nearest")
    above = flux - around
    reach = round(TOGETHER / HOP)
    tops = np.flatnonzero((above >= maximum_filter1d(above, 2 * reach + 1)) & (above > RISE_DB))
    return _steepest(samples, sample_rate, np.asarray(tops * HOP, dtype=float))


def spectral_flux_db(samples: FloatArray, sample_rate: float) -> FloatArray:
    """Return by how much the bins rise on average within `LAG` hops, dB; one value a hop, at the rise's middle.

    Böck and Widmer 2013 (from memory); depth and lag are assumptions.
    """
    size, hop = round(WINDOW * sample_rate), HOP * sample_rate
    padded = np.pad(samples, size)
    begins = (np.arange(int(samples.size / hop) + 1) * hop).round().astype(int) + size - size // 2
    taper = np.hanning(size)
    axis = np.fft.rfftfreq(size, 1.0 / sample_rate)
    inside = (axis >= LOWEST) & (axis <= HIGHEST)
    power = np.concatenate(
        [
            np.abs(np.fft.rfft(padded[batch[:, None] + np.arange(size)] * taper)[:, inside]).astype(np.float32)
            for batch in np.split(begins, range(BATCH, begins.size, BATCH))
        ]
    )
    top = float(power.max(initial=0.0))
    if top <= 0.0:
        return np.zeros(begins.size)
    level = 20.0 * np.log10(power / top + 10.0 ** (-DEPTH_DB / 20.0))
    before = maximum_filter1d(np.pad(level, ((LAG, 0), (0, 0)), constant_values=-DEPTH_DB)[:-LAG], 3, axis=1)
    rise = np.maximum(level - before, 0.0).mean(axis=1)
    middle = LAG // 2
    return np.asarray(np.pad(rise, (0, middle))[middle:], dtype=float)


def _steepest(samples: FloatArray, sample_rate: float, near: FloatArray) -> FloatArray:
    """Return the instants within `LAG` hops of ``near`` (s) before and after which the power differs most."""
    step, span = round(sample_rate * 0.001), round(sample_rate * 0.01)
    summed = np.concatenate([[0.0], np.cumsum(samples**2)])
    ways = np.arange(-3 * LAG * round(HOP * 1000), 3 * LAG * round(HOP * 1000) + 1) * step // 3
    least = 1e-12 * float(summed[-1]) / samples.size * span + 1e-300
    out = []
    for one in near:
        here = np.clip(round(one * sample_rate) + ways, 0, samples.size)
        after = summed[np.minimum(here + span, samples.size)] - summed[here]
        before = summed[here] - summed[np.maximum(here - span, 0)]
        rise = (after + least) / (before + least + TOUCH * after.max())
        out.append(here[int(np.flatnonzero(rise >= AS_STEEP * rise.max())[-1])] / sample_rate)
    return np.unique(out)


def frame_levels_db(samples: FloatArray, sample_rate: float, frame: float = FRAME) -> FloatArray:
    """Return the mean square of each whole frame of ``frame`` s, dB re full scale squared; silence is -300.

    Definition.
    """
    size = round(frame * sample_rate)
    frames = samples[: samples.size // size * size].reshape(-1, size)
    return np.asarray(10.0 * np.log10(np.mean(frames**2, axis=1) + 1e-30))


def ringing(samples: FloatArray, sample_rate: float) -> float:
    """Return how long a pluck rings from its beginning, s: to the end of ``samples``, or to the hand that mutes it.

    The threshold of a muting hand is an assumption.
    """
    level = frame_levels_db(samples, sample_rate)
    fall = level[:-2] - level[2:]
    muted = np.flatnonzero(fall > MUTED_DB)
    muted = muted[muted >= round(SETTLED / FRAME)]
    whole = samples.size / sample_rate
    return min(whole, float(muted[0]) * FRAME) if muted.size else whole


def quiet_part(samples: FloatArray, sample_rate: float, frame: float = 0.2) -> FloatArray:
    """Return the quietest frames of a recording (n, frame): noise, hum, and what still rings where nothing is quiet.

    Frames of digital silence (a gate, an editor's gap) say nothing of the noise and are passed over where others are.

    The share of frames is an assumption.
    """
    size = round(frame * sample_rate)
    frames = samples[: samples.size // size * size].reshape(-1, size)
    power = np.mean(frames**2, axis=1)
    if np.count_nonzero(power > DIGITAL) >= 3:
        frames, power = frames[power > DIGITAL], power[power > DIGITAL]
    order = np.argsort(power, kind="stable")[: max(3, round(QUIET_SHARE * len(frames)))]
    return np.asarray(frames[order[power[order] <= ALIKE * power[order[:1]]]])
