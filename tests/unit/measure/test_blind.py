"""Blind trials: the count that is needed, the order, and that nobody looks before the end."""

import csv
import io
import json
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.stats import binom, binomtest

from polepiece.errors import InputError, MeasurementError
from polepiece.measure import ANSWERS, SLOTS, BlindTrial, TrialPlan, answers_csv, result_of

# Right answers needed at the 5 % level of 10, 11 .. 25 trials: the usual printed table of forced-choice listening
# tests (cumulative binomial, one half), as quoted in encyclopedias.
PRINTED = dict(zip(range(10, 26), (9, 9, 10, 10, 11, 12, 12, 13, 13, 14, 15, 15, 16, 16, 17, 18)))


def trial(kind: str = "abx", trials: int = 16, seed: int = 3) -> BlindTrial:
    return BlindTrial(plan=TrialPlan(kind=kind, trials=trials), seed=seed, date="2026-11-27")  # type: ignore[arg-type]


def played_through(one: BlindTrial, *, right: int) -> BlindTrial:
    """Answer as a listener does who hears the first ``right`` trials and always misses the others."""
    first, second = ANSWERS[one.plan.kind]
    while not one.over:
        truth = (first if one.plays("X") == "before" else second) if one.plan.kind == "abx" else (
            first if one.plays(first) == "after" else second)  # fmt: skip
        wrong = second if truth == first else first
        one = one.answered(truth if len(one.answers) < right else wrong)
    return one


@pytest.mark.parametrize(("trials", "needed"), PRINTED.items())
def test_needed_is_as_printed(trials: int, needed: int) -> None:
    assert TrialPlan(trials=trials).needed == needed


def test_twelve_of_sixteen() -> None:
    """P(12 or more of 16 by guessing) = 2517 / 65536 = 0.0384; 11 of 16 has 0.1051 (binomial tables)."""
    found = played_through(trial(), right=12).outcome()
    assert (found.right, found.heard) == (12, True)
    assert found.chance == pytest.approx(2517 / 65536, rel=1e-12)
    assert found.share.low < 0.75 < found.share.high
    less = played_through(trial(), right=11).outcome()
    assert (less.right, less.heard) == (11, False)
    assert less.chance == pytest.approx(0.1051, abs=5e-5)


@pytest.mark.parametrize("kind", ["abx", "pair"])
def test_a_listener_who_always_hears_it_is_always_right(kind: str) -> None:
    for seed in range(5):
        assert played_through(trial(kind, seed=seed), right=16).outcome().right == 16


def test_pair_plays_each_sound_once() -> None:
    one = trial("pair")
    while not one.over:
        assert {one.plays("1"), one.plays("2")} == {"before", "after"}
        one = one.answered("1")


def test_the_order_is_even_and_independent() -> None:
    """Half of the trials are one way, and the next does not follow from the last: 4 standard deviations allowed."""
    seen = []
    for seed in range(100):
        one = trial(seed=seed, trials=20)
        while not one.over:
            seen.append(one.plays("X") == "after")
            one = one.answered("A")
    changes = [a != b for a, b in pairwise(seen)]
    for share in (np.mean(seen), np.mean(changes)):
        assert share == pytest.approx(0.5, abs=4.0 * 0.5 / np.sqrt(2000))


def test_the_same_seed_is_the_same_trial() -> None:
    assert played_through(trial(seed=9), right=16) == played_through(trial(seed=9), right=16)


def test_the_result_is_told_at_the_end_only() -> None:
    one = trial()
    for _ in range(15):
        one = one.answered("a")
        with pytest.raises(InputError, match="after the last"):
            one.outcome()
    assert one.number == 16
    one = one.answered("B")
    assert one.number is None
    one.outcome()
    with pytest.raises(InputError, match="plan a new trial"):
        one.answered("A")
    with pytest.raises(InputError, match="is over"):
        one.plays("X")


def test_the_rule_is_stated_before() -> None:
    assert "16 trials" in trial().plan.stopping_rule
    assert "12 right or more" in trial().plan.stopping_rule


def test_guessing_passes_seldom_and_hearing_mostly() -> None:
    plan = TrialPlan(trials=16)
    assert plan.chance_to_pass(0.5) == pytest.approx(2517 / 65536, rel=1e-9)
    assert plan.chance_to_pass(0.9) > 0.95


def test_bad_input_is_refused() -> None:
    with pytest.raises(InputError, match="5 at least"):
        TrialPlan(trials=4)
    with pytest.raises(InputError, match=r"5 % is 0\.05"):
        TrialPlan(level=5)
    with pytest.raises(InputError, match="allowed are abx, pair"):
        TrialPlan(kind="triangle")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="Answer A or B"):
        trial().answered("X")
    with pytest.raises(InputError, match="there are A, B, X"):
        trial().plays("C")
    with pytest.raises(InputError, match="seed"):
        trial(seed=-1)


