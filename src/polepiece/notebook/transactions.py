"""What the rooms of the notebook share: reading, writing, the clock, and the row that opens every entry."""

import json
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from polepiece import __version__
from polepiece.errors import InputError, NotebookError
from polepiece.notebook.connection import in_words
from polepiece.notebook.records import Clock, stamp
from polepiece.notebook.schema import GuitarRow, Json, StateRow

LARGEST_JSON = 16 * 1024 * 1024  # characters


class Transactions:
    """Reading and writing; one short transaction each."""

    path: Path
    _engine: Engine
    _clock: Clock

    @contextmanager
    def _read(self) -> Iterator[Session]:
        """Read from one moment's view of the file."""
        with in_words(self.path), Session(self._engine) as session:
            yield session

    @contextmanager
    def _write(self) -> Iterator[Session]:
        """Write all of it or nothing; when it returns it is on the disk."""
        with in_words(self.path), Session(self._engine.execution_options(write=True)) as session, session.begin():
            yield session

    def _head(self, guitar_id: int | None) -> dict[str, Any]:
        """Return what every entry carries: its own uuid, when, and of which guitar."""
        return {"uuid": str(uuid.uuid4()), "at": stamp(self._clock()), "guitar_id": guitar_id}


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


def last_state(session: Session, guitar_id: int) -> StateRow:
    """Return the state a guitar is in now."""
    guitar_row(session, guitar_id)
    query = select(StateRow).where(StateRow.guitar_id == guitar_id).order_by(StateRow.id.desc()).limit(1)
    found = session.scalars(query).one_or_none()
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
    if len(text) > LARGEST_JSON:
        raise InputError(f"{name} has {len(text)} characters; at most {LARGEST_JSON} are kept.")
    body: Json = json.loads(text)
    return body
