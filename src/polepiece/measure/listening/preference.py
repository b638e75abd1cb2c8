"""Which of several states is preferred, or has more of what a person names: pairs heard blind, one worth a state."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from polepiece.errors import InputError
from polepiece.measure.estimate import Estimate
from polepiece.measure.listening.begun import check_begun
from polepiece.measure.listening.bradley_terry import (
    Worths,
    chance_of_no_preference,
    circles,
    consistency,
    fit_worths,
)
from polepiece.measure.listening.pairs import MOST_PAIRS, Pair, cyclic_pairs, drawn_pairs
from polepiece.measure.readback import read_back

SCHEMA = "polepiece/preference/1"
CHOICES = ("1", "2")
LONGEST = 60  # characters of the attribute
_pairs = cache(drawn_pairs)


@dataclass(frozen=True, slots=True, kw_only=True)
class PreferencePlan:
    """What is fixed before the first sound.

    ``states`` are names; ``attribute`` is what the person names ("tighter"), empty for "preferred"; ``pairs`` are the
    most pairs of the design and ``again`` how many of them come twice.
    """

    states: tuple[str, ...]
    attribute: str = ""
    pairs: int = 20
    again: int = 4

    def __post_init__(self) -> None:
        if not all(isinstance(one, str) for one in self.states):
            raise InputError(f"a state is called {next(one for one in self.states if not isinstance(one, str))!r:.60}; "
                             "its name is text.")  # fmt: skip
        if len(set(self.states)) != len(self.states):
            raise InputError("two states have the same name.")
        if len(self.attribute) > LONGEST or not self.attribute.isprintable():
            raise InputError(f"the attribute has {len(self.attribute)} characters; a word or two, at most {LONGEST}.")
        if isinstance(self.pairs, bool) or not isinstance(self.pairs, int):
            raise InputError(f"pairs is {self.pairs!r:.60}; a whole number up to {MOST_PAIRS} is needed.")
        drawn_pairs(len(self.states), self.pairs, self.again, 0)

    @property
    def question(self) -> str:
        """What is asked of every pair."""
        return f"Which is {self.attribute}?" if self.attribute else "Which do you prefer?"

    @property
    def stopping_rule(self) -> str:
        """What is agreed before the first sound."""
        count = len(drawn_pairs(len(self.states), self.pairs, self.again, 0))
        return (
            f"{count} pairs of {len(self.states)} states, all of them; {self.again} come once more, and in one both "
            f"sounds are the same. Coins look like a sure order of the states in {100 * self.least_chance:.1f} % of "
            "such sessions. Nothing is told before the last."
        )

    @property
    def least_chance(self) -> float:
        """How often coins set the states as far apart as a listener does who is always sure of one order."""
        wins = np.zeros((len(self.states),) * 2)
        for a, b in cyclic_pairs(len(self.states), self.pairs):
            wins[min(a, b), max(a, b)] += 1.0
        return chance_of_no_preference(wins, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Preferences:
    """A session that is over. ``worths`` are in the order of the plan's states."""

    order: tuple[str, ...]  # most chosen first
    worths: Worths
    wins: tuple[tuple[int, ...], ...]  # of the row over the column, repeats counted
    chance: float  # that coins instead of choices set the states as far apart
    circles: tuple[tuple[str, str, str], ...]  # first over second over third over first
    consistency: float | None  # Kendall's coefficient of the design, where all pairs met
    own: Estimate | None  # share of pairs heard before that were answered as the first time
    same: str  # what was said of two equal sounds: "1" or "2"


