"""How worker processes are made: warm, one thread of linear algebra each, gone when the server goes."""

import multiprocessing
import os
from collections.abc import Callable
from multiprocessing import forkserver
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from polepiece.errors import PolepieceError

PRELOAD = ["polepiece.app.server.worker", "polepiece.app.server.warm"]


class WorkerDied(PolepieceError):
    """A process beside the server ended before it had answered."""


def context() -> Any:
    """Return how processes start here: forked from a warm, clean one where the system can, else anew."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    made = multiprocessing.get_context("forkserver")
    made.set_forkserver_preload(PRELOAD)
    return made


def preheat() -> None:
    """Have the warm process imported while the page itself is; where processes start anew there is nothing to warm."""
    if context().get_start_method() == "forkserver":
        forkserver.ensure_running()


def start(work: Callable[..., None], *arguments: Any, name: str) -> tuple[BaseProcess, Connection]:
    """Start a process with one end of a line as its first argument; return it and the other end."""
    how = context()
    here, there = how.Pipe()
    process = how.Process(target=work, args=(there, *arguments), name=name, daemon=True)
    process.start()
    there.close()
    return process, here


def end(process: BaseProcess) -> None:
    """Stop a process, kindly for a second; who listens to its line then finds it closed."""
    if process.is_alive():
        process.terminate()
        process.join(1.0)
        if process.is_alive():
            process.kill()
            process.join(1.0)


def death_of(process: BaseProcess, what: str) -> WorkerDied:
    """Say in words that a process has died."""
    process.join(0.5)
    code = process.exitcode
    how = "" if code is None else f" (exit code {code})"
    return WorkerDied(
        f"The process that was {what} stopped unexpectedly{how}; perhaps the machine ran out of memory. It starts "
        "again by itself: repeat the last step. Nothing that was recorded is lost."
    )
