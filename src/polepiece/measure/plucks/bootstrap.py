"""The mean change over strings of which each was plucked several times: a 90 % interval by a two-level bootstrap."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from polepiece.arrays import FloatArray
from polepiece.errors import InputError

DRAWS = 2000
LEAST = 3  # plucks of one string on one side


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeanChange:
    """After less before, averaged over strings, for each quantity (q,); NaN where too little was found.

    Attributes
    ----------
    value, low, high : the mean over strings and its 90 % interval.
    least : half the 90 % interval that there would be had nothing changed: what could have been shown.
    by_string : (k, q) after less before of each string.
    """

    value: FloatArray
    low: FloatArray
    high: FloatArray
    least: FloatArray
    by_string: FloatArray


def mean_change(
    before: Sequence[FloatArray], after: Sequence[FloatArray], *, seed: int = 0, draws: int = DRAWS
) -> MeanChange:
    """Return the mean change over strings with the spread of plucks and of strings in its interval.

    Parameters
    ----------
    before, after : one array (plucks, q) a string, the same strings on both sides; NaN where a quantity has no value.
    seed : of the draws.
    draws : of the bootstrap.

    Raises
    ------
    InputError
        When the two sides do not have the same strings and quantities.

    Notes
    -----
    Each draw takes strings with replacement, and within each of them plucks with replacement on either side. What
    the strings differ by beyond the spread of their plucks is drawn with the strings; the spread of the plucks is
    drawn with the plucks; neither is counted twice. Residuals are scaled by sqrt(n / (n - 1)). The interval is the
    standard deviation of the draws times Student's t for the degrees of freedom: k - 1 strings where these differ by
    more than their plucks do, else those of the plucks (Welch). Percentiles of so few values are too narrow. A string
    counts where it has three values on each side; a quantity with one such string has the spread of its plucks alone.

    References
    ----------
    .. [1] Davison and Hinkley 1997, Bootstrap Methods and their Application, Cambridge, section 3.8
       (hierarchical data), from memory. Coverage is checked by simulation in ``verification/plucks.py``.

    Examples
    --------
    >>> one = [np.array([[0.0], [0.2], [-0.2]])]
    >>> found = mean_change(one, one)
    >>> float(found.value[0]), bool(found.low[0] < 0.0 < found.high[0])
    (0.0, True)
    """
    if not before or len(before) != len(after) or any(a.shape[1] != b.shape[1] for a, b in zip(before, after)):
        raise InputError("before and after need the same strings, and each the same quantities.")
    random = np.random.default_rng(seed)
    a, b = [_Side.of(one) for one in before], [_Side.of(one) for one in after]
    change = np.array([y.mean - x.mean for x, y in zip(a, b)])  # (k, q)
    noise = np.array([x.variance + y.variance for x, y in zip(a, b)])
    freedom = np.array([_welch(x, y) for x, y in zip(a, b)])
    there = np.isfinite(change)
    count = there.sum(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        value = np.where(count, np.where(there, change, 0.0).sum(axis=0) / count, np.nan)
        apart = np.where(there, (change - value) ** 2, 0.0).sum(axis=0) / (count - 1)
        within = np.where(there, noise, 0.0).sum(axis=0) / count
        plucks = np.where(there, noise, 0.0).sum(axis=0) ** 2 / np.where(there, noise**2 / freedom, 0.0).sum(axis=0)
        real = np.where(count > 1, np.maximum(apart - within, 0.0), 0.0)
        shrunk = np.where(real > 0.0, np.sqrt(real / apart * count / (count - 1)), 0.0)
    steady = np.nan_to_num(plucks, nan=1.0, posinf=1e6)
    degrees = np.where(real > 0.0, np.maximum(count - 1, 1), np.maximum(steady, 1.0))
    moved = np.where(there, np.nan_to_num(change - value) * shrunk, 0.0)
    both, alone = _drawn(moved, there, a, b, random, draws)
    half = stdtrit(degrees, 0.95) * both.std(axis=0)
    least = stdtrit(np.maximum(steady, 1.0), 0.95) * alone.std(axis=0)
    return MeanChange(
        value=value, low=value - half, high=value + half, least=np.where(count, least, np.nan), by_string=change
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Side:
    """One string on one side: its residuals, scaled, and how sure its mean is; NaN below `LEAST` values."""

    mean: FloatArray
    variance: FloatArray  # of the mean
    count: FloatArray
    residuals: FloatArray  # (plucks, q), 0 where there is no value
    there: FloatArray  # (plucks, q), 1 or 0

    @classmethod
    def of(cls, values: FloatArray) -> "_Side":
        there = np.isfinite(values)
        count = there.sum(axis=0)
        with np.errstate(invalid="ignore", divide="ignore"):
            mean = np.where(count >= LEAST, np.where(there, values, 0.0).sum(axis=0) / count, np.nan)
            rest = np.where(there & np.isfinite(mean), values - mean, 0.0)
            variance = (rest**2).sum(axis=0) / (count - 1) / count
            scaled = np.where(count > 1, rest * np.sqrt(count / (count - 1)), 0.0)
        return cls(
            mean=mean, variance=np.where(np.isfinite(mean), variance, np.nan), count=count.astype(float),
            residuals=scaled, there=there.astype(float),
        )  # fmt: skip

    def drawn(self, random: np.random.Generator, draws: int) -> FloatArray:
        """Return means of plucks drawn with replacement (draws, q), less their mean."""
        plucks = len(self.residuals)
        times = random.multinomial(plucks, np.full(plucks, 1.0 / plucks), size=draws).astype(float)
        return np.asarray((times @ self.residuals) / np.maximum(times @ self.there, 1.0))


def _welch(one: _Side, other: _Side) -> FloatArray:
    """Return the degrees of freedom of a difference of two means."""
    with np.errstate(invalid="ignore", divide="ignore"):
        parts = one.variance**2 / (one.count - 1) + other.variance**2 / (other.count - 1)
        return np.where(parts > 0.0, (one.variance + other.variance) ** 2 / parts, one.count + other.count - 2)


def _drawn(
    moved: FloatArray, there: "np.ndarray", before: "list[_Side]", after: "list[_Side]",
    random: np.random.Generator, draws: int,
) -> tuple[FloatArray, FloatArray]:  # fmt: skip
    """Return draws of the mean about its value (draws, q): strings and plucks, and plucks alone."""
    strings = len(moved)
    chosen = random.multinomial(strings, np.full(strings, 1.0 / strings), size=draws).astype(float)
    both, alone = np.zeros((draws, moved.shape[1])), np.zeros((draws, moved.shape[1]))
    for k in range(strings):
        noise = (after[k].drawn(random, draws) - before[k].drawn(random, draws)) * there[k]
        alone += noise
        both += chosen[:, k : k + 1] * moved[k]
    count = np.maximum(there.sum(axis=0), 1)
    picked = np.maximum(chosen @ there.astype(float), 1.0)
    return both / picked + alone / count, alone / count


def weighted_change(
    before: Sequence[FloatArray], after: Sequence[FloatArray], weights: FloatArray
) -> tuple[float, float] | None:
    """Return a weighted sum of the changes of given strings and half its 90 % interval; None where one has too few.

    Parameters
    ----------
    before, after : (plucks,) values of one quantity, a string.
    weights : (k,) of the strings; these strings are meant, so the spread of their plucks alone is in the interval.

    Notes
    -----
    Welch's degrees of freedom for a weighted sum (Welch 1947, Satterthwaite 1946, from memory).
    """
    sides = [(_Side.of(x[:, None]), _Side.of(y[:, None])) for x, y in zip(before, after)]
    change = np.array([y.mean[0] - x.mean[0] for x, y in sides])
    if not np.all(np.isfinite(change)):
        return None
    noise = np.array([x.variance[0] + y.variance[0] for x, y in sides]) * weights**2
    freedom = np.array([_welch(x, y)[0] for x, y in sides])
    total = float(noise.sum())
    degrees = total**2 / float(np.sum(noise**2 / freedom)) if total > 0.0 else 1.0
    return float(weights @ change), float(stdtrit(degrees, 0.95) * np.sqrt(total))
