"""The rule that studies of intervals are judged by: what chance gives a tool that keeps its word."""

import numpy as np
import pytest
from scipy.stats import binomtest

from verification.holding import CHANCE, STATED, allowed, counted, share_row


@pytest.mark.parametrize(("trials", "rows"), [(48, 5), (120, 8), (200, 5), (2000, 34)])
def test_a_share_passes_where_an_exact_test_finds_nothing_odd(trials: int, rows: int) -> None:
    """Both ends against SciPy's exact binomial test, each side at half the chance of a row."""
    low, high = (round(trials * one) for one in allowed(trials, rows=rows))
    tail = CHANCE / rows / 2.0

    def odd(held: int, side: str) -> float:
        return float(binomtest(held, trials, STATED, alternative=side).pvalue)

    assert odd(low, "less") > tail >= odd(low - 1, "less")
    assert odd(high, "greater") > tail
    assert high == trials or odd(high + 1, "greater") <= tail


def test_more_trials_leave_less_to_chance_and_more_rows_more() -> None:
    widths = [np.ptp(allowed(trials, rows=rows)) for trials, rows in ((50, 1), (200, 1), (800, 1), (800, 10))]
    assert widths[0] > widths[1] > widths[2] < widths[3]
    assert allowed(200, rows=3, at_least=True)[1] == 1.0
    assert allowed(200, rows=3, at_least=True)[0] > allowed(200, rows=3)[0]  # all the chance on one side


def test_figures_that_go_together_count_once() -> None:
    random = np.random.default_rng(1)
    alone = random.random((100, 1)) < STATED
    assert counted(np.repeat(alone, 7, axis=1))[1] == counted(alone)[1] == 100
    apart = random.random((100, 7)) < STATED
    assert counted(apart)[1] > 500  # of 700; the scatter of 100 shares is known within a seventh


def test_too_many_that_hold_fail_unless_the_interval_states_more() -> None:
    held = np.ones(200, dtype=bool)
    assert share_row("c", "q", held, rows=4).verdict == "FAIL"
    assert share_row("c", "q", held, rows=4, at_least=True).verdict == "PASS"
    held[:20] = False
    assert share_row("c", "q", held, rows=4).verdict == "PASS"
    held[:40] = False
    assert share_row("c", "q", held, rows=4, at_least=True).verdict == "FAIL"
