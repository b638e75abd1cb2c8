"""Processes of this machine that compute what they are handed; one that is killed is replaced."""

from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Future
from typing import Any

from polepiece.cli.second import SecondProcess


class WorkerProcesses:
    """So many processes, each with a queue of its own.

    When one is killed, the futures of its calls, and of no other's, fail with `BrokenExecutor`; the next call that is
    handed over starts another in its place.
    """

    def __init__(self, count: int) -> None:
        self._processes = [SecondProcess() for _ in range(count)]
        self._waiting: list[list[Future[Any]]] = [[] for _ in range(count)]

    @property
    def size(self) -> int:
        """Number of processes."""
        return len(self._processes)

    @property
    def pids(self) -> tuple[int, ...]:
        """Numbers of the processes, as the system has them."""
        return tuple(one.pid for one in self._processes)

    def submit(self, call: Callable[..., Any], /, *arguments: Any) -> "Future[Any]":
        """Hand a call to the process that has the fewest; one that is gone has another started for it."""
        for at, one in enumerate(self._processes):
            if not one.alive:
                one.end()
                self._processes[at], self._waiting[at] = SecondProcess(), []
        self._waiting = [[one for one in each if not one.done()] for each in self._waiting]
        least = min(range(self.size), key=lambda at: len(self._waiting[at]))
        future = self._processes[least].submit(call, *arguments)
        self._waiting[least].append(future)
        return future

    def is_lost(self, error: BaseException) -> bool:
        """Return whether an error says that a process is gone."""
        return isinstance(error, BrokenExecutor)

    def close(self) -> None:
        """End all processes at once."""
        for one in self._processes:
            one.end()
