"""Demagnetisation laws: the constants they were given, monotone, continuous, invertible."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from polepiece.constants import MU_0
from polepiece.errors import InputError
from polepiece.materials import Hyperbola, KneeCurve, KneeShape, catalogue, from_constants
from polepiece.materials.curve import _root, energy_product_range

GRADES = [grade.slug for grade in catalogue.magnets()]

shapes = st.builds(
    lambda shoulder, sharpness, share: KneeShape(
        shoulder_permeability=shoulder, sharpness=sharpness, knee=share * sharpness
    ),
    shoulder=st.floats(1.03, 7.0),
    sharpness=st.floats(2.0, 20.0),
    share=st.floats(0.005, 0.5),
)


@st.composite
def knee_curves(draw):
    remanence = draw(st.floats(0.2, 1.4))
    coercivity = draw(st.floats(30e3, 0.85 * remanence / MU_0))
    shape = draw(shapes)
    assume(MU_0 * 1.05 * coercivity < 0.9 * remanence)
    low, high = energy_product_range(remanence=remanence, coercivity=coercivity, shape=shape)
    assume(high > 1.02 * low)
    energy_product = low + (high - low) * draw(st.floats(0.02, 0.98))
    return KneeCurve(remanence=remanence, coercivity=coercivity, energy_product=energy_product, shape=shape)


hyperbolas = st.builds(
    lambda remanence, coercivity, fullness: Hyperbola(
        remanence=remanence, coercivity=coercivity, energy_product=fullness * remanence * coercivity
    ),
    remanence=st.floats(0.2, 1.4),
    coercivity=st.floats(30e3, 400e3),
    fullness=st.floats(0.2, 0.8),
)
curves = st.one_of(knee_curves(), hyperbolas)


@given(curves)
def test_goes_through_remanence_and_coercivity(curve):
    level = curve.flux_density([0.0, -curve.coercivity])

    assert level[0] == pytest.approx(curve.remanence, rel=1e-12)
    assert level[1] == pytest.approx(0.0, abs=1e-10 * curve.remanence)


@given(curves)
@settings(max_examples=60)
def test_has_the_energy_product_it_was_given(curve):
    depth = np.linspace(0.0, curve.coercivity, 40001)

    found = np.max(depth * curve.flux_density(-depth))

    # the grid misses the top by at most curvature * (1/80000)^2
    assert found == pytest.approx(curve.energy_product, rel=2e-6)


@given(knee_curves())
def test_knee_curve_is_monotone_with_a_slope_above_mu0(curve):
    field = np.linspace(-1.5 * curve.coercivity, 0.5 * curve.coercivity, 2001)

    magnetization, slope = curve.magnetization(field)

    assert np.all(slope >= 0.01 * (1 - 1e-9))  # dB/dH >= 1.01 mu0
    assert np.all(np.diff(magnetization) > 0.0)


@given(curves, st.floats(-1.4, 0.4))
def test_slope_is_the_derivative_of_the_magnetization(curve, position):
    assume(min(abs(position), abs(position + 1.0)) > 2e-3)  # the tangents start here: curvature jumps
    field = position * curve.coercivity
    step = 1e-5 * curve.coercivity

    solve_ahead, behind = (curve.magnetization(field + sign * step)[0] for sign in (1.0, -1.0))
    slope = float(curve.magnetization(field)[1])

    # central difference: error of second order in 1e-5 of the coercivity, times the largest third derivative
    assert (solve_ahead - behind) / (2 * step) == pytest.approx(slope, rel=1e-4, abs=1e-6)


@given(curves, st.sampled_from([0.0, -1.0]))
def test_tangents_continue_value_and_slope(curve, end):
    edge = end * curve.coercivity
    inside = math.copysign(1e-12, -0.5 - end) * curve.coercivity  # into the quadrant
    field = np.array([edge, edge + inside, edge - inside, edge - 1e12 * inside])
    level, slope = curve.magnetization(field)

    assert level[2] == pytest.approx(level[1], abs=1e-6 * curve.remanence / MU_0)
    assert slope[1:3] == pytest.approx(slope[0], rel=1e-6)
    assert slope[3] == pytest.approx(slope[0], rel=1e-12)
    straight = level[0] - 1e12 * inside * slope[0]
    assert level[3] == pytest.approx(straight, rel=1e-9)


@given(curves)
def test_flux_density_and_magnetization_agree(curve):
    field = np.linspace(-1.2, 0.2, 15) * curve.coercivity

    level = curve.flux_density(field)

    expected = MU_0 * (field + curve.magnetization(field)[0])
    np.testing.assert_allclose(level, expected, atol=1e-12 * curve.remanence * 100)


@pytest.mark.parametrize("shape", [(), (1,), (3,), (2, 3)])
def test_shape_is_kept(shape):
    curve = catalogue.magnet("alnico-5").curve
    magnetization, slope = curve.magnetization(np.full(shape, -1e4))

    assert np.shape(magnetization) == shape
    assert np.shape(slope) == shape


@given(knee_curves())
def test_sharpness_one_is_a_straight_line_plus_a_published_hyperbola(curve):
    """With p = 1: B = m * line + (1 - m) * rectangular hyperbola, whose sqrt(g) is 1/(1 + sqrt(d)).

    A second way to the same numbers; tolerance is rounding.
    """
    old = curve.shape
    shape = KneeShape(shoulder_permeability=old.shoulder_permeability, sharpness=1.0, knee=min(old.knee, 1.0))
    constants = dict(remanence=curve.remanence, coercivity=curve.coercivity)
    low, high = energy_product_range(**constants, shape=shape)
    plain = KneeCurve(**constants, energy_product=0.5 * (low + high), shape=shape)
    box = curve.remanence * curve.coercivity
    hyperbola = Hyperbola(**constants, energy_product=box / (1.0 + math.sqrt(plain.own.knee)) ** 2)
    depth = np.linspace(0.0, 1.0, 41)
    share = MU_0 * plain.own.shoulder_permeability * curve.coercivity / curve.remanence

    expected = share * curve.remanence * (1.0 - depth) + (1.0 - share) * hyperbola.flux_density(
        -depth * curve.coercivity
    )

    np.testing.assert_allclose(plain.flux_density(-depth * curve.coercivity), expected, atol=1e-9)


@given(knee_curves(), st.floats(0.95, 1.05), st.floats(0.95, 1.05), st.floats(0.9, 1.1))
@settings(max_examples=50)
def test_limited_scaling_always_gives_a_curve(curve, one, two, three):
    assume(MU_0 * 1.05 * curve.coercivity * two < 0.9 * curve.remanence * one)
    constants = dict(
        remanence=curve.remanence * one,
        coercivity=curve.coercivity * two,
        energy_product=curve.energy_product * three,
    )
    assume(constants["remanence"] <= 1.6)

    scaled = curve.scaled(**constants, limit=True)

    assert scaled.remanence == constants["remanence"]
    assert scaled.coercivity == constants["coercivity"]
    assert scaled.shape == curve.shape
    low, high = energy_product_range(remanence=scaled.remanence, coercivity=scaled.coercivity, shape=curve.shape)
    assert low <= scaled.energy_product <= high
    if low * 1.001 <= constants["energy_product"] <= high * 0.999:
        assert scaled.energy_product == constants["energy_product"]


@pytest.mark.parametrize("slug", GRADES)
def test_scaling_to_the_own_constants_changes_nothing(slug):
    curve = catalogue.magnet(slug).curve
    field = -np.linspace(0.0, curve.coercivity, 50)

    again = curve.scaled(energy_product=curve.energy_product)
    kept = curve.scaled(remanence=curve.remanence)  # (BH)max follows from the shape

    np.testing.assert_allclose(again.flux_density(field), curve.flux_density(field), atol=1e-9)
    np.testing.assert_allclose(kept.flux_density(field), curve.flux_density(field), atol=1e-6)


def test_scaling_remanence_alone_of_ferrite_lets_the_energy_product_follow():
    """Straight-line ferrite: (BH)max goes as Br^2 (exactly so for an infinite coercivity)."""
    grade = catalogue.magnet("ceramic-8")

    weaker = grade.with_constants(remanence=0.99 * grade.remanence)

    assert weaker.energy_product / grade.energy_product == pytest.approx(0.99**2, rel=2e-3)


@pytest.mark.parametrize(
    ("change", "slip"),
    [
        (dict(remanence=12500.0), "gauss"),
        (dict(coercivity=50.0), "kA/m"),
        (dict(energy_product=5.5), "below|MGOe|between"),
        (dict(energy_product=70e3), "between|below"),
    ],
)
def test_impossible_constants_are_refused_with_the_likely_slip(change, slip):
    curve = catalogue.magnet("alnico-5").curve
    constants = dict(remanence=1.25, coercivity=50e3, energy_product=40e3) | change

    with pytest.raises(InputError, match=slip):
        KneeCurve(**constants, shape=curve.shape)
    with pytest.raises(InputError, match=slip):
        curve.scaled(**constants)


def test_intrinsic_coercivity_of_ferrite_is_noticed():
    """HcJ typed for HcB: mu0 HcJ would exceed Br."""
    with pytest.raises(InputError, match="HcJ"):
        catalogue.magnet("ceramic-8").with_constants(coercivity=318e3)


def test_own_constants():
    own = from_constants(1.2, 50e3, 38e3, 3.6, resistivity=47e-8)
    curved = from_constants(1.2, 50e3, 38e3, 3.6, law="curve", shape=catalogue.magnet("alnico-5").curve.shape)

    assert isinstance(own.curve, Hyperbola)
    assert isinstance(curved.curve, KneeCurve)
    assert (own.slug, own.remanence, own.coercivity) == ("own", 1.2, 50e3)
    with pytest.raises(InputError, match="shape"):
        from_constants(1.2, 50e3, 38e3, 3.6, law="curve")
    with pytest.raises(InputError, match="relative"):
        from_constants(1.2, 50e3, 38e3, 4.5e-6)
    with pytest.raises(InputError, match="microohm"):
        from_constants(1.2, 50e3, 38e3, 3.6, resistivity=47e-12)


@given(st.floats(-3.0, 3.0), st.floats(0.1, 8.0), st.sampled_from([1.0, -1.0]))
def test_the_root_is_the_one_that_a_library_finds(place, steepness, sense):
    def error(x: float) -> float:
        return sense * (math.expm1(steepness * (x - place)) + 0.1 * (x - place) ** 3)

    assert _root(error, -4.0, 5.0) == pytest.approx(brentq(error, -4.0, 5.0, xtol=1e-14), abs=2e-10)


def test_an_end_may_be_the_root():
    assert _root(lambda x: x - 2.0, -1.0, 2.0) == 2.0
    assert _root(lambda x: x + 1.0, -1.0, 2.0) == pytest.approx(-1.0, abs=1e-10)
