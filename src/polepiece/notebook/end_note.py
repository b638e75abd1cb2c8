"""A note beside the notebook of where it ends: what SQLite itself cannot know when its log is cut off or lost.

SQLite goes on from the last whole transaction of its write-ahead log; of later ones that were cut away it says nothing.
After every acknowledged entry its number and link are written into ``<notebook>-end``. A notebook that ends before the
note, or has another link there, has lost entries (or an older copy was put in its place).

The note is written after the entry is on the disk, so it may be behind and is never ahead. Not seen: entries lost
together with the note, entries whose note was not yet written, and a notebook that is moved without its note.
"""

import hashlib
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from polepiece.notebook.chain import START
from polepiece.notebook.dialect import Raw
from polepiece.notebook.places import Place, beside

FIRST = "polepiece notebook end 1"
FORM = re.compile(rf"{FIRST}\n(\d{{20}}) ([0-9a-f]{{64}})\n([0-9a-f]{{16}})\n")


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """The last entry that was acknowledged: its number and its link in the chain."""

    entry: int
    link: bytes


def note_path(place: Place) -> Path:
    """Return where the note of a notebook lies; of one on a server in the data folder of this bench."""
    path = beside(place)
    return path.with_name(f"{path.name}-end")


def read_end(path: Place) -> End | None:
    """Return what the note beside a notebook says; None where there is none, or none that can be read."""
    try:
        text = note_path(path).read_text(encoding="ascii")
    except (OSError, UnicodeDecodeError):
        return None
    found = FORM.fullmatch(text)
    if found is None or _mark(found[1], found[2]) != found[3]:
        return None
    return End(entry=int(found[1]), link=bytes.fromhex(found[2]))


def write_end(path: Place, end: End) -> bool:
    """Write the note, over the one before, in one write of one sector; return whether it could be written."""
    number, link = f"{end.entry:020d}", end.link.hex()
    line = f"{FIRST}\n{number} {link}\n{_mark(number, link)}\n".encode("ascii")
    try:
        handle = os.open(note_path(path), os.O_CREAT | os.O_WRONLY, 0o600)
    except OSError:
        return False
    try:
        return os.write(handle, line) == len(line)
    except OSError:
        return False
    finally:
        os.close(handle)


def forget_end(path: Place) -> None:
    """Take the note away: the notebook ends where it ends."""
    note_path(path).unlink(missing_ok=True)


def _mark(number: str, link: str) -> str:
    return hashlib.sha256(f"{number} {link}".encode("ascii")).hexdigest()[:16]


def end_faults(connection: Raw, end: End | None) -> Iterator[str]:
    """Yield that entries which were acknowledged are missing at the end."""
    if fault := last_and_fault(connection, end)[1]:
        yield fault


def last_and_fault(connection: Raw, end: End | None) -> tuple[int, str]:
    """Return the number of the last entry, and what is missing of those acknowledged, or nothing: in one question."""
    query = "SELECT (SELECT coalesce(max(id), 0) FROM journal), (SELECT link FROM chain WHERE id = ?)"
    last, link = connection.execute(query, (0 if end is None else end.entry,)).fetchone() or (0, None)
    if end is None:
        return last, ""
    if last < end.entry:
        return last, (
            f"it ends at entry {last}, and entry {end.entry} was acknowledged: what came between is lost (its "
            "write-ahead log was cut or removed, or an older copy was put in its place)"
        )
    if link != end.link:
        return last, f"entry {end.entry} is not the one that was acknowledged: another copy was put in its place"
    return last, ""


def end_of(connection: Raw) -> End:
    """Return where the notebook ends."""
    row = connection.execute("SELECT id, link FROM chain ORDER BY id DESC LIMIT 1").fetchone()
    return End(entry=0, link=START) if row is None else End(entry=row[0], link=row[1])
