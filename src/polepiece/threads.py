"""How many threads dense algebra runs on: one, in every process, whoever started it and however.

The linear algebra libraries take as many threads as there are cores, and on a busy machine these spin for each other:
a plan took 147 s of two busy cores instead of 28 s. Importing any module with physics in it sets them to one thread
for the whole process (`settle`), so no environment variable is needed; a program that raises the number for work of
its own finds it at one again after the next geometry is made. Loops of compiled code (numba) keep their threads:
their work comes in large pieces, and while they wait they leave their core alone.
"""

import os
import sys
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import lru_cache
from typing import Any, TypeVar

import numpy as np  # noqa: F401  (brings the linear algebra library that is set below)
from threadpoolctl import ThreadpoolController

T = TypeVar("T")
U = TypeVar("U")
THREADS = 1  # of the linear algebra libraries; pieces of work that are independent run `side_by_side` instead


def side_by_side(work: Callable[..., T], *arguments: Iterable[Any]) -> list[T]:
    """Return ``work`` of each set of arguments, as ``map`` does, two at a time.

    For products of large matrices, which leave the interpreter alone; not for kernels that have threads of their own.
    """
    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(work, *arguments))


def together(here: Callable[[], T], there: Callable[[], U]) -> tuple[T, U]:
    """Return what ``here`` and ``there`` return; the second works in a thread of its own meanwhile.

    Of kernels that have threads of their own only one of the two may call any: where numba has nothing but its own
    work queue, as it may on macOS, it ends the process when two threads are in them (its documentation of threading
    layers).
    """
    with ThreadPoolExecutor(1) as pool:
        coming = pool.submit(there)
        return here(), coming.result()


@lru_cache(maxsize=2)
def _controller(scipy_too: bool) -> ThreadpoolController:
    """Return what sets the libraries that are loaded; scipy brings one of its own beside numpy's."""
    return ThreadpoolController()


def settle() -> None:
    """Set the linear algebra libraries of this process to `THREADS`, and leave them there.

    Not as a context: the number belongs to the process, and two contexts of two Python threads that end in another
    order than they began would leave it at anything. What `polepiece.later` loads is set as soon as it is there.
    """
    _controller("scipy.linalg" in sys.modules).limit(limits=THREADS, user_api="blas")


@contextmanager
def one_thread() -> Iterator[None]:
    """Make sure that what is inside runs on one thread of linear algebra; it stays so afterwards (`settle`).

    One thread is as fast as two on a quiet machine for matrices under about a thousand rows (688 rows, Cholesky:
    3.1 ms against 4.2 ms), and up to fifty times as fast on a busy one.
    """
    settle()
    yield


os.environ.setdefault("OMP_WAIT_POLICY", "PASSIVE")  # threads that wait leave their core to the other process
settle()
