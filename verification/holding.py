"""How often an interval must hold the truth in a study for it to pass: one rule for all of them.

A tool whose 90 % intervals hold in 90 % of all cases shows other shares in a study of few trials. A row passes within
the range that chance gives such a tool (binomial), so wide that a whole study of it fails in `CHANCE` of such studies:
with m rows that are judged, each has a chance of `CHANCE` / m to lie outside. Figures of one trial that go together do
not count as trials of their own: how far the trials' own shares scatter says for how many they count.

An interval that states more than the trials vary may hold more often; the study then says what that is, and the row is
judged from below alone (``at_least``), with all the chance on that side.
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import binom

from verification.registry import Row

STATED = 0.90
CHANCE = 0.05  # that a study of a tool that keeps its word has a row outside; the usual level, a convention


def allowed(trials: int, *, rows: int, at_least: bool = False) -> tuple[float, float]:
    """Return the least and the largest share of ``trials`` that passes, of a study with ``rows`` rows judged."""
    tail = CHANCE / rows / (1.0 if at_least else 2.0)
    low, high = binom.ppf(tail, trials, STATED), trials - binom.ppf(tail, trials, 1.0 - STATED)
    return float(low) / trials, 1.0 if at_least else float(high) / trials


def counted(held: ArrayLike) -> tuple[float, int]:
    """Return the share that holds and for how many trials it counts; ``held`` (trials,) or (trials, quantities)."""
    table = np.asarray(held, dtype=float)
    table = table.reshape(len(table), -1)
    each = table.mean(axis=1)
    share, scatter = float(each.mean()), float(each.var())
    apart = share * (1.0 - share) / scatter if scatter > 0.0 else 1.0  # 1 where a trial's figures hold all or none
    return share, int(np.clip(len(table) * apart, len(table), table.size))


def share_row(case: str, quantity: str, held: ArrayLike, *, rows: int, at_least: bool = False, more: str = "") -> Row:
    """Return the row of one kind of interval: its share less 0.90 against what chance allows on that side.

    Parameters
    ----------
    held : (trials,) or (trials, quantities) of one kind; those of one trial may go together.
    rows : of the study that are judged.
    at_least : the interval states more than the trials vary; the study's text says what.
    more : said behind the share.
    """
    share, trials = counted(held)
    low, high = allowed(trials, rows=rows, at_least=at_least)
    error = share - STATED
    return Row(
        case=case, quantity=quantity, found=f"{100.0 * share:.1f} % hold{more}",
        reference="90 % or more" if at_least else "90 %", error=min(error, 0.0) if at_least else error,
        tolerance=STATED - low if error < 0.0 or at_least else high - STATED,
    )  # fmt: skip
