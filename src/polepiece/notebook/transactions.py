"""What the rooms of the notebook share: reading, writing, the clock, and the row that opens every entry."""

import json
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from sqlalchemy import Engine, select
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from polepiece import __version__
from polepiece.errors import InputError, NotebookError, ReadOnlyNotebookError
from polepiece.notebook.backups import backup_daily
from polepiece.notebook.benches import bench_that_writes
from polepiece.notebook.branches import Step, Tree, grown
from polepiece.notebook.chain import seal
from polepiece.notebook.copies import copier
from polepiece.notebook.dialect import Raw, raw_of, size_of
from polepiece.notebook.end_note import End, end_of, read_end, write_end
from polepiece.notebook.limits import json_fault
from polepiece.notebook.opening import in_words, kept_after_all
from polepiece.notebook.places import Place
from polepiece.notebook.records import Clock, stamp
from polepiece.notebook.same_place import FileMark, last_of_the_same
from polepiece.notebook.schema import BranchChoiceRow, GuitarRow, StateRow
from polepiece.notebook.schema_base import Json


class Transactions:
    """Reading and writing; one short transaction each."""

    path: Place
    reading: str  # why it can only be read, or nothing
    _engine: Engine
    _file: FileMark | None = None  # which file was opened; of a server none
    _end: End | None = None  # the last entry that was acknowledged here
    _clock: Clock
    _notices: list[str]

    @contextmanager
    def _read(self) -> Iterator[Session]:
        """Read from one moment's view of the file."""
        with in_words(self.path), Session(self._engine) as session:
            yield session

    @contextmanager
    def _write(self, *, anyone: bool = False) -> Iterator[Session]:
        """Write all of it or nothing, sealed into the chain; when it returns it is on the disk.

        ``anyone``: without the token of a bench too.
        """
        if self.reading:
            raise ReadOnlyNotebookError(self.reading)
        before, end, days, size = 0, None, ("", ""), 0
        noted = self._noted()
        with in_words(self.path), Session(self._engine.execution_options(write=True)) as session:
            try:
                with session.begin():
                    raw = raw_of(session.connection())
                    before = last_of_the_same(raw, self.path, self._file, noted)
                    with _signed(bench_that_writes(session, anyone=anyone)):
                        yield session
                        session.flush()
                    seal(raw, before)
                    days = self._days(raw, before)
                    size = 0 if days[0] == days[1] else size_of(raw)
                    end = end_of(raw)
            except DBAPIError as error:
                if end is None or not kept_after_all(self._engine, self.path, end, error):
                    raise
        if end is not None and end.entry > before:
            self._end = end
            write_end(self.path, end)
            if before and days[0] != days[1]:
                self._notice(backup_daily(self.path, days[1], copier(self.path), size))

    def _noted(self) -> End | None:
        """Return the last entry that was acknowledged, as this program or the note beside the notebook knows it.

        Asked before the notebook is looked at: it may be behind that, and is never ahead.
        """
        return max((one for one in (self._end, read_end(self.path)) if one), key=lambda one: one.entry, default=None)

    @staticmethod
    def _days(raw: Raw, before: int) -> tuple[str, str]:
        """Return the days of the last entry there was and the last one now."""
        query = (
            "SELECT substr(min(at), 1, 10), substr(max(at), 1, 10) FROM journal "
            "WHERE id IN (?, (SELECT max(id) FROM journal))"
        )
        found = raw.execute(query, (before,)).fetchone()
        return ("", "") if found is None else (str(found[0]), str(found[1]))

    def _notice(self, words: str) -> None:
        """Keep what a person should be told beside the answer."""
        if words and words not in self._notices:
            self._notices.append(words)

    def notices(self) -> tuple[str, ...]:
        """Return what should be told beside the answers so far: it is read only, a clock went back, no backup made."""
        return tuple(self._notices)

    def _head(self, guitar_id: int | None) -> dict[str, Any]:
        """Return what every entry carries: its own uuid, when, of which guitar, and who wrote it."""
        return {
            "uuid": str(uuid.uuid4()), "at": stamp(self._clock()), "guitar_id": guitar_id, "bench": _BENCH.get(),
        }  # fmt: skip


