"""From sensitivities and responses to the numbers of a `State`."""

import math

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.pickup import AT_1KHZ
from polepiece.strings import SpeakingString, magnetic_detuning


def sensitivity_1khz_db(power: FloatArray) -> float:
    """Return the sensitivity at 1 kHz, dB re 1 V s/m, from ``power`` (k, f) = |V per velocity|^2 on GRID."""
    return float(10.0 * np.log10(power[:, AT_1KHZ].mean() + 1e-300))


def shift_cents(string: SpeakingString, gradient: float, position: float) -> float:
    """Return the shift of the open string's fundamental, vertical plane, by the magnets' pull; cents."""
    factor = magnetic_detuning(string, [1.0], force_gradient=gradient, position=position)
    return 1200.0 * math.log2(float(factor[0]))


def h2_db(sensitivity: FloatArray, second: FloatArray, amplitude: float) -> FloatArray:
    """Return the second harmonic of the voltage re the fundamental, dB, for a sine of ``amplitude`` m.

    linkage = c1 w + c2 w^2/2 and w = a sin: the second harmonic of the voltage over the first is c2 a/(2 c1).
    """
    ratio = np.abs(second) * amplitude / (2.0 * np.abs(sensitivity) + 1e-300)
    return np.asarray(20.0 * np.log10(ratio + 1e-12))


def combined(sensitivity: ComplexArray, transfer: ComplexArray) -> ComplexArray:
    """Return the string-to-amplifier response (k, f): sum over coils of (k, c, f) times (c, f)."""
    return np.asarray(np.einsum("kcf,cf->kf", sensitivity, transfer))
