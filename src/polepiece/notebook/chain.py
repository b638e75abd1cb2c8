"""The chain: every entry is sealed by a hash of all that it says, and tied by a second one to the entry before it.

``digest`` is the SHA-256 of the entry's own values as they are stored: its row of the journal, the row of its kind,
and of a sound also the kind and size of its recording (whose bytes stand under their own hash). ``guitar`` is that of
the row of its guitar, apart, so that a damaged name does not cost a history. ``link`` is the SHA-256 of the link before
and these two. A changed value breaks one digest; a seal that was lost or changed breaks a link; so what is whole can be
told from what is not, entry by entry.

This finds damage, not a forger: who can write the file can seal it anew.

Values are read raw, past every reader that could stumble over them. A rule is never edited once it is published: a kind
of entry that gets a new column gets a new rule beside this one.
"""

import hashlib
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass

from polepiece.notebook.dialect import Raw as Connection
from polepiece.notebook.dialect import Words, is_signed, raw_texts, tables_of

RULE = 2  # of new seals; by rule 1 an entry was written by nobody in particular
START = bytes(32)  # the link before the first entry
BATCH = 200  # entries read at a time

KIND_COLUMNS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "state": ("states", ("parent_id", "act", "restores_id", "why", "text", "provenance")),
    "branch-choice": ("branch_choices", ("state_id", "why")),
    "part": ("parts", ("body",)),
    "retirement": ("retirements", ("part_id", "why")),
    "job": ("jobs", ("state_id", "complaints", "constraints", "customer", "number")),
    "job-event": ("job_events", ("job_id", "what", "words", "body")),
    "prediction": ("predictions", ("state_id", "change", "result", "provenance")),
    "note": ("notes", ("state_id", "sort", "text", "body")),
    "sound": ("sounds", ("sha256", "state_id", "label")),
    "bench": ("benches", ("name", "token")),
    "bench-end": ("bench_ends", ("bench_id", "why")),
    "customer": ("customers", ("consent_on", "consent_for", "seal")),
    "erasure": ("erasures", ("customer_id", "why")),
    "job-customer": ("job_customers", ("job_id", "customer_id")),
    "promise": ("promises", ("job_id", "day")),
    "quote": ("quotes", ("job_id", "body")),
    "stock": ("stock", ("part_id", "change", "why")),
    "setting": ("settings", ("name", "body")),
}
HEAD = ("id", "uuid", "at", "kind", "guitar_id")
SIGNED = (*HEAD, "bench")  # from rule 2 on


Value = int | float | bytes | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Raw:
    """An entry as it is stored: by column, texts as their bytes."""

    id: int
    kind: str
    head: Mapping[str, Value]
    guitar: tuple[Value, ...] | None  # empty where there is no such guitar
    values: Mapping[str, Value]
    recording: tuple[Value, ...] | None

    def digest(self, rule: int) -> bytes:
        """Return the hash of all that the entry says, by rule 1 or 2."""
        head = tuple(self.head[one] for one in (HEAD if rule == 1 else SIGNED))
        return _hashed(b"polepiece/entry/%d\n" % rule, (head, tuple(self.values.values()), self.recording))

    def guitar_digest(self) -> bytes:
        """Return the hash of the row of its guitar; empty where it belongs to none."""
        return b"" if self.guitar is None else _hashed(b"polepiece/guitar/1\n", (self.guitar,))


def _hashed(rule: bytes, rows: Iterable[tuple[Value, ...] | None]) -> bytes:
    found = hashlib.sha256(rule)
    for row in rows:
        found.update(b"-" if row is None else b"%d;" % len(row))
        for value in row or ():
            found.update(_written(value))
    return found.digest()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What is wrong with one entry; ``whole``: its own words are as they were written."""

    entry: int
    words: str
    whole: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """A row of the chain."""

    id: int
    rule: Value
    digest: Value
    guitar: Value
    link: Value


def _written(value: Value) -> bytes:
    """Return a value with its type and length, so that no two rows are written alike."""
    match value:
        case None:
            return b"n"
        case Words():
            return b"t%d:" % len(value) + value
        case bytes():
            return b"b%d:" % len(value) + value
        case int():
            return b"i%d;" % value
        case float():
            return b"f" + repr(value).encode() + b";"


def personal_seal(salt: bytes, body: str) -> str:
    """Return the hash under which personal fields are sealed; a customer's entry has it, and not the fields."""
    return hashlib.sha256(b"polepiece/personal/1\n" + salt + body.encode("utf-8", "replace")).hexdigest()


def tied(link: bytes, digest: bytes, guitar: bytes) -> bytes:
    """Return the link after ``link`` for an entry with these digests."""
    return hashlib.sha256(b"polepiece/chain/1\n" + link + digest + guitar).digest()


