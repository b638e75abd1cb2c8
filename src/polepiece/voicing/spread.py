"""What is not known exactly, as named standard normal deviates: one `Draw` is one possible guitar.

The part that stays in the guitar has the same deviates before and after a change (paired draws); a bar that is
swapped has deviates of its own.
"""

import zlib
from dataclasses import dataclass, field

import numpy as np

SIGMAS = 1.6449  # a spread (low, high) is a 90 % range
CLIP = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """One draw; ``number`` 0 is the nominal guitar (every deviate zero)."""

    number: int = 0
    seed: int = 0
    cache: dict[str, float] = field(default_factory=dict, compare=False, repr=False)

    def deviate(self, name: str) -> float:
        """Return the standard normal deviate of the quantity called ``name``."""
        if self.number == 0:
            return 0.0
        if name not in self.cache:
            entropy = [self.seed, self.number, zlib.crc32(name.encode())]
            value = float(np.random.default_rng(entropy).standard_normal())
            self.cache[name] = float(np.clip(value, -CLIP, CLIP))
        return self.cache[name]

    def share(self, name: str) -> float:
        """Return a uniform number between 0 and 1 (0.5 in the nominal guitar)."""
        if self.number == 0:
            return 0.5
        return float(np.random.default_rng([self.seed, self.number, zlib.crc32(name.encode()), 1]).random())

    def value(self, name: str, nominal: float, low: float, high: float) -> float:
        """Return ``nominal`` moved within its 90 % range (low, high), each side by its own width."""
        z = self.deviate(name)
        return nominal + z / SIGMAS * ((high - nominal) if z > 0.0 else (nominal - low))

    def factor(self, name: str, low: float, high: float) -> float:
        """Return a factor of median 1 (nominal) with the 90 % range (low, high), log-normal on each side."""
        z = self.deviate(name)
        return float((high if z > 0.0 else 1.0 / low) ** (z / SIGMAS))


NOMINAL = Draw()


def draws(count: int, seed: int) -> list[Draw]:
    """Return ``count`` draws (numbers 1 .. count)."""
    return [Draw(number=k + 1, seed=seed) for k in range(count)]


def ninety(values: "np.ndarray | list[float]") -> tuple[float, float]:
    """Return the 5 and 95 % points of ``values``."""
    low, high = np.quantile(np.asarray(values, dtype=float), [0.05, 0.95])
    return float(low), float(high)
