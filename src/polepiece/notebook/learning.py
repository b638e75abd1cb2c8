"""Looking through the journal for what can be learned: lines of ledgers, swaps of bars, what became of each.

The tables that are filled here hold nothing of their own. Whoever asks first after new entries came fills them, so it
does not matter who wrote an entry: this program, an archive, or a merge. What is needed of earlier entries is asked for
once for all entries of a transaction: on a server every question is a way there and back.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from hashlib import sha256
from typing import Any

from sqlalchemy import func, insert, or_, select
from sqlalchemy.orm import Session

from polepiece.notebook.chain import newest
from polepiece.notebook.dialect import raw_of
from polepiece.notebook.evidence import LEDGER
from polepiece.notebook.learned_seals import sealed
from polepiece.notebook.learned_tables import LearnedMark, LedgerHead, LedgerLine, SwapRow
from polepiece.notebook.learning_ledgers import UNKNOWN, bars_of, grade_of, lines_of, short, swapped
from polepiece.notebook.schema import Entry, NoteRow, StateRow
from polepiece.notebook.store import Notebook

BATCH = 500  # entries that are looked through in one transaction
Marks = list[tuple[str, int]]


@contextmanager
def looked_through(notebook: Notebook) -> Iterator[tuple[Session, int]]:
    """Give a view of the notebook in which every entry is looked through.

    With it comes how many entries are not: some only where a notebook can only be read.
    """
    while True:
        with notebook._read() as session:
            left = _left(session)
            if not left or notebook.reading:
                yield session, left
                return
        with notebook._write(anyone=True) as session:
            _look(session)


def _left(session: Session) -> int:
    last = select(func.max(Entry.id)).scalar_subquery()
    after, there = session.execute(select(_looked(), last)).one()
    return max((there or 0) - (after or 0), 0)


def _looked() -> Any:
    newest = select(LearnedMark.of_id).where(LearnedMark.what == "looked").order_by(LearnedMark.of_id.desc()).limit(1)
    return newest.scalar_subquery()


def _look(session: Session) -> None:
    """Look through the next entries; another program may have come first."""
    raw = raw_of(session.connection())
    after = session.scalar(select(_looked())) or 0
    upto = min(after + BATCH, newest(raw))
    if upto <= after:
        return
    marks = newest(raw, "learned_marks")
    _ledgers(session, after, upto)
    _swaps(session, after, upto)
    session.execute(insert(LearnedMark), [{"what": "looked", "of_id": upto, "digest": sealed(raw, after, upto, marks)}])


def _ledgers(session: Session, after: int, upto: int) -> None:
    query = select(NoteRow.id, NoteRow.guitar_id, NoteRow.state_id, NoteRow.body).where(
        NoteRow.sort == "swap", NoteRow.id > after, NoteRow.id <= upto
    )
    found: list[tuple[int, int, int, dict[str, Any]]] = [
        (number, guitar, state or 0, body)
        for number, guitar, state, body in session.execute(query.order_by(NoteRow.id))
        if guitar is not None and isinstance(body, dict) and body.get("schema") == LEDGER
    ]
    if not found:
        return
    texts = _texts(session, {state for _, _, state, _ in found})
    heads = [_head(*one, texts.get(one[2], "")) for one in found]
    lines = {number: list(lines_of(body)) for number, _, _, body in found}
    session.execute(insert(LedgerHead), heads)
    if told := [{"head_id": number, **one} for number, ones in lines.items() for one in ones]:
        session.execute(insert(LedgerLine), told)
    _mark(session, _replaced(session, heads) + _proven(session, [one for one in heads if lines[one["id"]]]))


def _texts(session: Session, states: Iterable[int]) -> dict[int, str]:
    """Return the guitar files of states."""
    rows = session.execute(select(StateRow.id, StateRow.text).where(StateRow.id.in_(sorted(states))))
    return {row[0]: row[1] for row in rows}


def _mark(session: Session, marks: Marks) -> None:
    if marks:
        session.execute(insert(LearnedMark), [{"what": what, "of_id": number} for what, number in marks])


def _head(number: int, guitar: int, state: int, body: dict[str, Any], text: str) -> dict[str, Any]:
    pickup = short(body.get("pickup"))
    changes = [str(one) for one in body["change"]] if isinstance(body.get("change"), list) else []
    bar = next((one for one in bars_of(text) if one.pickup == pickup), None)
    whole = repr((guitar, state, str(body.get("pickup")), changes))
    return {
        "id": number, "guitar_id": guitar, "state_id": state,
        "same": sha256(whole.encode("utf-8", "replace")).hexdigest()[:32], "pickup": pickup,
        "place": pickup if bar is None else bar.place, "change": short("; ".join(changes)),
        "grade_before": UNKNOWN if bar is None else bar.grade, "grade_after": grade_of(changes),
        "date": short(body.get("date", "")),
    }  # fmt: skip


def _replaced(session: Session, heads: list[dict[str, Any]]) -> Marks:
    """Return marks of ledgers of the same change to the same state before one of these: the last counts."""
    ours = {one["id"] for one in heads}
    query = select(func.max(LedgerHead.id), LedgerHead.same).where(
        LedgerHead.same.in_({one["same"] for one in heads}), LedgerHead.id < min(ours)
    )
    before = {same: number for number, same in session.execute(query.group_by(LedgerHead.same))}
    marks: Marks = []
    for one in heads:
        if one["same"] in before:
            marks.append(("replaced", before[one["same"]]))
        before[one["same"]] = one["id"]
    return marks


def _proven(session: Session, heads: list[dict[str, Any]]) -> Marks:
    """Return marks of the swaps that are on record already and that a ledger speaks for: of its state, or after it."""
    put_in = [one for one in heads if one["grade_after"]]
    states = {one["state_id"] for one in put_in}
    if not states:
        return []
    query = select(SwapRow.id, SwapRow.state_id, SwapRow.before_id, SwapRow.pickup, SwapRow.grade_after)
    found = session.execute(query.where(or_(SwapRow.state_id.in_(states), SwapRow.before_id.in_(states)))).all()
    bars: dict[tuple[int, str, str], list[int]] = {}
    for number, state, before, pickup, grade in found:
        for there in {state, before}:
            bars.setdefault((there, pickup, grade), []).append(number)
    told = (bars.get((one["state_id"], one["pickup"], one["grade_after"]), ()) for one in put_in)
    return [("proven", number) for numbers in told for number in numbers]


# ---------------------------------------------------------------------------------------- swaps


def _swaps(session: Session, after: int, upto: int) -> None:
    query = select(
        StateRow.id, StateRow.guitar_id, StateRow.parent_id, StateRow.act, StateRow.restores_id, StateRow.text
    ).where(StateRow.id > after, StateRow.id <= upto, StateRow.parent_id.is_not(None))
    found: list[Any] = list(session.execute(query.order_by(StateRow.id)))
    if not found:
        return
    restores, texts = {row[0]: row[4] for row in found}, {row[0]: row[5] for row in found}
    parents = {row[2] for row in found} - texts.keys()
    earlier = select(StateRow.id, StateRow.restores_id, StateRow.text).where(StateRow.id.in_(sorted(parents)))
    for number, restored, text in session.execute(earlier):
        restores[number], texts[number] = restored, text
    marks: Marks = []
    rows: list[dict[str, Any]] = []
    for number, guitar, parent, act, restored, text in found:
        if act == "redo":
            marks.append(("redone", restored or 0))
        elif act == "undo":  # of the state that the one before it is, or restores
            marks.append(("undone", restores.get(parent) or parent))
        else:
            rows += [
                {"state_id": number, "before_id": parent, "guitar_id": guitar, "pickup": now.pickup, "place": now.place,
                 "grade_before": then.grade, "grade_after": now.grade}
                for then, now in swapped(texts.get(parent, ""), text)
            ]  # fmt: skip
    _mark(session, marks + (_put_in(session, rows) if rows else []))


def _put_in(session: Session, rows: list[dict[str, Any]]) -> Marks:
    """Keep swaps; return marks of those that a ledger speaks for: kept with its state, or with the one before it."""
    made = session.scalars(insert(SwapRow).returning(SwapRow.id, sort_by_parameter_order=True), rows).all()
    states = {one[key] for one in rows for key in ("state_id", "before_id")}
    query = (
        select(LedgerHead.guitar_id, LedgerHead.state_id, LedgerHead.pickup, LedgerHead.grade_after)
        .join(LedgerLine, LedgerLine.head_id == LedgerHead.id)
        .where(LedgerHead.state_id.in_(sorted(states)))
        .distinct()
    )
    told = {tuple(row) for row in session.execute(query)}
    return [
        ("proven", number)
        for number, one in zip(made, rows, strict=True)
        if any(
            (one["guitar_id"], one[key], one["pickup"], one["grade_after"]) in told for key in ("state_id", "before_id")
        )
    ]
