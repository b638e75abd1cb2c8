"""A notebook on a PostgreSQL server: settings of every connection, patience with a silent one, failures in words.

Writers take one lock of the server before they read, so that the head of the chain that a writer sees is the one it
writes after; what a transaction has acknowledged is on the server's disk (``synchronous_commit = on``). A bench that
goes silent in the middle of a write loses its lock after ``IDLE_MS``. Where an event loop may be given back
(`sqlalchemy.util.greenlet_spawn`), it is, as soon as an answer is not there at once. Needs psycopg (extra ``shop``).
"""

import asyncio
import logging
import time
from collections.abc import Callable, Generator, Iterator
from contextlib import contextmanager
from json import JSONDecodeError
from typing import Any

import psycopg
from psycopg.waiting import wait_async
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import QueuePool
from sqlalchemy.util.concurrency import await_only, in_greenlet

from polepiece.errors import DamagedNotebookError, LostConnectionError, NotebookError, ReadOnlyNotebookError
from polepiece.notebook.dialect import raw_of, tables_of
from polepiece.notebook.end_note import End, read_end
from polepiece.notebook.limits import BUSY_MS
from polepiece.notebook.places import Server, ways_out
from polepiece.notebook.postgres_tables import make_tables
from polepiece.notebook.schema_base import APPLICATION_ID, REVISIONS
from polepiece.notebook.structure import refuse_damaged
from polepiece.notebook.waiting import is_first_try, is_watched

logging.getLogger("psycopg").addHandler(logging.NullHandler())  # what it would remark is said by us, in words

IDLE_MS = 15_000  # a bench that says nothing in the middle of a write gives way to the others
LOOKING_MS = 3_600_000  # one that only looks keeps nobody waiting: it may pack or check for long what it has read
PATIENCE = 10.0  # s without a byte from the server, longer than it waits for a lock
CONNECT_S = 5
AT_ONCE = 0.1  # s for which an event loop is held: an answer of a server that is well is there by then
ALIVE = 2.0  # s for which a connection is asked whether anybody is there, before it is used; else a new one is tried
PAGE_PATIENCE = 4.0  # s without a byte, where a person looks at a page meanwhile
WATCHED = 6.0  # s without a byte while a person's entry is kept: no sooner than the turn of another bench is waited for
PAGE_CONNECT_S = 2  # the least that libpq takes
NOT_AGAIN = 2.0  # s for which a page that could not reach the server does not try again: one page asks many times
SETTINGS = {
    "synchronous_commit": "on", "lock_timeout": str(BUSY_MS), "idle_in_transaction_session_timeout": str(LOOKING_MS),
    "timezone": "UTC",
}  # fmt: skip
LOCK = (
    f"SELECT set_config('idle_in_transaction_session_timeout', '{IDLE_MS}', true), "
    f"pg_advisory_xact_lock({APPLICATION_ID}, "
    "mod(to_regnamespace(current_schema()::text)::oid::bigint, 2147483647)::int)"
)
SNAPSHOT = (psycopg.IsolationLevel.REPEATABLE_READ, True)


class SilenceError(psycopg.OperationalError):
    """Not a byte came for as long as is waited."""


class _NotAtOnceError(Exception):
    """No answer yet; ``wanted`` is what the connection waits for."""

    def __init__(self, wanted: Any) -> None:
        super().__init__()
        self.wanted = wanted


class Patient(psycopg.Connection[Any]):
    """A connection that does not wait for ever: a network that swallows everything closes no connection."""

    _at_most = 0.0  # s without a byte, where what is asked is answered at once by any server; 0: as usual

    @contextmanager
    def asked_whether_alive(self) -> Iterator[None]:
        """Wait no longer than it takes to tell whether anybody is there."""
        self._at_most = ALIVE
        try:
            yield
        finally:
            self._at_most = 0.0

    def wait(self, gen: Any, *more: Any, **named: Any) -> Any:
        """Wait for the server, as long as something comes; an event loop that can be given back serves others then."""
        try:
            if in_greenlet():
                return self._wait_beside(gen)
            patience = self._at_most or (WATCHED if is_watched() else PATIENCE)
            return super().wait(_listened(gen, patience), *more, **named)
        except SilenceError:
            self.close()  # whatever comes later belongs to nobody
            raise

    def _wait_beside(self, asking: Any) -> Any:
        try:
            return super().wait(_listened(asking, AT_ONCE, _NotAtOnceError), interval=AT_ONCE)
        except _NotAtOnceError as slow:
            listened = _listened(asking, self._at_most or PAGE_PATIENCE, wanted=slow.wanted)
        try:
            return await_only(wait_async(listened, self.pgconn.socket, interval=AT_ONCE))
        except asyncio.CancelledError:
            self.close()
            raise


