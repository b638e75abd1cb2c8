"""Simulated listeners: how often guessing passes and hearing is missed, and whether intervals hold what is true."""

from collections.abc import Iterator

import numpy as np

from polepiece.measure import PreferencePlan, PreferenceTrial, ThresholdPlan, ThresholdTrial, TrialPlan, right_rate
from verification.holding import share_row
from verification.registry import Row, study

RUNS = 10_000
SESSIONS = 400  # of the two kinds that fit a model
DATE = "2026-11-30"
LISTENERS = {"guessing": 0.0, "hears 40 %": 0.4, "hears 70 %": 0.7, "perfect": 1.0 - 1e-12}
PLANS = {
    "16, one of two": TrialPlan(),
    "16, one of three": TrialPlan(kind="odd"),
    "40 at most, one of two": TrialPlan(trials=40, stop="sequential"),
    "40 at most, one of three": TrialPlan(kind="odd", trials=40, stop="sequential"),
}


@study(
    "listeners",
    "Blind trials: simulated listeners",
    f"{RUNS:,} trials a row, answered one by one. Found is the share that ends as heard, beside the exact chance that "
    "the rule states beforehand; the tolerance is four standard deviations of the share. A listener who drifts hears "
    "70 % at first and guesses at the end: the rule states nothing of such a one, his rows are not judged. Then "
    f"{SESSIONS} sessions of preferences (five states, 20 pairs) and as many staircases: the share of 90 % intervals "
    "that hold the worths and thresholds that were put in (`verification/holding.py`).",
)
def listeners() -> Iterator[Row]:
    """Yield false alarms, power and intervals."""
    rng = np.random.default_rng(20261130)
    for name, plan in PLANS.items():
        for who, share in LISTENERS.items():
            rate = right_rate(share, plan.guess)
            passed, answers = _walks(plan, np.full(plan.trials, rate), rng)
            stated = plan.chance_to_pass(rate)
            yield Row(
                case=f"{name}: {who}", quantity="ends as heard", found=f"{passed:.4f} after {answers:.1f} answers",
                reference=f"{stated:.4f} after {plan.rule.answers_expected(rate):.1f}", error=passed - stated,
                tolerance=4.0 * float(np.sqrt(max(stated * (1.0 - stated), 1.0 / RUNS) / RUNS)),
            )  # fmt: skip
        tiring = right_rate(1.0, plan.guess) * np.linspace(0.7, 0.0, plan.trials)
        rates = plan.guess + (1.0 - plan.guess) * tiring
        passed, answers = _walks(plan, rates, rng)
        yield Row(case=f"{name}: drifting", quantity="ends as heard", found=f"{passed:.4f}", reference="not stated")
    yield share_row("preferences", "worths", [_worths_held(k) for k in range(SESSIONS)], rows=2, at_least=True)
    yield share_row("staircases", "threshold", [_threshold_held(k) for k in range(SESSIONS)], rows=2, at_least=True)


def _walks(plan: TrialPlan, rates: "np.ndarray", rng: np.random.Generator) -> tuple[float, float]:  # type: ignore[type-arg]
    passed = answers = 0
    rule = plan.rule
    for draws in rng.random((RUNS, plan.trials)) < rates:
        right = n = 0
        while (verdict := rule.verdict(n, right)) is None:
            right, n = right + int(draws[n]), n + 1
        passed, answers = passed + verdict, answers + n
    return passed / RUNS, answers / RUNS


def _worths_held(seed: int) -> list[bool]:
    rng = np.random.default_rng([seed, 1])
    worth = rng.normal(0.0, 1.0, 5)
    worth -= worth.mean()
    names = tuple("abcde")
    one = PreferenceTrial(plan=PreferencePlan(states=names), seed=seed, date=DATE)
    while not one.over:
        apart = worth[names.index(one.plays("1"))] - worth[names.index(one.plays("2"))]
        one = one.answered("1" if rng.random() < 1.0 / (1.0 + np.exp(-apart)) else "2")
    found = one.outcome().worths
    return [bool(low <= true <= high) for low, true, high in zip(found.low, worth, found.high)]


def _threshold_held(seed: int) -> bool:
    rng = np.random.default_rng([seed, 2])
    true, slope = float(np.exp(rng.uniform(np.log(0.3), np.log(2.0)))), rng.uniform(1.2, 3.5)
    one = ThresholdTrial(plan=ThresholdPlan(), seed=seed, date=DATE)
    while not one.over:
        sides = [one.plays(slot)[0] for slot in "123"]
        alone = "123"[next(k for k in range(3) if sides.count(sides[k]) == 1)]
        heard = rng.random() < 1.0 - 0.5 ** ((one.differences()[-1] / true) ** slope)
        one = one.answered(alone if heard else "123"[rng.integers(0, 3)])
    found = one.outcome()
    return found.low <= true <= found.high
