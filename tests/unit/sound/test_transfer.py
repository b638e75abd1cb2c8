"""A sampled response between, below and above its grid."""

import numpy as np
import pytest

from polepiece.errors import InputError
from polepiece.sound import PickupResponse
from tests.reference.whole_render import flat_response


def low_pass(f, corner=3000.0, q=2.0):
    s = 1j * f / corner
    return 1.0 / (1.0 + s / q + s**2)


def test_between_the_points_and_beyond_them_a_second_order_low_pass_is_met():
    grid = np.geomspace(20.0, 20e3, 200)
    response = PickupResponse(frequency=grid, value=low_pass(grid))
    between = np.sqrt(grid[:-1] * grid[1:])
    assert np.max(np.abs(response.at(between) - low_pass(between))) < 1e-3  # -60 dB of the pass band
    assert response.at(0.0) == pytest.approx(1.0, abs=1e-4)
    assert response.at(0.0).imag == 0.0
    above = np.array([22e3, 24e3, 40e3])
    # the slope of the last third of an octave lies within 2 % of the asymptote -12 dB an octave
    assert np.abs(response.at(above)) == pytest.approx(np.abs(low_pass(above)), rel=0.03)


def test_a_flat_response_stays_flat_and_a_rising_one_stops_rising():
    assert flat_response(0.5).at([0.0, 100.0, 30e3]) == pytest.approx(0.5)
    grid = np.geomspace(20.0, 20e3, 60)
    rising = PickupResponse(frequency=grid, value=grid / 20e3 + 0j)
    assert abs(rising.at(40e3)) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("frequency", "value", "words"),
    [
        ([1.0, 2.0], [1.0, 1.0], "at least 4"),
        ([1.0, 2.0, 3.0, 4.0], [1.0] * 3, "one value each"),
        ([0.0, 1.0, 2.0, 3.0], [1.0] * 4, "positive and rise"),
        ([1.0, 3.0, 2.0, 4.0], [1.0] * 4, "positive and rise"),
        ([1.0, 2.0, 3.0, 4.0], [1.0, np.nan, 1.0, 1.0], "not finite"),
        ([1.0, 2.0, 3.0, 4.0], [0.0] * 4, "zero everywhere"),
    ],
)
def test_a_response_that_makes_no_sense_is_refused(frequency, value, words):
    with pytest.raises(InputError, match=words):
        PickupResponse(frequency=np.array(frequency), value=np.array(value, dtype=complex))
