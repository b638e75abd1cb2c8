"""A plain soft clipper for listening to a pickup under gain. It models no amplifier, pedal or product."""

from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray
from scipy import signal

from polepiece.errors import InputError

OVERSAMPLING = 4


def drive(
    samples: NDArray[Any], sample_rate: float, *, gain_db: float = 30.0, low_pass: float = 5000.0
) -> NDArray[np.float64]:
    """Saturate a signal softly: gain, tanh at four times the rate, one second-order low-pass.

    Drive both sides of a comparison with the SAME gain: a hotter pickup then saturates more, as it would in
    front of an amplifier. The shape is a textbook tanh and stands for no device.

    Parameters
    ----------
    samples : shape (t,) or (t, c), V or full scale 1.0; 1.0 times the gain is where saturation is deep.
    sample_rate : Hz.
    gain_db : gain before the saturation, -20 to 80 dB.
    low_pass : corner of the low-pass behind it (Butterworth), Hz; stands for a loudspeaker's fall.

    Returns
    -------
    driven : same shape, float64, never beyond about +-1.2 (the low-pass may overshoot a square edge).

    Notes
    -----
    tanh is odd: no even harmonics and no offset of its own. Products above twice the sample rate still fold
    back; at 30 dB of gain they lie under the audible band's products (measured in tests/unit/sound).
    """
    sound = np.asarray(samples, dtype=float)
    if sound.ndim not in (1, 2) or sound.shape[0] == 0:
        raise InputError(f"samples have shape {sound.shape}; needed is (t,) or (t, c), not empty.")
    if not -20.0 <= gain_db <= 80.0:
        raise InputError(f"gain_db is {gain_db:g} dB; allowed are -20 to 80 dB.")
    if not 200.0 <= low_pass < 0.49 * sample_rate:
        raise InputError(f"low_pass is {low_pass:g} Hz; allowed are 200 Hz to just under half the sample rate.")
    fast = OVERSAMPLING * sample_rate
    fine = np.asarray(soxr.resample(sound, sample_rate, fast, quality="HQ"), dtype=float)
    shaped = np.tanh(10.0 ** (gain_db / 20.0) * fine)
    back = np.asarray(soxr.resample(shaped, fast, sample_rate, quality="HQ"), dtype=float)
    back = _fit_length(back, sound.shape[0])
    sections = signal.butter(2, low_pass, fs=sample_rate, output="sos")
    return np.asarray(signal.sosfilt(sections, back, axis=0))


def _fit_length(samples: NDArray[np.float64], count: int) -> NDArray[np.float64]:
    if samples.shape[0] >= count:
        return samples[:count]
    missing = [(0, count - samples.shape[0])] + [(0, 0)] * (samples.ndim - 1)
    return np.pad(samples, missing)
