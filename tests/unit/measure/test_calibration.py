"""Calibration: counts against exact binomial intervals, words that follow them, a chart whose marks stand right."""

import numpy as np
import pytest
from scipy.stats import beta, norm

from polepiece.errors import InputError
from polepiece.measure import added, calibration, calibration_chart, multiples
from polepiece.measure.ledger.calibration import LEVELS


def drawn(wide: float, count: int, seed: int) -> "list[int]":
    """Count normal values inside intervals that are ``wide`` times as wide as they should be."""
    off = np.abs(np.random.default_rng(seed).standard_normal(count)) / (wide * norm.ppf(0.95))
    return [int((off <= one).sum()) for one in multiples()]


def test_multiples_are_the_normal_quantiles() -> None:
    assert multiples((0.5, 0.9)) == pytest.approx((norm.ppf(0.75) / norm.ppf(0.95), 1.0), rel=1e-9)  # both double


@pytest.mark.parametrize(("wide", "words"), [(1.0, "no sign"), (0.5, "too narrow"), (2.5, "too wide")])
def test_the_verdict_follows_the_width(wide: float, words: str) -> None:
    """200 values: shares of 0.9 scatter by 0.02, those of half as wide intervals lie at 0.59, of wide ones at 1."""
    found = calibration(drawn(wide, 200, seed=3), 200, 90)
    assert words in found.words and f"{found.at(0.9).inside} of 200" in found.words
    for one in found.shares:
        low = beta.ppf(0.025, one.inside, 200 - one.inside + 1) if one.inside else 0.0
        high = beta.ppf(0.975, one.inside + 1, 200 - one.inside) if one.inside < 200 else 1.0
        assert (one.low, one.high) == pytest.approx((low, high), abs=1e-9)  # Clopper and Pearson by another road


def test_the_chart_marks_what_is_said_and_what_was_found() -> None:
    found = calibration(drawn(0.5, 200, seed=3), 200, 90)
    lines = calibration_chart(found, width=100)
    assert len(lines) == len(LEVELS)
    for line, one in zip(lines, found.shares):
        row = line[6 : 6 + 101]
        assert row.index("o") == round(100 * one.found)
        assert round(100 * one.level) in (row.index("o"), row.find("|"))


def test_nothing_to_count_is_said() -> None:
    with pytest.raises(InputError, match="nothing to count"):
        calibration([0] * len(LEVELS), 0, 0)
    assert added([]) == [0] * len(LEVELS) and added([[1] * 9, [2] * 9]) == [3] * 9
