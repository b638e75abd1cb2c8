"""What is looked at when a notebook is opened: its pages, its tables and triggers, its chain, and where it ends."""

import sqlite3
from collections.abc import Iterator

from polepiece.notebook.chain import START, Fault, newest, numbers, verify, whole_entry
from polepiece.notebook.end_note import End
from polepiece.notebook.schema import TABLES

UNCHECKED = frozenset({"recordings"})  # large; every sound is checked against its own hash when it is read
WHOLE_ENTRIES, WHOLE_BYTES = 20_000, 64 * 1024**2
"""Up to here every opening holds the whole chain against the entries: half a second of one core (measured)."""
TAIL = 1_000  # entries that are looked at in a larger notebook


def faults_at_opening(connection: sqlite3.Connection, end: End | None) -> Iterator[str]:
    """Yield what is wrong as far as an opening looks; nothing when all is well.

    Raises what SQLite raises where the file cannot be read at all.
    """
    yield from page_faults(connection)
    yield from schema_faults(connection)
    last = newest(connection)
    small = last <= WHOLE_ENTRIES and _bytes(connection) <= WHOLE_BYTES
    yield from (f"entry {one.entry}: {one.words}" for one in verify(connection, 0 if small else last - TAIL))
    yield from end_faults(connection, end)


def page_faults(connection: sqlite3.Connection) -> Iterator[str]:
    """Yield what SQLite finds wrong in the structure of every table but the recordings."""
    for table in TABLES:
        if table in UNCHECKED:
            continue
        for (fault,) in connection.execute(f"PRAGMA quick_check('{table}')").fetchall():
            if fault != "ok":
                yield " ".join(str(fault).replace("*** in database main ***", "").split())


def schema_faults(connection: sqlite3.Connection) -> Iterator[str]:
    """Yield the tables and triggers that are missing."""
    found = set(connection.execute("SELECT type, name FROM sqlite_schema"))
    for table in TABLES:
        if ("table", table) not in found:
            yield f"its table {table} is gone"
            continue
        for verb in ("update", "delete", "replace"):
            if ("trigger", f"{table}_no_{verb}") not in found:
                yield f"the trigger that keeps {table} from {verb} is gone"


def end_faults(connection: sqlite3.Connection, end: End | None) -> Iterator[str]:
    """Yield that entries which were acknowledged are missing at the end."""
    if end is None:
        return
    last = newest(connection)
    if last < end.entry:
        yield (
            f"it ends at entry {last}, and entry {end.entry} was acknowledged: what came between is lost (its "
            "write-ahead log was cut or removed, or an older copy was put in its place)"
        )
        return
    row = connection.execute("SELECT link FROM chain WHERE id = ?", (end.entry,)).fetchone()
    if row is None or row[0] != end.link:
        yield f"entry {end.entry} is not the one that was acknowledged: another copy was put in its place"


def end_of(connection: sqlite3.Connection) -> End:
    """Return where the notebook ends."""
    row = connection.execute("SELECT id, link FROM chain ORDER BY id DESC LIMIT 1").fetchone()
    return End(entry=0, link=START) if row is None else End(entry=row[0], link=row[1])


def still_whole(connection: sqlite3.Connection) -> tuple[int, int]:
    """Return how many entries still say what was sealed, and how many there were."""
    known = numbers(connection)
    good = sum(not isinstance(whole_entry(connection, one), Fault) for one in known)
    return good, len(known)


def _bytes(connection: sqlite3.Connection) -> int:
    pages = connection.execute("PRAGMA page_count").fetchone()[0] * connection.execute("PRAGMA page_size").fetchone()[0]
    sounds = connection.execute("SELECT coalesce(sum(size), 0) FROM recordings").fetchone()[0]
    return int(pages) - int(sounds)
