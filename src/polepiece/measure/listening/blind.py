"""A blind trial: is a change heard? Order drawn and stopping rule stated before it starts, result told at its end."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from functools import cache
from typing import Any, Literal

import numpy as np

from polepiece.errors import InputError
from polepiece.measure.estimate import Estimate
from polepiece.measure.listening.begun import check_begun
from polepiece.measure.listening.rule import Rule, detected, fixed_rule, right_rate, sequential_rule
from polepiece.measure.readback import read_back

SCHEMA = "polepiece/blind-trial/2"
FIRST_SCHEMA = "polepiece/blind-trial/1"  # without three sounds and sequential ends; still read
LEVEL = 0.05
USUAL = 16
Kind = Literal["abx", "pair", "odd"]
Stop = Literal["fixed", "sequential"]
Side = Literal["before", "after"]
Sounds = Literal["recorded", "computed"]
SLOTS: dict[Kind, tuple[str, ...]] = {"abx": ("A", "B", "X"), "pair": ("1", "2"), "odd": ("1", "2", "3")}
ANSWERS: dict[Kind, tuple[str, ...]] = {"abx": ("A", "B"), "pair": ("1", "2"), "odd": ("1", "2", "3")}
QUESTIONS: dict[Kind, str] = {
    "abx": "A is before, B is after. Which of the two is X?",
    "pair": "One of the two is after the change. Which one?",
    "odd": "Two of the three are the same. Which one is not?",
}
OTHER: dict[Side, Side] = {"before": "after", "after": "before"}


@cache
def _rule(answers: int, guess: float, level: float, stop: Stop, heard_share: float, miss: float) -> Rule:
    if stop == "fixed":
        return fixed_rule(answers, guess, level)
    return sequential_rule(answers, guess, level, heard_share=heard_share, miss=miss)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialPlan:
    """What is fixed before the first sound: kind, most trials, how it ends, level of significance, equally loud or not.

    ``sounds``: of the guitar itself, or computed; a trial on computed sounds says whether what was computed is heard,
    not whether the guitar has changed. ``heard_share`` and ``miss`` are of a sequential end (see ``sequential_rule``).
    """

    kind: Kind = "abx"
    trials: int = USUAL
    level: float = LEVEL
    level_matched: bool = True
    sounds: Sounds = "recorded"
    stop: Stop = "fixed"
    heard_share: float = 0.5
    miss: float = 0.10

    def __post_init__(self) -> None:
        for name, allowed in (("sounds", ("recorded", "computed")), ("kind", SLOTS), ("stop", ("fixed", "sequential"))):
            if getattr(self, name) not in allowed:
                raise InputError(f"{name} is {getattr(self, name)!r:.60}; allowed are {', '.join(allowed)}.")
        if not isinstance(self.level, int | float) or not 0.0 < self.level < 0.5:
            raise InputError(f"level is {self.level!r:.60}; a share is needed: 5 % is 0.05.")
        for name in ("heard_share", "miss"):
            if not isinstance(getattr(self, name), int | float) or not 0.0 < getattr(self, name) < 1.0:
                raise InputError(f"{name} is {getattr(self, name)!r:.60}; a share between 0 and 1 is needed.")
        _ = self.rule

    @property
    def guess(self) -> float:
        """Rate of right answers by guessing."""
        return 1.0 / len(ANSWERS[self.kind])

    @property
    def rule(self) -> Rule:
        """When it ends, and what its end says."""
        return _rule(self.trials, self.guess, self.level, self.stop, self.heard_share, self.miss)

    @property
    def needed(self) -> int:
        """The fewest right answers of all trials that guessing reaches in no more than ``level`` of such trials."""
        return self.rule.heard_at[-1]

    @property
    def stopping_rule(self) -> str:
        """What is agreed before the first sound."""
        at = f"at the {100 * self.level:g} % level"
        if self.stop == "fixed":
            return (
                f"{self.trials} trials, all of them, whatever the answers; nothing is looked at before the last. "
                f"{self.needed} right or more: heard, {at}. Fewer: not shown to be heard."
            )
        misses = 1.0 - self.rule.chance_to_pass(right_rate(self.heard_share, self.guess))
        return (
            f"It ends by itself, after {self.trials} trials at most: heard, {at} (guessing passes in "
            f"{100 * self.rule.chance_to_pass(self.guess):.1f} %), or not shown to be heard (who hears it in "
            f"{100 * self.heard_share:.0f} % of the trials is missed in {100 * misses:.0f} %). "
            "Nothing is told before it ends."
        )

    def chance_to_pass(self, share: float) -> float:
        """Return how likely a listener passes who is right in ``share`` of the trials."""
        return self.rule.chance_to_pass(share)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A trial that is over."""

    right: int
    trials: int  # answered
    needed: int  # right ones of that many
    chance: float  # of this or a greater sign of hearing by guessing alone
    share: Estimate  # of right answers, with its exact 90 % interval
    detected: Estimate  # share in which it was heard, beyond guessing (Abbott's formula)
    heard: bool  # the rule that was stated beforehand is met


