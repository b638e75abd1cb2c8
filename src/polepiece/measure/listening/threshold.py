"""The least difference that a person hears on this gear: an adaptive staircase over three sounds, one of them odd.

Two right answers in a row make the next difference smaller, one wrong answer larger, so that the answers gather where
70.7 % are right (Levitt 1971, J. Acoust. Soc. Am. 49, 467). The threshold itself is read from all answers: a
Weibull function of the difference with unknown place and slope, its posterior on a grid (as Watson and
Pelli 1983, Percept. Psychophys. 33, 113, with the slope left open).
"""

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

import numpy as np

from polepiece.errors import InputError
from polepiece.measure.estimate import Estimate
from polepiece.measure.listening.begun import check_begun
from polepiece.measure.listening.blind import OTHER, Side
from polepiece.measure.readback import read_back

SCHEMA = "polepiece/threshold/1"
Quantity = Literal["level", "resonance", "brightness"]
UNITS: dict[Quantity, str] = {"level": "dB", "resonance": "%", "brightness": "dB"}
STARTS: dict[Quantity, float] = {"level": 4.0, "resonance": 40.0, "brightness": 6.0}
"""First differences: heard by nearly everybody (assumption), so that the first answers teach what is asked."""
BUTTONS = ("1", "2", "3")
GUESS = 1.0 / 3.0
LAPSE = 0.02  # share of slips of the finger (assumption)
COARSE, FINE = 2.0, math.sqrt(2.0)  # factor of a step before and after the second turn
LEAST, MOST = 1.0 / 64.0, 1.5  # of the first difference
LEAST_START = 0.25  # of the usual first difference (choice)
SLOPES = (
    1.0,
    1.5,
    2.0,
    3.0,
    4.0,
)  # of the Weibull function (assumption: what detection tasks usually show lies within)


