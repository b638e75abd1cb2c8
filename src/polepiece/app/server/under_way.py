"""Long work that outlives the tab that began it: whoever opens the page again sees how far it is, and can stop it."""

import asyncio
from collections.abc import Awaitable, Callable, Generator
from typing import Any

from polepiece.app.server.jobs import Job, OnProgress, Progress


class UnderWay:
    """A job and what is done with its result, under a name; await it for that, from any tab.

    Parameters
    ----------
    words : str
        What it is about, to be shown beside its progress.
    start : callable
        Given who is to be told of progress; returns the job.
    keep : callable
        Awaited with the result of the job once; what it returns is what is awaited.
    """

    def __init__(self, words: str, start: Callable[[OnProgress], Job], keep: Callable[[Any], Awaitable[Any]]) -> None:
        self.words = words
        self._watchers: list[OnProgress] = []
        self._job = start(self._tell)
        self._keep = keep
        self._task = asyncio.get_running_loop().create_task(self._run())
        self._task.add_done_callback(lambda one: one.cancelled() or one.exception())  # nobody need await it

    @property
    def progress(self) -> Progress:
        """How far it is."""
        return self._job.progress

    def watch(self, told: OnProgress) -> None:
        """Have ``told`` called with every progress."""
        self._watchers.append(told)

    def stop(self) -> None:
        """Stop it; whoever awaits it gets `Stopped`."""
        self._job.stop()

    def __await__(self) -> Generator[Any, None, Any]:
        return asyncio.shield(self._task).__await__()

    async def _run(self) -> Any:
        return await self._keep(await self._job)

    def _tell(self, progress: Progress) -> None:
        for told in list(self._watchers):
            try:
                told(progress)
            except Exception:  # its tab is closed
                self._watchers.remove(told)


class AllUnderWay:
    """What is under way, by name; at most one of a name."""

    def __init__(self) -> None:
        self._known: dict[str, UnderWay] = {}

    def get(self, name: str) -> UnderWay | None:
        """Return what goes on under a name."""
        return self._known.get(name)

    def begin(
        self, name: str, words: str, start: Callable[[OnProgress], Job], keep: Callable[[Any], Awaitable[Any]]
    ) -> UnderWay:
        """Begin, or return what already goes on under the name."""
        if (there := self._known.get(name)) is not None:
            return there
        begun = self._known[name] = UnderWay(words, start, keep)
        begun._task.add_done_callback(lambda _: self._known.pop(name, None))
        return begun
