"""Looking through the journal for what can be learned: lines of ledgers, swaps of bars, what became of each.

The tables that are filled here hold nothing of their own. Whoever asks first after new entries came fills them, so it
does not matter who wrote an entry: this program, an archive, or a merge.
"""

import math
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from sqlalchemy import Select, func, insert, or_, select
from sqlalchemy.orm import Session

from polepiece.errors import InputError
from polepiece.notebook.evidence import LEDGER
from polepiece.notebook.schema import Entry, LearnedMark, LedgerHead, LedgerLine, NoteRow, StateRow, SwapRow
from polepiece.notebook.store import Notebook

BATCH = 500  # entries that are looked through in one transaction
UNKNOWN = "unknown"
_SIDES = ("computed", "measured")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """What a guitar file says of the bar of one pickup."""

    pickup: str
    place: str  # neck, middle, bridge; the pickup's name where the file does not say
    grade: str


def learn(notebook: Notebook) -> int:
    """Look through the new entries; return how many are left: all of them where a notebook can only be read."""
    while True:
        with notebook._read() as session:
            after, last = _looked(session), session.scalar(select(func.max(Entry.id))) or 0
        if after >= last or notebook.reading:
            return max(last - after, 0)
        with notebook._write(anyone=True) as session:
            after = _looked(session)  # another program may have come first
            upto = min(after + BATCH, session.scalar(select(func.max(Entry.id))) or 0)
            if upto > after:
                _ledgers(session, after, upto)
                _swaps(session, after, upto)
                session.add(LearnedMark(of_id=upto, what="looked"))


def _looked(session: Session) -> int:
    newest = select(LearnedMark.of_id).where(LearnedMark.what == "looked").order_by(LearnedMark.of_id.desc()).limit(1)
    return session.scalar(newest) or 0


# ---------------------------------------------------------------------------------------- ledgers


def _ledgers(session: Session, after: int, upto: int) -> None:
    query = select(NoteRow.id, NoteRow.guitar_id, NoteRow.state_id, NoteRow.body).where(
        NoteRow.sort == "swap", NoteRow.id > after, NoteRow.id <= upto
    )
    for number, guitar, state, body in session.execute(query.order_by(NoteRow.id)).all():
        if guitar is None or not isinstance(body, dict) or body.get("schema") != LEDGER:
            continue
        head, lines = _head(session, number, guitar, state, body), list(lines_of(body))
        marks = _replaced(session, head)
        if lines and head["grade_after"]:
            marks += _proven(session, head)
        session.execute(insert(LedgerHead), [head])
        if lines:
            session.execute(insert(LedgerLine), [{"head_id": number, **one} for one in lines])
        _mark(session, marks)


def _mark(session: Session, marks: list[tuple[str, int]]) -> None:
    if marks:
        session.execute(insert(LearnedMark), [{"what": what, "of_id": number} for what, number in marks])


def _replaced(session: Session, head: Mapping[str, Any]) -> list[tuple[str, int]]:
    """Return the mark of the ledger of the same change to the same state before this one: the last counts."""
    names = ("guitar_id", "state_id", "pickup", "change")
    query = select(func.max(LedgerHead.id)).where(*(getattr(LedgerHead, one) == head[one] for one in names))
    before = session.scalar(query)
    return [] if before is None else [("replaced", before)]


def _proven(session: Session, head: Mapping[str, Any]) -> list[tuple[str, int]]:
    """Return marks of the swaps that are on record already and that a ledger speaks for: of its state, or after it."""
    mine = (SwapRow.pickup == head["pickup"], SwapRow.grade_after == head["grade_after"])
    state = head["state_id"]
    query = select(SwapRow.id).where(or_(SwapRow.state_id == state, SwapRow.before_id == state), *mine)
    return [("proven", one) for one in session.scalars(query)]


def _head(session: Session, number: int, guitar: int, state: int | None, body: Mapping[str, Any]) -> dict[str, Any]:
    pickup = str(body.get("pickup"))
    changes = [str(one) for one in body["change"]] if isinstance(body.get("change"), list) else []
    text = None if state is None else session.scalar(select(StateRow.text).where(StateRow.id == state))
    bar = next((one for one in bars_of(text or "") if one.pickup == pickup), None)
    return {
        "id": number, "guitar_id": guitar, "state_id": state or 0, "pickup": pickup,
        "place": pickup if bar is None else bar.place, "change": "; ".join(changes),
        "grade_before": UNKNOWN if bar is None else bar.grade, "grade_after": grade_of(changes),
        "date": str(body.get("date", "")),
    }  # fmt: skip


