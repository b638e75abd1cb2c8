"""Guitars and their states: a chain in which every change, and every undoing of one, is a new state."""

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, assert_never

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session, undefer

from polepiece.errors import ChangedMeanwhileError, InputError, NotebookError
from polepiece.notebook.records import SHORT, Act, GuitarEntry, StateEntry, checked, moment, stamp
from polepiece.notebook.schema import GuitarRow, StateRow
from polepiece.notebook.transactions import Transactions, guitar_row, last_state, provenance, state_row

if TYPE_CHECKING:
    from polepiece.guitar import Guitar


class Histories(Transactions):
    """The guitars of a notebook."""

    def guitars(self) -> list[GuitarEntry]:
        """Return every guitar on record, in the order of their coming."""
        query = (
            select(GuitarRow, func.max(StateRow.id), func.count(StateRow.id))
            .join(StateRow, StateRow.guitar_id == GuitarRow.id)
            .group_by(GuitarRow.id)
            .order_by(GuitarRow.id)
        )
        with self._read() as session:
            return [_guitar_entry(row, last, count) for row, last, count in session.execute(query)]

    def guitar_entry(self, guitar_id: int) -> GuitarEntry:
        """Return one guitar on record."""
        with self._read() as session:
            return entry_of(session, guitar_id)

    def add_guitar(self, guitar: "Guitar", *, name: str | None = None, why: str = "first entry") -> GuitarEntry:
        """Put a guitar on record; ``name`` is a label, by default the guitar's own."""
        label = checked(guitar.name if name is None else name, "name", SHORT)
        text, reason = guitar_text(guitar), checked(why, "why", SHORT)
        made = provenance()
        with self._write() as session:
            head = self._head(None)
            row = GuitarRow(uuid=head["uuid"], name=label, created=head["at"])
            session.add(row)
            session.flush()
            first = self._head(row.id) | {"at": head["at"]}
            session.add(StateRow(**first, parent_id=None, act="entry", why=reason, text=text, provenance=made))
            session.flush()
            return entry_of(session, row.id)

    def guitar(self, guitar_id: int) -> "Guitar":
        """Return a guitar as it is now."""
        with self._read() as session:
            text = last_state(session, guitar_id).text
        return _parse(text, f"guitar {guitar_id}")

    def guitar_as_of(self, guitar_id: int, when: datetime) -> "Guitar":
        """Return a guitar as it was at ``when`` (which has a time zone): its last state recorded up to then.

        Raises
        ------
        NotebookError
            If the guitar was not on record yet.
        """
        return _parse(self.state_as_of(guitar_id, when).text, f"guitar {guitar_id}")

    def state_as_of(self, guitar_id: int, when: datetime) -> StateEntry:
        """Return the state a guitar was in at ``when``."""
        query = (
            _states(guitar_id).where(StateRow.at <= stamp(when)).order_by(None).order_by(StateRow.id.desc()).limit(1)
        )
        with self._read() as session:
            row = guitar_row(session, guitar_id)
            found = session.scalars(query).one_or_none()
            if found is None:
                raise NotebookError(f"{row.name} came on record at {row.created}, later than {stamp(when)}.")
            return _state_entry(found)

    def state(self, state_id: int) -> StateEntry:
        """Return one state."""
        with self._read() as session:
            return _state_entry(state_row(session, state_id))

    def state_guitar(self, state_id: int) -> "Guitar":
        """Return the guitar of one state."""
        return _parse(self.state(state_id).text, f"state {state_id}")

    def states(self, guitar_id: int) -> list[StateEntry]:
        """Return the whole history of a guitar, the first state first."""
        with self._read() as session:
            guitar_row(session, guitar_id)
            return [_state_entry(row) for row in session.scalars(_states(guitar_id))]

    def record(self, guitar_id: int, guitar: "Guitar", *, why: str, expect: int | None = None) -> StateEntry:
        """Record a guitar as it is now.

        Parameters
        ----------
        guitar_id : int
        guitar : Guitar
        why : str
            What was done, in words.
        expect : int or None
            The state this one was made from. If another has been recorded meanwhile (in another window, say)
            nothing is written. None follows whatever state is the last.

        Raises
        ------
        ChangedMeanwhileError
            If the guitar is not in the state ``expect`` any more.
        """
        text, reason, made = guitar_text(guitar), checked(why, "why", SHORT), provenance()
        with self._write() as session:
            last = _expected(session, guitar_id, expect)
            row = StateRow(
                **self._head(guitar_id), parent_id=last.id, act="record", why=reason, text=text, provenance=made
            )
            return _added(session, row)

    def undo(self, guitar_id: int, *, expect: int | None = None, why: str | None = None) -> StateEntry:
        """Go back one step: a new state, equal to the one before; again: one step further back.

        Raises
        ------
        NotebookError
            If the guitar is as it was first entered.
        """
        return self._step(guitar_id, "undo", expect, why)

    def redo(self, guitar_id: int, *, expect: int | None = None, why: str | None = None) -> StateEntry:
        """Take one undo back: a new state, equal to the one that was left. After a new record there is none left."""
        return self._step(guitar_id, "redo", expect, why)

    def can_step(self, guitar_id: int) -> tuple[bool, bool]:
        """Return whether there is something to undo, and to redo."""
        with self._read() as session:
            guitar_row(session, guitar_id)
            past, future = _walk(session.scalars(_states(guitar_id, text=False)).all())
            return len(past) > 1, bool(future)

    def _step(self, guitar_id: int, act: Act, expect: int | None, why: str | None) -> StateEntry:
        reason = None if why is None else checked(why, "why", SHORT)
        made = provenance()
        with self._write() as session:
            last = _expected(session, guitar_id, expect)
            past, future = _walk(session.scalars(_states(guitar_id, text=False)).all())
            there = past[-2:-1] if act == "undo" else future[-1:]
            if not there:
                left = "is as it was first entered" if act == "undo" else "has no undo left to take back"
                raise NotebookError(f"nothing to {act}: guitar {guitar_id} {left}.")
            target = state_row(session, there[0])
            back = f"back to state {target.id}" if act == "undo" else f"again as in state {target.id}"
            row = StateRow(
                **self._head(guitar_id), parent_id=last.id, act=act, restores_id=target.id,
                why=reason or f"{back} ({target.why})"[:SHORT], text=target.text, provenance=made,
            )  # fmt: skip
            return _added(session, row)


