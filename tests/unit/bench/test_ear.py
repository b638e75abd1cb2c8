"""What one person hears stands in place of the published thresholds, and only where it was asked."""

from dataclasses import replace

import pytest

from polepiece.bench import ear_of, heard_by
from polepiece.bench.heard import difference_words, loudest
from polepiece.bench.quantities import QUANTITIES, threshold_of, threshold_source
from polepiece.errors import InputError
from polepiece.measure import Quantity, ThresholdPlan, ThresholdTrial


def staircase(quantity: Quantity, hears: float, *, date: str = "2026-11-30") -> ThresholdTrial:
    """A listener who is right whenever the difference is larger than ``hears``, and wrong otherwise."""
    trial = ThresholdTrial(plan=ThresholdPlan(quantity=quantity), seed=5, date=date)
    while not trial.over:
        odd = next(one for one in "123" if replace(trial, answers=(*trial.answers, one)).right()[-1])
        other = "1" if odd != "1" else "2"
        trial = trial.answered(odd if trial.differences()[-1] > hears else other)
    return trial


def test_a_threshold_is_that_of_the_ear_in_use() -> None:
    ear = ear_of([staircase("level", 0.4), staircase("brightness", 2.0)])
    assert threshold_of("level") == QUANTITIES["level"].threshold == 1.0
    with heard_by(ear):
        assert threshold_of("level") == ear.least["level"].value
        assert 0.2 < threshold_of("level") < 0.8  # a staircase ends within a factor of two of such a listener
        assert threshold_of("highs") == threshold_of("presence") == ear.least["brightness"].value > 1.0
        assert threshold_of("lows") == 1.0  # nobody has asked
        assert "2026-11-30" in threshold_source("level") and "dB" in threshold_source("level")
        assert threshold_source("lows") == QUANTITIES["lows"].source
    assert threshold_of("level") == 1.0 and "own ear" not in threshold_source("level")
    assert "level" in ear.words and "brightness" in ear.words


def test_what_is_said_to_be_heard_follows_the_ear() -> None:
    moved = {"level_db": 0.0, "bands_db.presence": 0.8, "bands_db.lows": 0.7}
    interval = {"level_db": (-0.1, 0.1), "bands_db.presence": (0.6, 1.0)}
    assert loudest(moved) == "presence"
    assert "hardly heard" in difference_words(moved, interval)
    with heard_by(ear_of([staircase("brightness", 0.25)])):
        assert "likely to be heard" in difference_words(moved, interval)
    with heard_by(ear_of([staircase("brightness", 3.0)])):
        assert loudest(moved) == "lows"


def test_the_last_of_several_counts_and_one_that_goes_on_does_not() -> None:
    early, late = staircase("level", 2.0, date="2026-11-01"), staircase("level", 0.4, date="2026-11-20")
    assert ear_of([late, early]).least["level"] == late.outcome()
    with pytest.raises(InputError, match="has not ended"):
        ear_of([ThresholdTrial(plan=ThresholdPlan(), seed=1, date="2026-11-30")])
