"""The mean change over strings of which each was plucked several times, and its 90 % interval."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from polepiece.arrays import FloatArray
from polepiece.errors import InputError

LEAST = 3  # plucks of one string on one side
MANY = float("inf")  # notes that might have been played


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


def mean_change(before: Sequence[FloatArray], after: Sequence[FloatArray], *, others: float = MANY) -> MeanChange:
    """Return the mean change over all strings there are, with the spread of plucks and of strings in its interval.

    Parameters
    ----------
    before, after : one array (plucks, q) a string, the same strings on both sides; NaN where a quantity has no value.
    others : strings that were not plucked and count as well: 0 where these are all that the guitar has; infinite where
        the values are of notes of which there might be any number.

    Raises
    ------
    InputError
        When the two sides do not have the same strings and quantities, or ``others`` is negative.

    Notes
    -----
    n of N strings were plucked, f = n / N. With s^2 the variance of the n strings' changes, each of them the mean of
    its plucks, and w the mean over the strings of the variance that the plucks leave to such a mean, the variance of
    the mean change as one of all N strings is

        (1 - f) s^2 / n + f w / n

    (two-stage sampling; s^2 holds w already). All strings plucked: the spread of the plucks alone, for strings are no
    sample then and may differ as they like. Each part counts with the square of its own Student's t: n - 1 degrees of
    freedom of s^2, those of the plucks (Welch) of w; one t for the sum (Satterthwaite) held in 84 % for two strings of
    six. Where few strings agree by chance, the interval is not narrower than their plucks alone make it. A string
    counts where it has three values on each side. One string alone says nothing of others: its interval is the spread
    of its plucks.

    References
    ----------
    .. [1] W. G. Cochran, Sampling Techniques, 3rd ed., Wiley 1977, ch. 10 (subsampling, equal units), from memory.
    .. [2] F. A. Graybill, C.-M. Wang, J. Am. Stat. Assoc. 75, 869 (1980), on sums of variances; B. L. Welch,
       Biometrika 29, 350 (1938) and 34, 28 (1947). From memory. Coverage is checked by simulation
       (``verification``, `pluck-intervals`).

    Examples
    --------
    >>> one = [np.array([[0.0], [0.2], [-0.2]])]
    >>> found = mean_change(one, one)
    >>> float(found.value[0]), bool(found.low[0] < 0.0 < found.high[0])
    (0.0, True)
    """
    if not before or len(before) != len(after) or any(a.shape[1] != b.shape[1] for a, b in zip(before, after)):
        raise InputError("before and after need the same strings, and each the same quantities.")
    if not others >= 0.0:
        raise InputError(f"others is {others}; it counts strings that were not plucked, 0 or more.")
    a, b = [_Side.of(one) for one in before], [_Side.of(one) for one in after]
    change = np.array([y.mean - x.mean for x, y in zip(a, b)])  # (k, q)
    noise = np.array([x.variance + y.variance for x, y in zip(a, b)])
    there = np.isfinite(change)
    count = there.sum(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        value = np.where(count, np.where(there, change, 0.0).sum(axis=0) / count, np.nan)
        plucks = np.where(there, noise, 0.0).sum(axis=0) / count**2
        strings = np.where(there, (change - value) ** 2, 0.0).sum(axis=0) / (count - 1) / count
        share = np.where(count > 1, count / (count + others), 1.0)  # of the strings there are; one speaks for itself
        least = stdtrit(_degrees([*a, *b], np.concatenate([there, there])), 0.95) * np.sqrt(plucks)
        apart = stdtrit(np.maximum(count - 1.0, 1.0), 0.95) * np.sqrt(strings)
        half = np.sqrt(np.where(share < 1.0, (1.0 - share) * apart**2, 0.0) + share * least**2)
        half = np.maximum(half, least)
    return MeanChange(value=value, low=value - half, high=value + half, least=least, by_string=change)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Side:
    """One string on one side: the mean of its plucks and how sure that is; NaN below `LEAST` values."""

    mean: FloatArray
    variance: FloatArray  # of the mean
    count: FloatArray

    @classmethod
    def of(cls, values: FloatArray) -> "_Side":
        there = np.isfinite(values)
        count = there.sum(axis=0)
        with np.errstate(invalid="ignore", divide="ignore"):
            mean = np.where(count >= LEAST, np.where(there, values, 0.0).sum(axis=0) / count, np.nan)
            rest = np.where(there & np.isfinite(mean), values - mean, 0.0)
            variance = (rest**2).sum(axis=0) / (count - 1) / count
        return cls(mean=mean, variance=np.where(np.isfinite(mean), variance, np.nan), count=count.astype(float))


def _degrees(sides: "Sequence[_Side]", weights: FloatArray) -> FloatArray:
    """Return the degrees of freedom (q,) of the summed variances of means, each times its weight (k, q) squared.

    Welch's second formula, (sum v)^2 / sum(v^2 / (n + 1)) - 2, within the bounds that the sum can have. The first,
    with n - 1 and no 2, counts the chance of each v twice: with three plucks a string 92 % held for 90.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        parts = np.nan_to_num(np.array([one.variance for one in sides]) * weights**2)
        count = np.array([one.count for one in sides])
        used = parts > 0.0
        found = parts.sum(axis=0) ** 2 / (parts**2 / (count + 1.0)).sum(axis=0) - 2.0
    least = np.where(used, count - 1.0, np.inf).min(axis=0)
    most = np.where(used, count - 1.0, 0.0).sum(axis=0)
    return np.asarray(np.where(used.any(axis=0), np.clip(found, least, np.maximum(most, least)), 1.0))


def weighted_change(
    before: Sequence[FloatArray], after: Sequence[FloatArray], weights: FloatArray
) -> tuple[float, float] | None:
    """Return a weighted sum of the changes of given strings and half its 90 % interval; None where one has too few.

    Sum of variances of means, degrees of freedom by Welch 1947 (from memory).

    Parameters
    ----------
    before, after : (plucks,) values of one quantity, a string.
    weights : (k,) of the strings; these strings are meant, so the spread of their plucks alone is in the interval.
    """
    sides = [(_Side.of(x[:, None]), _Side.of(y[:, None])) for x, y in zip(before, after)]
    change = np.array([y.mean[0] - x.mean[0] for x, y in sides])
    if not np.all(np.isfinite(change)):
        return None
    noise = np.array([x.variance[0] + y.variance[0] for x, y in sides]) * weights**2
    degrees = _degrees([one for pair in sides for one in pair], np.repeat(weights, 2)[:, None])
    return float(weights @ change), float(stdtrit(degrees[0], 0.95) * np.sqrt(noise.sum()))
