"""The spline of what coils do over frequency: the library's, by weights that are made once."""

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from polepiece.bench.intervals import END_SAMPLES
from polepiece.pickup.engine import SAMPLES
from polepiece.pickup.grid import GRID
from polepiece.pickup.spline import spline_weights

ROUNDING = 1e-13  # of the largest value: a dozen weights, some larger than 1, each exact to 2e-16


@pytest.mark.parametrize("samples", [SAMPLES, END_SAMPLES, np.array([0.0, 1.0, 3.0, 7.0])])
def test_it_is_the_library_s_through_drawn_values(samples: np.ndarray) -> None:
    random = np.random.default_rng(len(samples))
    knots = np.log1p(samples / 50.0)
    at = np.concatenate([np.log1p(GRID / 50.0), [knots[0], knots[-1], knots[-1] + 0.1]])
    values = random.standard_normal((2, 3, len(knots))) + 1j * random.standard_normal((2, 3, len(knots)))
    known = CubicSpline(knots, values, axis=-1)(at)
    assert np.abs(values @ spline_weights(knots, at).T - known).max() < ROUNDING * np.abs(known).max()


def test_a_cubic_comes_back_whole_also_beyond_the_knots() -> None:
    knots = np.array([0.0, 0.7, 1.0, 2.5, 3.0])
    at = np.linspace(-1.0, 4.0, 11)
    assert np.allclose(spline_weights(knots, at) @ (knots**3 - 2.0 * knots), at**3 - 2.0 * at, rtol=0.0, atol=1e-11)


@pytest.mark.parametrize("knots", [[0.0, 1.0, 2.0], [0.0, 1.0, 1.0, 2.0], [3.0, 2.0, 1.0, 0.0]])
def test_too_few_or_unordered_knots_are_refused(knots: list[float]) -> None:
    with pytest.raises(ValueError, match="knots"):
        spline_weights(np.array(knots), np.array([0.5]))
