"""When a listening trial ends and what its count of right answers says, exactly: fixed counts and sequential tests.

A trial is a walk of right and wrong answers. The number of walks that end at each (answers, right) is counted once; the
chance of each end under any rate of right answers is that number times p^right (1 - p)^wrong. Error rates, p-values
and intervals are sums of it, so that none of them is an approximation.

References
----------
Wald 1945, Ann. Math. Statist. 16, 117: boundaries of the sequential probability ratio test.
Clopper and Pearson 1934, Biometrika 26, 404: interval of a rate from an order of outcomes.
Siegmund 1985, Sequential Analysis, ch. III: the stage-wise order of outcomes of a stopped test.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError

MOST = 200  # answers: more is no evening's listening


@dataclass(frozen=True, kw_only=True)
class Rule:
    """The most answers, and after each of them the counts at which the trial ends (derived here, module docstring).

    Parameters
    ----------
    most : int
        Answers after which it ends whatever they were.
    guess : float
        Rate of right answers of who hears nothing: 1/2 of two, 1/3 of three.
    heard_at : tuple of int
        For 1 .. most answers: the fewest right ones that end it as "heard"; more than the answers: not yet.
    lost_at : tuple of int
        For 1 .. most answers: the most right ones that end it as "not shown"; -1: not yet. After the last answer every
        count below ``heard_at`` ends it so.
    """

    most: int
    guess: float
    heard_at: tuple[int, ...]
    lost_at: tuple[int, ...]

    @cached_property
    def ends(self) -> tuple[tuple[int, int, float], ...]:
        """(answers, right, number of walks that end there), from the least sign of hearing to the greatest."""
        alive, lost, heard = np.array([1.0]), [], []
        for n in range(1, self.most + 1):
            alive = np.append(alive, 0.0) + np.append(0.0, alive)
            right = np.arange(n + 1)
            over_high = right >= self.heard_at[n - 1]
            over_low = (right <= self.lost_at[n - 1]) | (n == self.most)
            heard += [(n, int(k), float(alive[k])) for k in right[over_high] if alive[k] > 0.0]
            lost += [(n, int(k), float(alive[k])) for k in right[over_low & ~over_high] if alive[k] > 0.0]
            alive[over_high | over_low] = 0.0
        lost.sort(key=lambda end: (end[0], end[1]))  # given up early: the least; more right after as many: more
        heard.sort(key=lambda end: (-end[0], end[1]))  # settled early: the most
        return (*lost, *heard)

    def _chances(self, rate: float) -> FloatArray:
        n, k, walks = (np.array(column) for column in zip(*self.ends))
        with np.errstate(divide="ignore", invalid="ignore"):
            logs = np.where(k > 0, k * np.log(rate), 0.0) + np.where(n > k, (n - k) * np.log1p(-rate), 0.0)
        chances: FloatArray = walks * np.exp(logs)
        return chances

    def verdict(self, answers: int, right: int) -> bool | None:
        """Return True for heard, False for not shown, None while it goes on."""
        if answers and right >= self.heard_at[answers - 1]:
            return True
        if answers and (right <= self.lost_at[answers - 1] or answers == self.most):
            return False
        return None

    def chance_to_pass(self, rate: float) -> float:
        """Return how likely a listener ends as "heard" who is right at this rate."""
        passed = np.array([k >= self.heard_at[n - 1] for n, k, _ in self.ends])
        return float(self._chances(rate)[passed].sum())

    def answers_expected(self, rate: float) -> float:
        """Return how many answers are given on average by who is right at this rate."""
        return float(self._chances(rate) @ np.array([n for n, _, _ in self.ends]))

    def chance_of_guessing(self, answers: int, right: int) -> float:
        """Return how often guessing ends at this or at a greater sign of hearing (the p-value, exact)."""
        return float(self._chances(self.guess)[self._place(answers, right) :].sum())

    def rate_interval(self, answers: int, right: int, share: float = 0.90) -> tuple[float, float]:
        """Return the exact interval of the rate of right answers: Clopper and Pearson's, in the order of the ends."""
        place, tail = self._place(answers, right), 0.5 * (1.0 - share)
        low = _root(lambda rate: float(self._chances(rate)[place:].sum()) - tail)
        high = _root(lambda rate: tail - float(self._chances(rate)[: place + 1].sum()))
        return low if place else 0.0, high if place < len(self.ends) - 1 else 1.0

    def _place(self, answers: int, right: int) -> int:
        for place, (n, k, _) in enumerate(self.ends):
            if (n, k) == (answers, right):
                return place
        raise InputError(f"{right} right of {answers} answers is no end of this trial.")