def test_a_trial_goes_through_json_and_back() -> None:
    one = trial("pair").answered("1").answered("2")
    body = json.loads(json.dumps(one.to_dict()))
    assert BlindTrial.from_dict(body) == one
    assert not {"order", "key", "right"} & set(body)
    with pytest.raises(MeasurementError, match="lacks 'seed'"):
        BlindTrial.from_dict({k: v for k, v in body.items() if k != "seed"})
    with pytest.raises(MeasurementError, match="damaged"):
        BlindTrial.from_dict({**body, "answers": ["X"]})
    assert set(SLOTS) == set(ANSWERS)


def test_three_sounds_hold_one_that_is_alone() -> None:
    one, alone = trial("odd", trials=30), []
    while not one.over:
        sides = [one.plays(slot) for slot in SLOTS["odd"]]
        (place,) = [k for k in range(3) if sides.count(sides[k]) == 1]
        alone.append((place, sides[place]))
        one = one.answered(SLOTS["odd"][place])
    assert {side for _, side in alone} == {"before", "after"}
    assert {place for place, _ in alone} == {0, 1, 2}
    found = one.outcome()
    assert (found.right, found.heard, found.detected.value) == (30, True, 1.0)
    assert found.chance == pytest.approx(3.0**-30)


def test_a_sequential_trial_ends_by_itself() -> None:
    plan = TrialPlan(kind="pair", trials=40, stop="sequential")
    one = played_through(BlindTrial(plan=plan, seed=2, date="2026-11-30"), right=40)
    assert len(one.answers) < 12
    assert one.outcome().heard
    assert one.outcome().chance <= 0.05
    assert "after 40 trials at most" in plan.stopping_rule
    with pytest.raises(InputError, match="had ended after"):
        BlindTrial(plan=plan, seed=2, date="2026-11-30", answers=(*one.answers, "1"))


def test_a_record_of_the_first_form_is_read() -> None:
    """What notebooks hold from before three sounds and sequential ends."""
    body = trial(trials=8).to_dict()
    old = {k: v for k, v in body["plan"].items() if k in ("kind", "trials", "level", "level_matched", "sounds")}
    assert BlindTrial.from_dict({**body, "schema": "polepiece/blind-trial/1", "plan": old}) == trial(trials=8)


def test_fewer_right_than_guessing_gives_is_said_as_that() -> None:
    """4 of 16: no share fits it (its upper bound is under a half), which is not told as a sure nought."""
    said = " ".join(result_of(played_through(trial(), right=4))[0])
    assert "Fewer were right than guessing gives (8 of 16)" in said and "0 to 0" not in said


def right_by_table(kind: str, row: dict[str, str]) -> bool:
    """Whether a line of the raw answers is right, by what it says was played and by nothing else."""
    chosen = row["answer"]
    if kind == "abx":
        return (row["button_A"] == row["button_X"]) == (chosen == "A")
    if kind == "pair":
        return row[f"button_{chosen}"] == "after"
    return [row[f"button_{one}"] for one in "123"].count(row[f"button_{chosen}"]) == 1


@pytest.mark.parametrize("kind", ["abx", "pair", "odd"])
def test_raw_answers_say_the_same_to_who_works_it_out_again(kind: str) -> None:
    """Records of drawn answers, read back; counts, p and interval from the table alone, with scipy. 1e-7: a root's."""
    rng = np.random.default_rng(len(kind))
    for _ in range(20):
        count = int(rng.integers(6, 60))
        answers = rng.choice(ANSWERS[kind], count)  # type: ignore[index]
        whole = replace(trial(kind, count, int(rng.integers(1 << 40))), answers=tuple(map(str, answers)))
        back = BlindTrial.from_dict(json.loads(json.dumps(whole.to_dict())))
        right = sum(right_by_table(kind, row) for row in csv.DictReader(io.StringIO(answers_csv(back))))
        found, guess = back.outcome(), 1.0 / len(ANSWERS[kind])  # type: ignore[index]
        assert found.right == right and found.heard == (binom.sf(right - 1, count, guess) <= 0.05)
        assert found.chance == pytest.approx(binom.sf(right - 1, count, guess), rel=1e-9)
        span = binomtest(right, count).proportion_ci(0.90, method="exact")
        assert (found.share.low, found.share.high) == pytest.approx((span.low, span.high), abs=1e-7)


@pytest.mark.parametrize("kind", ["abx", "odd"])
@pytest.mark.parametrize("habit", ["always the first", "in turn"])
def test_habits_pass_no_more_often_than_guessing(kind: str, habit: str) -> None:
    """1,000 orders, a sequential end; 4 standard deviations of the share that the rule states."""
    plan = TrialPlan(kind=kind, trials=30, stop="sequential")  # type: ignore[arg-type]
    options, passed = ANSWERS[plan.kind], 0
    for seed in range(1000):
        key, right, n = BlindTrial(plan=plan, seed=seed, date="2026-11-30")._key(), 0, 0
        while (verdict := plan.rule.verdict(n, right)) is None:
            right += key[n] == options[0 if habit == "always the first" else n % len(options)]
            n += 1
        passed += verdict
    stated = plan.chance_to_pass(plan.guess)
    assert passed / 1000 == pytest.approx(stated, abs=4.0 * np.sqrt(stated * (1.0 - stated) / 1000))