_BENCH: ContextVar[str | None] = ContextVar("bench that writes", default=None)


@contextmanager
def _signed(bench: str | None) -> Iterator[None]:
    before = _BENCH.set(bench)
    try:
        yield
    finally:
        _BENCH.reset(before)


def provenance(**more: object) -> Json:
    """Return who computed or wrote something: version, hash of the constants, and what the caller knows."""
    from polepiece.materials import constants_hash  # half a second of numerical libraries, for writers only

    return {"version": __version__, "constants": constants_hash(), **more}


def guitar_row(session: Session, guitar_id: int) -> GuitarRow:
    """Return a guitar, or say which there are."""
    found = session.get(GuitarRow, guitar_id)
    if found is None:
        known = ", ".join(str(one) for one in session.scalars(select(GuitarRow.id).order_by(GuitarRow.id).limit(20)))
        raise NotebookError(f"there is no guitar {guitar_id} in this notebook; it has: {known or 'none yet'}.")
    return found


def tree_of(session: Session, guitar_id: int) -> Tree:
    """Return the states of a guitar as the tree they make."""
    states = select(StateRow.id, StateRow.parent_id, StateRow.act, StateRow.restores_id)
    choices = select(BranchChoiceRow.id, BranchChoiceRow.state_id)
    told = [(row[0], Step(*row)) for row in session.execute(states.where(StateRow.guitar_id == guitar_id))]
    for number, state in session.execute(choices.where(BranchChoiceRow.guitar_id == guitar_id)):
        told.append((number, Step(state, None, "choice", None)))
    return grown(step for _, step in sorted(told, key=lambda one: one[0]))


def is_branched(session: Session, guitar_id: int) -> bool:
    """Return whether a guitar has two continuations; most have one, and their last state is simply the newest."""
    query = select(StateRow.id).where(StateRow.guitar_id == guitar_id, StateRow.branch == 1).limit(1)
    return session.scalar(query) is not None


def last_state(session: Session, guitar_id: int) -> StateRow:
    """Return the state a guitar is in now."""
    guitar_row(session, guitar_id)
    query = select(StateRow).where(StateRow.guitar_id == guitar_id)
    if is_branched(session, guitar_id):
        query = query.where(StateRow.id == tree_of(session, guitar_id).present)
    found = session.scalars(query.order_by(StateRow.id.desc()).limit(1)).one_or_none()
    if found is None:
        raise NotebookError(f"guitar {guitar_id} has no state; the notebook is damaged.")
    return found


def state_row(session: Session, state_id: int, guitar_id: int | None = None) -> StateRow:
    """Return a state, of this guitar where one is named."""
    found = session.get(StateRow, state_id)
    if found is None or (guitar_id is not None and found.guitar_id != guitar_id):
        whose = "" if guitar_id is None else f" of guitar {guitar_id}"
        raise NotebookError(f"there is no state {state_id}{whose} in this notebook.")
    return found


def json_body(value: Mapping[str, object], name: str) -> Json:
    """Return a mapping as plain JSON values, the same when it comes back.

    Raises
    ------
    InputError
        If it holds what strict JSON has not, or is too large.
    """
    if not isinstance(value, Mapping):
        raise InputError(f"{name} is {type(value).__name__}; a JSON object (dict) is kept.")
    try:
        text = json.dumps(value, allow_nan=False, ensure_ascii=False)
        text.encode("utf-8")
    except (TypeError, ValueError, RecursionError) as error:
        raise InputError(
            f"{name} is not strict JSON: {error}. Arrays and NaN must be turned into plain values."
        ) from None
    if fault := json_fault(text):
        raise InputError(f"{name} {fault}.")
    body: Json = json.loads(text)
    return body
