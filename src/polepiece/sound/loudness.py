"""Loudness after ITU-R BS.1770, peaks, and the alignment of two signals for a fair comparison.

Levels here wear the suffixes ``_lufs``, ``_db``, ``_dbfs``. The K-weighting is built for each sample rate
from the analogue prototype (De Man): 997 Hz at full scale in one channel reads -3.01.
"""

import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
import soxr
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError, MeasurementError
from polepiece.sound.checks import SILENT_PEAK

Floats = NDArray[np.float64]

K_RATE = 48e3  # Hz, for which BS.1770 prints its filters
SHELF = (1681.9744509555319, 0.7071752369554193, 3.99984385397)  # corner Hz, quality, gain dB
HIGH_PASS = (38.13547087613982, 0.5003270373253953, 0.0)
SHELF_MIDDLE = 0.499666774155  # exponent of the shelf's gain at its corner
GATE_BLOCK_S = 0.4  # BS.1770 gating block
AUDITION_LUFS = -23.0  # EBU R 128 target level
PEAK_LIMIT_DBFS = -1.0
PEAK_OVERSAMPLING = 4  # BS.1770 annex 2 asks for at least 192 kHz


def _checked(samples: NDArray[Any]) -> Floats:
    sound = np.asarray(samples, dtype=float)
    if sound.ndim not in (1, 2) or sound.size == 0:
        raise InputError(f"samples have shape {sound.shape}; needed is (t,) or (t, c), not empty.")
    if not np.all(np.isfinite(sound)):
        raise MeasurementError("the signal holds NaN or infinite samples; its loudness has no meaning.")
    return sound


def k_weighting(sample_rate: float) -> Floats:
    """Second-order sections (2, 6) of the weighting, from the analogue prototype: a high shelf and a high-pass.

    References
    ----------
    ITU-R BS.1770-4, annex 1, prints the sections at 48 kHz; prototypes that give these (read in the library that also
    measures loudness, against which a test holds them).
    """
    rows = []
    for corner, quality, gain_db in (SHELF, HIGH_PASS):
        k = np.tan(np.pi * corner / sample_rate)
        under = 1.0 + k / quality + k * k
        top = np.array([1.0, -2.0, 1.0])
        if gain_db:
            high = np.power(10.0, gain_db / 20.0)
            middle = np.power(high, SHELF_MIDDLE) * k / quality
            top = np.array([high + middle + k * k, 2.0 * (k * k - high), high - middle + k * k]) / under
        rows.append([*top, 1.0, 2.0 * (k * k - 1.0) / under, (1.0 - k / quality + k * k) / under])
    return np.array(rows)


def k_weighting_power(frequency: ArrayLike) -> Floats:
    """Power gain of the weighting at ``frequency`` (Hz, any shape), as its filters at 48 kHz have it.

    References
    ----------
    ITU-R BS.1770-4, annex 1, tables 1 and 2: checked against the coefficients printed there in tests/published. The
    offset of -0.691 dB is not in it.
    """
    f = np.asarray(frequency, dtype=float)
    turn = np.exp(-2j * np.pi * f / K_RATE)
    gain = np.ones(f.shape)
    for one in k_weighting(K_RATE):
        over = one[0] + turn * (one[1] + turn * one[2])
        under = one[3] + turn * (one[4] + turn * one[5])
        gain = gain * np.abs(over / under) ** 2
    return gain


def integrated_loudness(samples: NDArray[Any], sample_rate: float) -> float:
    """Gated programme loudness in LUFS.

    Parameters
    ----------
    samples : shape (t,) or (t, c) with up to 5 channels (L, R, C, Ls, Rs); full scale 1.0.
    sample_rate : Hz.

    Raises
    ------
    MeasurementError
        For less than 0.4 s (one gating block) or a signal under the absolute gate of -70 LUFS.

    References
    ----------
    ITU-R BS.1770-4, annex 1. Full-scale 997 Hz in one front channel: -3.01 (checked in tests/published).
    """
    sound = _checked(samples)
    duration = sound.shape[0] / sample_rate
    if duration < GATE_BLOCK_S:
        raise MeasurementError(
            f"the signal lasts {duration:.3f} s; loudness needs at least {GATE_BLOCK_S} s (one gating block)."
        )
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore")
        import pyloudnorm  # here: what it brings is a third of a command's start

        meter = pyloudnorm.Meter(sample_rate, filter_class="DeMan")
        value = float(meter.integrated_loudness(sound))
    if not np.isfinite(value):
        raise MeasurementError(
            "the signal is silent (under the gate of -70 LUFS); its loudness has no number. "
            "Was the cable plugged in, the volume up?"
        )
    return value


