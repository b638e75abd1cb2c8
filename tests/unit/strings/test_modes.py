"""Partials, losses and magnetic detuning against limits and against a string cut into masses and springs."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import eigh_tridiagonal

from polepiece.errors import InputError
from polepiece.strings import LossModel, OpenStrings, magnetic_detuning, string_modes
from polepiece.strings.modes import partial_loss
from tests.reference.tuned_strings import decay_time, tuned_set

STRINGS = tuned_set(scale_length=0.6477)
NO_LOSS = LossModel(
    dislocation_q=1e12,
    winding_loss=0.0,
    bending_loss=0.0,
    air_viscosity=0.0,
    end_conductance_vertical=0.0,
    end_conductance_horizontal=0.0,
)


def test_partials_stop_under_the_limit_and_rise():
    for string in STRINGS:
        modes = string_modes(string, top_frequency=15e3)
        assert modes.frequency.max() <= 15e3
        assert np.all(np.diff(modes.frequency) > 0.0)
        following = (modes.number[-1] + 1.0) * string.pitch
        assert following * np.sqrt(1.0 + string.inharmonicity * (modes.number[-1] + 1.0) ** 2) > 15e3


def test_metal_alone_gives_the_constant_q_it_was_given():
    # Q = pi f / sigma by definition
    loss = LossModel(dislocation_q=5500.0, winding_loss=0.0, bending_loss=0.0, air_viscosity=0.0)
    modes = string_modes(STRINGS[2], loss=loss)
    sigma = partial_loss(STRINGS[2], modes.number, loss=loss)
    assert np.pi * modes.frequency[1] / sigma == pytest.approx(5500.0)


def test_ends_alone_give_the_decay_of_a_wave_that_loses_a_share_each_period():
    # energy reflection 1 - 4 Zc G for Zc G << 1, once a period: sigma = 2 f0 Zc G; agrees to order Zc G =
    # 4e-4
    string, conductance = STRINGS[5], 5e-4
    mismatch = string.wave_impedance * conductance
    reflected = ((1.0 - mismatch) / (1.0 + mismatch)) ** 2
    expected = -np.log(reflected) / 2.0 * string.pitch
    found = partial_loss(string, [1.0], loss=NO_LOSS, end_conductance=conductance)[0]
    assert found == pytest.approx(expected, rel=1e-3)


def test_air_is_the_drag_of_stokes_in_the_limit_of_a_slow_thick_string():
    # high-frequency limit (d >> boundary layer): sigma ~ sqrt(f); ratio between partials 1 and 4 is 2
    loss = LossModel(dislocation_q=1e12, winding_loss=0.0, bending_loss=0.0)
    string = STRINGS[5]
    floor = np.pi * loss.air_viscosity / string.unit_mass
    one, four = partial_loss(string, [1.0, 4.0], loss=loss) - floor
    assert four / one == pytest.approx(2.0, rel=2e-3)  # 1e-3: partial 4 is 0.1 % sharp of 4 f0


def test_each_loss_makes_the_string_die_sooner():
    base = partial_loss(STRINGS[4], np.arange(1.0, 30.0), loss=NO_LOSS)
    for term in (
        {"dislocation_q": 5500.0},
        {"winding_loss": 1e-4},
        {"bending_loss": 1e-3},
        {"air_viscosity": 1.8e-5},
    ):
        changed = {**{name: getattr(NO_LOSS, name) for name in LossModel.__slots__}, **term}
        more = partial_loss(STRINGS[4], np.arange(1.0, 30.0), loss=LossModel(**changed))
        assert np.all(more > base)


def test_only_wound_strings_rub_between_their_turns():
    with_, without = LossModel(winding_loss=4e-4), LossModel(winding_loss=0.0)
    n = np.arange(1.0, 10.0)
    assert np.all(partial_loss(STRINGS[0], n, loss=with_) == partial_loss(STRINGS[0], n, loss=without))
    assert np.all(partial_loss(STRINGS[5], n, loss=with_) > partial_loss(STRINGS[5], n, loss=without))


def test_fundamentals_ring_as_long_as_a_solid_body_guitar_rings():
    # common practice, no source: open strings of a solid body die (60 dB) in 5 to 30 s
    for string in STRINGS:
        assert 5.0 < decay_time(string_modes(string))[0, 0] < 30.0


def discrete_shift(string, gradient, position, count=1999):
    """Frequency factors of a string of ``count`` beads with one negative spring: no mode shapes assumed."""
    step = string.length / (count + 1)
    spring = string.tension / step
    diagonal = np.full(count, 2.0 * spring)
    clean = eigh_tridiagonal(diagonal, np.full(count - 1, -spring), select="i", select_range=(0, 4), eigvals_only=True)
    diagonal[round(position / step) - 1] -= gradient
    pulled = eigh_tridiagonal(diagonal, np.full(count - 1, -spring), select="i", select_range=(0, 4), eigvals_only=True)
    return np.sqrt(pulled / clean)


@pytest.mark.parametrize("gradient", [1.0, -1.0])
def test_magnetic_detuning_equals_a_string_of_beads(gradient):
    # first order in the spring: error of second order, under (shift)^2 * 10; the shift is 1e-4 to 1e-3
    string = STRINGS[0]
    found = magnetic_detuning(string, np.arange(1.0, 6.0), force_gradient=gradient, position=0.162)
    expected = discrete_shift(string, gradient, 0.161925)
    assert np.all((found < 1.0) == (gradient > 0.0))
    assert found - 1.0 == pytest.approx(expected - 1.0, rel=0.01, abs=2e-8)


def test_the_pull_detunes_the_vertical_plane_only_and_adds_over_places():
    string, alone = STRINGS[0], LossModel(end_tilt=0.0)
    plain = string_modes(string, loss=alone)
    both = string_modes(string, loss=alone, force_gradient=[2.0, 3.0], gradient_position=[0.14, 0.16])
    assert np.array_equal(both.frequency[1], plain.frequency[1])
    assert np.all(both.frequency[0] <= plain.frequency[0])
    one = string_modes(string, loss=alone, force_gradient=5.0, gradient_position=0.15)
    assert both.frequency[0, 0] == pytest.approx(one.frequency[0, 0], rel=1e-4)


def test_a_magnet_that_would_catch_the_string_is_refused():
    with pytest.raises(InputError, match="would catch the string"):
        string_modes(STRINGS[0], force_gradient=1e4, gradient_position=0.3)
    with pytest.raises(InputError, match="needs gradient_position"):
        string_modes(STRINGS[0], force_gradient=1.0)
    with pytest.raises(InputError, match="outside the speaking length"):
        string_modes(STRINGS[0], force_gradient=1.0, gradient_position=150.0)
    with pytest.raises(InputError, match="above the limit"):
        string_modes(STRINGS[0], top_frequency=100.0)


def test_a_loss_is_never_negative():
    with pytest.raises(InputError, match="never negative"):
        LossModel(bending_loss=-1e-3)
    with pytest.raises(InputError, match="does not feed"):
        LossModel(end_conductance_vertical=-1.0)


def test_strings_in_one_row_are_the_strings_one_by_one():
    """Every string of a set, pulled from two places of which one lies beyond a shorter string's nut."""
    strings = (*STRINGS, replace(STRINGS[2], length=0.14))
    place, gradient = (0.05, 0.155), np.random.default_rng(5).uniform(0.0, 3.0, (len(strings), 2))
    row = OpenStrings.of(strings, place, top_frequency=20e3)
    found = row.pulled(gradient)
    for k, one in enumerate(strings):
        there = [p for p in place if p <= one.length]
        alone = string_modes(one, force_gradient=gradient[k, : len(there)], gradient_position=there)
        assert np.array_equal(row.numbers(k), alone.number)
        for name in ("frequency", "decay", "turned"):
            np.testing.assert_allclose(getattr(found, name)[..., row.parts[k]], getattr(alone, name), rtol=1e-12)
    with pytest.raises(InputError, match="would catch the string"):
        row.pulled(1e4 * gradient)
