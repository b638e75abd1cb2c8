"""Guitars and their states: a chain in which every change, and every undoing of one, is a new state."""

import os
from collections.abc import Sequence
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session, undefer

from polepiece.errors import ChangedMeanwhileError, InputError, NotebookError
from polepiece.notebook.branches import Steps, Tree
from polepiece.notebook.clock import settled
from polepiece.notebook.records import SHORT, Act, GuitarEntry, StateEntry, checked, moment, stamp_asked
from polepiece.notebook.schema import BranchChoiceRow, GuitarRow, StateRow
from polepiece.notebook.transactions import (
    Transactions,
    guitar_row,
    is_branched,
    last_state,
    provenance,
    state_row,
    tree_of,
)
from polepiece.which_constants import VARIABLE

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
        branched = select(StateRow.guitar_id).where(StateRow.branch == 1).distinct()
        with self._read() as session:
            two = set(session.scalars(branched))
            return [
                entry_of(session, row.id) if row.id in two else _guitar_entry(row, last, count)
                for row, last, count in session.execute(query).all()
            ]

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
        """Return the state a guitar was in at ``when``, by the order in which its states were recorded.

        Where the clock went back between two of them, the one that does not fit the others counts from the one before
        it (`clock.py`), and ``notices`` says so.
        """
        asked = stamp_asked(when)
        with self._read() as session:
            row = guitar_row(session, guitar_id)
            states = _path(session, guitar_id)
            counted = settled([one.at for one in states])
            self._notice(_went_back(states, counted))
            there = [one for one, at in zip(states, counted, strict=True) if at <= asked]
            if not there:
                raise NotebookError(f"{row.name} came on record at {row.created}, later than {asked}.")
            return _state_entry(there[-1])

    def state(self, state_id: int) -> StateEntry:
        """Return one state."""
        with self._read() as session:
            return _state_entry(state_row(session, state_id))

    def state_guitar(self, state_id: int) -> "Guitar":
        """Return the guitar of one state."""
        return _parse(self.state(state_id).text, f"state {state_id}")

    def states(self, guitar_id: int) -> list[StateEntry]:
        """Return the states that lead to the present one, the first state first; `branches` has the others."""
        with self._read() as session:
            guitar_row(session, guitar_id)
            return [_state_entry(row) for row in _path(session, guitar_id, text=True)]

    def branches(self, guitar_id: int) -> list[StateEntry]:
        """Return the last state of every continuation of a guitar, the present one first; one, where it went on once.

        There are several when the guitar was worked on in two notebooks and one was merged into the other.
        """
        with self._read() as session:
            guitar_row(session, guitar_id)
            tree = tree_of(session, guitar_id)
            order = sorted(tree.tips, key=lambda one: one != tree.present)
            return [_state_entry(session.get_one(StateRow, one)) for one in order]

    def branch_is_open(self, guitar_id: int) -> bool:
        """Tell whether a guitar has a branch that came after the last choice of one."""
        branch = select(func.max(StateRow.id)).where(StateRow.guitar_id == guitar_id, StateRow.branch == 1)
        choice = select(func.max(BranchChoiceRow.id)).where(BranchChoiceRow.guitar_id == guitar_id)
        with self._read() as session:
            return (session.scalar(branch) or 0) > (session.scalar(choice) or 0)

    def choose_branch(self, guitar_id: int, state_id: int, *, why: str) -> StateEntry:
        """Go on from the last state of a continuation; the ones that are left stay in the history.

        The present one can be chosen while there is a branch that came after the last choice.

        Raises
        ------
        NotebookError
            If it is not the last state of a continuation of this guitar, or the present one and there is nothing to
            choose.
        """
        reason, is_open = checked(why, "why", SHORT), self.branch_is_open(guitar_id)
        with self._write() as session:
            state = state_row(session, state_id, guitar_id)
            tree = tree_of(session, guitar_id)
            if tree.present == state_id and not is_open:
                raise NotebookError(f"guitar {guitar_id} is in state {state_id} already.")
            if state_id not in tree.tips:
                ends = ", ".join(str(one) for one in tree.tips)
                raise NotebookError(f"state {state_id} is no end of a branch; guitar {guitar_id} has these: {ends}.")
            session.add(BranchChoiceRow(**self._head(guitar_id), state_id=state_id, why=reason))
            return _state_entry(state)

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
            return self._added(session, row, last)

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
            steps = _steps(tree_of(session, guitar_id))
            return steps.back is not None, steps.forth is not None

    def _step(self, guitar_id: int, act: Act, expect: int | None, why: str | None) -> StateEntry:
        reason = None if why is None else checked(why, "why", SHORT)
        made = provenance()
        with self._write() as session:
            last = _expected(session, guitar_id, expect)
            steps = _steps(tree_of(session, guitar_id))
            there = steps.back if act == "undo" else steps.forth
            if there is None:
                left = "is as it was first entered" if act == "undo" else "has no undo left to take back"
                raise NotebookError(f"nothing to {act}: guitar {guitar_id} {left}.")
            target = state_row(session, int(there))
            back = f"back to state {target.id}" if act == "undo" else f"again as in state {target.id}"
            row = StateRow(
                **self._head(guitar_id), parent_id=last.id, act=act, restores_id=target.id,
                why=reason or f"{back} ({target.why})"[:SHORT], text=target.text, provenance=made,
            )  # fmt: skip
            return self._added(session, row, last)

    def _added(self, session: Session, row: StateRow, last: StateRow) -> StateEntry:
        if row.at < last.at:
            self._notice(
                f"the clock went back: this state is dated {row.at}, and the one before it, which came first, "
                f"{last.at}. Is the clock of this computer right?"
            )
        session.add(row)
        session.flush()
        return _state_entry(row)


def _steps(tree: Tree) -> Steps:
    return Steps() if tree.present is None else tree.steps[tree.present]


def _path(session: Session, guitar_id: int, *, text: bool = False) -> list[StateRow]:
    """Return the rows of the states that lead to the present one."""
    rows = session.scalars(_states(guitar_id, text=text)).all()
    if not any(one.branch for one in rows):
        return list(rows)
    known = {one.id: one for one in rows}
    return [known[int(one)] for one in tree_of(session, guitar_id).path()]


def _went_back(states: Sequence[StateRow], counted: Sequence[str]) -> str:
    """Return in words that the clock went back among these states, or nothing."""
    odd = [one for one, at in zip(states, counted, strict=True) if one.at != at]
    if not odd:
        return ""
    which = ", ".join(f"{one.id} (dated {one.at})" for one in odd[:3]) + (" and more" if len(odd) > 3 else "")
    return f"the clock went back while this guitar was on record: state {which} counts by its place in the history."


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


def entry_of(session: Session, guitar_id: int) -> GuitarEntry:
    """Return the entry of a guitar within a transaction."""
    row = guitar_row(session, guitar_id)
    query = select(func.max(StateRow.id), func.count(StateRow.id)).where(StateRow.guitar_id == guitar_id)
    last, count = session.execute(query).one()
    if is_branched(session, guitar_id):
        path = tree_of(session, guitar_id).path()
        last, count = int(path[-1]), len(path)
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
    return _read_once(text, where, os.environ.get(VARIABLE))


@lru_cache(maxsize=64)
def _read_once(text: str, where: str, constants: "str | None") -> "Guitar":
    """Read a guitar; of the last ones the record itself, which nobody can change: a page asks for one three times."""
    from polepiece.guitar import parse_guitar

    return parse_guitar(text, where)