def _root(rises: Callable[[float], float]) -> float:
    """Return where a rising function of a rate passes zero."""
    from scipy.optimize import brentq  # here: it is a third of a command's start

    low, high = 1e-12, 1.0 - 1e-12
    if rises(low) >= 0.0 or rises(high) <= 0.0:
        return 0.0 if rises(low) >= 0.0 else 1.0
    return float(brentq(rises, low, high, xtol=1e-10))


def detected(rate: float, guess: float) -> float:
    """Return the share in which the difference was heard: what is right beyond guessing (Abbott's formula).

    Abbott 1925, J. Econ. Entomol. 18, 265; at least 0.
    """
    return max(0.0, (rate - guess) / (1.0 - guess))


def right_rate(detected_share: float, guess: float) -> float:
    """Return the rate of right answers of who hears it in this share and guesses in the rest (Abbott 1925)."""
    return guess + (1.0 - guess) * detected_share


def fixed_rule(answers: int, guess: float, level: float) -> Rule:
    """Return the rule of a fixed number of answers: the fewest right ones that guessing reaches in ``level`` at most.

    Definition of a one-sided binomial test.

    Raises
    ------
    InputError
        When that many answers cannot reach the level even when all are right.
    """
    if isinstance(answers, bool) or not isinstance(answers, int) or not 1 <= answers <= MOST:
        raise InputError(f"trials is {answers!r:.60}; a whole number up to {MOST} is needed, 16 is usual.")
    if guess**answers > level:
        least = math.ceil(math.log(level) / math.log(guess) - 1e-12)
        raise InputError(
            f"{answers} trials cannot reach the {100 * level:g} % level even when all are right; {least} at least, "
            "16 is usual."
        )
    from scipy.stats import binom  # here: it is a third of a command's start

    needed = int(binom.isf(level, answers, guess)) + 1
    never = (answers + 1,) * (answers - 1)
    return Rule(most=answers, guess=guess, heard_at=(*never, needed), lost_at=(-1,) * answers)


def sequential_rule(most: int, guess: float, level: float, *, heard_share: float = 0.5, miss: float = 0.10) -> Rule:
    """Return the sequential probability ratio test (Wald 1945), cut off after ``most`` answers.

    Parameters
    ----------
    most : int
        Answers after which it ends as "not shown".
    guess : float
    level : float
        How often guessing may pass, at most.
    heard_share : float
        The listener it is made for: who hears the difference in this share of the answers and guesses in the rest.
    miss : float
        How often Wald's boundary gives up on that listener; being cut off adds to it. What the rule really does is
        exact: ``chance_to_pass``.

    Raises
    ------
    InputError
        When guessing would pass too often, or ``most`` is so small that nobody could pass.
    """
    if isinstance(most, bool) or not isinstance(most, int) or not 1 <= most <= MOST:
        raise InputError(f"the most answers are {most!r:.60}; a whole number up to {MOST} is needed, 40 is usual.")
    hears = right_rate(heard_share, guess)
    up, down = math.log(hears / guess), math.log((1.0 - hears) / (1.0 - guess))
    top, bottom = math.log((1.0 - miss) / level), math.log(miss / (1.0 - level))
    heard_at = tuple(math.ceil((top - n * down) / (up - down) - 1e-12) for n in range(1, most + 1))
    lost_at = tuple(max(-1, math.floor((bottom - n * down) / (up - down) + 1e-12)) for n in range(1, most + 1))
    rule = Rule(most=most, guess=guess, heard_at=heard_at, lost_at=lost_at)
    if heard_at[-1] > most:
        raise InputError(f"nobody can pass within {most} answers at the {100 * level:g} % level; 40 is usual.")
    if rule.chance_to_pass(guess) > level:  # Wald's bound is on the safe side; cutting off only ends it as not shown
        raise InputError(f"guessing would pass in {100 * rule.chance_to_pass(guess):.1f} %, above {100 * level:g} %.")
    return rule
