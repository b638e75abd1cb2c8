"""What SQLite and PostgreSQL say differently, below SQLAlchemy: the raw values that seals are made of.

SQLAlchemy speaks to both for everything else. A hash needs values as they are stored, past every reader, and in one
form on both: integers, texts as their bytes, bytes, nothing. So a notebook has the same seals wherever it lies, and can
be copied from the one to the other.
"""

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, MetaData


class Words(bytes):
    """Text of the notebook as its bytes, told from a blob."""


class Rows:
    """What a query found on a server, texts as the connection gives them."""

    def __init__(self, cursor: Any, factory: Any) -> None:
        self._cursor, self._factory = cursor, factory

    def fetchone(self) -> tuple[Any, ...] | None:
        """Return the next row, or None."""
        row = self._cursor.fetchone()
        return None if row is None else self._told(row)

    def fetchall(self) -> list[tuple[Any, ...]]:
        """Return all rows that are left."""
        return list(self)

    def __iter__(self) -> Iterator[tuple[Any, ...]]:
        """Yield the rows."""
        return (self._told(row) for row in self._cursor)

    def _told(self, row: tuple[Any, ...]) -> tuple[Any, ...]:
        if self._factory is str:
            return row
        return tuple(self._factory(one.encode("utf-8")) if isinstance(one, str) else one for one in row)


class PostgresRaw:
    """psycopg's connection, asked as SQLite's is: question marks for values, a way in which texts come."""

    def __init__(self, connection: Any) -> None:
        self.connection = connection
        self.text_factory: Any = str

    def execute(self, query: str, values: Sequence[Any] = ()) -> Rows:
        """Run one statement."""
        return Rows(self.connection.execute(query.replace("?", "%s"), tuple(values)), self.text_factory)

    def executemany(self, query: str, rows: Iterable[Sequence[Any]]) -> None:
        """Run one statement for every row."""
        with self.connection.cursor() as cursor:
            cursor.executemany(query.replace("?", "%s"), list(rows))


Raw = sqlite3.Connection | PostgresRaw


def raw_of(connection: Connection) -> Raw:
    """Return the driver's own connection under one of SQLAlchemy's."""
    found = connection.connection.driver_connection
    if isinstance(found, sqlite3.Connection):
        return found
    if not connection.in_transaction():
        connection.begin()  # psycopg would begin one by itself, of another kind
    return PostgresRaw(found)


@contextmanager
def raw_texts(connection: Raw) -> Iterator[Raw]:
    """Have texts come as their bytes for a while."""
    before = connection.text_factory
    connection.text_factory = Words
    try:
        yield connection
    finally:
        connection.text_factory = before


def tables_of(connection: Raw) -> set[str]:
    """Return the names of the tables."""
    query = "SELECT name FROM sqlite_schema WHERE type = 'table'"
    if isinstance(connection, PostgresRaw):
        query = "SELECT tablename FROM pg_catalog.pg_tables WHERE schemaname = current_schema()"
    found = [one for (one,) in connection.execute(query)]
    return {one.decode("utf-8", "replace") if isinstance(one, bytes) else str(one) for one in found}


def is_signed(connection: Raw) -> bool:
    """Tell whether entries say which bench wrote them: not in files from before schema 0004."""
    if isinstance(connection, PostgresRaw):
        return True
    return connection.execute("SELECT 1 FROM pragma_table_info('journal') WHERE name = 'bench'").fetchone() is not None


def given_numbers(connection: Raw) -> list[tuple[str, int]]:
    """Return up to which number the rows of a table were numbered; a server counts from what is there.

    A file counts them apart (AUTOINCREMENT); what is undone before it is kept takes its number back.
    """
    if isinstance(connection, PostgresRaw):
        return []
    rows = connection.execute(
        "SELECT name, seq FROM sqlite_sequence WHERE name IN ('guitars', 'journal') ORDER BY name"
    )
    return [(str(name), seq) for name, seq in rows if isinstance(seq, int)]


GUARDED = {True: ("update", "delete", "truncate"), False: ("update", "delete", "replace")}
"""What is refused on every table, on a server (where nothing replaces) and in a file (where nothing truncates)."""


def missing_guards(connection: Raw, tables: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Yield (table, what it is not kept from any more)."""
    served = isinstance(connection, PostgresRaw)
    query = "SELECT name FROM sqlite_schema WHERE type = 'trigger'"
    if served:
        query = (
            "SELECT tgname FROM pg_catalog.pg_trigger JOIN pg_catalog.pg_class ON pg_class.oid = tgrelid "
            "WHERE relnamespace = to_regnamespace(current_schema()::text) AND NOT tgisinternal "
            "AND tgenabled IN ('O', 'A')"
        )
    found = {name for (name,) in connection.execute(query)}
    for table in tables:
        yield from ((table, verb) for verb in GUARDED[served] if f"{table}_no_{verb}" not in found)


def page_faults(connection: Raw, tables: Iterable[str], *, indexes: bool) -> Iterator[str]:
    """Yield what SQLite finds wrong in the structure of these tables; a server looks at its own pages as it reads.

    ``indexes``: hold every row against its places in the indexes too, by which rows are found.
    """
    if isinstance(connection, PostgresRaw):
        return
    check = "integrity_check" if indexes else "quick_check"
    for table in tables:
        yield from _said(connection.execute(f"PRAGMA {check}('{table}')").fetchall())


def all_page_faults(connection: Raw) -> Iterator[str]:
    """Yield what SQLite finds wrong in the whole file; nothing on a server."""
    if not isinstance(connection, PostgresRaw):
        yield from _said(connection.execute("PRAGMA integrity_check").fetchall())


def _said(found: Iterable[tuple[Any, ...]]) -> Iterator[str]:
    for (fault,) in found:
        if fault != "ok":
            yield " ".join(str(fault).replace("*** in database main ***", "").split())


def reference_faults(connection: Raw, schema: MetaData) -> Iterator[str]:
    """Yield the rows that refer to what is not there."""
    if not isinstance(connection, PostgresRaw):
        for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check").fetchall():
            yield f"row {row} of {table} refers to what is not in {parent}"
        return
    for table in schema.sorted_tables:
        for key in table.foreign_keys:
            there, column = key.column.table.name, key.column.name
            query = (
                f"SELECT one.id FROM {table.name} one LEFT JOIN {there} there "
                f"ON there.{column} = one.{key.parent.name} "
                f"WHERE one.{key.parent.name} IS NOT NULL AND there.{column} IS NULL ORDER BY 1"
            )
            for (row,) in connection.execute(query).fetchall():
                yield f"row {row} of {table.name} refers to what is not in {there}"


def size_of(connection: Raw) -> int:
    """Return how many bytes the notebook takes without its sounds, roughly."""
    if isinstance(connection, PostgresRaw):
        query = (
            "SELECT coalesce(sum(pg_total_relation_size(oid)), 0)::bigint FROM pg_catalog.pg_class "
            "WHERE relkind = 'r' AND relnamespace = to_regnamespace(current_schema()::text) AND relname <> 'recordings'"
        )
        return int((connection.execute(query).fetchone() or (0,))[0])
    pages = connection.execute("PRAGMA page_count").fetchone()[0] * connection.execute("PRAGMA page_size").fetchone()[0]
    sounds = connection.execute("SELECT coalesce(sum(size), 0) FROM recordings").fetchone()[0]
    return int(pages) - int(sounds)
