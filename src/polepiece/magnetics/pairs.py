"""Vectors over places that come in pairs, as sums and differences: a symmetry's even and odd part."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, IntArray

SIGNS = (1.0, -1.0)  # even, odd
ROOT_HALF = float(np.sqrt(0.5))

Parts = tuple[FloatArray, FloatArray]  # even, odd


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Which places of a vector lie at y > 0 (``near``) and where their images lie (``far``), both (n,).

    Derived here: x_even = (x_near + x_far) / sqrt 2, x_odd = (x_near - x_far) / sqrt 2; a matrix that the symmetry
    leaves as it is has an even and an odd block and nothing between them.
    """

    near: IntArray
    far: IntArray

    def split(self, whole: FloatArray) -> Parts:
        """Return the even and the odd part (n, ...) of ``whole`` (2 n, ...)."""
        a, b = whole[self.near], whole[self.far]
        return ROOT_HALF * (a + b), ROOT_HALF * (a - b)

    def join(self, parts: Sequence[FloatArray]) -> FloatArray:
        """Return the whole (2 n, ...) of an even and an odd part."""
        even, odd = parts
        out = np.empty((2 * len(even), *even.shape[1:]))
        out[self.near] = ROOT_HALF * (even + odd)
        out[self.far] = ROOT_HALF * (even - odd)
        return out

    def parts(self, matrix: FloatArray) -> Parts:
        """Return the even and the odd part (n, n) of a matrix (2 n, 2 n) that the mirror leaves as it is."""
        same, across = matrix[np.ix_(self.near, self.near)], matrix[np.ix_(self.near, self.far)]
        return same + across, same - across

    def matrix(self, parts: Sequence[FloatArray]) -> FloatArray:
        """Return the matrix (2 n, 2 n) of an even and an odd part (n, n)."""
        return self.between(self, parts)

    def between(self, others: "Pairs", parts: Sequence[FloatArray]) -> FloatArray:
        """Return the matrix (2 n, 2 m) from places ``others`` to these, of an even and an odd part (n, m)."""
        even, odd = parts
        out = np.empty((2 * len(self.near), 2 * len(others.near)))
        same, across = 0.5 * (even + odd), 0.5 * (even - odd)
        for one, its, image in ((self.near, others.near, others.far), (self.far, others.far, others.near)):
            out[np.ix_(one, its)] = same
            out[np.ix_(one, image)] = across
        return out

    def units(self, places: IntArray) -> tuple[IntArray, Parts]:
        """Return where the unit vectors of ``places`` (k,) stand in each part (k,), and their size there (k,)."""
        at, side = np.empty(2 * len(self.near), dtype=np.int64), np.full(2 * len(self.near), ROOT_HALF)
        at[self.near] = at[self.far] = np.arange(len(self.near))
        side[self.far] *= -1.0
        return at[places], (np.full(len(places), ROOT_HALF), side[places])
