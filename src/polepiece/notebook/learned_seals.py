"""The seal of what was counted: every look through the journal seals the rows it adds, tied to the look before.

Entries have their own seals (`chain.py`); these tables are counted from them and hold nothing of their own. But a
damaged row would be a wrong figure that nobody sees.
"""

from collections import deque
from collections.abc import Iterator
from hashlib import sha256

from polepiece.notebook.chain import START, Value
from polepiece.notebook.dialect import Raw, raw_texts

_MARKS = "id, what, of_id"
_ROWS = {
    "ledger_heads": ("id", "id, guitar_id, state_id, same, pickup, place, change, grade_before, grade_after, date"),
    "ledger_lines": (
        "head_id",
        "head_id, id, key, of, words, unit, computed, computed_low, computed_high, measured, measured_low, "
        "measured_high, off, word",
    ),
    "swaps": ("state_id", "state_id, id, before_id, guitar_id, pickup, place, grade_before, grade_after"),
}
"""Of each table the column that says to which entry a row belongs, and all columns, that one first."""
Row = tuple[Value, ...]


def sealed(connection: Raw, after: int, upto: int, marks: int) -> bytes:
    """Return the seal of the rows of the entries after one and up to another, and of the marks after this number."""
    with raw_texts(connection):
        row = connection.execute(
            "SELECT digest FROM learned_marks WHERE what = 'looked' ORDER BY id DESC LIMIT 1"
        ).fetchone()
        before = row[0] if row is not None and isinstance(row[0], bytes) else START
        rows = [
            connection.execute(
                f"SELECT {_quoted(names)} FROM {table} WHERE {key} > ? AND {key} <= ? ORDER BY id", (after, upto)
            ).fetchall()
            for table, (key, names) in _ROWS.items()
        ]
        marked = connection.execute(f"SELECT {_MARKS} FROM learned_marks WHERE id > ? ORDER BY id", (marks,)).fetchall()
    return _digest(before, upto, rows, marked)


def counted_faults(connection: Raw) -> Iterator[str]:
    """Yield that something of what was counted is not what was sealed: the first place where it shows."""
    with raw_texts(connection):
        waiting = [
            deque(connection.execute(f"SELECT {_quoted(names)} FROM {table} ORDER BY id").fetchall())
            for table, (_, names) in _ROWS.items()
        ]
        marks = connection.execute(f"SELECT {_MARKS}, digest FROM learned_marks ORDER BY id").fetchall()
    before, marked = START, list[Row]()
    for number, what, entry, digest in marks:
        if what != b"looked":
            marked.append((number, what, entry))
            continue
        if before != digest and _digest(before, entry, [_upto(one, entry) for one in waiting], marked) != digest:
            yield f"what was learned of the entries up to {entry} is not what was counted"
            return
        before, marked = digest, []
    if marked or any(waiting):
        yield "rows of what was learned were added by another program, or their seal is gone"


def _upto(rows: "deque[Row]", entry: Value) -> list[Row]:
    found = []
    while rows and isinstance(rows[0][0], int) and isinstance(entry, int) and rows[0][0] <= entry:
        found.append(rows.popleft())
    return found


def _digest(before: bytes, upto: Value, rows: list[list[Row]], marks: list[Row]) -> bytes:
    """Return the hash of what Python writes for these values: exact for each kind, and quick for many rows."""
    told = (upto, [list(map(tuple, ones)) for ones in rows], list(map(tuple, marks)))
    return sha256(b"polepiece/counted/1\n" + before + repr(told).encode("ascii")).digest()


def _quoted(names: str) -> str:
    return ", ".join(f'"{one}"' for one in names.split(", "))
