"""Sobol indices against closed forms.

Ishigami and Homma 1990 with a = 7, b = 0.1, and Sobol's G function (Saltelli and Sobol 1995): the variances below
follow from integrals of each alone. 2**13 points: the estimators scatter by some 1 / sqrt(points), 0.011 of a share;
allowed is 0.02.
"""

import numpy as np
import pytest

from polepiece.arrays import FloatArray
from polepiece.bench.sobol import group_indices

POINTS, SCATTER = 2**13, 0.02
A, B = 7.0, 0.1
G = np.array([0.0, 1.0, 4.5, 9.0, 99.0])


def ishigami(shares: FloatArray) -> FloatArray:
    x = np.pi * (2.0 * shares - 1.0)
    return np.asarray(np.sin(x[:, 0]) + A * np.sin(x[:, 1]) ** 2 + B * x[:, 2] ** 4 * np.sin(x[:, 0]))[:, None]


def g_function(shares: FloatArray) -> FloatArray:
    return np.asarray(np.prod((np.abs(4.0 * shares - 2.0) + G) / (1.0 + G), axis=1))[:, None]


def test_ishigami() -> None:
    alone = [0.5 * (1.0 + B * np.pi**4 / 5.0) ** 2, A**2 / 8.0, 0.0]
    together = B**2 * np.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)  # of the first and the third
    whole = sum(alone) + together
    found = group_indices(ishigami, [[0], [1], [2]], 3, count=POINTS)
    assert found.variance == pytest.approx([whole], rel=SCATTER)
    assert found.mean == pytest.approx([A / 2.0], rel=SCATTER)
    assert found.first[:, 0] == pytest.approx(np.array(alone) / whole, abs=SCATTER)
    assert found.total[:, 0] == pytest.approx(np.array([alone[0] + together, alone[1], together]) / whole, abs=SCATTER)


def test_g_function() -> None:
    each = 1.0 / (3.0 * (1.0 + G) ** 2)
    whole = np.prod(1.0 + each) - 1.0
    found = group_indices(g_function, [[k] for k in range(5)], 5, count=POINTS)
    assert found.variance == pytest.approx([whole], rel=2 * SCATTER)
    assert found.first[:, 0] == pytest.approx(each / whole, abs=SCATTER)
    assert found.total[:, 0] == pytest.approx(each * (1.0 + whole) / (1.0 + each) / whole, abs=SCATTER)


def test_a_group_counts_as_one_input_with_what_it_does_together() -> None:
    """Of Ishigami's first and third: all but the second's share, for the second meets neither."""
    found = group_indices(ishigami, [[0, 2], [1]], 3, count=POINTS)
    second = A**2 / 8.0 / (0.5 * (1.0 + B * np.pi**4 / 5.0) ** 2 + A**2 / 8.0 + B**2 * np.pi**8 * (1 / 18 - 1 / 50))
    assert found.total[:, 0] == pytest.approx([1.0 - second, second], abs=SCATTER)
    assert found.first[:, 0] == pytest.approx([1.0 - second, second], abs=SCATTER)


def test_outputs_side_by_side_and_one_that_never_moves() -> None:
    def three(shares: FloatArray) -> FloatArray:
        return np.concatenate([ishigami(shares), np.full((len(shares), 1), 3.0), g_function(shares)], axis=1)

    found = group_indices(three, [[0], [1]], 5, count=64)
    assert found.variance[1] == 0.0
    assert not found.first[:, 1].any()
    alone = group_indices(ishigami, [[0], [1]], 5, count=64)
    assert found.total[:, 0] == pytest.approx(alone.total[:, 0])