@dataclass(frozen=True, slots=True, kw_only=True)
class ThresholdPlan:
    """What is fixed before the first sound: what differs, the first difference, when it ends."""

    quantity: Quantity = "level"
    start: float | None = None  # in the quantity's unit; None: the usual one
    turns: int = 10
    most: int = 60

    def __post_init__(self) -> None:
        if self.quantity not in UNITS:
            raise InputError(f"quantity is {self.quantity!r:.60}; allowed are {', '.join(UNITS)}.")
        if self.start is not None and not 0.0 < self.start <= 100.0:
            raise InputError(f"the first difference is {self.start:g} {self.unit}; above 0 to 100 is allowed.")
        for name, low, high in (("turns", 4, 20), ("most", 20, 120)):
            value = getattr(self, name)
            if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
                raise InputError(f"{name} is {value!r:.60}; {low} to {high} are allowed.")

    @classmethod
    def within(cls, quantity: Quantity, largest: float) -> "ThresholdPlan":
        """Return the usual plan, begun nearer where differences above ``largest`` cannot be played.

        Raises
        ------
        InputError
            When not even a quarter of the usual first difference can be: hardly anybody would hear what is left.
        """
        usual = cls(quantity=quantity)
        if largest >= MOST * usual.first:
            return usual
        start = math.floor(10.0 * largest / MOST) / 10.0
        if start < LEAST_START * usual.first:
            raise InputError(
                f"a difference of {quantity} of {max(largest, 0.0):.2g} {usual.unit} is the largest that can be played "
                f"here; {LEAST_START * MOST * usual.first:.2g} {usual.unit} are needed to begin with."
            )
        return cls(quantity=quantity, start=start)

    @property
    def unit(self) -> str:
        """Unit of the difference."""
        return UNITS[self.quantity]

    @property
    def first(self) -> float:
        """The first difference."""
        return STARTS[self.quantity] if self.start is None else self.start

    @property
    def stopping_rule(self) -> str:
        """What is agreed before the first sound."""
        return (
            f"It ends when the difference has turned {self.turns} times between growing and shrinking, after "
            f"{self.most} answers at most. Nothing is told before it ends."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ThresholdTrial:
    """A staircase on its way (Levitt 1971; Watson and Pelli 1983); the record keeps the seed and not the order."""

    plan: ThresholdPlan
    seed: int
    date: str
    answers: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        check_begun(self.seed, self.date)
        if any(one not in BUTTONS for one in self.answers):
            raise InputError("an answer is none of 1, 2, 3.")

    def right(self) -> list[bool]:
        """Return which answers found the odd one."""
        return [one == key for one, key in zip(self.answers, self._keys()[0])]

    def differences(self) -> list[float]:
        """Return the difference of every answer given and, last, of the one that is on now (in the plan's unit)."""
        return self._walk()[0]

    @property
    def over(self) -> bool:
        """Whether its rule has ended it."""
        return len(self.answers) >= self.plan.most or self._walk()[1] >= self.plan.turns

    @property
    def number(self) -> int | None:
        """Number of the trial that is on now, from 1; None at the end."""
        return None if self.over else len(self.answers) + 1

    def plays(self, slot: str) -> tuple[Side, float]:
        """Return which of the two sounds lies behind a button now, and the difference; for the player only."""
        if slot not in BUTTONS:
            raise InputError(f"there is no button {slot!r:.60}; there are {', '.join(BUTTONS)}.")
        if self.over:
            raise InputError("the staircase has ended; nothing is played any more.")
        keys, sides = self._keys()
        odd = sides[len(self.answers)]
        return (odd if slot == keys[len(self.answers)] else OTHER[odd]), self.differences()[-1]

    def answered(self, answer: str) -> "ThresholdTrial":
        """Return the staircase with one answer more.

        Raises
        ------
        InputError
            For an answer that is none, or after the end.
        """
        if self.over:
            raise InputError("the staircase has ended; plan a new one.")
        word = answer.strip()
        if word not in BUTTONS:
            raise InputError(
                f"the answer is {answer!r:.60}; two of the three are the same: answer 1, 2 or 3, the other."
            )
        return replace(self, answers=(*self.answers, word))

    def outcome(self) -> Estimate:
        """Return the difference that is heard in half of the trials, beyond guessing, with its 90 % interval.

        Raises
        ------
        InputError
            Before the end, or when the answers do not bound it: nothing was heard, or everything.
        """
        if not self.over:
            raise InputError(f"the staircase has not ended; told at its end. {self.plan.stopping_rule}")
        place, weight = _posterior(np.array(self.differences()[:-1]), np.array(self.right()), self.plan.first)
        low, middle, high = (float(np.interp(q, np.cumsum(weight), place)) for q in (0.05, 0.5, 0.95))
        if low < 1.1 * place[0] or high > 0.9 * place[-1]:
            word = "not even the largest difference was heard" if high > 0.9 * place[-1] else "the smallest was heard"
            raise InputError(f"the answers do not bound a threshold: {word}.")
        name = f"least_{self.plan.quantity}"
        return Estimate(name=name, value=middle, low=low, high=high, unit=self.plan.unit)

    def to_dict(self) -> dict[str, Any]:
        """Return plain numbers and texts, ready for JSON."""
        return {
            "schema": SCHEMA, "plan": asdict(self.plan), "seed": self.seed, "date": self.date,
            "answers": list(self.answers),
        }  # fmt: skip

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "ThresholdTrial":
        """Return the staircase that ``to_dict`` gave.

        Raises
        ------
        MeasurementError
            When ``data`` is something else, naming what is missing.
        """
        with read_back(data, SCHEMA, "a staircase"):
            return cls(
                plan=ThresholdPlan(**data["plan"]), seed=data["seed"], date=data["date"],
                answers=tuple(data["answers"]),
            )  # fmt: skip

    def _keys(self) -> tuple[list[str], list[Side]]:
        rng = np.random.default_rng([self.seed, self.plan.most])
        keys = [BUTTONS[one] for one in rng.integers(0, 3, self.plan.most)]
        sides: list[Side] = ["after" if one else "before" for one in rng.integers(0, 2, self.plan.most)]
        return keys, sides

    def _walk(self) -> tuple[list[float], int]:
        """Return the differences, that of the present trial last, and how often they turned."""
        there, row, turns, last = self.plan.first, 0, 0, 0
        seen = [there]
        for right in self.right():
            row = row + 1 if right else 0
            way = -1 if row == 2 else 0 if right else 1
            if way:
                turns += last not in (0, way)
                last, row = way, 0
                there *= (FINE if turns >= 2 else COARSE) ** way
                there = min(max(there, LEAST * self.plan.first), MOST * self.plan.first)
            seen.append(there)
        return seen, turns


def _posterior(difference: "np.ndarray[Any, Any]", right: "np.ndarray[Any, Any]", first: float) -> tuple[Any, Any]:
    """Return thresholds on a grid of equal ratios and their weights, slopes summed over; flat beforehand."""
    place = first * np.geomspace(LEAST / 2.0, 2.0 * MOST, 400)
    slope = np.array(SLOPES)[:, None, None]
    heard = 1.0 - np.exp(-math.log(2.0) * (difference / place[:, None]) ** slope)
    chance = GUESS + (1.0 - GUESS - LAPSE) * heard
    logs = np.where(right, np.log(chance), np.log1p(-chance)).sum(-1)
    weight = np.exp(logs - logs.max()).sum(0)
    return place, weight / weight.sum()