def _listened(
    asking: Any, patience: float, silent: Callable[[Any], Exception] | None = None, *, wanted: Any = None
) -> Generator[Any, Any, Any]:
    """Pass on what is waited for; give up after so long a silence. ``wanted``: where it was left before."""
    until = time.monotonic() + patience
    try:
        wanted = next(asking) if wanted is None else wanted
        while True:
            ready = yield wanted
            if ready:
                until = time.monotonic() + patience
            elif time.monotonic() >= until:
                raise SilenceError(f"no answer for {patience:g} s") if silent is None else silent(wanted)
            wanted = asking.send(ready)
    except StopIteration as end:
        return end.value


def open_server(server: Server) -> Engine:
    """Open a notebook on a server: make its tables in an empty database, check it, bring it to the present schema.

    Raises
    ------
    NotebookError
        When the server cannot be reached, or the database is no notebook, damaged, or of a newer version.
    """
    engine = engine_of(server)
    try:
        with in_words(server):
            with engine.connect() as connection:
                found = _revision(connection, server)
            if found != REVISIONS[-1]:
                _upgrade(engine, server, found)
            end = read_end(server)  # first: it may be behind the notebook, and is never ahead of it
            with engine.connect() as connection:
                refuse_damaged(raw_of(connection), server, end)
    except BaseException:
        engine.dispose()
        raise
    return engine


def check_version(connection: Connection, server: Server) -> None:
    """Refuse to look into what is no notebook of this version."""
    if (found := _revision(connection, server)) != REVISIONS[-1]:
        older = "it is empty" if found is None else f"it has the schema {found}; open it once (polepiece log)"
        raise NotebookError(f"{server} cannot be looked into: {older}.")


def engine_of(server: Server) -> Engine:
    """Return the engine of a notebook, nothing of it looked at yet."""

    again = 0.0  # when a page may try to reach it again

    def connect() -> Patient:
        nonlocal again
        if not (in_greenlet() or is_watched()):
            return _connected(server, CONNECT_S)
        if time.monotonic() < again and not is_first_try():
            raise SilenceError("no answer a moment ago")
        try:
            if not in_greenlet():
                return _connected(server, PAGE_CONNECT_S)
            return await_only(asyncio.to_thread(_connected, server, PAGE_CONNECT_S))
        except psycopg.OperationalError:
            again = time.monotonic() + NOT_AGAIN
            raise

    engine = create_engine(
        "postgresql+psycopg://", creator=connect, poolclass=QueuePool, pool_size=4, max_overflow=28, pool_pre_ping=True,
        use_native_hstore=False,
    )  # fmt: skip
    ping = engine.dialect.do_ping

    def alive(dbapi_connection: Any) -> bool:
        with dbapi_connection.asked_whether_alive():
            return ping(dbapi_connection)

    engine.dialect.do_ping = alive  # type: ignore[method-assign]  # what the pool asks before it hands one out

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        """Writers queue up before they read; readers see one moment, and are told so with the BEGIN itself."""
        write = connection.get_execution_options().get("write", False)
        raw = connection.connection.driver_connection
        if raw is not None and bool(raw.read_only) is write:
            raw.isolation_level, raw.read_only = (None, None) if write else SNAPSHOT
        if write:
            connection.exec_driver_sql(LOCK)

    return engine


def _connected(server: Server, seconds: int) -> Patient:
    made = Patient.connect(
        server.url, autocommit=True, connect_timeout=seconds, application_name="polepiece", prepare_threshold=None,
        client_encoding="utf8", keepalives_idle=20, keepalives_interval=5, keepalives_count=3,
    )  # fmt: skip
    sets = ", ".join("set_config(%s, %s, false)" for _ in SETTINGS)
    made.execute(f"SELECT {sets}".encode(), [word for pair in SETTINGS.items() for word in pair])
    made.autocommit = False
    return made


def _revision(connection: Connection, server: Server) -> str | None:
    """Return the step the notebook is at, None in an empty database; refuse what is not a notebook of ours."""
    names = tables_of(raw_of(connection))
    if not names:
        return None
    if not {"alembic_version", "journal", "chain"} <= names:
        raise NotebookError(
            f"{server} holds tables of another program, not a notebook. Make a database of its own (createdb) and "
            "name it."
        )
    found = list(connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalars())
    if len(found) != 1 or found[0] not in REVISIONS:
        named = ", ".join(map(str, found)) or "unknown"
        raise NotebookError(
            f"{server} was written by a newer version of polepiece (schema {named}, this "
            f"version knows up to {REVISIONS[-1]}). Install that version; this one has changed nothing in it."
        )
    return str(found[0])


def _upgrade(engine: Engine, server: Server, found: str | None) -> None:
    """Make the tables, or run what is pending; another bench may have done so while this one waited for its turn."""
    if found is None and (end := read_end(server)) is not None:
        raise DamagedNotebookError(
            f"{server} is damaged (it is empty, and entry {end.entry} was acknowledged). {ways_out(server)}"
        )
    with engine.execution_options(write=True).begin() as connection:
        now = _revision(connection, server)
        if now is None:
            make_tables(connection, server)
        elif now != REVISIONS[-1]:
            from polepiece.notebook.upgrade import upgrade  # Alembic takes as long to load as all else

            upgrade(connection)


