"""A second process for commands that have work for two."""

import gc
import multiprocessing
import os
import queue
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import contextmanager
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")
_RUNNING: "set[SecondProcess]" = set()


class SecondProcess(Executor):
    """One more process that does one thing after the other and may be ended at any moment.

    The library's pool of processes waits for ever at exit when a worker is killed while it hands over a result;
    here the one thread that listens is a daemon and sees the end of the pipe. The process is new (not forked), so
    that threads of compiled code do no harm; Ctrl-C is for the first process to hear.
    """

    def __init__(self, *, begun: bool = True) -> None:
        self._jobs: queue.SimpleQueue[tuple[Future[Any], Callable[..., Any], Any, Any]] = queue.SimpleQueue()
        self._lost = False
        self._process: BaseProcess | None = None
        if begun:
            self._begin()

    def _begin(self) -> None:
        context = multiprocessing.get_context("spawn")
        here, there = context.Pipe()
        self._process = context.Process(target=_serve, args=(there, gc.get_threshold()), daemon=True)
        self._process.start()
        there.close()
        threading.Thread(target=self._hand_over, args=(here,), daemon=True).start()
        _RUNNING.add(self)

    def submit(self, fn: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> "Future[R]":
        """Queue a call of a module's function; it can be cancelled until it has begun."""
        if self._process is None:
            self._begin()
        future: Future[R] = Future()
        self._jobs.put((future, fn, args, kwargs))
        return future

    @property
    def pid(self) -> int:
        """Number of the process, as the system has it."""
        return (self._process.pid or 0) if self._process is not None else 0

    @property
    def alive(self) -> bool:
        """Whether the process is still there, as far as its pipe and the system say."""
        return not self._lost and self._process is not None and self._process.is_alive()

    def end(self) -> None:
        """End the process at once; what is still awaited fails with `BrokenExecutor`."""
        if self._process is not None:
            self._process.kill()
        _RUNNING.discard(self)

    def _hand_over(self, pipe: Connection) -> None:
        while True:
            future, fn, args, kwargs = self._jobs.get()
            if not future.set_running_or_notify_cancel():
                continue
            try:
                pipe.send((fn, args, kwargs))
                failed, found = pipe.recv()
            except (EOFError, OSError):
                self._lost = True  # before the answer: whoever asks again at once asks another
                future.set_exception(BrokenExecutor("the second process has ended"))
                continue
            except Exception as error:  # a question or an answer that cannot be pickled
                future.set_exception(error)
                continue
            if failed:
                future.set_exception(found)
            else:
                future.set_result(found)


def _serve(pipe: Connection, collections: tuple[int, int, int]) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.set_threshold(*collections)
    while True:
        try:
            fn, args, kwargs = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            _answer(pipe, fn, args, kwargs)
        except OSError:  # the first process is gone
            return


def _answer(pipe: Connection, fn: Callable[..., Any], args: Any, kwargs: Any) -> None:
    """Send what a call comes to; whoever asked gets its error."""
    try:
        answer = (False, fn(*args, **kwargs))
    except Exception as error:
        answer = (True, error)
    try:
        pipe.send(answer)
    except OSError:
        raise
    except Exception as error:  # it cannot be pickled
        pipe.send((True, TypeError(f"what {fn.__qualname__} came to cannot be sent: {error}")))


@contextmanager
def second_process(*, begun: bool = True) -> Iterator[SecondProcess | None]:
    """Yield an executor of one more process; None on a machine of one core.

    It is started at once and loads the physics, or else when it is first given something to do.
    """
    if (os.cpu_count() or 1) < 2:
        yield None
        return
    second = SecondProcess(begun=begun)
    if begun:
        second.submit(import_physics)
    try:
        yield second
    finally:
        second.end()


def import_physics() -> None:
    """Import the physics, while the process that started this one goes on."""
    import polepiece.bench  # noqa: F401


def end_processes() -> None:
    """End every second process of this one."""
    for one in list(_RUNNING):
        one.end()
