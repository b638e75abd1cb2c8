"""A cubic spline through values at fixed knots, as weights on these values: made once, used for any number of values.

What coils do is solved at a dozen frequencies and read on hundreds; which ones is the same for every pickup.
"""

from functools import lru_cache

import numpy as np

from polepiece.arrays import FloatArray

FEWEST = 4  # knots, or the third derivative could not be the same on both sides of the second and the last but one


def spline_weights(knots: FloatArray, at: FloatArray) -> FloatArray:
    """Return weights (m, n): the spline through y (n,) at ``knots`` (n,) is ``weights @ y`` at ``at`` (m,).

    Twice differentiable, cubic between knots; the first two pieces are one cubic, and the last two ("not a knot",
    de Boor 1978, from memory). Outside of the knots the first and the last piece go on.

    Raises
    ------
    ValueError
        When there are fewer than four knots, or they do not ascend.
    """
    if len(knots) < FEWEST or not np.all(np.diff(knots) > 0.0):
        raise ValueError(f"{len(knots)} knots; a spline takes at least {FEWEST}, ascending.")
    return _weights(tuple(map(float, knots)), tuple(map(float, at)))


@lru_cache(maxsize=64)
def _weights(knots: tuple[float, ...], at: tuple[float, ...]) -> FloatArray:
    x, places = np.array(knots), np.array(at)
    slopes = _slopes(x)
    piece = np.clip(np.searchsorted(x, places, side="right") - 1, 0, len(x) - 2)
    width = np.diff(x)[piece]
    t = (places - x[piece]) / width
    row = np.arange(len(places))
    out = np.zeros((len(places), len(x)))
    out[row, piece] = (1.0 + 2.0 * t) * (1.0 - t) ** 2
    out[row, piece + 1] = t * t * (3.0 - 2.0 * t)
    out += (width * t * (1.0 - t) ** 2)[:, None] * slopes[piece]
    out += (width * t * t * (t - 1.0))[:, None] * slopes[piece + 1]
    out.flags.writeable = False
    return out


def _slopes(x: FloatArray) -> FloatArray:
    """Return the slopes at the knots as weights (n, n) on the values: the second derivative has no step."""
    n, h = len(x), np.diff(x)
    rise = (np.eye(n)[1:] - np.eye(n)[:-1]) / h[:, None]  # of each piece, (n - 1, n) on the values
    matrix, right = np.zeros((n, n)), np.zeros((n, n))
    k = np.arange(1, n - 1)
    matrix[k, k - 1], matrix[k, k], matrix[k, k + 1] = h[1:], 2.0 * (h[:-1] + h[1:]), h[:-1]
    right[1:-1] = 3.0 * (h[1:, None] * rise[:-1] + h[:-1, None] * rise[1:])
    first, last = x[2] - x[0], x[-1] - x[-3]
    matrix[0, 0], matrix[0, 1] = h[1], first
    right[0] = ((h[0] + 2.0 * first) * h[1] * rise[0] + h[0] ** 2 * rise[1]) / first
    matrix[-1, -1], matrix[-1, -2] = h[-2], last
    right[-1] = (h[-1] ** 2 * rise[-2] + (2.0 * last + h[-1]) * h[-2] * rise[-1]) / last
    return np.asarray(np.linalg.solve(matrix, right))
