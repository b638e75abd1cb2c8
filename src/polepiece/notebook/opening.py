"""Opening a notebook wherever it is; what is needed for a server is loaded for a server only."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from polepiece.errors import NotebookError
from polepiece.notebook import connection as files
from polepiece.notebook.dialect import Raw, raw_of
from polepiece.notebook.end_note import End
from polepiece.notebook.file_copy import copied
from polepiece.notebook.places import Place


def open_engine(place: Place) -> Engine:
    """Open a notebook, make it if there is none, check it and bring it to the present schema.

    Raises
    ------
    NotebookError
        When it is no notebook, damaged, written by a newer version, not ours to write in, or cannot be reached.
    """
    if isinstance(place, Path):
        return files.open_file(place)
    found: Engine = _servers().open_server(place)
    return found


@contextmanager
def in_words(place: Place) -> Iterator[None]:
    """Turn what the database reports into one paragraph."""
    with files.in_words(place) if isinstance(place, Path) else _servers().in_words(place):
        yield


def kept_after_all(engine: Engine, place: Place, end: End, error: DBAPIError) -> bool:
    """Tell whether a transaction that ended in an error was kept: only its acknowledgement was lost.

    Raises
    ------
    LostConnectionError
        When that cannot be told, as nobody answers.
    """
    if isinstance(place, Path):
        return False
    servers = _servers()
    return bool(servers.is_lost(error)) and bool(servers.was_kept(engine, place, end))


def swept(engine: Engine, table: str) -> None:
    """Have what was blanked in a table leave the disk, as far as that is the database's to do.

    In a file freed bytes are zeros already (``secure_delete``); its log is emptied. A server gives up its old rows.
    """
    with engine.connect() as connection:
        raw = connection.connection.driver_connection
        if isinstance(raw, sqlite3.Connection):
            raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
        elif raw is not None:
            raw.autocommit = True
            try:
                raw.execute(f"VACUUM {table}")
            finally:
                raw.autocommit = False


@contextmanager
def looked_at(place: Place) -> Iterator[Raw]:
    """Give the raw values of a notebook to look at, of one moment; nothing is written, and a file is copied first.

    Raises
    ------
    NotebookError
        When it is not there.
    """
    if isinstance(place, Path):
        with TemporaryDirectory(prefix="polepiece-looking-") as folder:
            copy = copied(place, Path(folder))
            with closing(sqlite3.connect(copy)) as raw:
                yield raw
        return
    servers = _servers()
    engine = servers.engine_of(place)
    try:
        with servers.in_words(place), engine.connect() as connection:
            servers.check_version(connection, place)
            yield raw_of(connection)
    finally:
        engine.dispose()


def _servers() -> ModuleType:
    try:
        from polepiece.notebook import postgres
    except ImportError as error:
        raise NotebookError(
            f"a notebook on a server needs the package psycopg ({error}); install it: pip install 'polepiece[shop]'"
        ) from None
    return postgres
