"""Filters that take a sound block by block: what comes out does not depend on where the blocks end."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from polepiece.later import fft

Floats = NDArray[np.float64]

CHUNK = 1 << 16  # samples a transform: memory beyond input and output stays at a few MB


class Convolver:
    """Convolution with a causal filter; no delay, the ringing behind the last block is cut.

    Notes
    -----
    Overlap-add with transforms of 65,536 samples or four filter lengths, whichever is longer.
    Overlap-add convolution (textbooks, from memory).
    """

    def __init__(self, taps: Floats, channels: int) -> None:
        self._taps = np.asarray(taps, dtype=float)
        self._size = fft.next_fast_len(max(CHUNK, 4 * taps.size), real=True)
        self._spectrum = fft.rfft(self._taps, self._size)
        self._carried = np.zeros((channels, taps.size - 1))

    def process(self, block: Floats) -> Floats:
        """Take (c, t), return (c, t)."""
        if self._taps.size == 1:
            return np.asarray(block * self._taps[0])
        step = self._size - self._taps.size + 1
        result = np.empty_like(block)
        for channel, carried in enumerate(self._carried):
            for first in range(0, block.shape[1], step):
                piece = block[channel, first : first + step]
                whole = fft.irfft(fft.rfft(piece, self._size) * self._spectrum, self._size)
                whole[: carried.size] += carried
                carried[:] = whole[piece.size : piece.size + carried.size]
                result[channel, first : first + piece.size] = whole[: piece.size]
        return result


class Sections:
    """Recursive second-order sections with their state."""

    def __init__(self, sections: NDArray[Any], channels: int) -> None:
        self._sections = np.asarray(sections, dtype=float)
        self._state = np.zeros((self._sections.shape[0], channels, 2))
        self.channels = channels

    def process(self, block: Floats) -> Floats:
        """Take (c, t), return (c, t)."""
        from scipy import signal  # here: it is a third of a command's start

        done, self._state = signal.sosfilt(self._sections, block, axis=-1, zi=self._state)
        return np.asarray(done)
