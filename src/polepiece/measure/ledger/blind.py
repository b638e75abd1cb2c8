"""A blind trial: is a change heard? Order drawn and stopping rule stated before it starts, result told at its end."""

import datetime
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

import numpy as np
from scipy.stats import binom, binomtest

from polepiece.errors import InputError
from polepiece.measure.estimate import Estimate
from polepiece.measure.readback import read_back

SCHEMA = "polepiece/blind-trial/1"
LEVEL = 0.05
USUAL, MOST = 16, 200
Kind = Literal["abx", "pair"]
Side = Literal["before", "after"]
Sounds = Literal["recorded", "computed"]
SLOTS: dict[Kind, tuple[str, ...]] = {"abx": ("A", "B", "X"), "pair": ("1", "2")}
ANSWERS: dict[Kind, tuple[str, str]] = {"abx": ("A", "B"), "pair": ("1", "2")}
QUESTIONS: dict[Kind, str] = {
    "abx": "A is before, B is after. Which of the two is X?",
    "pair": "One of the two is after the change. Which one?",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialPlan:
    """What is fixed before the first sound: kind, number of trials, level of significance, level-matched or not.

    ``sounds``: of the guitar itself, or computed; a trial on computed sounds says whether what was computed is heard,
    not whether the guitar has changed.
    """

    kind: Kind = "abx"
    trials: int = USUAL
    level: float = LEVEL
    level_matched: bool = True
    sounds: Sounds = "recorded"

    def __post_init__(self) -> None:
        if self.sounds not in ("recorded", "computed"):
            raise InputError(f"sounds is {self.sounds!r}; allowed are recorded, computed.")
        if self.kind not in SLOTS:
            raise InputError(f"kind is {self.kind!r}; allowed are {', '.join(SLOTS)}.")
        if isinstance(self.trials, bool) or not isinstance(self.trials, int) or not 1 <= self.trials <= MOST:
            raise InputError(f"trials is {self.trials!r}; a whole number up to {MOST} is needed, 16 is usual.")
        if not isinstance(self.level, int | float) or not 0.0 < self.level < 0.5:
            raise InputError(f"level is {self.level!r}; a share is needed: 5 % is 0.05.")
        if 0.5**self.trials > self.level:
            least = int(np.ceil(np.log2(1.0 / self.level)))
            raise InputError(
                f"{self.trials} trials cannot reach the {100 * self.level:g} % level even when all are right; "
                f"{least} at least, 16 is usual."
            )

    @property
    def needed(self) -> int:
        """The fewest right answers that guessing reaches in no more than ``level`` of such trials."""
        return int(binom.isf(self.level, self.trials, 0.5)) + 1

    @property
    def stopping_rule(self) -> str:
        """What is agreed before the first sound."""
        return (
            f"{self.trials} trials, all of them, whatever the answers; nothing is looked at before the last. "
            f"{self.needed} right or more: heard, at the {100 * self.level:g} % level. Fewer: not shown to be heard."
        )

    def chance_to_pass(self, share: float) -> float:
        """Return how likely a listener passes who is right in ``share`` of the trials (0.5: only guesses)."""
        return float(binom.sf(self.needed - 1, self.trials, share))


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A trial that is over."""

    right: int
    trials: int
    needed: int
    chance: float  # of as many or more right answers by guessing alone
    share: Estimate  # of right answers, with its exact 90 % interval

    @property
    def heard(self) -> bool:
        """Whether the rule that was stated beforehand is met."""
        return self.right >= self.needed


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
        if isinstance(self.seed, bool) or not isinstance(self.seed, int) or self.seed < 0:
            raise InputError(f"seed is {self.seed!r}; a whole number from 0 on is needed.")
        try:
            datetime.date.fromisoformat(self.date)
        except (TypeError, ValueError):
            raise InputError(f"date is {self.date!r}; write 2026-11-25.") from None
        if len(self.answers) > self.plan.trials:
            raise InputError(f"{len(self.answers)} answers to {self.plan.trials} trials.")
        for one in self.answers:
            self._check(one)

    @property
    def number(self) -> int | None:
        """Number of the trial that is on now, from 1; None at the end."""
        return None if self.over else len(self.answers) + 1

    @property
    def over(self) -> bool:
        """Whether every trial has its answer."""
        return len(self.answers) == self.plan.trials

    @property
    def question(self) -> str:
        """What is asked at every trial."""
        return QUESTIONS[self.plan.kind]

    def plays(self, slot: str) -> Side:
        """Return which sound lies behind a button of the trial that is on now; for the player, not for the listener."""
        slots = SLOTS[self.plan.kind]
        if slot not in slots:
            raise InputError(f"there is no button {slot!r}; there are {', '.join(slots)}.")
        if self.over:
            raise InputError("the trial is over; nothing is played any more.")
        if slot in ("A", "B"):
            return "before" if slot == "A" else "after"
        key = self._key()[len(self.answers)]
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
                f"all {self.plan.trials} trials are answered. More trials after a look at the result would void it: "
                "plan a new trial."
            )
        word = answer.strip().upper()
        self._check(word)
        return replace(self, answers=(*self.answers, word))

    def outcome(self) -> Outcome:
        """Return the result.

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
        right = sum(one == key for one, key in zip(self.answers, self._key()))
        test = binomtest(right, self.plan.trials, 0.5, alternative="greater")
        span = binomtest(right, self.plan.trials).proportion_ci(0.90, method="exact")
        share = Estimate(
            name="share_right", value=right / self.plan.trials, low=float(span.low), high=float(span.high), unit="1"
        )
        return Outcome(
            right=right, trials=self.plan.trials, needed=self.plan.needed, chance=float(test.pvalue), share=share
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
        with read_back(data, SCHEMA, "a blind trial"):
            return cls(
                plan=TrialPlan(**data["plan"]), seed=data["seed"], date=data["date"], answers=tuple(data["answers"])
            )

    def _key(self) -> list[str]:
        """Return the right answers: independent even chances, so that guessing is exactly one half."""
        first, second = ANSWERS[self.plan.kind]
        draws = np.random.default_rng([self.seed, self.plan.trials]).integers(0, 2, self.plan.trials)
        return [second if one else first for one in draws]

    def _check(self, answer: str) -> None:
        allowed = ANSWERS[self.plan.kind]
        if answer not in allowed:
            raise InputError(f"the answer is {answer!r}; {self.question} Answer {' or '.join(allowed)}.")
