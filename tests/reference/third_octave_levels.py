"""Third-octave levels of samples by their spectrum: the other way to what `polepiece.sound.phrase_energy` says."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.sound.descriptors import (
    THIRD_OCTAVE_EDGE,
    _mono,
    power_spectrum,
    third_octave_edges,
    third_octaves,
)

Floats = NDArray[np.float64]

PAD_S = 0.5  # s in which the lowest third octave forgets: 60 dB


def third_octave_weights(frequency: ArrayLike, middle: Floats) -> Floats:
    """Power weight (b, f) of third octaves about ``middle`` (b,) at ``frequency`` (f,), Hz.

    Notes
    -----
    1/(1 + W^6), W = (f/fm - fm/f)/(g - 1/g), g = 10^0.05: the usual filter of three pole pairs, -3 dB at the exact
    edges (IEC 61260-1), within that standard's limits of class 1. No jump where a line moves over an edge.
    """
    f, edge = np.asarray(frequency, dtype=float), THIRD_OCTAVE_EDGE
    with np.errstate(divide="ignore"):
        ratio = f / middle[:, None]
        square = ((ratio - 1.0 / ratio) / (edge - 1.0 / edge)) ** 2
        return np.asarray(1.0 / (1.0 + square * square * square))  # a sixth power by name takes ten times as long


def third_octave_levels_db(samples: NDArray[Any], sample_rate: float) -> tuple[Floats, Floats]:
    """Mid-band frequencies (Hz) and mean-square level (dB) in each third of an octave under half the rate.

    The spectrum of the whole signal under `third_octave_weights`: for comparing two renders of one phrase, and a render
    with what `polepiece.sound.phrase_energy` says in closed form.
    """
    sound = _mono(samples)
    silence = np.zeros(round(PAD_S * sample_rate))  # or the end would meet the beginning in the lowest bands
    frequency, power = power_spectrum(np.concatenate([sound, silence]), sample_rate)
    power = power * ((sound.size + silence.size) / sound.size)
    middle = third_octaves()
    middle = middle[third_octave_edges(middle)[1] <= 0.5 * sample_rate]
    level = [float(third_octave_weights(frequency[1:], one[None])[0] @ power[1:]) for one in middle]
    with np.errstate(divide="ignore"):
        return middle, 10.0 * np.log10(np.array(level))
