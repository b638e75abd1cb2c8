"""What one running server holds: its notebook, its live process, its jobs."""

import asyncio
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from nicegui import ui

from polepiece.app.server.addressing import alive
from polepiece.app.server.bench_door import pass_of_visitor
from polepiece.app.server.jobs import Jobs
from polepiece.app.server.live import Live
from polepiece.app.server.under_way import AllUnderWay
from polepiece.notebook import Notebook, watched, written_for

T = TypeVar("T")
WAITS = 1.0  # s after which a page says that what it writes is not kept yet
NOT_KEPT_YET = "This is not in the notebook yet. The line goes when it is; if it cannot be, it says why."


@dataclass(slots=True, kw_only=True)
class Room:
    """Everything that all tabs share."""

    notebook: Notebook
    live: Live  # answers at once
    margins: Live  # 90 % intervals: a second at first, so that they keep nobody waiting
    jobs: Jobs
    solves: Jobs  # new geometries for the Guitar page: never behind a plan
    sounds: Jobs  # in a warm process, never behind a plan either
    first_guitar: Path  # the invented guitar that the first screen offers
    under_way: AllUnderWay = field(default_factory=AllUnderWay)  # plans, by guitar: they outlive their tab
    seen: set[str] = field(default_factory=set)  # notices of the notebook that somebody has read
    writer: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, "notebook"))

    def close(self) -> None:
        """Let what is being written reach the disk; end the processes."""
        self.writer.shutdown()
        self.live.close()
        self.margins.close()
        self.jobs.close()
        self.solves.close()
        self.sounds.close()


_room: Room | None = None


def set_room(room: "Room | None") -> None:
    """Set (or forget) the room of this process."""
    global _room  # noqa: PLW0603  one server a process
    _room = room


def room() -> Room:
    """Return the room of this process."""
    if _room is None:
        raise RuntimeError("the page is used before the server has been set up")
    return _room


async def written(write: Callable[[], T]) -> T:
    """Write to the notebook in the one thread for it, in the order of asking; return what was written.

    It is written for the bench whose token the visitor has shown, if one was.

    Another program may hold the file for seconds, or its server be silent: then one page waits and says so, and not all
    of them.

    Raises
    ------
    PolepieceError
        What the notebook raised.
    """
    shown = pass_of_visitor()

    def for_the_visitor() -> T:
        with written_for(shown), watched():
            return write()

    keeping = asyncio.get_running_loop().run_in_executor(room().writer, for_the_visitor)
    with _said_meanwhile():
        return await keeping


@contextmanager
def _said_meanwhile() -> Iterator[None]:
    """Say on the page at work that it is not kept yet, from `WAITS` s on and for as long as this lasts."""
    if not ui.context.slot_stack:
        yield
        return
    client, said = ui.context.client, list[ui.notification]()

    def say() -> None:
        if alive(client):
            with client:
                said.append(ui.notification(NOT_KEPT_YET, type="ongoing", timeout=None, multi_line=True))

    later = asyncio.get_running_loop().call_later(WAITS, say)
    try:
        yield
    finally:
        later.cancel()
        for one in said if alive(client) else ():
            one.dismiss()
