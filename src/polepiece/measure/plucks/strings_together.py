"""Plucks of several strings as one number, combined as a prediction does: energies are added over the strings."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.measure.plucks.features import COLUMNS, NOMINAL
from polepiece.measure.plucks.interval import LEAST
from polepiece.sound import RESPONSE_BANDS

AT = {name: k for k, name in enumerate(COLUMNS)}
ENERGIES: dict[str, tuple[str, str | None]] = {  # the energy over all strings, and the one it stands against
    "level_db": ("level", None),
    **{f"bands_db.{band}": (f"own.{band}", "level") for band in RESPONSE_BANDS},
    **{f"bands_own_db.{band}": (f"own.{band}", None) for band in RESPONSE_BANDS},
    **{f"attack_minus_sustain_db.{band}": (f"attack.{band}", f"sustain.{band}") for band in RESPONSE_BANDS},
}
MEANS = {  # means over the strings of what the column says
    "whole_level_db": "whole", "sensitivity_1khz_db": "about_1khz", "decay_time_percent": "decay",
    **{f"{head}.{one:g}": f"{head}.{one:g}" for head in ("third_octave_db", "attack_third_octave_db")
       for one in NOMINAL},
}  # fmt: skip
NAMES: tuple[str, ...] = (
    "level_db", "whole_level_db", "sensitivity_1khz_db", *(one for one in ENERGIES if one != "level_db"),
    *(one for one in MEANS if one not in ("whole_level_db", "sensitivity_1khz_db")),
)  # fmt: skip
"""Quantities of a comparison; names that `polepiece predict` has mean the same."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shared:
    """Change of an energy summed over k strings, dB, and what each string's own change counts in it (k,)."""

    change: float
    weight: FloatArray
    middle: FloatArray  # (k,) of each string before, dB

    @classmethod
    def of(cls, before: Sequence[FloatArray], after: Sequence[FloatArray]) -> "Shared":
        """Combine (plucks,) dB a string; a string with fewer than three values on a side adds nothing.

        Notes
        -----
        ln(sum a / sum b) is exactly sum w ln(a_k / b_k), with w in proportion to the logarithmic mean of the string's
        shares before and after, (s - r)/ln(s/r).

        References
        ----------
        .. [1] Y. O. Vartia, "Ideal log-change index numbers", Scandinavian Journal of Statistics 3, 1976, from memory;
           the identity is checked in the tests.

        Examples
        --------
        >>> one = Shared.of([np.zeros(3), np.zeros(3)], [np.full(3, 10.0), np.zeros(3)])
        >>> round(one.change, 3), bool(one.weight[0] > one.weight[1])
        (7.404, True)
        """
        first, second = (np.array([_middle(one) for one in side]) for side in (before, after))
        there = np.isfinite(first) & np.isfinite(second)
        weight = np.zeros(len(first))
        if not there.any():
            return cls(change=float("nan"), weight=weight, middle=first)
        top = float(first[there].max())
        r, s = (10.0 ** ((side[there] - top) / 10.0) for side in (first, second))
        r, s = r / r.sum(), s / s.sum()
        apart = np.log(s / r)
        near = np.abs(apart) < 1e-6  # below, the mean of both is nearer than the quotient of two small numbers
        mean = np.where(near, 0.5 * (r + s), (s - r) / np.where(near, 1.0, apart))
        weight[there] = mean / mean.sum()
        return cls(change=float(weight[there] @ (second - first)[there]), weight=weight, middle=first)

    def parts(self, number: int, values: FloatArray, *, lifted: float) -> FloatArray:
        """Return what the plucks of string ``number`` add to the whole, less ``lifted``; 0 where it adds nothing.

        Derived here: the first order of a sum of energies.
        """
        if self.weight[number] == 0.0:
            return np.zeros(len(values))
        return np.asarray(self.weight[number] * (values - self.middle[number] - lifted))


def over_strings(
    before: Sequence[FloatArray], after: Sequence[FloatArray]
) -> tuple[list[FloatArray], list[FloatArray]]:
    """Return tables (plucks, q) a string, columns as `NAMES`, whose mean change over the strings is the whole's.

    Parameters
    ----------
    before, after : one table of `feature_table` a string, the same strings on both sides.

    Notes
    -----
    A change of 10 log10 of energies summed over strings is a weighted mean of the strings' own changes (`Shared`).
    Each pluck's value here is its influence on it: the weight times its distance from what the whole says. So strings
    that all changed alike do not differ here, whatever they weigh. A prediction plucks all strings alike; here they
    weigh as they were plucked.
    """
    count = len(before)
    found = {
        name: Shared.of([one[:, k] for one in before], [one[:, k] for one in after]) for name, k in AT.items()
    }  # fmt: skip
    sides = []
    for step, side in enumerate((before, after)):
        tables = [np.full((len(one), len(NAMES)), np.nan) for one in side]
        for column, name in enumerate(NAMES):
            for number in range(count):
                if name in MEANS:
                    tables[number][:, column] = side[number][:, AT[MEANS[name]]]
                else:
                    tables[number][:, column] = _influence(ENERGIES[name], found, side[number], number, step)
        sides.append(tables)
    return sides[0], sides[1]


def _influence(
    terms: tuple[str, str | None], found: dict[str, Shared], table: FloatArray, number: int, step: int
) -> FloatArray:
    """Return the influence (plucks,) of one string's plucks before (``step`` 0) or after (1) the change."""
    above, below = found[terms[0]], None if terms[1] is None else found[terms[1]]
    weights = np.abs(above.weight) + (0.0 if below is None else np.abs(below.weight))
    if not above.weight.any() or not weights[number] or (below is not None and not below.weight.any()):
        return np.full(len(table), np.nan)
    total, out = 0.0, np.zeros(len(table))
    for sign, name, one in ((1.0, terms[0], above), (-1.0, terms[1], below)):
        if one is None or name is None:
            continue
        total += sign * one.change
        out += sign * one.parts(number, table[:, AT[name]], lifted=step * one.change)
    return np.asarray(step * total + np.count_nonzero(weights) * out)


def _middle(values: FloatArray) -> float:
    there = values[np.isfinite(values)]
    return float(there.mean()) if there.size >= LEAST else float("nan")
