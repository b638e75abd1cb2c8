"""A notebook in a file: settings of every connection, the checks on the way in, and failures in words."""

import errno
import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from json import JSONDecodeError
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import QueuePool

from polepiece.errors import DamagedNotebookError, NotebookError, ReadOnlyNotebookError
from polepiece.notebook.backups import backup_before
from polepiece.notebook.dialect import raw_of
from polepiece.notebook.end_note import End, read_end
from polepiece.notebook.limits import BUSY_MS
from polepiece.notebook.places import NAME, ways_out
from polepiece.notebook.schema_base import APPLICATION_ID, REVISIONS
from polepiece.notebook.structure import refuse_damaged

GONE = (
    "cannot be read or written to any more: the disk, or the network folder, does not answer. What was not "
    "acknowledged is not in it. See that it is there, and open the notebook again."
)
SETTINGS = (
    f"busy_timeout = {BUSY_MS}",
    "synchronous = FULL",
    "foreign_keys = ON",
    "trusted_schema = OFF",
    "secure_delete = ON",  # what is blanked is overwritten with zeros
)


def open_file(path: Path) -> Engine:
    """Open the file, make it if there is none, check it and bring it to the present schema.

    Raises
    ------
    NotebookError
        When the file is no notebook, damaged, written by a newer version, or not ours to write in.
    """
    _prepare(path)
    engine = _engine(path)
    try:
        with in_words(path):
            _write_ahead(engine)
            end = read_end(path)  # before the file is looked at: another program may be making it
            with engine.connect() as connection:
                found = _revision(connection, path)
            if found != REVISIONS[-1]:
                _upgrade(engine, path, found, end)
            _check(engine, path)
    except BaseException:
        engine.dispose()
        raise
    return engine


def open_unchanging(path: Path) -> Engine:
    """Open a file that nobody writes to, and without writing: no log, no lock, no step of the schema.

    Raises
    ------
    NotebookError
        When the file is no notebook of this version, or damaged.
    """
    engine = _engine(path, f"{path.as_uri()}?immutable=1")
    try:
        with in_words(path):
            with engine.connect() as connection:
                if _revision(connection, path) != REVISIONS[-1]:
                    raise ReadOnlyNotebookError(f"{path} is of an older version and cannot be written to.")
            _check(engine, path)
    except BaseException:
        engine.dispose()
        raise
    return engine


def _upgrade(engine: Engine, path: Path, found: str | None, end: End | None) -> None:
    """Run what is pending; another program may have done so while this one waited for its turn.

    A step may write a table anew, for which SQLite wants foreign keys off from before the transaction; they are all
    checked before it is kept.
    """
    from polepiece.notebook.upgrade import upgrade  # Alembic takes as long to load as all else

    if found is not None:
        backup_before(path, found)
    elif end is not None:
        raise DamagedNotebookError(
            f"{path} is damaged (it is empty, and entry {end.entry} was acknowledged). {ways_out(path)}"
        )
    with engine.execution_options(write=True).connect() as connection:
        raw = connection.connection.driver_connection
        assert isinstance(raw, sqlite3.Connection)
        raw.execute("PRAGMA foreign_keys = OFF")
        try:
            with connection.begin():
                if _revision(connection, path) != REVISIONS[-1]:
                    _upgradable(raw, path)
                    upgrade(connection)
                    if broken := raw.execute("PRAGMA foreign_key_check").fetchone():
                        raise DamagedNotebookError(
                            f"{path} is damaged (a row of {broken[0]} refers to what is not in {broken[2]}). "
                            f"Nothing was changed in it. {ways_out(path)}"
                        )
        finally:
            raw.execute("PRAGMA foreign_keys = ON")


def _upgradable(raw: sqlite3.Connection, path: Path) -> None:
    """Refuse to seal what is broken already."""
    for (fault,) in raw.execute("PRAGMA quick_check").fetchall():
        if fault != "ok":
            raise DamagedNotebookError(f"{path} is damaged ({' '.join(str(fault).split())}). {ways_out(path)}")


@contextmanager
def in_words(path: Path) -> Iterator[None]:
    """Turn what SQLite reports into one paragraph."""
    try:
        yield
    except DBAPIError as error:
        raise _refusal(path, str(error.orig)) from error
    except sqlite3.Error as error:
        raise _refusal(path, str(error)) from error
    except (UnicodeDecodeError, JSONDecodeError) as error:
        raise _refusal(path, f"malformed: {error}") from error
    except OverflowError as error:  # SQLite counts to 2^63 - 1
        raise NotebookError(f"{path} has no entry with a number that large. Was a digit typed twice?") from error
    except SQLAlchemyError as error:
        raise NotebookError(f"{path}: the notebook cannot be used ({error}).") from error


