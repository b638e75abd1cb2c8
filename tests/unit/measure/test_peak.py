"""The peak of an impedance read off points near it, where the model's form is wrong; truth from scipy's minimiser."""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.measure.sweep.peak import LEAST, peak_moved


def coil(hertz: FloatArray, *, share: float, corner: float, whole: float = 4.0) -> ComplexArray:
    """Z of 8 kilohm and about 4 H, of which a share falls with frequency as with eddy currents, beside 120 pF."""
    f = np.asarray(hertz)
    w = 2.0 * np.pi * f
    inductance = whole * (1.0 - share + share / (1.0 + 1j * f / corner))
    z: ComplexArray = 1.0 / (1.0 / (8e3 + 1j * w * inductance) + 1j * w * 120e-12)
    return z


def device(hertz: FloatArray) -> ComplexArray:
    """What is measured."""
    return coil(hertz, share=0.3, corner=90e3)


TRUE = float(
    minimize_scalar(
        lambda f: -abs(device(np.array([f]))[0]), bounds=(6e3, 9e3), method="bounded", options={"xatol": 1e-6}
    ).x
)
POINTS = np.geomspace(20.0, 20e3, 500)


def wrong(hertz: FloatArray) -> ComplexArray:
    """A model whose losses are a tenth off, and its inductance a little."""
    return coil(hertz, share=0.27, corner=88e3, whole=3.99)


WRONG = float(minimize_scalar(lambda f: -abs(wrong(np.array([f]))[0]), bounds=(6e3, 9e3), method="bounded").x)


def test_a_wrong_model_does_not_move_the_peak() -> None:
    z = device(POINTS)
    assert abs(WRONG / TRUE - 1.0) > 1e-3
    found = peak_moved(POINTS, z, 1e-6 * np.abs(z), wrong, WRONG)
    assert found is not None
    assert abs(found[0] / TRUE - 1.0) < 0.1 * abs(WRONG / TRUE - 1.0)


def test_the_deviation_is_that_of_repeated_noise() -> None:
    z = device(POINTS)
    random = np.random.default_rng(5)
    deviation = 2e-3 * np.abs(z)
    found = []
    for _ in range(300):
        noise = random.normal(size=len(z)) + 1j * random.normal(size=len(z))
        one = peak_moved(POINTS, z + deviation * noise, deviation, device, TRUE)
        assert one is not None
        found.append(one)
    values, stated = np.array(found).T
    assert values.mean() == pytest.approx(TRUE, abs=3.0 * values.std() / np.sqrt(300))
    assert np.median(stated) == pytest.approx(values.std(), rel=0.25)


def test_too_few_points_leave_the_model_alone() -> None:
    few = np.geomspace(100.0, 20e3, 20)
    assert np.count_nonzero(np.abs(few / WRONG - 1.0) < 0.12) < LEAST
    assert peak_moved(few, device(few), 1e-6 * np.abs(device(few)), wrong, WRONG) is None
