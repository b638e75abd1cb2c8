"""The staircase: where it gathers, what it reads from simulated listeners, and that it keeps its rule."""

import json

import numpy as np
import pytest

from polepiece.errors import InputError, MeasurementError
from polepiece.measure.listening.threshold import BUTTONS, ThresholdPlan, ThresholdTrial


def listened(true: float, slope: float, seed: int, **plan: object) -> ThresholdTrial:
    """A listener whose detection is a Weibull function of the difference, half at ``true``; the rest is guessed."""
    rng = np.random.default_rng([seed, 11])
    one = ThresholdTrial(plan=ThresholdPlan(**plan), seed=seed, date="2026-11-30")  # type: ignore[arg-type]
    while not one.over:
        odd = {slot: one.plays(slot)[0] for slot in BUTTONS}
        alone = next(slot for slot in BUTTONS if list(odd.values()).count(odd[slot]) == 1)
        heard = rng.random() < 1.0 - 0.5 ** ((one.differences()[-1] / true) ** slope)
        one = one.answered(alone if heard else BUTTONS[rng.integers(0, 3)])
    return one


def test_thresholds_of_simulated_listeners_are_held() -> None:
    """40 listeners, thresholds over a factor of seven and slopes unknown to it: 90 % intervals, 3 sd below is 76 %."""
    rng = np.random.default_rng(1)
    held, off = [], []
    for seed in range(40):
        true, slope = float(np.exp(rng.uniform(np.log(0.3), np.log(2.0)))), rng.uniform(1.2, 3.5)
        found = listened(true, slope, seed).outcome()
        held.append(found.low <= true <= found.high)
        off.append(np.log(found.value / true))
    assert np.mean(held) >= 0.76
    assert abs(np.mean(off)) < 0.15  # no lean: the spread of one is 0.2


def test_two_down_one_up_gathers_where_seven_in_ten_are_right() -> None:
    """Levitt 1971: 70.7 % right where the walk settles; over 30 walks of 60 answers, first 15 left out: within 4 %."""
    right = [listened(0.8, 2.0, seed, turns=20, most=60).right()[15:] for seed in range(30)]
    assert np.mean(np.concatenate(right)) == pytest.approx(0.707, abs=0.04)


def test_who_hears_nothing_or_all_has_no_threshold() -> None:
    with pytest.raises(InputError, match="not even the largest"):
        listened(1e6, 2.0, 3).outcome()
    with pytest.raises(InputError, match="smallest was heard"):
        listened(1e-6, 2.0, 3).outcome()


def test_who_only_guesses_is_never_told_a_threshold() -> None:
    """60 guessers over the quantities: each is told that not even the largest difference was heard."""
    rng = np.random.default_rng(6)
    for seed in range(60):
        quantity = ("level", "resonance", "brightness")[seed % 3]
        one = ThresholdTrial(plan=ThresholdPlan(quantity=quantity), seed=seed, date="2026-11-30")  # type: ignore[arg-type]
        while not one.over:
            one = one.answered(BUTTONS[rng.integers(0, 3)])
        assert max(one.differences()) == pytest.approx(1.5 * one.plan.first)  # pushed to the bound and held there
        with pytest.raises(InputError, match="not even the largest difference was heard"):
            one.outcome()


def test_slips_of_an_ear_that_hears_do_not_carry_it_away() -> None:
    """An ear of 1 dB that answers one trial in eight with its eyes shut: half to twice that, and held in 80 %."""
    rng, found = np.random.default_rng(8), []
    for seed in range(40):
        one = ThresholdTrial(plan=ThresholdPlan(), seed=seed, date="2026-11-30")
        while not one.over:
            sides = {slot: one.plays(slot)[0] for slot in BUTTONS}
            alone = next(slot for slot in BUTTONS if list(sides.values()).count(sides[slot]) == 1)
            heard = rng.random() > 0.125 and one.differences()[-1] > 1.0
            one = one.answered(alone if heard else BUTTONS[rng.integers(0, 3)])
        found.append(one.outcome())
    assert 0.5 < np.median([one.value for one in found]) < 2.0
    assert np.mean([one.low <= 1.0 <= one.high for one in found]) >= 0.8


def test_the_record_comes_back_and_reproduces() -> None:
    one = listened(0.7, 2.0, 5, quantity="resonance")
    back = ThresholdTrial.from_dict(json.loads(json.dumps(one.to_dict())))
    assert back == one
    assert back.outcome() == one.outcome()
    assert back.outcome().unit == "%"
    with pytest.raises(MeasurementError, match="lacks"):
        ThresholdTrial.from_dict({k: v for k, v in one.to_dict().items() if k != "plan"})


def test_nothing_is_told_before_the_end_and_nothing_added_after() -> None:
    begun = ThresholdTrial(plan=ThresholdPlan(), seed=5, date="2026-11-30")
    with pytest.raises(InputError, match="not ended"):
        begun.outcome()
    with pytest.raises(InputError, match="1, 2 or 3"):
        begun.answered("A")
    ended = listened(0.7, 2.0, 5)
    with pytest.raises(InputError, match="new one"):
        ended.answered("1")
    with pytest.raises(InputError, match="ended"):
        ended.plays("1")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"quantity": "warmth"}, "level, resonance, brightness"),
        ({"start": 0.0}, "above 0"),
        ({"turns": 3}, "4 to 20"),
        ({"most": True}, "20 to 120"),
    ],
)
def test_plans_that_cannot_be(given: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        ThresholdPlan(**given)  # type: ignore[arg-type]
