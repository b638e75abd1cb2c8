"""Where potentials along strings are tabled: slices along the string, heights above the pickup."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeightTable:
    """Scalar potentials along strings on a grid of heights; polynomials in between.

    ``x`` (nx,) slice centres, ``cuts`` (nx + 1,), ``z`` (k, nz) heights of each string's nodes, from
    `chebyshev_heights`.
    """

    cuts: FloatArray
    z: FloatArray

    @property
    def x(self) -> FloatArray:
        """Slice centres, m."""
        return 0.5 * (self.cuts[1:] + self.cuts[:-1])

    def weights(self, height: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return interpolation weights (k, h, nz) for value, first and second derivative at ``height`` (k, h).

        The polynomial through Chebyshev-Lobatto points (from memory) and its derivatives.
        """
        low, high = self.z[:, :1], self.z[:, -1:]
        outside = ((height < low - 1e-9) | (height > high + 1e-9)).any(axis=1)
        if outside.any():
            s = int(np.argmax(outside))
            raise InputError(
                f"a string height of {1e3 * height[s].min():.2f}-{1e3 * height[s].max():.2f} mm is outside "
                f"{1e3 * low[s, 0]:.2f}-{1e3 * high[s, 0]:.2f} mm above the pickup's base."
            )
        inverse, slope = _nodal(self.z.shape[1])
        t, steep = (2.0 * height - low - high) / (high - low), 2.0 / (high - low)[..., None]
        value = np.polynomial.chebyshev.chebvander(t, self.z.shape[1] - 1) @ inverse
        first = value @ slope * steep
        second = first @ slope * steep
        return value, first, second


@lru_cache(maxsize=8)
def _nodal(count: int) -> tuple[FloatArray, FloatArray]:
    """Return, for ``count`` Chebyshev nodes on -1..1, values -> coefficients, and the differentiation matrix."""
    t = chebyshev_heights(-1.0, 1.0, count)
    vander = np.polynomial.chebyshev.chebvander(t, count - 1)
    inverse = np.linalg.inv(vander)
    columns = [np.polynomial.chebyshev.chebval(t, np.polynomial.chebyshev.chebder(row)) for row in np.eye(count)[1:]]
    return np.asarray(inverse, dtype=float), np.asarray(np.column_stack([np.zeros(count), *columns]) @ inverse)


def chebyshev_heights(low: float, high: float, count: int) -> FloatArray:
    """Return Chebyshev-Lobatto heights (count,) from ``low`` to ``high``, m. Definition: -cos(pi k/(n - 1))."""
    return 0.5 * (low + high) - 0.5 * (high - low) * np.cos(np.pi * np.arange(count) / (count - 1))


END = 0.5, 0.2  # widths of the last two slices over that of the one before: the magnetisation falls to nothing there;
# growing to the end, thirty slices leave the moment of a string 40 mm long 3 % short, with these 0.4 %


def string_cuts(length: float, rows: "tuple[float, ...]", fine: float = 0.8e-3) -> FloatArray:
    """Return slice boundaries (n + 1,) of a string of ``length`` m centred on x = 0, fine near pole ``rows``."""
    half = 0.5 * length
    inner = min(half, max([abs(r) for r in rows] + [0.0]) + 6e-3)
    middle = np.linspace(-inner, inner, 2 * max(4, round(inner / fine)) + 1)
    if half - inner < 1e-6:
        return middle
    widths = [1.25 * fine]
    while sum(widths) < half - inner:
        widths.append(1.25 * widths[-1])
    growing = widths[: max(1, len(widths) - len(END))]
    widths = [*growing, *(share * growing[-1] for share in END)]
    outer = inner + np.cumsum(widths) * (half - inner) / sum(widths)
    return np.concatenate([-outer[::-1], middle, outer])
