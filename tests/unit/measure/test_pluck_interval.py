"""The interval of a mean change over strings: coverage on simulated strings, and what it does at its edges."""

import dataclasses

import numpy as np
import pytest

from polepiece.errors import InputError
from polepiece.measure import Estimate, as_predicted, mean_change
from polepiece.measure.plucks.interval import weighted_change
from polepiece.measure.plucks.predicted import LEFT_OUT
from tests.reference.plucked_trials import coverage


@pytest.mark.parametrize(
    ("strings", "of", "plucks", "apart"), [(6, 6, 5, 0.0), (6, 6, 3, 1.5), (6, None, 5, 2.0), (2, None, 4, 2.0)]
)
def test_ninety_per_cent_intervals_hold_ninety_per_cent(strings, of, plucks, apart):
    """200 trials of 10 quantities; chance moves a share of 0.9 of 2000 by 0.7 % (sd): four of these either way."""
    held, _ = coverage(strings=strings, of=of, plucks=plucks, apart=apart, trials=200, quantities=10, seed=5)
    assert held.mean() == pytest.approx(0.90, abs=0.028)


@pytest.mark.parametrize(("strings", "apart"), [(2, 0.0), (2, 1.0), (2, 3.0), (3, 1.0), (5, 2.0)])
def test_some_of_the_strings_hold_for_all_of_them(strings, apart):
    """Of six: at least 90 %, less four standard deviations; not the 84 % of one t for a sum of variances."""
    held, _ = coverage(strings=strings, of=6, plucks=5, apart=apart, trials=200, quantities=10, seed=5)
    assert held.mean() > 0.872


def test_strings_that_are_all_there_are_may_differ_as_they_like():
    """The interval of all strings is that of their plucks, whatever they differ by; of fewer it grows with it."""
    random = np.random.default_rng(9)
    before = [random.normal(size=(5, 1)) for _ in range(6)]
    after = [random.normal(size=(5, 1)) for _ in range(6)]
    moved = [one + by for one, by in zip(after, (0.0, 0.0, 0.0, 0.0, 0.0, 6.0))]  # one screw

    def half(then, others):
        found = mean_change(before, then, others=others)
        return float(found.high[0] - found.value[0])

    assert half(moved, 0) == pytest.approx(half(after, 0))
    assert half(moved, 1) > 1.5 * half(moved, 0)
    assert half(moved, np.inf) > half(moved, 1)


def test_more_plucks_show_smaller_changes():
    few, many = (
        coverage(strings=6, of=6, plucks=plucks, apart=0.0, trials=40, quantities=10, seed=1)[1] for plucks in (3, 12)
    )
    assert many == pytest.approx(0.5 * few, rel=0.12)  # sd goes with 1/sqrt(n); Student's t is 3 % larger for few


def test_a_set_of_plucks_against_itself_is_exactly_nothing():
    random = np.random.default_rng(2)
    one = [random.normal(size=(5, 4)) for _ in range(6)]
    found = mean_change(one, one)
    assert np.all(found.value == 0.0)
    assert np.all(found.low < 0.0) and np.all(found.high > 0.0)


def test_plucks_without_spread_have_no_width_unless_strings_differ():
    flat = [np.zeros((3, 1))] * 3
    same = mean_change(flat, [np.ones((3, 1))] * 3)
    assert (same.value[0], same.low[0], same.high[0], same.least[0]) == (1.0, 1.0, 1.0, 0.0)
    apart = mean_change(flat, [np.full((3, 1), x) for x in (0.0, 1.0, 2.0)])
    # mean of 0, 1, 2: Student's t with 2 degrees of freedom 2.920 times 1/sqrt(3), as printed
    assert apart.high[0] - 1.0 == pytest.approx(2.920 / np.sqrt(3.0), rel=2e-4)


def test_a_value_that_is_missing_is_left_out_and_two_values_are_too_few():
    random = np.random.default_rng(4)
    before, after = random.normal(size=(5, 2)), random.normal(size=(5, 2)) + 1.0
    before[0, 0], after[:3, 1] = np.nan, np.nan
    found = mean_change([before], [after])
    assert found.value[0] == pytest.approx(after[:, 0].mean() - before[1:, 0].mean())
    assert np.isnan(found.value[1]) and np.isnan(found.least[1])


def test_sides_must_go_together():
    with pytest.raises(InputError, match="same strings"):
        mean_change([np.zeros((3, 1))], [])
    with pytest.raises(InputError, match="others is -1"):
        mean_change([np.zeros((3, 1))], [np.zeros((3, 1))], others=-1)


def test_a_weighted_change_of_one_string_is_students_interval_where_both_sides_scatter_alike():
    """Against scipy's interval for two sets of plucks, one of them the other turned over and moved."""
    from scipy import stats

    before = np.random.default_rng(8).normal(size=6)
    after = 1.0 - before
    found = weighted_change([before], [after], np.array([1.0]))
    assert found is not None
    theirs = stats.ttest_ind(after, before).confidence_interval(0.90)
    assert found[0] - found[1] == pytest.approx(theirs.low) and found[0] + found[1] == pytest.approx(theirs.high)


def test_a_side_that_scatters_alone_has_its_own_degrees_of_freedom():
    """The other side is exact, so half the interval is Student's t of five plucks' four degrees of freedom, 2.132."""
    after = np.random.default_rng(8).normal(size=5)
    found = weighted_change([np.zeros(9)], [after], np.array([1.0]))
    assert found is not None
    assert found[1] == pytest.approx(2.1318 * after.std(ddof=1) / np.sqrt(5.0), rel=1e-4)


def test_beside_a_prediction_plucks_allow_for_what_it_leaves_out():
    """An exact 1 dB is off a small stroke by anything within its limit, of which 90 % reaches 0.9; noise adds to it."""
    exact = Estimate(name="attack_minus_sustain_db.mids", value=1.0, low=1.0, high=1.0, unit="dB")
    limit = LEFT_OUT["attack_minus_sustain_db"]
    found = as_predicted(exact)
    assert (found.low, found.high) == pytest.approx((1.0 - 0.9 * limit, 1.0 + 0.9 * limit), rel=2e-3)  # 8192 draws
    rough = as_predicted(dataclasses.replace(exact, low=-1.0, high=2.0))
    assert 2.0 < rough.high < 2.1 and -1.1 < rough.low < -1.0
    other = dataclasses.replace(exact, name="third_octave_db.1000")  # no state has it
    assert as_predicted(other) == other
