"""The compiled loop that reads a signal between its samples, and the weights it reads by."""

import numpy as np
from numpy.typing import NDArray

from polepiece.later import njit

PHASES = 512  # of the table; linear between them: -110 dB


def sinc_table(guard: int) -> NDArray[np.float64]:
    """Windowed-sinc weights (PHASES + 1, 2 guard) for reading between samples; -100 dB up to 0.9 of the band.

    Definition; Kaiser's window.
    """
    offset = np.arange(-guard + 1, guard + 1)[None] - (np.arange(PHASES + 1) / PHASES)[:, None]
    window = np.i0(10.0 * np.sqrt(np.maximum(1.0 - (offset / guard) ** 2, 0.0))) / np.i0(10.0)
    weights = np.sinc(offset) * window
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


@njit(cache=True, fastmath=False)
def read_between(samples, place, weights):  # type: ignore[no-untyped-def]
    """Values of ``samples`` at ``place`` by ``weights`` (phases + 1, taps), linear between phases.

    ``place`` (t,) lies at least taps / 2 samples inside both ends.

    Definition of a convolution, its taps by straight lines between phases.
    """
    phases, taps = weights.shape[0] - 1, weights.shape[1]
    out = np.empty(place.size)
    for i in range(place.size):
        whole = int(np.floor(place[i]))
        phase = (place[i] - whole) * phases
        row = min(int(phase), phases - 1)
        share = phase - row
        low = high = 0.0
        first = whole - taps // 2 + 1
        for k in range(taps):
            low += weights[row, k] * samples[first + k]
            high += weights[row + 1, k] * samples[first + k]
        out[i] = low + share * (high - low)
    return out
