"""What is not known exactly as named standard normal deviates, one `Draw` a possible guitar; 90 % of what they give.

The part that stays in the guitar has the same deviates before and after a change (paired draws); a bar that is
swapped has deviates of its own.
"""

import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from polepiece.draw_counts import LEAST_DRAWS, MOST_DRAWS
from polepiece.errors import InputError
from polepiece.later import special

SIGMAS = 1.6449  # a spread (low, high) is a 90 % range
CLIP = 2.5


@lru_cache(maxsize=4096)
def _deviates(seed: int, name: str) -> tuple[np.ndarray, np.ndarray]:
    """Standard normal and uniform numbers of every draw for the quantity ``name``."""
    generator = np.random.default_rng([seed, zlib.crc32(name.encode())])
    return np.clip(generator.standard_normal(MOST_DRAWS), -CLIP, CLIP), generator.random(MOST_DRAWS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """One draw; ``number`` 0 is the nominal guitar (every deviate zero)."""

    number: int = 0
    seed: int = 0

    def deviate(self, name: str) -> float:
        """Return the standard normal deviate of the quantity called ``name``."""
        return float(_deviates(self.seed, name)[0][self.number - 1]) if self.number else 0.0

    def share(self, name: str) -> float:
        """Return a uniform number between 0 and 1 (0.5 in the nominal guitar)."""
        return float(_deviates(self.seed, name)[1][self.number - 1]) if self.number else 0.5

    def value(self, name: str, nominal: float, low: float, high: float) -> float:
        """Return ``nominal`` moved within its 90 % range (low, high), each side by its own width."""
        z = self.deviate(name)
        return nominal + z / SIGMAS * ((high - nominal) if z > 0.0 else (nominal - low))

    def factor(self, name: str, low: float, high: float) -> float:
        """Return a factor of median 1 (nominal) with the 90 % range (low, high), log-normal on each side."""
        return factor_at(self.deviate(name), low, high)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GivenDraw(Draw):
    """A draw whose quantities are given as shares of one (0.5 is nominal); those that are not given are nominal.

    ``asked`` gathers the names of all quantities that were read. Two of them are equal when they are the same object.
    """

    number: int = 1
    given: Mapping[str, float] = field(default_factory=dict)
    asked: set[str] = field(default_factory=set)

    __hash__ = object.__hash__

    def __eq__(self, other: object) -> bool:
        return self is other

    def deviate(self, name: str) -> float:
        """Return the standard normal deviate at the given share."""
        return deviate_at(self.share(name))

    def share(self, name: str) -> float:
        """Return the given share."""
        self.asked.add(name)
        return self.given.get(name, 0.5)


def deviate_at(share: float) -> float:
    """Return the standard normal deviate below which a share of all lies, cut as those of a `Draw` are."""
    return float(np.clip(special.ndtri(share), -CLIP, CLIP))


def factor_at(deviate: float, low: float, high: float) -> float:
    """Return the factor of median 1 and 90 % range (low, high) at a standard normal deviate, log-normal each side."""
    return float((high if deviate > 0.0 else 1.0 / low) ** (deviate / SIGMAS))


NOMINAL = Draw()


def check_draws(count: int) -> None:
    """Refuse a number of draws that makes no interval, before any work is done."""
    if not LEAST_DRAWS <= count <= MOST_DRAWS:
        raise InputError(f"draws is {count}; an interval needs {LEAST_DRAWS} to {MOST_DRAWS} draws.")


def draws(count: int, seed: int) -> list[Draw]:
    """Return ``count`` draws (numbers 1 .. count)."""
    check_draws(count)
    return [Draw(number=k + 1, seed=seed) for k in range(count)]


def ninety_ends(values: ArrayLike) -> np.ndarray:
    """Return the 5 and 95 % points (2, ...) of draws along the first axis, so that the next draw lies inside in 90 %.

    The k-th of n draws in order has a share k / (n + 1) of all draws below it on average (order statistics), so the
    points are read at 0.05 and 0.95 times n + 1. Points at 0.05 (n - 1) would hold 87 % with 64 draws.
    """
    return np.asarray(np.quantile(np.asarray(values, dtype=float), [0.05, 0.95], axis=0, method="weibull"))


def ninety(values: ArrayLike, stated: ArrayLike | None = None) -> list[tuple[float, float]]:
    """Return `ninety_ends` of each column of ``values`` (draws, columns).

    ``stated`` are the values that are told beside the intervals: an interval reaches to its own value. Where something
    is not known (how a bar was charged, say) the value stands for one of the cases and may lie at the edge of all.
    NaN: no value.
    """
    low, high = ninety_ends(values)
    if stated is not None:
        low, high = np.fmin(low, stated), np.fmax(high, stated)
    return [(float(a), float(b)) for a, b in zip(low, high)]
