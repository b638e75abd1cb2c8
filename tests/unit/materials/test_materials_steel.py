"""Steel laws: odd, saturating, smooth at zero, invertible."""

import math
from decimal import Decimal, localcontext

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from polepiece.constants import MU_0
from polepiece.errors import InputError
from polepiece.materials import (
    LangevinSteel,
    LinearSteel,
    TwoLangevinSteel,
)
from polepiece.materials.steel import langevin

laws = st.one_of(
    st.builds(LinearSteel, permeability=st.floats(1.0, 5000.0)),
    st.builds(LangevinSteel, saturation=st.floats(0.1, 2.1), a=st.floats(20.0, 2e4)),
    st.builds(
        TwoLangevinSteel,
        first_saturation=st.floats(0.1, 1.7),
        a=st.floats(20.0, 1e3),
        second_saturation=st.floats(0.05, 0.5),
        second_a=st.floats(1e3, 1e4),
    ),
)


@given(laws, st.floats(0.0, 1e6))
def test_magnetization_is_odd_and_its_slope_even(law, field):
    level, slope = law.magnetization(np.array([field, -field]))

    assert level[0] == -level[1]
    assert slope[0] == slope[1]


@given(laws, st.floats(1e-3, 1e6))
def test_slope_is_the_derivative(law, field):
    step = 1e-4 * field
    level, _ = law.magnetization(np.array([field - step, field + step]))
    slope = float(law.magnetization(field)[1])

    # second-order difference over 1e-4 of the field; where the law is flat, rounding of M rules
    rounding = 1e-15 * abs(level[1]) / step
    assert (level[1] - level[0]) / (2 * step) == pytest.approx(slope, rel=1e-6, abs=rounding * 10 + 1e-12)


@given(st.floats(0.1, 2.1), st.floats(20.0, 2e4))
def test_langevin_saturates_and_starts_with_its_permeability(saturation, a):
    law = LangevinSteel(saturation=saturation, a=a)

    far = MU_0 * law.magnetization(1e4 * a)[0]
    near = law.magnetization(1e-6 * a)

    assert far == pytest.approx(saturation, rel=2e-4)  # 1 - a/H
    assert 1.0 + near[1] == pytest.approx(law.initial_permeability, rel=1e-9)
    again = LangevinSteel.from_initial_permeability(law.initial_permeability, saturation)
    assert again.a == pytest.approx(a, rel=1e-9)


def test_langevin_function_against_many_digits():
    """L and L' in decimal arithmetic with 60 digits; both branches and the joint at 0.15 of the series.

    Tolerance: 1e-10 relative, the cancellation of the closed form just above the joint; its slope loses one
    digit more.
    """
    points = ["1e-8", "1e-3", "0.05", "0.1499", "0.1501", "0.5", "2", "15", "400"]
    exact, exact_slope = [], []
    with localcontext() as context:
        context.prec = 60
        for text in points:
            x = Decimal(text)
            up, down = x.exp(), (-x).exp()
            exact.append(float((up + down) / (up - down) - 1 / x))
            exact_slope.append(float(1 / x**2 - 4 / (up - down) ** 2))

    level, slope = langevin(np.array([float(text) for text in points]))

    np.testing.assert_allclose(level, exact, rtol=1e-10)
    np.testing.assert_allclose(slope, exact_slope, rtol=1e-9)


def test_langevin_at_zero():
    level, slope = langevin(np.zeros(3))

    assert np.all(level == 0.0)
    assert np.all(slope == 1.0 / 3.0)


def test_nothing_saturated_is_nothing_magnetic():
    law = LangevinSteel(saturation=0.0, a=100.0)

    assert np.all(law.magnetization([0.0, 1e3, -1e5])[0] == 0.0)


def test_bad_values_name_the_slip():
    with pytest.raises(InputError, match="gauss"):
        LangevinSteel(saturation=18000.0, a=200.0)
    with pytest.raises(InputError, match="relative"):
        LinearSteel(permeability=0.5)
    assert math.isinf(LinearSteel(permeability=2.0).saturation)
