"""Compiled loops over samples: a short linear filter (four times as fast as a general one) and the saturation."""

import numpy as np

from polepiece.later import njit

STRETCH = 256  # outputs summed together: they stay in the first cache


@njit(cache=True, fastmath=True)
def add_filtered(rows, taps, out):  # type: ignore[no-untyped-def]
    """Add sum_j taps[j] rows[c, n + taps.size - 1 - j] to ``out`` (c, n); rows (c, n + taps.size - 1).

    Definition of a convolution.
    """
    last = taps.size - 1
    sums = np.empty(STRETCH)
    for c in range(out.shape[0]):
        for first in range(0, out.shape[1], STRETCH):
            count = min(STRETCH, out.shape[1] - first)
            for i in range(count):
                sums[i] = out[c, first + i]
            for j in range(0, taps.size - 1, 2):  # two taps at a time: the sums are fetched half as often
                one, other = taps[j], taps[j + 1]
                late = rows[c, first + last - j - 1 : first + last - j + count]
                for i in range(count):
                    sums[i] += one * late[i + 1] + other * late[i]
            if taps.size % 2:
                one, late = taps[last], rows[c, first : first + count]
                for i in range(count):
                    sums[i] += one * late[i]
            for i in range(count):
                out[c, first + i] = sums[i]


@njit(cache=True, fastmath=True)
def bent(last, fine, bias, out):  # type: ignore[no-untyped-def]
    """Write to ``out`` the mean of the saturation over each step of ``fine`` (c, t), the first from ``last`` (c,).

    Derived here: (F(v) - F(u))/(v - u), F = sqrt(1 + x^2) the antiderivative of the saturation x / sqrt(1 + x^2).
    """
    rest = bias / np.sqrt(1.0 + bias * bias)
    for c in range(fine.shape[0]):
        row, put = fine[c], out[c]
        u = last[c] + bias
        root = np.sqrt(1.0 + u * u)
        for i in range(row.size):
            v = row[i] + bias
            other = np.sqrt(1.0 + v * v)
            put[i] = (u + v) / (root + other) - rest
            u, root = v, other