def peak_dbfs(samples: NDArray[Any], sample_rate: float) -> float:
    """Peak between samples (dBFS), read at four times the rate (BS.1770 annex 2); -inf for silence."""
    sound = _checked(samples)
    fine = np.asarray(soxr.resample(sound, sample_rate, PEAK_OVERSAMPLING * sample_rate, quality="VHQ"), dtype=float)
    highest = max(float(np.max(np.abs(fine), initial=0.0)), float(np.max(np.abs(sound))))
    return float(20.0 * np.log10(highest)) if highest > 0.0 else -np.inf


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alignment:
    """Gains that make two signals equally loud without clipping, and what they hide.

    Attributes
    ----------
    level_difference_db : true loudness of ``after`` minus that of ``before``, LU: what alignment removes.
    alignment_gain_db : extra gain given to ``after`` to match ``before`` (minus the difference).
    before_lufs, after_lufs : loudness as given.
    aligned_lufs : loudness of both after alignment.
    gain_before, gain_after : linear factors for the aligned pair.
    common_gain : linear factor for both that shows them at their TRUE levels.
    lowered_db : how far the pair was lowered under the wanted loudness so that nothing clips; 0 = not.
    note : a sentence for the reader; empty when nothing was lowered.
    """

    level_difference_db: float
    alignment_gain_db: float
    before_lufs: float
    after_lufs: float
    aligned_lufs: float
    gain_before: float
    gain_after: float
    common_gain: float
    lowered_db: float
    note: str


def align(
    before: NDArray[Any],
    after: NDArray[Any],
    sample_rate: float,
    *,
    target_lufs: float = AUDITION_LUFS,
    peak_limit_dbfs: float = PEAK_LIMIT_DBFS,
) -> Alignment:
    """Find the gains that bring two signals to one loudness.

    The inputs may be volts: each is read at full-scale peak, so only their ratio matters, and the absolute
    gate of the recommendation acts 70 LU under full scale on both. When a peak of the aligned pair, or of
    the pair at its
    true levels, would pass ``peak_limit_dbfs``, both are lowered by the same amount and the result says so.

    Parameters
    ----------
    before, after : shape (t,) or (t, c).
    sample_rate : Hz.
    target_lufs : wanted loudness of the aligned pair.
    peak_limit_dbfs : highest peak between samples.

    Raises
    ------
    MeasurementError
        When either signal is silent or shorter than 0.4 s.

    Notes
    -----
    Loudness: ITU-R BS.1770; the gain is the difference (definition).
    """
    before_lufs = loudness_as_given(before, sample_rate, "before")
    after_lufs = loudness_as_given(after, sample_rate, "after")
    difference = after_lufs - before_lufs
    peaks = peak_dbfs(before, sample_rate), peak_dbfs(after, sample_rate)
    gain_before_db, gain_after_db = target_lufs - before_lufs, target_lufs - after_lufs
    highest = max(
        peaks[0] + gain_before_db,
        peaks[1] + gain_after_db,
        peaks[1] + gain_before_db,  # ``after`` at its true level beside ``before``
    )
    lowered = max(0.0, highest - peak_limit_dbfs)
    note = (
        f"Both signals are {lowered:.1f} dB quieter than {target_lufs:g} LUFS so that no peak passes "
        f"{peak_limit_dbfs:g} dBFS."
        if lowered > 0.0
        else ""
    )
    return Alignment(
        level_difference_db=difference,
        alignment_gain_db=-difference,
        before_lufs=before_lufs,
        after_lufs=after_lufs,
        aligned_lufs=target_lufs - lowered,
        gain_before=10.0 ** ((gain_before_db - lowered) / 20.0),
        gain_after=10.0 ** ((gain_after_db - lowered) / 20.0),
        common_gain=10.0 ** ((gain_before_db - lowered) / 20.0),
        lowered_db=lowered,
        note=note,
    )


def loudness_as_given(samples: NDArray[Any], sample_rate: float, name: str) -> float:
    """Loudness (LUFS, full scale 1.0) read at full-scale peak and shifted back: exact for a pure gain.

    Parameters
    ----------
    samples : shape (t,) or (t, c), volts or full scale.
    sample_rate : Hz.
    name : of the signal, for the message when it cannot be read.

    Raises
    ------
    MeasurementError
        For a silent signal or one shorter than 0.4 s.

    Notes
    -----
    ITU-R BS.1770; a gain shifts it by itself except for the absolute gate (derived here).
    """
    try:
        sound = _checked(samples)
        peak = float(np.max(np.abs(sound)))
        if peak < SILENT_PEAK:
            raise MeasurementError("the signal is silent (no sample reaches -120 dBFS).")
        return integrated_loudness(sound / peak, sample_rate) + 20.0 * float(np.log10(peak))
    except MeasurementError as error:
        raise MeasurementError(f"signal {name!r}: {error}") from error