def lines_of(body: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield the lines of a ledger that hold a measured or a heard value; damaged ones are passed over."""
    entries = body.get("entries")
    for one in entries if isinstance(entries, list) else ():
        if not isinstance(one, dict):
            continue
        claims = {"computed": _claim(one.get("computed")), "measured": _claim(one.get("measured") or one.get("heard"))}
        if claims["measured"] is None:
            continue
        judged = one.get("judged")
        word = judged.get("word") if isinstance(judged, dict) else None
        heard = one.get("measured") is None
        yield {
            "key": str(one.get("key")), "of": str(one.get("of")), "words": str(one.get("words")),
            "unit": str(one.get("unit")), "word": str(word or ""),
            "off": None if heard else off(claims["computed"], claims["measured"]),
            **{f"{who}{end}": None if claims[who] is None else claims[who][k]  # type: ignore[index]
               for who in _SIDES for k, end in enumerate(("", "_low", "_high"))},
        }  # fmt: skip


Span = tuple[float, float, float]  # value, low, high


def _claim(given: object) -> Span | None:
    if not isinstance(given, dict):
        return None
    try:
        found = float(given["value"]), float(given["low"]), float(given["high"])
    except (KeyError, TypeError, ValueError):
        return None
    return found if all(map(math.isfinite, found)) and found[1] <= found[2] else None


def off(computed: Span | None, measured: Span | None) -> float | None:
    """Return measured less computed, in halves of their 90 % intervals on the sides that face each other, as squares.

    Within +-1 for 90 % of values whose intervals are what they say (law of propagation, JCGM 100:2008, from memory).
    None where there is nothing to compare, or nothing of the computed value moves.
    """
    if computed is None or measured is None or computed[1] == computed[2]:
        return None
    apart = measured[0] - computed[0]
    up = apart >= 0.0
    mine = computed[2] - computed[0] if up else computed[0] - computed[1]
    theirs = measured[0] - measured[1] if up else measured[2] - measured[0]
    both = math.hypot(max(mine, 0.0), max(theirs, 0.0))
    return None if both == 0.0 else apart / both


def grade_of(changes: Iterable[str]) -> str:
    """Return the grade of the bar that a change puts in, empty where it puts in none."""
    wanted = [one for one in changes if one.replace(" ", "").lower().startswith("magnet=")]
    return _grade(wanted[-1]) if wanted else ""


@lru_cache(maxsize=512)
def _grade(change: str) -> str:
    from polepiece.moves import parse_change  # a second of numerical libraries

    try:
        value = parse_change(change).value
    except InputError:
        return UNKNOWN
    grade, finish = value if isinstance(value, tuple) else (value, None)
    return f"{grade}-rough-cast" if finish == "rough-cast" else str(grade)


# ---------------------------------------------------------------------------------------- swaps


def _swaps(session: Session, after: int, upto: int) -> None:
    query = select(
        StateRow.id, StateRow.guitar_id, StateRow.parent_id, StateRow.act, StateRow.restores_id, StateRow.text
    )
    query = query.where(StateRow.id > after, StateRow.id <= upto, StateRow.parent_id.is_not(None))
    for number, guitar, parent, act, restores, text in session.execute(query.order_by(StateRow.id)).all():
        if act in ("undo", "redo"):
            _mark(session, [_stepped(session, parent or 0, act, restores)])
            continue
        old = session.scalar(select(StateRow.text).where(StateRow.id == parent))
        for then, now in swapped(old or "", text):
            row = SwapRow(
                state_id=number, before_id=parent, guitar_id=guitar, pickup=now.pickup, place=now.place,
                grade_before=then.grade, grade_after=now.grade,
            )  # fmt: skip
            session.add(row)
            session.flush()
            if session.scalar(_proof_of(row).limit(1)) is not None:
                _mark(session, [("proven", row.id)])


def _proof_of(row: SwapRow) -> Select[int]:
    """Return the query of the ledgers that speak for a swap: kept with its state, or with the one before it."""
    return (
        select(LedgerHead.id)
        .join(LedgerLine, LedgerLine.head_id == LedgerHead.id)
        .where(
            LedgerHead.guitar_id == row.guitar_id, LedgerHead.state_id.in_((row.state_id, row.before_id)),
            LedgerHead.pickup == row.pickup, LedgerHead.grade_after == row.grade_after,
        )
    )  # fmt: skip


def _stepped(session: Session, parent: int, act: str, restores: int | None) -> tuple[str, int]:
    """Return the mark of an undo (of the state that the one before it is, or restores) or of a redo."""
    if act == "redo":
        return "redone", restores or 0
    before = session.scalar(select(StateRow.restores_id).where(StateRow.id == parent))
    return "undone", before or parent


def swapped(before: str, after: str) -> Iterator[tuple[Bar, Bar]]:
    """Yield the bars of pickups that are in both guitar files and have another grade in the second."""
    if set(before.splitlines()) == set(after.splitlines()):
        return
    old = {one.pickup: one for one in bars_of(before)}
    for now in bars_of(after):
        then = old.get(now.pickup)
        if then is not None and then.grade != now.grade and UNKNOWN not in (then.grade, now.grade):
            yield then, now


@lru_cache(maxsize=64)
def bars_of(text: str) -> tuple[Bar, ...]:
    """Return what a guitar file says of its bars; nothing of a file that cannot be read."""
    try:
        pickups = tomllib.loads(text).get("pickups", [])
    except (tomllib.TOMLDecodeError, RecursionError):
        return ()
    found = []
    for one in pickups if isinstance(pickups, list) else ():
        if isinstance(one, dict):
            said = one.get("magnet")
            magnet = said if isinstance(said, dict) else {}
            grade = str(magnet.get("grade", UNKNOWN))
            rough = magnet.get("finish") == "rough-cast" and not grade.endswith("-rough-cast")
            name = str(one.get("name", ""))
            place = str(one.get("position", name))
            found.append(Bar(pickup=name, place=place, grade=f"{grade}-rough-cast" if rough else grade))
    return tuple(found)
