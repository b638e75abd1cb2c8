"""Everything that can be held against something: pages, chain, references, sounds, JSON, moments, undo and redo."""

import hashlib
import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from pathlib import Path

from polepiece.errors import NotebookError
from polepiece.notebook.branches import Step, Tree
from polepiece.notebook.dialect import PostgresRaw, Raw, all_page_faults, reference_faults
from polepiece.notebook.end_note import end_faults, read_end
from polepiece.notebook.learned_seals import counted_faults
from polepiece.notebook.opening import looked_at
from polepiece.notebook.photos import photo_faults
from polepiece.notebook.places import Place, followed
from polepiece.notebook.records import stamp
from polepiece.notebook.schema_base import APPLICATION_ID, REVISIONS, Base
from polepiece.notebook.structure import entry_faults, number_faults, personal_faults, schema_faults, still_whole

JSON_COLUMNS = (
    ("states", "provenance"), ("parts", "body"), ("job_events", "body"), ("predictions", "result"),
    ("predictions", "provenance"), ("notes", "body"), ("quotes", "body"), ("settings", "body"),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What a check of a notebook found; ``faults`` in words, empty when all is well."""

    path: Place
    entries: int  # that there are, or were
    whole: int  # that say what was sealed
    sounds: int
    last: str | None  # when the last entry was written
    noted: bool  # there is a note of the end, so that lost entries at the end would be seen
    faults: tuple[str, ...]
    remarks: tuple[str, ...]  # no damage, but to know


def check_notebook(path: Place) -> Checked:
    """Hold all of a notebook against all that it can be held against; the file is not written to.

    Raises
    ------
    NotebookError
        When it is not there, no notebook, of another version, or cannot be read at all.
    """
    path = followed(path) if isinstance(path, Path) else path
    if isinstance(path, Path) and not path.is_file():
        raise NotebookError(f"{path}: there is no such file; check the name and the folder.")
    end = read_end(path)
    with looked_at(path) as connection:
        faults: list[str] = []
        try:
            _of_this_version(connection, path)
            for part in (
                all_page_faults, schema_faults, entry_faults, _references, _sounds, _json, _moments, _histories,
                personal_faults, counted_faults, number_faults,
            ):  # fmt: skip
                faults += _found(part(connection))
            faults += _found(photo_faults(path, _figures(connection)))
            faults += _found(end_faults(connection, end))
            good, there = still_whole(connection)
            last = connection.execute("SELECT at FROM journal ORDER BY id DESC LIMIT 1").fetchone()
            sounds = int((connection.execute("SELECT count(*) FROM recordings").fetchone() or (0,))[0])
            remarks = tuple(_found(_clock(connection)))
        except (sqlite3.Error, UnicodeDecodeError) as error:
            more = "".join(f"; {one}" for one in faults)
            raise NotebookError(
                f"{path} is damaged so that it cannot be read ({error}){more}. `polepiece notebook "
                "rescue` tries what is left."
            ) from None
    return Checked(
        path=path, entries=there, whole=good, sounds=sounds, last=str(last[0]) if last else None,
        noted=end is not None, faults=tuple(dict.fromkeys(faults)), remarks=remarks,
    )  # fmt: skip


def _found(faults: Iterable[str]) -> list[str]:
    """Return the faults of one part; where the file cannot be read any further, that is the last of them."""
    found: list[str] = []
    try:
        for one in faults:
            found.append(one)
    except (sqlite3.Error, UnicodeDecodeError) as error:
        found.append(f"the file cannot be read everywhere ({error})")
    return found


def _of_this_version(connection: Raw, path: Place) -> None:
    if isinstance(connection, PostgresRaw):
        return  # it has been looked at on the way in
    if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise NotebookError(f"{path} is an SQLite file of another program, not a notebook. Was another file meant?")
    found = [one for (one,) in connection.execute("SELECT version_num FROM alembic_version")]
    if found != [REVISIONS[-1]]:
        older = len(found) == 1 and found[0] in REVISIONS
        words = (
            "open it once with this version (polepiece log), then check it" if older else "install the newer version"
        )
        raise NotebookError(
            f"{path} has the schema {', '.join(map(str, found)) or 'of none'}, not {REVISIONS[-1]}; {words}."
        )


def _references(connection: Raw) -> Iterator[str]:
    yield from reference_faults(connection, Base.metadata)


def _sounds(connection: Raw) -> Iterator[str]:
    for (digest,) in connection.execute("SELECT sha256 FROM recordings ORDER BY sha256").fetchall():
        row = connection.execute("SELECT data, size FROM recordings WHERE sha256 = ?", (digest,)).fetchone()
        if row is None or hashlib.sha256(row[0]).hexdigest() != digest or len(row[0]) != row[1]:
            yield f"sound {digest:.12}: its bytes do not have its hash"


def _json(connection: Raw) -> Iterator[str]:
    for table, column in JSON_COLUMNS:
        for number, text in connection.execute(f"SELECT id, {column} FROM {table} WHERE {column} IS NOT NULL"):
            try:
                good = isinstance(json.loads(text), dict)
            except (ValueError, TypeError, RecursionError):
                good = False
            if not good:
                yield f"entry {number}: its {column} is no JSON object"


def _figures(connection: Raw) -> Iterator[tuple[int, dict[str, object]]]:
    """Yield the figures of the notes that are of photos, or look so."""
    for number, text in connection.execute("SELECT id, body FROM notes WHERE substr(text, 1, 7) = 'photo: '"):
        with suppress(ValueError, TypeError, RecursionError):  # said by `_json`
            body = json.loads(text)
            if isinstance(body, dict):
                yield number, body


def _moments(connection: Raw) -> Iterator[str]:
    for what, table, column in (("entry", "journal", "at"), ("guitar", "guitars", "created")):
        for number, text in connection.execute(f"SELECT id, {column} FROM {table}"):
            try:
                good = stamp(datetime.fromisoformat(text)) == text
            except (ValueError, TypeError, OverflowError):
                good = False
            if not good:
                yield f"{what} {number}: {text!r:.40} is no moment as the notebook writes it"


_STEPS = """
SELECT journal.guitar_id, journal.id, parent_id, act, restores_id, text, branch FROM states JOIN journal USING (id)
UNION ALL
SELECT journal.guitar_id, journal.id, state_id, 'choice', NULL, NULL, NULL FROM branch_choices JOIN journal USING (id)
ORDER BY 1, 2
"""


def _histories(connection: Raw) -> Iterator[str]:
    """Every state follows one of its guitar; undo and redo restore, word for word, what they should."""
    for _, rows in groupby(connection.execute(_STEPS), key=lambda row: row[0]):
        tree, texts = Tree(), {}
        for _, number, parent, act, restores, text, branch in rows:
            step = Step(parent, None, act, None) if act == "choice" else Step(number, parent, act, restores)
            fault = tree.fault(step)
            if fault is None and act != "choice":
                texts[number] = hashlib.sha256(str(text).encode("utf-8", "replace")).digest()
                if restores is not None and texts.get(restores) != texts[number]:
                    fault = f"this {act} is not equal to the state it restores"
                elif branch != int(parent in tree.followers):
                    fault = "its mark as a branch is wrong"
            if fault is not None:
                yield f"entry {number}: {fault}"
            if fault is None or act != "choice":
                tree.tell(step)


def _clock(connection: Raw) -> Iterator[str]:
    """Yield where a state is dated before the one it follows."""
    query = (
        "SELECT one.id, one.at, before.id, before.at FROM states JOIN journal one USING (id) "
        "JOIN journal before ON before.id = states.parent_id WHERE one.at < before.at ORDER BY one.id"
    )
    for number, at, earlier, then in connection.execute(query):
        yield f"the clock went back: state {number} is dated {at}, state {earlier}, which came before it, {then}"
