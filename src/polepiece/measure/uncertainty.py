"""Intervals from a standard deviation together with limits (tolerances)."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from scipy.special import ndtri

from polepiece.arrays import FloatArray

NINETY = 1.6449  # half a 90 % interval of a normal distribution in standard deviations
_DRAWS = 8192
_MOST_LIMITS = 4


@lru_cache(maxsize=1)
def _draws() -> FloatArray:
    """Return even chances (n, 1 + limits), well spread (a Kronecker sequence of square roots of primes)."""
    roots = np.sqrt([2.0, 3.0, 5.0, 7.0, 11.0][: 1 + _MOST_LIMITS])
    return np.asarray((np.outer(np.arange(1, _DRAWS + 1), roots % 1.0) + 0.5) % 1.0)


def half_width(deviation: float, limits: Sequence[float] = (), *, share: float = 0.90) -> float:
    """Return half the symmetric interval that holds ``share`` of normal noise plus tolerances.

    Parameters
    ----------
    deviation : standard deviation of the normal part.
    limits : half widths of rectangular parts (a printed tolerance: anywhere inside is as likely), at most four;
        of more, the largest.
    share : of the values inside.

    Notes
    -----
    Distributions are propagated, not variances: a rectangular part alone reaches its 90 % at 0.90 of the limit, where
    the normal rule would say 0.95.

    References
    ----------
    .. [1] JCGM 101:2008, propagation of distributions using a Monte Carlo method (here a fixed sequence).

    Examples
    --------
    >>> round(half_width(1.0), 2), round(half_width(0.0, [1.0]), 2)
    (1.64, 0.9)
    """
    parts = sorted((abs(one) for one in limits if one), reverse=True)[:_MOST_LIMITS]
    draws = _draws()
    total = deviation * ndtri(draws[:, 0])
    for column, limit in enumerate(parts, start=1):
        total = total + limit * (2.0 * draws[:, column] - 1.0)
    return float(np.quantile(np.abs(total), share))
