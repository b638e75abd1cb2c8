"""Are intervals what they say? Shares of measured values inside them, at every width, each with its own interval."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from polepiece.errors import InputError

LEVELS = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)
SURE = 0.95  # of the interval of a share


def multiples(levels: Sequence[float] = LEVELS) -> tuple[float, ...]:
    """Return by what a half of a 90 % interval is multiplied for each of these shares, of a normal distribution.

    Only 90 % intervals are kept with a prediction; one of another share is taken as that of the normal distribution
    with the same 90 %, each side by its own half (an assumption; definition of the quantile).
    """
    normal = NormalDist()
    return tuple(normal.inv_cdf(0.5 + one / 2.0) / normal.inv_cdf(0.95) for one in levels)


TOGETHER = "Values of one ledger hang together, so few ledgers say less of this than their many values seem to."


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """How many values lay inside intervals that say they hold ``level``; 95 % interval of that share."""

    level: float
    inside: int
    of: int
    low: float
    high: float

    @property
    def found(self) -> float:
        """The share that was found."""
        return self.inside / self.of

    @property
    def fits(self) -> bool:
        """Whether the share that is said is one that chance allows."""
        return self.low <= self.level <= self.high


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """Shares at all levels, and how many measured values lay below the computed ones."""

    shares: tuple[Share, ...]
    below: int

    @property
    def of(self) -> int:
        """Number of values."""
        return self.shares[0].of

    def at(self, level: float) -> Share:
        """Return the share at one of the levels."""
        return next(one for one in self.shares if abs(one.level - level) < 1e-9)

    @property
    def words(self) -> str:
        """What it comes to, in a sentence or two."""
        said = " and ".join(
            f"{one.inside} of {one.of} in their {100 * one.level:.0f} % intervals ({100 * one.found:.0f} %; 95 % "
            f"interval of that share {100 * one.low:.0f} to {100 * one.high:.0f} %)"
            for one in (self.at(0.5), self.at(0.9))
        )
        nine = self.at(0.9)
        if nine.fits and self.at(0.5).fits:
            verdict = "no sign that the intervals are too narrow or too wide"
        elif nine.high < nine.level or self.at(0.5).high < 0.5:
            verdict = "the intervals are too narrow, or the readings worse than their meters say"
        else:
            verdict = "the intervals are too wide"
        together = "" if nine.fits and self.at(0.5).fits else f" {TOGETHER}"
        return f"Measured values lay: {said}: {verdict}.{together}"


def calibration(within: Sequence[int], of: int, below: int, levels: Sequence[float] = LEVELS) -> Calibration:
    """Return the calibration of counts.

    Parameters
    ----------
    within : counts of values inside the intervals of each level.
    of : number of values.
    below : of them, those under the computed value.
    levels : rising, 0.5 and 0.9 among them.

    Raises
    ------
    InputError
        When there is nothing to count.

    Notes
    -----
    The interval of a share is that of Clopper and Pearson; it takes the values as independent, which those of one swap
    are not quite.

    References
    ----------
    .. [1] C. J. Clopper and E. S. Pearson, Biometrika 26, 404 (1934), from memory; computed by scipy.stats.binomtest.
    """
    if of < 1:
        raise InputError("no ledger has a computed and a measured value of one thing; there is nothing to count yet.")
    from scipy.stats import binomtest  # here: it is a third of a command's start

    shares = []
    for level, inside in zip(levels, within, strict=True):
        span = binomtest(inside, of).proportion_ci(SURE, method="exact")
        shares.append(Share(level=level, inside=inside, of=of, low=float(span.low), high=float(span.high)))
    return Calibration(shares=tuple(shares), below=below)


def calibration_chart(found: Calibration, width: int = 40) -> list[str]:
    """Return the shares as lines of text: where each should lie (|), what was found (o), its 95 % interval (-)."""
    lines = []
    for one in found.shares:
        row = [" "] * (width + 1)
        for at in range(round(one.low * width), round(one.high * width) + 1):
            row[at] = "-"
        row[round(one.level * width)] = "|"
        row[round(one.found * width)] = "o"
        lines.append(f"{100 * one.level:3.0f} % {''.join(row)} {100 * one.found:3.0f} %")
    return lines


def added(counts: Iterable[Sequence[int]], levels: int = len(LEVELS)) -> list[int]:
    """Return counts of several quantities together."""
    out = [0] * levels
    for one in counts:
        out = [a + b for a, b in zip(out, one, strict=True)]
    return out