def _refusal(path: Path, said: str) -> NotebookError:
    reason = " ".join(said.split())  # SQLite shows statements of a broken schema as they stand, in many lines
    if any(sign in reason for sign in ("malformed", "decode", "corrupt", "no such table", "no such column")):
        return DamagedNotebookError(f"{path} is damaged ({reason:.300}). {ways_out(path)}")
    if any(sign in reason for sign in ("readonly", "unable to open")):
        return ReadOnlyNotebookError(_words(path, reason))
    return NotebookError(_words(path, reason))


def _words(path: Path, reason: str) -> str:
    for sign, words in (
        ("not a database", "is not a notebook (not an SQLite file). Was another file meant?"),
        ("locked", f"is held by another program for more than {BUSY_MS // 1000} s. Close it there and try again."),
        ("readonly", "is read-only. Make it yours to write in, or choose another with --notebook."),
        ("unable to open", "cannot be opened. Is the folder there, and yours to write in?"),
        ("disk I/O error", GONE),
        ("disk is full", "cannot grow: the disk is full. What was not acknowledged is not in it."),
        ("append-only", "is append-only: nothing in it is changed or deleted; record a new state instead."),
    ):
        if sign in reason:
            return f"{path} {words}"
    return f"{path}: the notebook refused ({reason})."


def _prepare(path: Path) -> None:
    """Make an empty file that only its owner may read, or say why there cannot be one."""
    if path.is_dir():
        raise NotebookError(f"{path} is a folder; the notebook is a file. Write {path / NAME}.")
    try:
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    except OSError as error:
        hint = {
            errno.ENOENT: "Its folder is not there; make the folder first.",
            errno.ENOTDIR: "A part of its path is a file.",
        }.get(error.errno or 0, "Choose another place with --notebook.")
        raise ReadOnlyNotebookError(f"{path} cannot be opened for writing ({error.strerror}). {hint}") from None


def _engine(path: Path, uri: str = "") -> Engine:
    def connect() -> sqlite3.Connection:
        return sqlite3.connect(
            uri or path, timeout=BUSY_MS / 1000, isolation_level=None, check_same_thread=False, uri=bool(uri)
        )

    engine = create_engine("sqlite://", creator=connect, poolclass=QueuePool, pool_size=4, max_overflow=28)

    @event.listens_for(engine, "connect")
    def _settings(connection: sqlite3.Connection, _: object) -> None:
        for setting in SETTINGS:
            connection.execute(f"PRAGMA {setting}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        """Writers queue up before they read, so that what they read is still true when they write."""
        write = connection.get_execution_options().get("write", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    return engine


def _write_ahead(engine: Engine) -> None:
    """Write-ahead log: readers do not wait for a writer. The switch itself cannot wait, so it is tried again."""
    raw = engine.raw_connection()
    try:
        until = time.monotonic() + BUSY_MS / 1000
        while raw.cursor().execute("PRAGMA journal_mode").fetchone()[0] != "wal":
            try:
                raw.cursor().execute("PRAGMA journal_mode = WAL")
                return  # a file system without shared memory keeps the rollback journal, which is as safe
            except sqlite3.OperationalError as error:
                if "locked" not in str(error) or time.monotonic() > until:
                    raise
                time.sleep(0.02)
    finally:
        raw.close()


def _revision(connection: Connection, path: Path) -> str | None:
    """Return the step the file is at, None for an empty file; refuse what is not a notebook of ours."""
    names = set(connection.exec_driver_sql("SELECT name FROM sqlite_schema").scalars())
    if not names:
        return None
    mark = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
    if mark != APPLICATION_ID or "alembic_version" not in names:
        raise NotebookError(f"{path} is an SQLite file of another program, not a notebook. Was another file meant?")
    found = list(connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalars())
    if len(found) != 1 or found[0] not in REVISIONS:
        named = ", ".join(map(str, found)) or "unknown"
        raise NotebookError(
            f"{path} was written by a newer version of polepiece (schema {named}, this version knows "
            f"up to {REVISIONS[-1]}). Install that version; this one has changed nothing in the file."
        )
    return str(found[0])


def _check(engine: Engine, path: Path) -> None:
    """Refuse a notebook that is damaged, and say what of it is whole."""
    end = read_end(path)  # first: it may be behind the file, and is never ahead of it
    with engine.connect() as connection:
        refuse_damaged(raw_of(connection), path, end)
