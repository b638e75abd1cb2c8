"""Vectors over places that come in pairs, as sums and differences: a symmetry's even and odd part."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.later import sparse

SIGNS = (1.0, -1.0)  # even, odd
ROOT_HALF = float(np.sqrt(0.5))

Parts = tuple[FloatArray, FloatArray]  # even, odd


def _none() -> IntArray:
    return np.zeros(0, dtype=np.int64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Which places of a vector lie on one side (``near``), where their images lie (``far``), both (n,), and the rest.

    Derived here: x_even = (x_near + x_far) / sqrt 2 and, after these, the places that are their own image (``own``,
    (s,)) as they are; x_odd = (x_near - x_far) / sqrt 2. A matrix that the symmetry leaves as it is has an even block
    (n + s, n + s), an odd one (n, n) and nothing between them.
    """

    near: IntArray
    far: IntArray
    own: IntArray = field(default_factory=_none)

    @property
    def evens(self) -> int:
        """Number of even coordinates."""
        return len(self.near) + len(self.own)

    @property
    def count(self) -> int:
        """Number of places."""
        return self.evens + len(self.far)

    @property
    def images(self) -> IntArray:
        """Where the image of every place lies (2 n + s,)."""
        out = np.arange(self.count)
        out[self.near], out[self.far] = self.far, self.near
        return out

    def split(self, whole: FloatArray) -> Parts:
        """Return the even (n + s, ...) and the odd part (n, ...) of ``whole`` (2 n + s, ...)."""
        a, b = whole[self.near], whole[self.far]
        even: FloatArray = ROOT_HALF * (a + b)
        return np.concatenate([even, whole[self.own]]) if len(self.own) else even, ROOT_HALF * (a - b)

    def join(self, parts: Sequence[FloatArray]) -> FloatArray:
        """Return the whole (2 n + s, ...) of an even and an odd part."""
        (even, alone), odd = np.split(parts[0], [len(self.near)]), parts[1]
        out = np.empty((self.count, *odd.shape[1:]))
        out[self.near] = ROOT_HALF * (even + odd)
        out[self.far] = ROOT_HALF * (even - odd)
        out[self.own] = alone
        return out

    def parts(self, matrix: FloatArray) -> Parts:
        """Return the even and the odd part of a matrix (2 n + s, 2 n + s) that the symmetry leaves as it is."""
        same, across = matrix[np.ix_(self.near, self.near)], matrix[np.ix_(self.near, self.far)]
        even, odd = same + across, same - across
        if len(self.own):
            beside, back = matrix[np.ix_(self.near, self.own)], matrix[np.ix_(self.own, self.near)]
            even = np.block(
                [[even, beside / ROOT_HALF], [back / ROOT_HALF, matrix[np.ix_(self.own, self.own)]]]
            )  # fmt: skip
        return even, odd

    def matrix(self, parts: Sequence[FloatArray]) -> FloatArray:
        """Return the matrix (2 n + s, 2 n + s) of an even and an odd part."""
        return self.between(self, parts)

    def between(self, others: "Pairs", parts: Sequence[FloatArray]) -> FloatArray:
        """Return the matrix from places ``others`` (m pairs and r alone) to these, of its even and its odd part.

        These are (n + s, m + r) and (n, m).
        """
        n, m = len(self.near), len(others.near)
        even, odd = parts[0][:n, :m], parts[1]
        out = np.empty((self.count, others.count))
        same, across = 0.5 * (even + odd), 0.5 * (even - odd)
        for one, its, image in ((self.near, others.near, others.far), (self.far, others.far, others.near)):
            out[np.ix_(one, its)] = same
            out[np.ix_(one, image)] = across
            out[np.ix_(one, others.own)] = ROOT_HALF * parts[0][:n, m:]
        for its in (others.near, others.far):
            out[np.ix_(self.own, its)] = ROOT_HALF * parts[0][n:, :m]
        out[np.ix_(self.own, others.own)] = parts[0][n:, m:]
        return out

    def bases(self) -> "tuple[sparse.csr_array, sparse.csr_array]":
        """Return the even and the odd coordinates as columns over the places: (2 n + s, n + s) and (2 n + s, n)."""
        n = len(self.near)
        rows, columns = np.concatenate([self.near, self.far]), np.concatenate([np.arange(n)] * 2)
        odd = np.concatenate([np.full(n, ROOT_HALF), np.full(n, -ROOT_HALF)])
        even = np.concatenate([np.abs(odd), np.ones(len(self.own))])
        every = np.concatenate([rows, self.own]), np.concatenate([columns, n + np.arange(len(self.own))])
        return (
            sparse.csr_array(sparse.coo_array((even, every), shape=(self.count, self.evens))),
            sparse.csr_array(sparse.coo_array((odd, (rows, columns)), shape=(self.count, n))),
        )

    def block(self, parts: Sequence[FloatArray], places: IntArray) -> FloatArray:
        """Return rows and columns ``places`` (k,) of `matrix` (k, k), without the rest of it."""
        (even, odd), (at, (size, side)) = parts, self.units(places)
        out: FloatArray = size[:, None] * size * even[np.ix_(at, at)]
        paired = np.flatnonzero(side)
        inner, turned = np.ix_(paired, paired), side[paired]
        out[inner] += turned[:, None] * turned * odd[np.ix_(at[paired], at[paired])]
        return out

    def units(self, places: IntArray) -> tuple[IntArray, Parts]:
        """Return where the unit vectors of ``places`` (k,) stand in each part (k,), and their size there (k,).

        Those of places that are their own image have no size in the odd part.
        """
        n, at = len(self.near), np.empty(self.count, dtype=np.int64)
        size, side = np.full(self.count, ROOT_HALF), np.full(self.count, ROOT_HALF)
        at[self.near] = at[self.far] = np.arange(n)
        at[self.own] = n + np.arange(len(self.own))
        size[self.own] = 1.0
        side[self.far], side[self.own] = -ROOT_HALF, 0.0
        return at[places], (size[places], side[places])
