"""The compiled loop that reads a signal between its samples."""

import numpy as np

from polepiece.later import njit


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