def newest(connection: Connection, table: str = "journal") -> int:
    """Return the highest number in a table, 0 when there is none."""
    return int((connection.execute(f"SELECT coalesce(max(id), 0) FROM {table}").fetchone() or (0,))[0])


def raw_entries(connection: Connection, first: int, last: int, *, strict: bool = True) -> Iterator[Raw | Fault]:
    """Yield the entries with these numbers as they are stored, in order, or what keeps one from being read.

    The connection gives texts raw. Raises what SQLite raises where the file itself cannot be read; without ``strict``
    a guitar that cannot be read is one that is not there. Takes as long as there are rows, whatever their numbers are:
    a damaged one may be anything.
    """
    guitars: dict[Value, tuple[Value, ...]] = {}
    tables = tables_of(connection)
    columns_there = SIGNED if is_signed(connection) else HEAD
    query = f"SELECT {', '.join(columns_there)} FROM journal WHERE id BETWEEN ? AND ? ORDER BY id LIMIT {BATCH}"
    while first <= last:
        heads = connection.execute(query, (first, last)).fetchall()
        ids = [int(one[0]) for one in heads]
        if not ids or max(ids) < first:  # none is left, or they are in no order
            return
        span = min(ids), max(ids)
        first = span[1] + 1
        found: dict[str, dict[int, tuple[Value, ...]]] = {}
        for kind in {one[3] for one in heads}:
            name = _kind(kind)
            if name in KIND_COLUMNS and KIND_COLUMNS[name][0] in tables:
                table, columns = KIND_COLUMNS[name]
                rows = connection.execute(
                    f"SELECT id, {', '.join(columns)} FROM {table} WHERE id BETWEEN ? AND ?", span
                )
                found[name] = {row[0]: row[1:] for row in rows}
        for head in heads:
            if head[4] is not None and head[4] not in guitars:
                guitars[head[4]] = _guitar(connection, head[4], strict=strict)
            yield _raw(connection, head, guitars, found)


def _guitar(connection: Connection, number: Value, *, strict: bool) -> tuple[Value, ...]:
    query = "SELECT id, uuid, name, created FROM guitars WHERE id = ?"
    try:
        return connection.execute(query, (number,)).fetchone() or ()
    except sqlite3.Error:
        if strict:
            raise
        return ()


def _kind(value: Value) -> str:
    return value.decode("utf-8", "replace") if isinstance(value, Words) else ""


def _raw(
    connection: Connection,
    head: tuple[Value, ...],
    guitars: Mapping[Value, tuple[Value, ...]],
    found: Mapping[str, Mapping[int, tuple[Value, ...]]],
) -> Raw | Fault:
    number, kind = head[0], _kind(head[3])
    if not isinstance(number, int):
        return Fault(entry=0, words="its number is not a number")
    if kind not in KIND_COLUMNS:
        return Fault(entry=number, words=f"its kind is {kind!r:.40}, which there is not")
    table, columns = KIND_COLUMNS[kind]
    row = found.get(kind, {}).get(number)
    if row is None:
        return Fault(entry=number, words=f"its row in {table} is gone")
    guitar = None if head[4] is None else guitars[head[4]]
    values = dict(zip(columns, row, strict=True))
    recording: tuple[Value, ...] | None = None
    if kind == "sound":
        digest = values["sha256"]
        text = digest.decode("utf-8", "replace") if isinstance(digest, bytes) else digest
        recording = connection.execute("SELECT kind, size FROM recordings WHERE sha256 = ?", (text,)).fetchone()
    return Raw(
        id=number,
        kind=kind,
        head=dict(zip(SIGNED, (*head, None)[: len(SIGNED)], strict=True)),
        guitar=guitar,
        values=values,
        recording=recording,
    )


def seal(connection: Connection, after: int) -> None:
    """Seal the entries that came after this number, in the transaction that the connection is in.

    Raises
    ------
    ValueError
        When one of them cannot be read back; nothing of the transaction may be kept then.
    """
    with raw_texts(connection):
        link = _last_link(connection, after)
        last = newest(connection)
        rule = RULE if is_signed(connection) else 1
        rows = []
        for one in raw_entries(connection, after + 1, last):
            if isinstance(one, Fault):
                raise ValueError(f"entry {one.entry}: {one.words}")
            digest, guitar = one.digest(rule), one.guitar_digest()
            link = tied(link, digest, guitar)
            rows.append((one.id, rule, digest, guitar, link))
        connection.executemany("INSERT INTO chain (id, rule, digest, guitar, link) VALUES (?, ?, ?, ?, ?)", rows)


def _last_link(connection: Connection, upto: int) -> bytes:
    row = connection.execute("SELECT link FROM chain WHERE id <= ? ORDER BY id DESC LIMIT 1", (upto,)).fetchone()
    return row[0] if row is not None and isinstance(row[0], bytes) else START


