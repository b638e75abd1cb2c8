"""Rules of listening trials: printed tables, exact chances beside a general library and beside drawn walks."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from polepiece.errors import InputError
from polepiece.measure.listening.rule import Rule, detected, fixed_rule, right_rate, sequential_rule
from tests.tables import every

# Fewest right answers of a triangle test at the 5 % level, assessors 6 .. 30: the table of ISO 4120, from memory.
TRIANGLE = dict(
    zip(range(6, 31), (5, 5, 6, 6, 7, 7, 8, 8, 9, 9, 9, 10, 10, 11, 11, 12, 12, 12, 13, 13, 14, 14, 15, 15, 15))
)


@every(TRIANGLE.items())
def test_one_of_three_is_as_printed(count: int, needed: int) -> None:
    assert fixed_rule(count, 1.0 / 3.0, 0.05).heard_at[-1] == needed


@given(st.integers(5, 60), st.sampled_from([0.5, 1.0 / 3.0]), st.data())
def test_fixed_counts_are_the_binomial(count: int, guess: float, data: st.DataObject) -> None:
    """Against scipy's exact test, whose interval is Clopper and Pearson's; 1e-8 is the root's own tolerance."""
    right = data.draw(st.integers(0, count))
    rule = fixed_rule(count, guess, 0.05)
    assert rule.chance_of_guessing(count, right) == pytest.approx(binom.sf(right - 1, count, guess), rel=1e-9)
    span = binomtest(right, count).proportion_ci(0.90, method="exact")
    assert rule.rate_interval(count, right) == pytest.approx((span.low, span.high), abs=1e-8)


def walked(rule: Rule, rate: float, runs: int, seed: int) -> tuple[float, float]:
    """Share that passes and mean answers of drawn listeners who are asked one answer at a time."""
    rng = np.random.default_rng(seed)
    passed, answers = 0, 0
    for _ in range(runs):
        n = right = 0
        while (verdict := rule.verdict(n, right)) is None:
            n, right = n + 1, right + int(rng.random() < rate)
        passed, answers = passed + verdict, answers + n
    return passed / runs, answers / runs


@pytest.mark.parametrize("guess", [0.5, 1.0 / 3.0])
@pytest.mark.parametrize("share", [0.0, 0.5, 0.8])
def test_sequential_rates_are_those_of_drawn_listeners(guess: float, share: float) -> None:
    """4 standard deviations of 2,000 runs: 1 in 16,000 by chance; the answers' spread is at most 12."""
    rule, rate = sequential_rule(40, guess, 0.05), right_rate(share, guess)
    passed, answers = walked(rule, rate, 2000, 3)
    chance = rule.chance_to_pass(rate)
    assert passed == pytest.approx(chance, abs=4.0 * np.sqrt(max(chance * (1.0 - chance), 1e-3) / 2000))
    assert answers == pytest.approx(rule.answers_expected(rate), abs=4.0 * 12.0 / np.sqrt(2000))


def test_a_sequential_test_keeps_its_level_and_saves_answers() -> None:
    rule, fixed = sequential_rule(40, 0.5, 0.05), fixed_rule(40, 0.5, 0.05)
    assert rule.chance_to_pass(0.5) <= 0.05
    assert rule.answers_expected(1.0 - 1e-12) < 12.0 < fixed.most
    assert sum(walks * 0.5**n for n, _, walks in rule.ends) == pytest.approx(1.0, rel=1e-12)


def test_the_order_of_ends_is_a_p_value() -> None:
    """Guessing reaches p <= x in at most x of all trials, whatever x: what makes it a p-value."""
    rule = sequential_rule(30, 0.5, 0.05)
    chances = [(rule.chance_of_guessing(n, k), walks * 0.5**n) for n, k, walks in rule.ends]
    for level in (0.01, 0.05, 0.2, 0.5):
        assert sum(own for p, own in chances if p <= level) <= level + 1e-12
    heard = [p for p, (n, k, _) in zip([p for p, _ in chances], rule.ends) if rule.verdict(n, k)]
    assert max(heard) <= 0.05


@pytest.mark.parametrize("rate", [0.55, 0.7, 0.9])
def test_intervals_of_stopped_tests_hold_the_rate(rate: float) -> None:
    """Exactly: the chance of all ends whose interval holds the rate is 90 % at least, as an exact interval promises."""
    rule = sequential_rule(30, 0.5, 0.05)
    held = 0.0
    for n, k, walks in rule.ends:
        low, high = rule.rate_interval(n, k)
        held += walks * rate**k * (1.0 - rate) ** (n - k) * (low <= rate <= high)
    assert 0.90 <= held <= 1.0


def test_abbotts_formula_and_its_way_back() -> None:
    assert detected(0.75, 0.5) == 0.5
    assert detected(0.4, 0.5) == 0.0
    assert right_rate(detected(0.9, 1.0 / 3.0), 1.0 / 3.0) == pytest.approx(0.9)


@pytest.mark.parametrize("most", [0, 201, True, 2.5])
def test_counts_that_cannot_be(most: object) -> None:
    for rule in (fixed_rule, sequential_rule):
        with pytest.raises(InputError, match="whole number"):
            rule(most, 0.5, 0.05)  # type: ignore[arg-type]


def test_too_few_to_reach_the_level() -> None:
    with pytest.raises(InputError, match="5 at least"):
        fixed_rule(4, 0.5, 0.05)
    with pytest.raises(InputError, match="3 at least"):
        fixed_rule(2, 1.0 / 3.0, 0.05)
    with pytest.raises(InputError, match="nobody can pass"):
        sequential_rule(5, 0.5, 0.05)
    with pytest.raises(InputError, match="no end"):
        fixed_rule(16, 0.5, 0.05).chance_of_guessing(12, 9)
