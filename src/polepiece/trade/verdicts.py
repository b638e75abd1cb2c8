"""The trade's table judged by the grades computed for one pickup."""

from dataclasses import replace

from polepiece.bench import Bench, Grades, difference, with_grade
from polepiece.draw_counts import DRAWS
from polepiece.guitar import Guitar, Pickup
from polepiece.trade.judged import Compared, JudgedCell, cells_of, judge_table
from polepiece.trade.table import BASIS, CELLS, COLUMNS, CONFOUNDED


def trade_verdicts(
    guitar: Guitar, found: Grades, *, draws: int = DRAWS, bench: Bench | None = None
) -> tuple[JudgedCell, ...]:
    """Judge every cell of the trade's table by ``found``, with paired intervals for each pair of bars.

    Parameters
    ----------
    guitar : Guitar
    found : Grades
        Of `compare_grades`, with the same ``bench`` so that its draws serve again.
    draws : int
        0: no intervals, every sign counts as it is.
    bench : Bench, optional

    Returns
    -------
    tuple of JudgedCell
        Empty for a pickup that is no full-size humbucker: the table does not speak of it.
    """
    pickup = guitar.pickup(found.pickup)
    if not pickup.built.trade_speaks_of_it:
        return ()
    bench = bench or Bench()
    states = {one.grade: one.state for one in found.results}
    there = {slug: _with(guitar, with_grade(pickup, slug, found.charge)) for slug in states}
    results = {}
    for other in sorted({claim.other for cell in CELLS for claim in cell.claims} & states.keys()):
        spans = bench.intervals(there[other], there, pickup.name, count=draws) if draws else {}
        results[other] = {
            slug: Compared(difference=difference(states[other], states[slug]), interval=spans.get(slug, {}))
            for slug in states
        }
    return judge_table(results)


def _with(guitar: Guitar, pickup: Pickup) -> Guitar:
    return replace(guitar, pickups=tuple(pickup if one.name == pickup.name else one for one in guitar.pickups))


def trade_body(grade: str, judged: tuple[JudgedCell, ...]) -> dict[str, object] | None:
    """Return what the trade says of a grade as JSON values; None where it says nothing.

    By column the saying in our words (null: none), then ``strengths``, ``verdicts`` and ``found`` by column.
    """
    cells = cells_of(grade)
    if not cells:
        return None
    verdicts = {(one.cell.grade, one.cell.column): one for one in judged}
    body: dict[str, object] = {column: None for column in COLUMNS}
    body |= {cell.column: cell.says for cell in cells}
    found = {cell.column: verdicts.get((cell.grade, cell.column)) for cell in cells}
    return body | {
        "of": "a stock full-size humbucker",
        "basis": BASIS,
        "note": CONFOUNDED,
        "strengths": {cell.column: cell.strength for cell in cells},
        "verdicts": {column: one.verdict if one is not None else "not computed" for column, one in found.items()},
        "found": {column: list(one.found) for column, one in found.items() if one is not None and one.found},
        "why_not": {cell.column: cell.why_not for cell in cells if cell.why_not},
    }