@dataclass(frozen=True, slots=True, kw_only=True)
class PreferenceTrial:
    """A session on its way; the record keeps the seed and not the order."""

    plan: PreferencePlan
    seed: int
    date: str
    answers: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        check_begun(self.seed, self.date)
        if len(self.answers) > len(self._drawn()):
            raise InputError(f"{len(self.answers)} answers to {len(self._drawn())} pairs.")
        if any(one not in CHOICES for one in self.answers):
            raise InputError("an answer is neither 1 nor 2.")

    def _drawn(self) -> tuple[Pair, ...]:
        return _pairs(len(self.plan.states), self.plan.pairs, self.plan.again, self.seed)

    @property
    def over(self) -> bool:
        """Whether every pair has its answer."""
        return len(self.answers) == len(self._drawn())

    @property
    def number(self) -> int | None:
        """Number of the pair that is on now, from 1; None at the end."""
        return None if self.over else len(self.answers) + 1

    def plays(self, slot: str) -> str:
        """Return the state behind a button now; for the player, not for the listener."""
        if slot not in CHOICES:
            raise InputError(f"there is no button {slot!r:.60}; there are 1, 2.")
        if self.over:
            raise InputError("the session is over; nothing is played any more.")
        pair = self._drawn()[len(self.answers)]
        return self.plan.states[pair.first if slot == "1" else pair.second]

    def answered(self, answer: str) -> "PreferenceTrial":
        """Return the session with one answer more.

        Raises
        ------
        InputError
            For an answer that is neither 1 nor 2, or when all pairs have theirs.
        """
        if self.over:
            raise InputError("all pairs are answered; plan a new session for more.")
        word = answer.strip()
        if word not in CHOICES:
            raise InputError(f"the answer is {answer!r:.60}; {self.plan.question} Answer 1 or 2.")
        return replace(self, answers=(*self.answers, word))

    def outcome(self) -> Preferences:
        """Return the result.

        Raises
        ------
        InputError
            Before the end.
        """
        if not self.over:
            raise InputError(f"{len(self.answers)} of {len(self._drawn())} pairs are answered; told after the last.")
        names, m = self.plan.states, len(self.plan.states)
        wins, design = np.zeros((m, m)), np.zeros((m, m))
        first_said: dict[frozenset[int], int] = {}
        alike: list[bool] = []
        same = ""
        for pair, answer in zip(self._drawn(), self.answers):
            if pair.why == "same":
                same = answer
                continue
            chosen, left = (pair.first, pair.second) if answer == "1" else (pair.second, pair.first)
            wins[chosen, left] += 1.0
            design[chosen, left] += pair.why == "new"
            both = frozenset((chosen, left))
            if both in first_said:
                alike.append(first_said[both] == chosen)
            first_said.setdefault(both, chosen)
        worths = fit_worths(wins)
        return Preferences(
            order=tuple(names[k] for k in np.argsort([-one for one in worths.value], kind="stable")),
            worths=worths,
            wins=tuple(tuple(int(one) for one in row) for row in wins),
            chance=chance_of_no_preference(design, self.seed),
            circles=tuple((names[a], names[b], names[c]) for a, b, c in circles(wins)),
            consistency=consistency(design),
            own=_share_alike(alike),
            same=same,
        )

    def to_dict(self) -> dict[str, Any]:
        """Return plain numbers and texts, ready for JSON."""
        plan = asdict(self.plan) | {"states": list(self.plan.states)}
        return {"schema": SCHEMA, "plan": plan, "seed": self.seed, "date": self.date, "answers": list(self.answers)}

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "PreferenceTrial":
        """Return the session that ``to_dict`` gave.

        Raises
        ------
        MeasurementError
            When ``data`` is something else, naming what is missing.
        """
        with read_back(data, SCHEMA, "a session of preferences"):
            plan = PreferencePlan(**{**data["plan"], "states": tuple(data["plan"]["states"])})
            return cls(plan=plan, seed=data["seed"], date=data["date"], answers=tuple(data["answers"]))


def _share_alike(alike: list[bool]) -> Estimate | None:
    if not alike:
        return None
    from scipy.stats import binomtest  # here: it is a third of a command's start

    span = binomtest(sum(alike), len(alike)).proportion_ci(0.90, method="exact")
    return Estimate(
        name="share_alike", value=sum(alike) / len(alike), low=float(span.low), high=float(span.high), unit="1"
    )
