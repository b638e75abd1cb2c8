"""What is whole of a damaged notebook, written into a new one; the damaged file is copied first and never touched.

An entry is kept when it says what was sealed and what it refers to is kept. A state whose predecessor is lost is a
whole guitar file all the same: it is kept too, tied to the last kept state before it and under a new uuid, as it is not
the entry that was written; so is a job or prediction whose state is lost, and what refers to one of these. Numbers stay
as they were. Merged with an older archive of the same guitar, both histories are there, as branches.
"""

import hashlib
import sqlite3
import uuid
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from sqlalchemy import Connection

from polepiece.errors import DamagedNotebookError, InputError, NotebookError
from polepiece.notebook.archive_lines import UUID, check_moment
from polepiece.notebook.branches import Step, Tree
from polepiece.notebook.chain import (
    KIND_COLUMNS,
    Fault,
    Raw,
    Value,
    numbers,
    personal_seal,
    raw_entries,
    seal,
    seals_of,
    whole_entry,
)
from polepiece.notebook.dialect import Raw as Connected
from polepiece.notebook.dialect import Words, raw_of, raw_texts, tables_of
from polepiece.notebook.end_note import end_of, write_end
from polepiece.notebook.file_copy import taken_away
from polepiece.notebook.opening import in_words, looked_at, open_engine
from polepiece.notebook.places import Place, followed
from polepiece.notebook.records import SHORT, text_fault

_NAMES = uuid.UUID("6f1d1f3e-52a5-4a7e-9a53-0d9c2c0d6a11")  # of uuids made for entries that are tied anew
MOST_MISSING = 10_000  # entries one after the other that are listed one by one: a damaged number may be anything
Row = dict[str, Value]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescued:
    """A new notebook with what was whole of another."""

    path: Path
    kept: int
    tied: tuple[Fault, ...]  # kept, with another predecessor than they had
    lost: tuple[Fault, ...]
    sealed: bool  # False: there are no seals (it is older, or they are lost), so that a changed entry cannot be told


def rescue(path: Place, out: Path) -> Rescued:
    """Write what is whole of a notebook into a new one.

    Raises
    ------
    NotebookError
        If ``out`` is there already, or nothing can be read of the notebook at all.
    """
    path, out = followed(path) if isinstance(path, Path) else path, followed(out)
    if isinstance(path, Path) and not path.is_file():
        raise NotebookError(f"{path}: there is no such file; check the name and the folder.")
    if out.exists():
        raise NotebookError(f"{out} is there already; name a file that is not there yet.")
    with looked_at(path) as source:
        if isinstance(source, sqlite3.Connection):
            with suppress(sqlite3.Error):
                source.execute("PRAGMA writable_schema = ON")  # a broken table hides the others otherwise
        work = _Rescue(source, path)
        try:
            engine = open_engine(out)
        except NotebookError as error:
            taken_away(out)
            raise NotebookError(f"{out}: no new notebook can be made there ({error})") from None
        try:
            with in_words(out), engine.execution_options(write=True).begin() as connection:
                work.write(connection)
                end = end_of(raw_of(connection))
            if end.entry:
                write_end(out, end)
        except BaseException:
            engine.dispose()
            taken_away(out)
            raise
        engine.dispose()
    return Rescued(path=out, kept=work.kept, tied=tuple(work.tied), lost=tuple(work.lost), sealed=work.sealed)


@dataclass(slots=True, kw_only=True)
class _Guitar:
    """What is kept of a guitar so far."""

    tree: Tree = field(default_factory=Tree)
    last: int | None = None
    row: list[object] | None = None


