"""The frequencies on which responses are kept, and how they are read between them."""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray

POINTS = 400
AT_1KHZ = 226
STEP = 3.0 / 399.0  # decades
GRID: FloatArray = np.asarray(1000.0 * 10.0 ** ((np.arange(POINTS) - AT_1KHZ) * STEP), dtype=np.float64)
# Hz, log-spaced through 1 kHz, 20 Hz - 20 kHz


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reading:
    """How values on `GRID` are read at m frequencies: cubic through the four nearest, over log f.

    A resonance of Q 6 is read within 0.002 dB (test); frequencies outside the grid are read at its ends.
    """

    nodes: np.ndarray  # (4, m) indices of the four; m may be several axes
    weight: FloatArray  # (4, m)

    @classmethod
    def of(cls, frequency: FloatArray) -> "Reading":
        """Return the reading at ``frequency`` (m), Hz; m may be several axes.

        Lagrange's cubic through four neighbours (textbooks, from memory).
        """
        with np.errstate(divide="ignore"):
            place = np.clip(np.log10(frequency / 1000.0) / STEP + AT_1KHZ, 0.0, POINTS - 1.0)
        first = np.clip(place.astype(int) - 1, 0, POINTS - 4)
        t = place - first
        weight = np.stack([
            -(t - 1) * (t - 2) * (t - 3) / 6, t * (t - 2) * (t - 3) / 2, -t * (t - 1) * (t - 3) / 2,
            t * (t - 1) * (t - 2) / 6,
        ])  # fmt: skip
        return cls(nodes=np.stack([first + k for k in range(4)]), weight=weight)

    def part(self, which: slice) -> "Reading":
        """Return the reading at some of the frequencies, along their last axis."""
        return Reading(nodes=self.nodes[..., which], weight=self.weight[..., which])

    def at(self, values: ComplexArray) -> ComplexArray:
        """Return ``values`` (..., GRID) at the frequencies: (..., m)."""
        return np.asarray(sum(values[..., nodes] * weight for nodes, weight in zip(self.nodes, self.weight)))
