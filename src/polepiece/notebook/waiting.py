"""Whether a person looks at a page while the notebook is waited for: a silent server is then given up sooner."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_TRIES: ContextVar[list[bool] | None] = ContextVar("whether it was tried, while a person looks at a page", default=None)


@contextmanager
def watched() -> Iterator[None]:
    """Have what is read and written meanwhile be waited for as where a person looks at a page."""
    before = _TRIES.set([])
    try:
        yield
    finally:
        _TRIES.reset(before)


def is_watched() -> bool:
    """Tell whether a person looks at a page meanwhile."""
    return _TRIES.get() is not None


def is_first_try() -> bool:
    """Tell, once in each `watched`, that a server has not been asked yet: what a person asks for is tried once."""
    tries = _TRIES.get()
    if tries is None or tries:
        return False
    tries.append(True)
    return True
