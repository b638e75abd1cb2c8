"""Writing an archive into a notebook in one transaction: what is not here is added; what is here must be the same."""

import hashlib
from collections.abc import Callable, Iterable
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from polepiece.notebook.archive_lines import KINDS, Line, line_again, line_of, read_line
from polepiece.notebook.archive_zip import ENTRIES, Archive, refused
from polepiece.notebook.histories import entry_of
from polepiece.notebook.schema import Entry, GuitarRow, RecordingRow, StateRow


class _Asked(dict[int, str]):
    """A mapping that asks for what it does not have yet."""

    def __init__(self, ask: Callable[[int], str]) -> None:
        super().__init__()
        self._ask = ask

    def __missing__(self, key: int) -> str:
        found = self[key] = self._ask(key)
        return found


class Merging:
    """One archive on its way into one notebook."""

    def __init__(self, session: Session, archive: Archive, *, merge: bool) -> None:
        self.added = self.known = 0
        self._session, self._archive, self._merge = session, archive, merge
        self._guitars: dict[str, int] = {}
        self._ids: dict[str, int] = {}
        self._uuids = _Asked(lambda key: str(session.scalar(select(Entry.uuid).where(Entry.id == key))))
        self._names = _Asked(lambda key: str(session.scalar(select(GuitarRow.uuid).where(GuitarRow.id == key))))

    def guitars(self, found: Iterable[dict[str, str]]) -> list[int]:
        """Add the guitars that are not here; return the numbers of all."""
        for one in found:
            row = self._session.scalars(select(GuitarRow).where(GuitarRow.uuid == one["uuid"])).one_or_none()
            if row is None:
                row = GuitarRow(uuid=one["uuid"], name=one["name"], created=one["created"])
                self._session.add(row)
                self._session.flush()
            elif not self._merge:
                count = entry_of(self._session, row.id).states
                raise self._refused(
                    f"{one['name']} is here already, as guitar {row.id} with {count} states; --merge adds what is new"
                )
            elif (row.name, row.created) != (one["name"], one["created"]):
                raise self._refused(f"guitar {row.id} is here with another name or date: one of the two was changed")
            self._guitars[row.uuid] = row.id
        return list(self._guitars.values())

    def recordings(self) -> None:
        """Add the sounds that are not here."""
        for name in self._archive.names("sounds"):
            digest, _, kind = name.removeprefix("sounds/").partition(".")
            if self._session.get(RecordingRow, digest) is not None:
                continue
            data = self._archive.read(name)
            row = RecordingRow(sha256=digest, kind=kind, size=len(data), data=data)
            self._session.add(row)
            self._session.flush()
            self._session.expunge(row)

    def entries(self) -> None:
        """Add the entries that are not here, one by one."""
        for number, text in enumerate(self._archive.lines(ENTRIES), start=1):
            line = read_line(text, number)
            here = self._session.scalars(select(Entry).where(Entry.uuid == line.uuid)).one_or_none()
            if here is None:
                self._ids[line.uuid] = self._add(line)
                self.added += 1
                continue
            if not self._merge:
                raise self._refused(f"line {number} ({line.kind}) is here already")
            if not self._same(here, line):
                raise self._refused(
                    f"line {number} ({line.kind}) is here as entry {here.id}, and says something else: one of the two "
                    "was changed"
                )
            self._ids[line.uuid] = here.id
            self.known += 1

    def _add(self, line: Line) -> int:
        kind, fields = KINDS[line.kind]
        values: dict[str, Any] = dict(line.values)
        for one in fields.values():
            if one.to is not None and values[one.column] is not None:
                values[one.column] = self._ids[values[one.column]]
        if line.kind == "state":
            values["text"] = self._archive.read(f"states/{line.uuid}.toml").decode("utf-8")
            values["branch"] = int(self._has_follower(values["parent_id"]))
        guitar = None if line.guitar is None else self._guitars[line.guitar]
        row = kind(uuid=line.uuid, at=line.at, guitar_id=guitar, bench=line.bench, **values)
        self._session.add(row)
        self._session.flush()
        number = row.id
        self._session.expunge(row)
        return number

    def _has_follower(self, parent_id: int | None) -> bool:
        if parent_id is None:
            return False
        return self._session.scalar(select(StateRow.id).where(StateRow.parent_id == parent_id).limit(1)) is not None

    def _same(self, row: Entry, line: Line) -> bool:
        """Tell whether an entry says what a line says; of a state also its guitar file, by its hash."""
        if line_of(row, self._uuids, self._names) != line_again(line):
            return False
        if not isinstance(row, StateRow):
            return True
        return hashlib.sha256(row.text.encode()).hexdigest() == self._archive.digest(f"states/{line.uuid}.toml")

    def _refused(self, why: str) -> Exception:
        return refused(self._archive.path, why)
