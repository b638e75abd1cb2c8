"""What the ledgers and swaps of a notebook come to: what is unproven, how good predictions were, what a grade did.

Every function looks through new entries first (`learning.py`), then asks tables that are indexed for it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Generic, TypeVar

from sqlalchemy import Select, and_, case, func, select
from sqlalchemy.orm import Session

from polepiece.notebook.learned_tables import LearnedMark, LedgerHead, LedgerLine, SwapRow
from polepiece.notebook.learning import looked_through
from polepiece.notebook.records import moment
from polepiece.notebook.schema import GuitarRow, StateRow
from polepiece.notebook.store import Notebook

PAGE = 50  # rows
Row = TypeVar("Row")


@dataclass(frozen=True, slots=True, kw_only=True)
class Paged(Generic[Row]):
    """Some rows of a list that may be long: which is the first of them, and how many there are."""

    rows: tuple[Row, ...]
    first: int
    total: int
    left: int = 0  # entries that are not counted yet: the notebook can only be read


@dataclass(frozen=True, slots=True, kw_only=True)
class Swap:
    """A bar that was put in, by the state that recorded it."""

    state_id: int
    at: datetime
    guitar_id: int
    guitar: str
    pickup: str
    grade_before: str
    grade_after: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """Lines of one quantity: how many, and how many measured values lay within each multiple of a half interval."""

    key: str
    of: str
    words: str
    total: int
    within: tuple[int, ...]  # one for each multiple that was asked
    below: int  # measured less than computed


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One line of a ledger as it was kept, and whose it is."""

    date: str
    guitar_id: int
    guitar: str
    pickup: str
    grade_before: str
    change: str
    key: str
    of: str
    words: str
    unit: str
    computed: tuple[float, float, float] | None  # value, low, high
    measured: tuple[float, float, float] | None  # of a trial: the share of right answers
    word: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mean:
    """One quantity over many ledgers: how many lines, means of what was computed and measured, how many agreed."""

    key: str
    of: str
    words: str
    unit: str
    total: int
    computed: float | None
    measured: float | None
    agreed: int
    disagreed: int


def unproven_swaps(notebook: Notebook, *, first: int = 0, count: int = PAGE) -> Paged[Swap]:
    """Return the swaps in effect of which no ledger says what was measured or heard, the newest first."""
    proven = select(LearnedMark.of_id).where(LearnedMark.what == "proven")
    last = [func.max(case((LearnedMark.what == one, LearnedMark.id), else_=0)) for one in ("undone", "redone")]
    undone = (
        select(LearnedMark.of_id)
        .where(LearnedMark.what.in_(("undone", "redone")))
        .group_by(LearnedMark.of_id)
        .having(last[0] > last[1])
    )
    there = and_(SwapRow.id.not_in(proven), SwapRow.state_id.not_in(undone))
    query = (
        select(SwapRow, StateRow.at, StateRow.why, GuitarRow.name)
        .join(StateRow, StateRow.id == SwapRow.state_id)
        .join(GuitarRow, GuitarRow.id == SwapRow.guitar_id)
        .where(there)
        .order_by(SwapRow.state_id.desc(), SwapRow.id)
    )
    total = select(func.count(SwapRow.id)).where(there)
    with looked_through(notebook) as (session, left):
        found, number = _page(session, query, total, first, count)
    rows = tuple(
        Swap(
            state_id=row.state_id, at=moment(at), guitar_id=row.guitar_id, guitar=name, pickup=row.pickup,
            grade_before=row.grade_before, grade_after=row.grade_after, why=why,
        )
        for row, at, why, name in found
    )  # fmt: skip
    return Paged(rows=rows, first=first, total=number, left=left)


def _page(session: Session, query: Any, total: Select[int], first: int, count: int) -> tuple[list[Any], int]:
    """Return some rows of a query and how many there are in all, by one question: a server may be far away."""
    found = session.execute(query.add_columns(total.scalar_subquery()).offset(first).limit(count)).all()
    number = found[0][-1] if found else session.scalar(total)
    return [tuple(row)[:-1] for row in found], int(number or 0)