@dataclass(frozen=True, slots=True, kw_only=True)
class BlindTrial:
    """A trial on its way. Each answer gives a new record; what is right is told at the end only.

    The record keeps the seed and not the order, so that nobody sees it who does not work it out on purpose.
    """

    plan: TrialPlan
    seed: int
    date: str
    answers: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        check_begun(self.seed, self.date)
        if len(self.answers) > self.plan.trials:
            raise InputError(f"{len(self.answers)} answers to {self.plan.trials} trials.")
        for one in self.answers:
            self._check(one)
        for count in range(len(self.answers)):
            if self._ended(count):
                raise InputError(f"{len(self.answers)} answers to a trial that had ended after {count}.")

    @property
    def number(self) -> int | None:
        """Number of the trial that is on now, from 1; None at the end."""
        return None if self.over else len(self.answers) + 1

    @property
    def over(self) -> bool:
        """Whether its rule has ended it."""
        return self._ended(len(self.answers))

    @property
    def question(self) -> str:
        """What is asked at every trial."""
        return QUESTIONS[self.plan.kind]

    def plays(self, slot: str) -> Side:
        """Return which sound lies behind a button of the trial that is on now; for the player, not for the listener."""
        slots = SLOTS[self.plan.kind]
        if slot not in slots:
            raise InputError(f"there is no button {slot!r:.60}; there are {', '.join(slots)}.")
        if self.over:
            raise InputError("the trial is over; nothing is played any more.")
        if slot in ("A", "B"):
            return "before" if slot == "A" else "after"
        key = self._key()[len(self.answers)]
        if self.plan.kind == "odd":
            odd = self._odd_sides()[len(self.answers)]
            return odd if slot == key else OTHER[odd]
        return "after" if key == ("B" if slot == "X" else slot) else "before"

    def answered(self, answer: str) -> "BlindTrial":
        """Return the trial with one answer more.

        Raises
        ------
        InputError
            For an answer that is none, or when all trials have theirs: more are not added afterwards.
        """
        if self.over:
            raise InputError(
                f"the trial ended after {len(self.answers)} answers. More of them after a look at the result would "
                "void it: plan a new trial."
            )
        word = answer.strip().upper()
        self._check(word)
        return replace(self, answers=(*self.answers, word))

    def outcome(self) -> Outcome:
        """Return the result: exact binomial sums in the order of the ends (derived in `rule`).

        Raises
        ------
        InputError
            Before the end: a result that is looked at on the way voids the trial.
        """
        if not self.over:
            raise InputError(
                f"{len(self.answers)} of {self.plan.trials} trials are answered; the result is told after the last. "
                f"Rule: {self.plan.stopping_rule}"
            )
        rule, count, right = self.plan.rule, len(self.answers), self._right(len(self.answers))
        low, high = rule.rate_interval(count, right)
        beyond = [detected(rate, self.plan.guess) for rate in (right / count, low, high)]
        return Outcome(
            right=right,
            trials=count,
            needed=rule.heard_at[count - 1],
            chance=rule.chance_of_guessing(count, right),
            share=Estimate(name="share_right", value=right / count, low=low, high=high, unit="1"),
            detected=Estimate(name="share_detected", value=beyond[0], low=beyond[1], high=beyond[2], unit="1"),
            heard=rule.verdict(count, right) is True,
        )

    def to_dict(self) -> dict[str, Any]:
        """Return plain numbers and texts, ready for JSON."""
        return {
            "schema": SCHEMA, "plan": asdict(self.plan), "seed": self.seed, "date": self.date,
            "answers": list(self.answers),
        }  # fmt: skip

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "BlindTrial":
        """Return the trial that ``to_dict`` gave.

        Raises
        ------
        MeasurementError
            When ``data`` is something else, naming what is missing.
        """
        known = FIRST_SCHEMA if data.get("schema") == FIRST_SCHEMA else SCHEMA
        with read_back(data, known, "a blind trial"):
            return cls(
                plan=TrialPlan(**data["plan"]), seed=data["seed"], date=data["date"], answers=tuple(data["answers"])
            )

    def _key(self) -> list[str]:
        """Return the right answers: independent even chances, so that guessing is exactly one of the answers."""
        answers = ANSWERS[self.plan.kind]
        draws = np.random.default_rng([self.seed, self.plan.trials]).integers(0, len(answers), self.plan.trials)
        return [answers[one] for one in draws]

    def _odd_sides(self) -> list[Side]:
        """Return which of the two sounds stands alone among the three."""
        draws = np.random.default_rng([self.seed, self.plan.trials, 1]).integers(0, 2, self.plan.trials)
        return ["after" if one else "before" for one in draws]

    def _right(self, count: int) -> int:
        return sum(one == key for one, key in zip(self.answers[:count], self._key()))

    def _ended(self, count: int) -> bool:
        if self.plan.stop == "fixed":
            return count == self.plan.trials
        return self.plan.rule.verdict(count, self._right(count)) is not None

    def _check(self, answer: str) -> None:
        allowed = ANSWERS[self.plan.kind]
        if answer not in allowed:
            raise InputError(f"the answer is {answer!r:.60}; {self.question} Answer {' or '.join(allowed)}.")