def verify(connection: Connection, after: int = 0) -> Iterator[Fault]:
    """Hold every entry after this number against its seal; yield what is wrong, entry by entry, in order.

    Raises what SQLite raises where the file itself cannot be read.
    """
    with raw_texts(connection):
        before = _last_link(connection, after)
        while there := _next_numbers(connection, after):
            after = there[-1]
            seals = {one.id: one for one in seals_of(connection, there[0], after)}
            entries = {
                (one.entry if isinstance(one, Fault) else one.id): one
                for one in raw_entries(connection, there[0], after)
            }
            for number in there:
                fault = judged(number, entries.get(number), seals.get(number), before)
                if fault is not None:
                    yield fault
                sealed = seals.get(number)
                if sealed is not None and isinstance(sealed.link, bytes):
                    before = sealed.link


def strays(connection: Connection, after: int = 0) -> Iterator[Fault]:
    """Yield the rows after this number that lie in the table of another kind than their entry: none of ours does.

    No seal covers such a row, and no guard refuses it, as it refers to an entry that is there.
    """
    there = tables_of(connection)
    parts = [
        f"SELECT id, '{table}' AS place, '{kind}' AS kind FROM {table} WHERE id > ?"
        for kind, (table, _) in KIND_COLUMNS.items()
        if table in there
    ]
    query = (
        f"SELECT one.id, one.place FROM ({' UNION ALL '.join(parts)}) one LEFT JOIN journal ON journal.id = one.id "
        "WHERE journal.kind IS NULL OR journal.kind <> one.kind ORDER BY 1, 2"
    )
    for number, table in connection.execute(query, (after,) * len(parts)) if parts else ():
        yield Fault(entry=number, words=f"there is a row in {table} that it did not write", whole=True)


def _next_numbers(connection: Connection, after: int) -> list[int]:
    """Return the next numbers after one, in order, that an entry or a seal has."""
    parts = (
        f"SELECT id FROM (SELECT id FROM {table} WHERE id > ? ORDER BY id LIMIT {BATCH}) {table}_next"
        for table in ("journal", "chain")
    )
    rows = connection.execute(f"{' UNION '.join(parts)} ORDER BY 1 LIMIT {BATCH}", (after, after))
    return sorted(number for (number,) in rows if number > after)


def seals_of(connection: Connection, first: int, last: int) -> Iterator[Seal]:
    """Yield the rows of the chain with these numbers."""
    query = "SELECT id, rule, digest, guitar, link FROM chain WHERE id BETWEEN ? AND ? ORDER BY id"
    for row in connection.execute(query, (first, last)):
        yield Seal(id=row[0], rule=row[1], digest=row[2], guitar=row[3], link=row[4])


def judged(number: int, entry: Raw | Fault | None, sealed: Seal | None, before: bytes) -> Fault | None:
    """Return what is wrong with an entry, given its seal and the link before it; None when it is whole."""
    if entry is None:  # with its seal it was never there, or the next one's tie is broken
        return None if sealed is None else Fault(entry=number, words="it is gone")
    if isinstance(entry, Fault):
        return entry
    if sealed is None:
        return Fault(entry=number, words="it has no seal: another program wrote it, or the seal is gone")
    rule = sealed.rule
    if rule not in (1, RULE) or not isinstance(rule, int):
        return Fault(entry=number, words=f"its seal is of a kind this version does not know ({sealed.rule!r:.20})")
    digest = entry.digest(rule)
    if sealed.digest != digest or (rule == 1 and entry.head["bench"] is not None):
        return Fault(entry=number, words="it does not say what was sealed")
    if sealed.guitar != entry.guitar_digest():
        words = f"the row of its guitar ({entry.head['guitar_id']!r}) does not say what was sealed"
        return Fault(entry=number, words=words, whole=True)
    if sealed.link != tied(before, digest, entry.guitar_digest()):
        return Fault(entry=number, words="it is whole, but its tie to the entry before it is broken", whole=True)
    return None


def whole_entry(connection: Connection, number: int) -> Raw | Fault:
    """Return one entry if it says what was sealed, else what is wrong; for files that may fail at any page."""
    with raw_texts(connection):
        try:
            (entry,) = raw_entries(connection, number, number, strict=False)
            sealed = next(seals_of(connection, number, number), None)
        except ValueError:
            return Fault(entry=number, words="it is gone")
        except sqlite3.Error as error:
            return Fault(entry=number, words=f"the file cannot be read there ({error})")
        fault = judged(number, entry, sealed, START)
        if fault is not None and not fault.whole:
            return fault
        return entry


def numbers(connection: Connection) -> list[int]:
    """Return the numbers of all entries that any table still knows of, in order; damaged pages are walked round."""
    found: set[int] = set()
    for table in ("journal", "chain"):
        for order in ("", " DESC"):
            with suppress(sqlite3.Error):
                for (number,) in connection.execute(f"SELECT id FROM {table} ORDER BY id{order}"):
                    if isinstance(number, int):
                        found.add(number)
    return sorted(found)
