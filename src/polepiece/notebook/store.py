"""The notebook itself: one file, or one database of a shop, opened, read, added to."""

from pathlib import Path
from tempfile import TemporaryDirectory
from types import TracebackType
from typing import TYPE_CHECKING, Self
from unicodedata import normalize

from sqlalchemy import Engine, select
from sqlalchemy.orm import with_polymorphic

from polepiece.errors import NotebookError
from polepiece.notebook.bench_book import BenchBook
from polepiece.notebook.benches import benches_of
from polepiece.notebook.customers import Customers
from polepiece.notebook.evidence import Evidence
from polepiece.notebook.histories import Histories
from polepiece.notebook.jobs import job_places
from polepiece.notebook.opening import open_engine
from polepiece.notebook.orders import Orders
from polepiece.notebook.places import Place, Server, notebook_path
from polepiece.notebook.records import Clock, GuitarEntry, LogLine, moment, now_utc
from polepiece.notebook.same_place import mark_of
from polepiece.notebook.schema import Entry, GuitarRow
from polepiece.notebook.transactions import guitar_row
from polepiece.notebook.words import words_of

if TYPE_CHECKING:
    import asyncio


class Notebook(Histories, Orders, Evidence, BenchBook, Customers):
    """Guitars, parts, jobs, predictions, sounds and notes in one place, where nothing is ever overwritten.

    Every method is one short transaction of its own and may be called from any thread; several programs may hold the
    same notebook. What a writing method has returned is on the disk.
    """

    def __init__(self, path: Place, *, clock: Clock = now_utc) -> None:
        self.path = path
        self.reading = ""
        self._clock = clock
        self._notices: list[str] = []
        self._copy: TemporaryDirectory[str] | None = None
        self._engine = open_engine(path)
        self._file = mark_of(path)

    @classmethod
    def only_read(cls, path: Place, engine: Engine, why: str, copy: "TemporaryDirectory[str] | None") -> "Notebook":
        """Return a notebook that can be read and not written to; ``copy`` is a folder that goes when it is closed."""
        found = cls.__new__(cls)
        found.path, found.reading, found._engine, found._copy = path, why, engine, copy
        found._clock, found._notices = now_utc, [why]
        return found

    def close(self) -> None:
        """Close the file; the notebook cannot be used afterwards."""
        self._engine.dispose()
        if self._copy is not None:
            self._copy.cleanup()

    def give_way(self, loop: "asyncio.AbstractEventLoop") -> None:
        """Have tasks that a loop begins from now on serve others while they wait for a server; a file needs none."""
        if isinstance(self.path, Server):
            from polepiece.notebook.giving_way import give_way  # greenlets, for servers only

            give_way(loop)

    def __enter__(self) -> Self:
        """Return the notebook, to be closed at the end of the block."""
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        """Close the file."""
        self.close()

    def find_guitar(self, called: str) -> GuitarEntry:
        """Return the guitar with this number, or this name (as it is written, or in any case), or whose name begins so.

        Raises
        ------
        NotebookError
            If there is none, or more than one.
        """
        known = self.guitars()
        word = _plain(called.strip())
        for matches in (
            [one for one in known if str(one.id) == word],
            [one for one in known if one.name == called.strip()],
            [one for one in known if _plain(one.name) == word],
            [one for one in known if word and _plain(one.name).startswith(word)],
        ):
            if len(matches) == 1:
                return matches[0]
            if matches:
                which = "; ".join(f"{one.id}: {one.name}" for one in matches)
                raise NotebookError(f"{called!r} may be any of several guitars; give the number: {which}.")
        which = "; ".join(f"{one.id}: {one.name}" for one in known[:20]) or "none yet"
        raise NotebookError(f"there is no guitar {called!r} in this notebook; it has: {which}.")

    def log(self, guitar_id: int | None = None, *, last: int | None = None) -> list[LogLine]:
        """Return everything that happened, in the order this file learned of it, in words; or the ``last`` lines."""
        entries = with_polymorphic(Entry, "*")
        query = select(entries, GuitarRow.name).join(GuitarRow, GuitarRow.id == entries.guitar_id, isouter=True)
        with self._read() as session:
            if guitar_id is not None:
                guitar_row(session, guitar_id)
                query = query.where(entries.guitar_id == guitar_id)
            newest = session.execute(query.order_by(entries.id.desc()).limit(last)).all()
            jobs = job_places(session)
            benches = {row.id: row.name for row, _ in benches_of(session)}
            return [
                LogLine(
                    id=row.id, at=moment(row.at), kind=row.kind, guitar_id=row.guitar_id, guitar=name,
                    words=words_of(row, jobs, benches), bench=row.bench,
                )
                for row, name in reversed(newest)
            ]  # fmt: skip


def _plain(name: str) -> str:
    """Return a name in one case, accents as one keyboard types them and another writes them alike."""
    return normalize("NFC", normalize("NFC", name).casefold())


def open_notebook(path: Path | Server | str | None = None, *, clock: Clock = now_utc) -> Notebook:
    """Open the notebook; the file is made if there is none yet.

    Parameters
    ----------
    path : Path, str or None
        The file, or the address of a database on a server (``postgresql://user@host/database``). None takes what
        the environment variable POLEPIECE_NOTEBOOK names, or else ``notebook.sqlite`` in the user's data folder.
    clock : callable
        Returns the time now, with its time zone.

    Returns
    -------
    Notebook
        Also a context manager that closes it.

    Raises
    ------
    NotebookError
        When the file is no notebook, damaged, written by a newer version, or cannot be written to.

    Examples
    --------
    >>> from polepiece.notebook import open_notebook
    >>> with open_notebook("shop.sqlite") as notebook:  # doctest: +SKIP
    ...     entry = notebook.add_guitar(guitar, why="came in muddy")
    """
    return Notebook(notebook_path(path), clock=clock)