def _walk(rows: Sequence[StateRow]) -> tuple[list[int], list[int]]:
    """Return the states that undo goes back through (the last is the present one) and those that redo goes to."""
    past: list[int] = []
    future: list[int] = []
    for row in rows:
        match row.act:
            case "undo":
                future.append(past.pop())
            case "redo":
                past.append(future.pop())
            case "entry" | "record":
                past.append(row.id)
                future.clear()
            case _:
                assert_never(row.act)
    return past, future


def _expected(session: Session, guitar_id: int, expect: int | None) -> StateRow:
    last = last_state(session, guitar_id)
    if expect is not None and last.id != expect:
        raise ChangedMeanwhileError(
            f"guitar {guitar_id} changed meanwhile: it is in state {last.id} ({last.why}, {last.at}), not in state "
            f"{expect} any more. Nothing was written; look at the new state, then record again."
        )
    return last


def _states(guitar_id: int, *, text: bool = True) -> Select[StateRow]:
    query = select(StateRow).where(StateRow.guitar_id == guitar_id).order_by(StateRow.id)
    return query.options(undefer(StateRow.text)) if text else query


def _added(session: Session, row: StateRow) -> StateEntry:
    session.add(row)
    session.flush()
    return _state_entry(row)


def entry_of(session: Session, guitar_id: int) -> GuitarEntry:
    """Return the entry of a guitar within a transaction."""
    row = guitar_row(session, guitar_id)
    query = select(func.max(StateRow.id), func.count(StateRow.id)).where(StateRow.guitar_id == guitar_id)
    last, count = session.execute(query).one()
    return _guitar_entry(row, last, count)


def _guitar_entry(row: GuitarRow, last: int, count: int) -> GuitarEntry:
    return GuitarEntry(
        id=row.id, uuid=row.uuid, name=row.name, created=moment(row.created), state_id=last, states=count
    )


def _state_entry(row: StateRow) -> StateEntry:
    return StateEntry(
        id=row.id, uuid=row.uuid, guitar_id=row.guitar_id or 0, parent_id=row.parent_id, at=moment(row.at),
        act=row.act, restores_id=row.restores_id, why=row.why, text=row.text, provenance=row.provenance,
    )  # fmt: skip


def guitar_text(guitar: "Guitar") -> str:
    """Return a guitar as the text that is kept; what does not read back as the same guitar is refused."""
    from polepiece.guitar import write_guitar  # a second of numerical libraries: not for `polepiece log`

    text = write_guitar(guitar)
    if _parse(text, "guitar") != guitar:
        raise InputError(f"{guitar.name}: this guitar does not read back from its file as the same; not recorded.")
    return text


def _parse(text: str, where: str) -> "Guitar":
    from polepiece.guitar import parse_guitar

    return parse_guitar(text, where)
