"""The plucked shape against d'Alembert's travelling waves, and the hand against its own statistics."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from polepiece.errors import InputError
from polepiece.strings import Pluck, Spread, hand_deviates, modal_amplitudes, varied

LENGTH = 0.6477


def triangle(x, *, position, height):
    return height * np.where(x < position, x / position, (LENGTH - x) / (LENGTH - position))


def test_the_modes_add_up_to_the_triangle_and_move_as_d_alembert_says():
    # d'Alembert: y(x, t) = [f(x - ct) + f(x + ct)]/2 with f continued oddly; 4000 modes leave 1e-4 h at
    # the corner
    pluck = Pluck(position=0.11, width=0.0, displacement=1e-3, angle=0.0)
    n = np.arange(1.0, 4001.0)
    amplitude = modal_amplitudes(n, length=LENGTH, pluck=pluck)[0]
    x = np.linspace(0.0, LENGTH, 301)

    def continued(place):
        place = np.mod(place, 2.0 * LENGTH)
        inside = triangle(np.minimum(place, 2.0 * LENGTH - place), position=0.11, height=1e-3)
        return np.where(place <= LENGTH, inside, -inside)

    shapes = np.sin(np.outer(x, n) * np.pi / LENGTH)
    for travelled in (0.0, 0.05, 0.2, 0.5, 0.9):
        found = shapes @ (amplitude * np.cos(n * np.pi * travelled / LENGTH))
        expected = 0.5 * (continued(x - travelled) + continued(x + travelled))
        assert np.max(np.abs(found - expected)) < 2e-4 * 1e-3


def test_width_equals_averaging_the_triangle_over_the_plectrum():
    # Fourier coefficients of the averaged shape by plain quadrature, 1e-6 of the height
    pluck = Pluck(position=0.15, width=8e-3, displacement=1.0e-3, angle=0.0)
    x = (np.arange(20000) + 0.5) * LENGTH / 20000
    shifts = (np.arange(200) + 0.5) / 200 * pluck.width - pluck.width / 2.0
    extended = np.mean([np.interp(x + s, [0, 0.15, LENGTH], [0, 1e-3, 0]) for s in shifts], axis=0)
    extended[x < 0.01] = triangle(x[x < 0.01], position=0.15, height=1e-3)  # straight line: averaging changes nothing
    extended[x > LENGTH - 0.01] = triangle(x[x > LENGTH - 0.01], position=0.15, height=1e-3)
    n = np.arange(1.0, 41.0)
    quadrature = 2.0 * np.mean(extended * np.sin(np.outer(n, x) * np.pi / LENGTH), axis=1)
    assert modal_amplitudes(n, length=LENGTH, pluck=pluck)[0] == pytest.approx(quadrature, abs=1e-9)


@given(angle=st.floats(-3.1, 3.1), displacement=st.floats(1e-5, 5e-3))
def test_the_angle_shares_out_the_displacement(angle, displacement):
    n = np.arange(1.0, 20.0)
    found = modal_amplitudes(n, length=LENGTH, pluck=Pluck(angle=angle, displacement=displacement))
    whole = modal_amplitudes(n, length=LENGTH, pluck=Pluck(angle=0.0, displacement=displacement))[0]
    assert np.hypot(*found) == pytest.approx(np.abs(whole))
    assert found[0] == pytest.approx(math.cos(angle) * whole, abs=1e-15)


def test_a_pluck_beyond_the_fret_is_refused():
    with pytest.raises(InputError, match="outside the speaking length"):
        modal_amplitudes([1.0], length=0.1, pluck=Pluck(position=0.11))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"position": 110.0}, "Is it in mm"),
        ({"width": 3.0}, "Is it in mm"),
        ({"displacement": 1.5}, "Is it in mm"),
        ({"angle": 50.0}, "Is it in degrees"),
    ],
)
def test_strokes_in_the_wrong_unit_are_refused(change, words):
    with pytest.raises(InputError, match=words):
        Pluck(**change)


def test_a_seed_gives_one_hand_and_the_spread_is_the_one_asked_for():
    def hand(seed):
        generator = np.random.default_rng(seed)
        return [varied(Pluck(), hand_deviates(generator), Spread()) for _ in range(4000)]

    one, again, other = hand(7), hand(7), hand(8)
    assert one == again
    assert one != other
    # cut at 2.5 sigma: standard deviation 0.9726 (clipped normal); 4000 draws: 1.1 % standard error, 4 sigma
    position = np.std([pluck.position for pluck, _ in one])
    onset = np.std([shift for _, shift in one])
    assert position == pytest.approx(0.983 * Spread().position, rel=0.05)
    assert onset == pytest.approx(0.983 * Spread().onset, rel=0.05)


def test_no_spread_is_no_change():
    still = Spread(position=0.0, angle=0.0, level_db=0.0, onset=0.0)
    assert varied(Pluck(), hand_deviates(np.random.default_rng(1)), still) == (Pluck(), 0.0)
