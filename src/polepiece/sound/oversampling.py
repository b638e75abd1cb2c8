"""Up to a higher sample rate and down again, block by block, for what bends a signal: linear phase, known delay.

Two stages each way: a sharp one by two, where half the sample rate is, and a short one behind it. Arrays here have
time last, shape (c, t).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound._filtering import add_filtered

Floats = NDArray[np.float64]

PASS = 0.41  # of the sample rate: up to here nothing is lost, and nothing folds back
STOP_DB = 105.0  # attenuation of images and of what would fold back
FAST = 352.8e3  # Hz, the least rate at which a signal is bent
LEAST = 4  # times the sample rate, however high that is


def low_pass(factor: int, edge: float) -> Floats:
    """Symmetric low-pass for a step by ``factor``: passes ``edge``, stops from 1 - ``edge`` (of the lower rate).

    The number of taps is such that the delay is whole at the lower rate.

    Length and shape by Kaiser's window (from memory).
    """
    width = 2.0 * (1.0 - 2.0 * edge) / factor
    from scipy import signal  # here: it is a third of a command's start

    count, beta = signal.kaiserord(STOP_DB, width)
    half = -(-(count - 1) // (2 * factor)) * factor
    return np.asarray(signal.firwin(2 * half + 1, 1.0 / factor, window=("kaiser", beta)))


class _Step:
    """A step by ``factor``; every ``factor``-th tap from the middle one on is zero, so that branch only waits."""

    def __init__(self, taps: Floats, factor: int) -> None:
        self._factor, self._wait = factor, (taps.size - 1) // (2 * factor)
        self._middle = float(taps[(taps.size - 1) // 2])
        self._branches = [np.ascontiguousarray(taps[phase::factor]) for phase in range(1, factor)]


class Up(_Step):
    """Insert samples: ``factor`` out for one in, late by ``delay`` samples of the lower rate."""

    def __init__(self, taps: Floats, factor: int, channels: int) -> None:
        super().__init__(factor * taps, factor)
        self._before = np.zeros((channels, 2 * self._wait))

    def process(self, block: Floats) -> Floats:
        """Take (c, t), return (c, t * factor)."""
        whole = np.concatenate([self._before, block], axis=1)
        channels, count = block.shape
        fine = np.empty((channels, count, self._factor))
        fine[:, :, 0] = self._middle * whole[:, self._wait : self._wait + count]
        late = np.ascontiguousarray(whole[:, 1:])  # one layout: compiled once
        for phase, taps in enumerate(self._branches, start=1):
            branch = np.zeros((channels, count))
            add_filtered(late, taps, branch)
            fine[:, :, phase] = branch
        self._before = whole[:, count:]
        return fine.reshape(channels, -1)


class Down(_Step):
    """Remove what would fold back and keep one sample of ``factor``.

    Definition of a decimation; branches of a polyphase filter (textbooks, from memory).
    """

    def __init__(self, taps: Floats, factor: int, channels: int) -> None:
        super().__init__(taps, factor)
        self._before = np.zeros((channels, 2 * self._wait * factor))

    def process(self, block: Floats) -> Floats:
        """Take (c, t * factor), return (c, t)."""
        whole = np.concatenate([self._before, block], axis=1)
        channels, count = block.shape[0], block.shape[1] // self._factor
        turns = whole.reshape(channels, -1, self._factor)
        coarse = self._middle * turns[:, self._wait : self._wait + count, 0]
        for phase, taps in enumerate(self._branches, start=1):
            add_filtered(np.ascontiguousarray(turns[:, :-1, self._factor - phase]), taps, coarse)
        self._before = whole[:, block.shape[1] :]
        return np.asarray(coarse)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ladder:
    """Both stages of both ways for one sample rate."""

    up: tuple[Up, Up]
    down: tuple[Down, Down]
    factor: int
    delay: int  # samples, up and down together

    def climb(self, block: Floats) -> Floats:
        """Take (c, t), return (c, t * factor)."""
        return self.up[1].process(self.up[0].process(block))

    def descend(self, block: Floats) -> Floats:
        """Take (c, t * factor), return (c, t)."""
        return self.down[0].process(self.down[1].process(block))


def ladder(sample_rate: float, channels: int) -> Ladder:
    """Return a new pair of ways: at least four times the rate, and at least 352.8 kHz.

    An own choice of stages; the delay is derived here.
    """
    second = max(LEAST // 2, int(np.ceil(FAST / sample_rate / 2.0 - 1e-9)))
    sharp, short = low_pass(2, PASS), low_pass(second, 0.5 * (1.0 - PASS))
    return Ladder(
        up=(Up(sharp, 2, channels), Up(short, second, channels)),
        down=(Down(sharp, 2, channels), Down(short, second, channels)),
        factor=2 * second,
        delay=(sharp.size - 1) // 2 + (short.size - 1) // (2 * second),
    )