class _Rescue:
    """Reads one notebook and writes another."""

    def __init__(self, source: Connected, path: Place) -> None:
        self.kept = 0
        self.tied: list[Fault] = []
        self.lost: list[Fault] = []
        self._source = source
        self._guitars: dict[Value, _Guitar] = {}
        self._kinds: dict[Value, str] = {}  # of the entries that are kept
        self._anew: set[Value] = set()  # entries that are tied otherwise than they were
        try:
            tables = tables_of(source)
        except (sqlite3.Error, UnicodeDecodeError) as error:
            raise DamagedNotebookError(f"{path}: nothing can be read of it ({error}). Is there a backup?") from None
        if "journal" not in tables:
            raise DamagedNotebookError(f"{path}: there is no journal in it; nothing can be rescued. Is there a backup?")
        self.sealed = "chain" in tables  # the table may be what is damaged: then nothing can be checked, and it is said

    def write(self, connection: Connection) -> None:
        """Write every entry that is whole, in order, and seal them."""
        raw = raw_of(connection)
        assert isinstance(raw, sqlite3.Connection)
        known = numbers(self._source)
        for number in known:
            entry = self._entry(number)
            fault = entry if isinstance(entry, Fault) else self._keep(raw, entry)
            if fault is not None:
                self.lost.append(fault)
        if known:
            self._gaps(known)
        seal(raw, 0)

    def _gaps(self, known: list[int]) -> None:
        for before, after in pairwise([0, *known]):
            missing = range(before + 1, after)
            if len(missing) > MOST_MISSING:
                words = f"it is gone, and so are all before entry {after}, if that is its number"
                self.lost.append(Fault(entry=missing[0], words=words))
                continue
            self.lost += [Fault(entry=one, words="it is gone") for one in missing]
        self.lost.sort(key=lambda one: one.entry)

    def _entry(self, number: int) -> Raw | Fault:
        if self.sealed:
            return whole_entry(self._source, number)
        with raw_texts(self._source):
            try:
                return next(raw_entries(self._source, number, number, strict=False))
            except (StopIteration, sqlite3.Error):
                return Fault(entry=number, words="it cannot be read")

    def _keep(self, raw: sqlite3.Connection, entry: Raw) -> Fault | None:
        """Write one entry; return why it cannot be."""
        head, values = dict(entry.head), dict(entry.values)
        fault = self._recording(raw, entry) or self._referred(entry, values)
        if fault is not None:
            return Fault(entry=entry.id, words=fault)
        owner = head["guitar_id"]
        guitar = None if owner is None else self._guitars.setdefault(owner, _Guitar())
        if guitar is not None:
            self._tie(entry, guitar, head, values)
        first = guitar is not None and guitar.row is None
        raw.execute("SAVEPOINT one")
        try:
            if guitar is not None and guitar.row is None:
                guitar.row = _guitar_row(owner, entry, self._guitar_is_sealed(entry))
                raw.execute("INSERT INTO guitars VALUES (?, ?, ?, ?)", guitar.row)
            _insert(raw, "journal", head)
            _insert(raw, KIND_COLUMNS[entry.kind][0], {"id": entry.id, **values})
            if entry.kind == "customer":
                _insert(raw, "personal", self._personal(entry))
        except (sqlite3.Error, UnicodeDecodeError, DamagedNotebookError) as error:
            raw.execute("ROLLBACK TO one")
            if guitar is not None and first:
                guitar.row = None
            return Fault(entry=entry.id, words=f"it cannot be written ({error})")
        finally:
            raw.execute("RELEASE one")
        self._kinds[entry.id] = entry.kind
        self.kept += 1
        return None

    def _guitar_is_sealed(self, entry: Raw) -> bool:
        """Tell whether the row of a guitar says what was sealed, and list it where it does not."""
        if not self.sealed:
            return False
        found = next(seals_of(self._source, entry.id, entry.id), None)
        if found is not None and found.guitar == entry.guitar_digest():
            return True
        words = f"name and date of its guitar ({entry.head['guitar_id']!r}) are not what was sealed, and may be wrong"
        self.tied.append(Fault(entry=entry.id, words=words, whole=True))
        return False

    def _personal(self, entry: Raw) -> Row:
        """Return the personal fields of a customer, if they are what was sealed, or are erased."""
        query = "SELECT salt, body FROM personal WHERE id = ?"
        salt, body = self._source.execute(query, (entry.id,)).fetchone() or (b"", None)
        if body is not None and personal_seal(salt or b"", body) != _text(entry.values["seal"]):
            raise DamagedNotebookError("the personal fields are not what was sealed")
        if body is None and salt is not None:
            raise DamagedNotebookError("the personal fields are gone")
        return {"id": entry.id, "salt": salt, "body": None if body is None else Words(body.encode())}

    def _recording(self, raw: sqlite3.Connection, entry: Raw) -> str | None:
        """Write the bytes of a sound, if they have their hash."""
        if entry.kind != "sound":
            return None
        digest = _text(entry.values["sha256"])
        try:
            row = self._source.execute("SELECT data FROM recordings WHERE sha256 = ?", (digest,)).fetchone()
        except sqlite3.Error:
            row = None
        if row is None or not isinstance(row[0], bytes) or hashlib.sha256(row[0]).hexdigest() != digest:
            return "its sound is damaged"
        kind, size = (_text(one) for one in entry.recording or (None, None))
        raw.execute(
            "INSERT INTO recordings SELECT ?1, ?2, ?3, ?4 "
            "WHERE NOT EXISTS (SELECT 1 FROM recordings WHERE sha256 = ?1)",
            (digest, kind, size, row[0]),
        )
        return None

    def _referred(self, entry: Raw, values: Row) -> str | None:
        """Return what is lost that an entry cannot do without."""
        for column, kind in (
            ("part_id", "part"),
            ("job_id", "job"),
            ("customer_id", "customer"),
            ("bench_id", "bench"),
        ):
            if column in values and self._kinds.get(values[column]) != kind:
                return f"the {kind} it is about (entry {_number(values[column])}) is lost"
        if "state_id" in values and values["state_id"] is not None and self._kinds.get(values["state_id"]) != "state":
            guitar = self._guitars.get(entry.head["guitar_id"])
            if (guitar is None or guitar.last is None) and entry.kind not in ("note", "sound"):
                return f"the state it is about (entry {_number(values['state_id'])}) is lost, and none is before it"
        return None

    def _tie(self, entry: Raw, guitar: _Guitar, head: Row, values: Row) -> None:
        """Tie an entry to what is kept, and say so where that is not what it was tied to."""
        words = ""
        if entry.kind == "state":
            words = self._tie_state(entry, guitar, values)
            guitar.last = entry.id
        elif values.get("state_id") is not None and self._kinds.get(values["state_id"]) != "state":
            words = f"the state it was about (entry {_number(values['state_id'])}) is lost"
            values["state_id"] = guitar.last
        references = (values.get(one) for one in ("parent_id", "restores_id", "state_id", "job_id"))
        if not words and any(one in self._anew for one in references):
            words = "what it refers to has another predecessor now"
        if words:
            self._anew.add(entry.id)
            head["uuid"] = Words(str(uuid.uuid5(_NAMES, str(_text(head["uuid"])))).encode())
            self.tied.append(Fault(entry=entry.id, words=words, whole=True))
        if entry.kind == "branch-choice":
            guitar.tree.tell(Step(_number(values["state_id"]) or 0, None, "choice", None))

    def _tie_state(self, entry: Raw, guitar: _Guitar, values: Row) -> str:
        step = _step(entry.id, values)
        words = ""
        if (fault := guitar.tree.fault(step)) is not None:
            words = f"{fault}, as entries before it are lost; it follows state {guitar.last or 'none'} now"
            parent = guitar.tree.present
            values["act"] = Words(b"entry" if parent is None else b"record")
            values["parent_id"], values["restores_id"] = _number(parent), None
            step = _step(entry.id, values)
        values["branch"] = int(step.parent in guitar.tree.followers)
        guitar.tree.tell(step)
        return words


