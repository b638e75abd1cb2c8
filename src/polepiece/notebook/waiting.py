"""Whether a person looks at a page while the notebook is waited for: a silent server is then given up sooner."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_WATCHED: ContextVar[bool] = ContextVar("a person looks at a page meanwhile", default=False)


@contextmanager
def watched() -> Iterator[None]:
    """Have what is read and written meanwhile be waited for as where a person looks at a page."""
    before = _WATCHED.set(True)
    try:
        yield
    finally:
        _WATCHED.reset(before)


def is_watched() -> bool:
    """Tell whether a person looks at a page meanwhile."""
    return _WATCHED.get()
