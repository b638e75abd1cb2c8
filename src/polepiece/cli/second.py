"""A second process for commands that have work for two."""

import multiprocessing
import os
import signal
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager


@contextmanager
def second_process() -> Iterator[Executor | None]:
    """Yield an executor of one more process, started at once; None on a machine of one core.

    It is new (not forked), so that threads of compiled code do no harm; Ctrl-C is this process's to hear.
    """
    if (os.cpu_count() or 1) < 2:
        yield None
        return
    pool = ProcessPoolExecutor(
        1, multiprocessing.get_context("spawn"), initializer=signal.signal, initargs=(signal.SIGINT, signal.SIG_IGN)
    )
    try:
        pool.submit(_imported)
        yield pool
    finally:
        end_processes()


def _imported() -> None:
    """Import the physics, while the process that started this one does the same."""
    import polepiece.voicing  # noqa: F401


def end_processes() -> None:
    """End other processes of this one at once: what they make is kept by nobody else."""
    for process in multiprocessing.active_children():
        process.kill()