def _step(number: int, values: Mapping[str, Value]) -> Step:
    act = str(_text(values["act"]))
    return Step(number, _number(values["parent_id"]), act, _number(values["restores_id"]))  # type: ignore[arg-type]


def _number(value: object) -> int | None:
    return value if isinstance(value, int) else None


def _text(value: Value) -> int | float | str | bytes | None:
    """Return a value as it is written: texts as text."""
    return value.decode("utf-8") if isinstance(value, bytes) and type(value) is not bytes else value


def _guitar_row(number: Value, entry: Raw, sealed: bool) -> list[object]:
    """Return the row of a guitar; what of it is no longer as it was sealed is taken only where it can be meant."""
    told = dict(zip(("uuid", "name", "created"), (entry.guitar or (number,))[1:]))
    texts = {key: one.decode("utf-8", "replace") if isinstance(one, bytes) else "" for key, one in told.items()}
    if not sealed:
        if not UUID.fullmatch(texts.get("uuid", "")):
            texts["uuid"] = str(uuid.uuid5(_NAMES, str(_text(entry.head["uuid"]))))
        if text_fault(texts.get("name"), SHORT) or not texts["name"].strip():
            texts["name"] = f"guitar {number!r}, its name is lost"
        try:
            check_moment(texts.get("created"), "created")
        except InputError:
            texts["created"] = str(_text(entry.head["at"]))
    return [number, texts["uuid"], texts["name"], texts["created"]]


def _insert(raw: sqlite3.Connection, table: str, row: Row) -> None:
    marks = ", ".join("?" for _ in row)
    raw.execute(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})", [_text(one) for one in row.values()])