def counted_lines(notebook: Notebook, within: Sequence[float]) -> tuple[Counted, ...]:
    """Count measured values by quantity and kind, those within each multiple of the joint half of both intervals.

    Of several ledgers of one change to one pickup in one state the last counts. A multiple of 1 is the 90 % interval.
    """
    size = func.abs(LedgerLine.off)
    shares = [func.sum(case((size <= one, 1), else_=0)) for one in within]
    below = func.sum(case((LedgerLine.off < 0.0, 1), else_=0))
    query = (
        select(LedgerLine.key, LedgerLine.of, func.min(LedgerLine.words), func.count(LedgerLine.id), below, *shares)
        .join(LedgerHead, LedgerHead.id == LedgerLine.head_id)
        .where(LedgerLine.off.is_not(None), LedgerHead.id.not_in(_replaced()))
        .group_by(LedgerLine.key, LedgerLine.of)
        .order_by(func.count(LedgerLine.id).desc(), LedgerLine.key, LedgerLine.of)
    )
    with looked_through(notebook) as (session, _):
        return tuple(
            Counted(
                key=row[0], of=row[1], words=row[2], total=row[3], below=int(row[4]), within=tuple(map(int, row[5:]))
            )
            for row in session.execute(query)
        )


def grades_proven(notebook: Notebook) -> tuple[tuple[str, str, int], ...]:
    """Return (grade, place, ledgers) of the bars that ledgers tell of, the most frequent first."""
    query = (
        select(LedgerHead.grade_after, LedgerHead.place, func.count(LedgerHead.id))
        .where(LedgerHead.grade_after != "", LedgerHead.id.not_in(_replaced()))
        .group_by(LedgerHead.grade_after, LedgerHead.place)
        .order_by(func.count(LedgerHead.id).desc(), LedgerHead.grade_after, LedgerHead.place)
    )
    with looked_through(notebook) as (session, _):
        return tuple((row[0], row[1], row[2]) for row in session.execute(query))


def grade_means(notebook: Notebook, grade: str, place: str | None = None) -> tuple[Mean, ...]:
    """Return what a grade was computed and measured to do where it was put in, by quantity, the most frequent first."""
    agreed, disagreed = (func.sum(case((LedgerLine.word == one, 1), else_=0)) for one in ("agrees", "disagrees"))
    query = (
        _of_grade(
            select(
                LedgerLine.key, LedgerLine.of, func.min(LedgerLine.words), func.min(LedgerLine.unit),
                func.count(LedgerLine.id), func.avg(LedgerLine.computed), func.avg(LedgerLine.measured), agreed,
                disagreed,
            ), grade, place,
        )
        .group_by(LedgerLine.key, LedgerLine.of)
        .order_by(func.count(LedgerLine.id).desc(), LedgerLine.key, LedgerLine.of)
    )  # fmt: skip
    with looked_through(notebook) as (session, _):
        return tuple(
            Mean(
                key=row[0], of=row[1], words=row[2], unit=row[3], total=row[4], computed=row[5], measured=row[6],
                agreed=int(row[7]), disagreed=int(row[8]),
            )
            for row in session.execute(query)
        )  # fmt: skip


def grade_lines(
    notebook: Notebook, grade: str, place: str | None = None, *, first: int = 0, count: int = PAGE
) -> Paged[Told]:
    """Return the lines of ledgers in which a grade was put in, the newest ledger first."""
    query = _of_grade(select(LedgerLine, LedgerHead, GuitarRow.name), grade, place).join(
        GuitarRow, GuitarRow.id == LedgerHead.guitar_id
    )
    total = _of_grade(select(func.count(LedgerLine.id)), grade, place)
    with looked_through(notebook) as (session, left):
        found, number = _page(session, query.order_by(LedgerHead.id.desc(), LedgerLine.id), total, first, count)
    rows = tuple(_told(line, head, name) for line, head, name in found)
    return Paged(rows=rows, first=first, total=number, left=left)


def _of_grade(query: Any, grade: str, place: str | None) -> Any:
    found = query.join(LedgerHead, LedgerHead.id == LedgerLine.head_id).where(
        LedgerHead.grade_after == grade, LedgerHead.id.not_in(_replaced())
    )
    return found if place is None else found.where(LedgerHead.place == place)


def _replaced() -> Select[int]:
    """Return the query of the ledgers that do not count: of several of one change to one state, all but the last."""
    return select(LearnedMark.of_id).where(LearnedMark.what == "replaced")


def _told(line: LedgerLine, head: LedgerHead, name: str) -> Told:
    spans = []
    for value, low, high in (
        (line.computed, line.computed_low, line.computed_high), (line.measured, line.measured_low, line.measured_high),
    ):  # fmt: skip
        spans.append(None if value is None or low is None or high is None else (value, low, high))
    return Told(
        date=head.date, guitar_id=head.guitar_id, guitar=name, pickup=head.pickup, grade_before=head.grade_before,
        change=head.change, key=line.key, of=line.of, words=line.words, unit=line.unit, computed=spans[0],
        measured=spans[1], word=line.word,
    )  # fmt: skip
