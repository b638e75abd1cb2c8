"""Copies of a notebook from a file, from a server and onto one; entry by entry the same, seals included.

A seal is a hash of values, not of how a database keeps them: so a copy has the seals of what it was copied from, and is
held against them before it counts.
"""

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import Connection

from polepiece.errors import NotebookError
from polepiece.notebook.backups import Copier, copy_file, restore_file, write_copy
from polepiece.notebook.chain import newest
from polepiece.notebook.dialect import Raw, raw_of
from polepiece.notebook.end_note import end_of, forget_end, read_end, write_end
from polepiece.notebook.opening import in_words, looked_at, open_engine
from polepiece.notebook.places import Place, Server, followed
from polepiece.notebook.schema import COPIED
from polepiece.notebook.schema_base import Base
from polepiece.notebook.structure import entry_faults

AT_ONCE = 200  # rows; of recordings one


def backup_to(place: Place, out: Path, *, replace: bool = False) -> Path:
    """Copy a notebook, whole and looked at, to a file of its own; of a server too a file.

    Raises
    ------
    NotebookError
        When the file is there already (unless ``replace``), the notebook is damaged, or the copy cannot be written.
    """
    place = followed(place) if isinstance(place, Path) else place
    return write_copy(place, out, copier(place), replace=replace)


def restore(place: Place, backup: Path) -> Path | None:
    """Put a copy of a backup in the place of a notebook; what was there is kept beside it, its path is returned.

    On a server nothing is put aside and nothing is written over: the database has to be empty.

    Raises
    ------
    NotebookError
        When the backup is not there or damaged, or the database holds entries; nothing is changed then.
    """
    backup = followed(backup)
    if isinstance(place, Path):
        return restore_file(followed(place), backup)
    if not backup.is_file():
        raise NotebookError(f"{backup}: there is no such file.")
    with TemporaryDirectory(prefix="polepiece-restore-") as folder, ExitStack() as stack:
        copy = write_copy(backup, Path(folder) / "n.sqlite", copy_file(backup))
        open_engine(copy).dispose()  # one of an older version is brought up to date
        _restore_on(place, stack.enter_context(looked_at(copy)), backup)
    return None


def _restore_on(server: Server, source: Raw, backup: Path) -> None:
    noted = read_end(server)
    forget_end(server)  # the database may be empty, and is meant to be
    try:
        engine = open_engine(server)
        try:
            with in_words(server), engine.execution_options(write=True).begin() as connection:
                if there := newest(raw_of(connection)):
                    raise NotebookError(
                        f"{server} holds {there} entries; a backup is restored into an empty database only. Make "
                        "another (createdb) and name it with --notebook."
                    )
                _copy_rows(source, connection, backup)
        finally:
            engine.dispose()
    except BaseException:
        if noted is not None:
            write_end(server, noted)
        raise


def copier(place: Place) -> Copier:
    """Return what copies this notebook into an empty file."""
    return copy_file(place) if isinstance(place, Path) else lambda into: _from_server(place, into)


def _from_server(server: Server, into: Path) -> None:
    with looked_at(server) as source:
        engine = open_engine(into)
        try:
            with in_words(into), engine.execution_options(write=True).begin() as connection:
                _copy_rows(source, connection, server)
            with engine.connect() as connection:  # one file, without a log beside it
                connection.connection.driver_connection.execute("PRAGMA journal_mode = DELETE")  # type: ignore[union-attr]
        finally:
            engine.dispose()


def _copy_rows(source: Raw, target: Connection, where: Place) -> None:
    """Copy every row that is not counted from others, and hold the copy against its seals and its end."""
    raw = raw_of(target)
    for name in COPIED:
        table = Base.metadata.tables[name]
        names = [one.name for one in table.columns]
        query = f"INSERT INTO {name} ({', '.join(names)}) VALUES ({', '.join('?' for _ in names)})"
        for rows in _portions(source, name, names, next(iter(table.primary_key)).name):
            raw.executemany(query, rows)
    _refuse_damaged(raw, where)
    if end_of(raw) != end_of(source):
        raise NotebookError(f"{where} changed while it was copied; no copy was made. Try again.")


def _portions(source: Raw, table: str, names: list[str], key: str) -> Iterator[list[tuple[Any, ...]]]:
    """Yield the rows of a table, so many at once that memory stays small: a server gives whatever it is asked for."""
    most = 1 if table == "recordings" else AT_ONCE
    after: list[Any] = []
    while True:
        query = (
            f"SELECT {', '.join(names)} FROM {table} {f'WHERE {key} > ?' if after else ''} ORDER BY {key} LIMIT {most}"
        )
        if rows := source.execute(query, after).fetchall():
            yield rows
            after = [rows[-1][names.index(key)]]
        if len(rows) < most:
            return


def _refuse_damaged(raw: Raw, where: Place) -> None:
    if fault := next(entry_faults(raw), ""):
        raise NotebookError(f"{where} is damaged ({fault}); no copy was made of it, the older ones are kept.")
