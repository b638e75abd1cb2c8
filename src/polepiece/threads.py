"""One thread for small matrices: on a busy machine the threads of a linear algebra library spin for each other."""

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager
from functools import lru_cache
from typing import Any, TypeVar

from threadpoolctl import ThreadpoolController

T = TypeVar("T")


def side_by_side(work: Callable[..., T], *arguments: Iterable[Any]) -> list[T]:
    """Return ``work`` of each set of arguments, as ``map`` does, two at a time.

    For products of large matrices, which leave the interpreter alone; not for kernels that have threads of their own.
    """
    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(work, *arguments))


@lru_cache(maxsize=1)
def _controller() -> ThreadpoolController:
    return ThreadpoolController()


def one_thread() -> AbstractContextManager[Any]:
    """Return a context in which linear algebra libraries use one thread.

    For matrices under about a thousand rows: one thread is as fast as two on a quiet machine (688 rows,
    Cholesky: 3.1 ms against 4.2 ms), and up to fifty times as fast on a busy one.
    """
    limit: AbstractContextManager[Any] = _controller().limit(limits=1, user_api="blas")
    return limit