@contextmanager
def in_words(server: Server) -> Iterator[None]:
    """Turn what the server, or the way to it, reports into one paragraph."""
    try:
        yield
    except DBAPIError as error:
        raise _refusal(server, error.orig or error) from error
    except psycopg.Error as error:
        raise _refusal(server, error) from error
    except (UnicodeDecodeError, JSONDecodeError) as error:
        raise DamagedNotebookError(f"{server} is damaged ({error}). {ways_out(server)}") from error
    except SQLAlchemyError as error:
        raise NotebookError(f"{server}: the notebook cannot be used ({error}).") from error


def is_lost(error: BaseException) -> bool:
    """Tell whether an error means that nobody answers any more, rather than that the answer was no."""
    known = error.orig if isinstance(error, DBAPIError) else error
    if not isinstance(known, psycopg.Error):
        return False
    if known.sqlstate is None:
        return isinstance(known, psycopg.OperationalError | psycopg.InterfaceError)
    return known.sqlstate.startswith("08") or known.sqlstate in _ENDED


def was_kept(engine: Engine, server: Server, end: End) -> bool:
    """Tell whether an entry is there whose acknowledgement got lost on the way.

    Whoever has the lock knows that the lost transaction is over, one way or the other.

    Raises
    ------
    LostConnectionError
        When the server does not come back within its time.
    """
    until = time.monotonic() + (PAGE_PATIENCE if is_watched() else PATIENCE)
    while True:
        try:
            with engine.execution_options(write=True).begin() as connection:
                query = "SELECT link FROM chain WHERE id = ?"
                row = raw_of(connection).execute(query, (end.entry,)).fetchone()
                return row is not None and row[0] == end.link
        except (DBAPIError, psycopg.Error) as error:
            if time.monotonic() > until:
                raise LostConnectionError(
                    f"{server} fell silent when it was told to keep this. Whether it did shows in the log when it is "
                    "back (polepiece log --last 3): look there before you write it again."
                ) from error
            time.sleep(0.25)


_ENDED = ("57P01", "57P02", "57P03", "57P05", "25P03")  # the server stops, starts, or ended a session that was silent
_SIGNS = (
    ("55P03", "is held by another program for more than {busy} s. Close it there and try again."),
    ("25006", "is read-only. Choose another with --notebook, or ask who looks after the server."),
    (
        "42501",
        "may not be written to by this role ({reason}). The database should belong to it: createdb --owner ROLE.",
    ),
    ("22003", "has no entry with a number that large. Was a digit typed twice?"),
    ("53100", "cannot grow: the server's disk is full. What was not acknowledged is not in it."),
    ("28", "lets nobody in who comes so ({reason}). Is the user right? A password belongs into ~/.pgpass."),
    ("3D000", "is not there ({reason}). Make it once: createdb {database}."),
)


def _refusal(server: Server, error: BaseException) -> NotebookError:
    reason = " ".join(str(error).split()).rstrip(".")
    state = getattr(error, "sqlstate", None) or ""
    words = {"reason": reason, "busy": BUSY_MS // 1000, "database": server.database}
    if not state and (refused := _refused_at_the_door(reason)):
        return NotebookError(f"{server} {refused.format(**words)}")
    if is_lost(error):
        return LostConnectionError(
            f"{server} does not answer ({reason:.300}). What was not acknowledged is not in the notebook. Is the "
            "server up, and the network? Then try again."
        )
    for sign, said in _SIGNS:
        if state.startswith(sign):
            kind = ReadOnlyNotebookError if sign in ("25006", "42501") else NotebookError
            return kind(f"{server} {said.format(**words)}")
    if "append-only" in reason:
        return NotebookError(
            f"{server} is append-only: nothing in it is changed or deleted; record a new state instead."
        )
    if state in ("42P01", "42703") or state.startswith(("XX", "58")):
        return DamagedNotebookError(f"{server} is damaged ({reason}). {ways_out(server)}")
    return NotebookError(f"{server}: the notebook refused ({reason}).")


def _refused_at_the_door(reason: str) -> str:
    """Return what a refusal to connect means; it comes without the number of its kind."""
    if "does not exist" in reason and "database" in reason:
        return "is not there ({reason:.300}). Make it once: createdb {database}."
    if any(sign in reason for sign in ("authentication failed", "no password supplied", "pg_hba.conf", "role")):
        return "lets nobody in who comes so ({reason:.300}). Is the user right? A password belongs into ~/.pgpass."
    if any(sign in reason for sign in ("invalid URI", "invalid connection option", "invalid port", "invalid integer")):
        return "is no address that can be read ({reason:.300}). Write postgresql://USER@HOST/DATABASE."
    return ""
