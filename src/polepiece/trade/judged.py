"""The trade's sayings beside the computed numbers: every cell judged, and none forced to agree."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import hypot
from typing import Literal, assert_never

from polepiece.trade.table import CELLS, STATEMENTS, Cell, Claim, Statement

Verdict = Literal["agrees", "disagrees", "not distinguishable", "follows from the assumption", "not computed"]
ASSUMED_GRADES = ("alnico-5-unoriented",)  # no published constants

# quantity of a claim -> weights of the numbers of a `State`; the first is the one whose interval is taken
QUANTITY: dict[str, dict[str, float]] = {
    "level": {"level_db": 1.0},
    "lows": {"bands_db.lows": 1.0},
    "mids": {"bands_db.mids": 1.0},
    "highs": {"bands_db.highs": 1.0},
    "presence": {"bands_db.presence": 1.0},
    "treble": {"bands_db.presence": 0.5, "bands_db.highs": 0.5},  # against the level: mean of the two bands in dB
    "treble over lows": {"bands_db.presence": 0.5, "bands_db.highs": 0.5, "bands_db.lows": -1.0},
    "low end": {"bands_own_db.lows": 1.0},  # level included: what is heard at the same gap
    "mid end": {"bands_own_db.mids": 1.0},
    "top end": {"bands_own_db.presence": 0.5, "bands_own_db.highs": 0.5},
}

Numbers = Mapping[str, float]
Interval = Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One grade against a reference bar in the same pickup: difference and its 90 % interval by dotted key."""

    difference: Numbers
    interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedCell:
    """A cell of the trade's table with what the computation says of it."""

    cell: Cell
    verdict: Verdict
    found: tuple[str, ...]  # each claim with its difference and interval, in words


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A difference and its 90 % interval, dB; ``low`` above ``high`` never happens."""

    value: float
    low: float
    high: float


def figure(results: Mapping[str, Mapping[str, Compared]], grade: str, other: str, quantity: str) -> Figure | None:
    """Return a quantity of ``grade`` minus that of ``other``.

    Parameters
    ----------
    results : mapping
        Reference bar -> grade -> comparison with it, all in one pickup. The interval is the paired one where
        ``other`` is a reference itself (or ``grade`` is); through a third bar the two intervals are added as
        independent, which is wider than the truth.
    grade, other : str
    quantity : str
        Key of `QUANTITY`.

    Returns
    -------
    Figure or None
        None where the results do not hold what is needed.
    """
    if grade == other:
        return Figure(value=0.0, low=0.0, high=0.0)
    if grade in results.get(other, {}):
        return _weighted(results[other][grade], quantity)
    if other in results.get(grade, {}):
        turned = _weighted(results[grade][other], quantity)
        return None if turned is None else Figure(value=-turned.value, low=-turned.high, high=-turned.low)
    for there in results.values():
        if grade in there and other in there:
            one, two = _weighted(there[grade], quantity), _weighted(there[other], quantity)
            if one is not None and two is not None:
                value = one.value - two.value
                down = hypot(one.value - one.low, two.high - two.value)
                up = hypot(one.high - one.value, two.value - two.low)
                return Figure(value=value, low=value - down, high=value + up)
    return None


def _weighted(compared: Compared, quantity: str) -> Figure | None:
    """Sum the weighted numbers; half widths are added in squares: level goes with the field, bands with the coil."""
    value = down = up = 0.0
    for key, weight in QUANTITY[quantity].items():
        if key not in compared.difference:
            return None
        centre = compared.difference[key]
        low, high = compared.interval.get(key, (centre, centre))
        ends = sorted((weight * (low - centre), weight * (high - centre)))
        value += weight * centre
        down, up = hypot(down, min(ends[0], 0.0)), hypot(up, max(ends[1], 0.0))
    return Figure(value=value, low=value - down, high=value + up)


def judge_claim(claim: Claim, found: Figure) -> Verdict:
    """Return what a difference says of a claim.

    above, below: by the side of zero on which the whole interval lies. not below: it disagrees when the whole
    interval is below zero. about: it agrees when the difference is within the stated range, and disagrees when
    the whole interval lies outside of it.
    """
    match claim.relation:
        case "about":
            agrees = abs(found.value) <= claim.within
            disagrees = found.low > claim.within or found.high < -claim.within
        case "not below":
            agrees, disagrees = found.value >= 0.0, found.high < 0.0
        case "above":
            agrees, disagrees = found.low > 0.0, found.high < 0.0
        case "below":
            agrees, disagrees = found.high < 0.0, found.low > 0.0
        case _:
            assert_never(claim.relation)
    return "disagrees" if disagrees else "agrees" if agrees else "not distinguishable"


def judge_cell(cell: Cell, results: Mapping[str, Mapping[str, Compared]]) -> JudgedCell:
    """Return a cell with its verdict: one claim that disagrees decides, then one that cannot be told."""
    verdicts: list[Verdict] = []
    words = []
    for claim in cell.claims:
        found = figure(results, cell.grade, claim.other, claim.quantity)
        if found is None:
            words.append(f"{claim.quantity} against {claim.other}: not in these results")
            continue
        verdicts.append(judge_claim(claim, found))
        words.append(
            f"{claim.quantity} against {claim.other} {found.value:+.2f} dB ({found.low:+.2f} to {found.high:+.2f}): "
            f"{verdicts[-1]}"
        )
    return JudgedCell(cell=cell, verdict=_together(cell, verdicts), found=tuple(words))


def _together(cell: Cell, verdicts: list[Verdict]) -> Verdict:
    if not cell.claims or len(verdicts) < len(cell.claims):
        return "not computed"
    if cell.grade in ASSUMED_GRADES:
        return "follows from the assumption"
    for one in ("disagrees", "not distinguishable"):
        if one in verdicts:
            return one
    return "agrees"


def judge_table(results: Mapping[str, Mapping[str, Compared]], cells: Iterable[Cell] = CELLS) -> tuple[JudgedCell, ...]:
    """Return every cell of the table judged by ``results`` of one pickup and one charge."""
    return tuple(judge_cell(cell, results) for cell in cells)


def cells_of(grade: str) -> tuple[Cell, ...]:
    """Return what the trade says of one grade; both ferrites have the same cells."""
    slug = "ceramic-8" if grade.startswith("ceramic") else grade
    return tuple(cell for cell in CELLS if cell.grade == slug)


def holds(statement: Statement, numbers: Mapping[str, Numbers]) -> bool:
    """Tell whether a statement holds in one draw: ``numbers`` are those of a state by grade.

    Raises
    ------
    KeyError
        When a grade that is needed is missing.
    """
    return all(_holds(claim, grade, numbers) for grade, claim in statement.claims)


def _holds(claim: Claim, grade: str, numbers: Mapping[str, Numbers]) -> bool:
    weights = QUANTITY[claim.quantity].items()
    value = sum(weight * (numbers[grade][key] - numbers[claim.other][key]) for key, weight in weights)
    match claim.relation:
        case "about":
            return abs(value) <= claim.within
        case "below":
            return value < 0.0
        case "not below":
            return value >= 0.0
        case "above":
            return value > 0.0
        case _:
            assert_never(claim.relation)


def share_of_draws(draws: Iterable[Mapping[str, Numbers]]) -> dict[str, float]:
    """Return in what share of ``draws`` (numbers by grade) each statement of `STATEMENTS` holds."""
    count, held = 0, dict.fromkeys((one.name for one in STATEMENTS), 0)
    for numbers in draws:
        count += 1
        for one in STATEMENTS:
            held[one.name] += holds(one, numbers)
    return {name: number / count for name, number in held.items()} if count else {}
