"""A table that is asked as one test: every row is checked, and the failure names each row that does not hold, and why.

A row as a test of its own costs some ten milliseconds of the runner's, whatever it looks at: half a minute for a
table of three thousand sayings that are read in a millisecond each. `every(rows)` stands where
``pytest.mark.parametrize`` would, for rows that need no fixture. What is expected to fail is no row of such a table.
"""

import inspect
import traceback
from collections.abc import Callable, Iterable
from typing import Any

import pytest

NAMED, SHOWN = 200, 400  # characters of a row that fails, and of what it says
FAILED = (Exception, pytest.fail.Exception)  # `pytest.raises` that saw nothing raised is the second


def every(rows: Iterable[Any]) -> Callable[[Callable[..., None]], Callable[[], None]]:
    """Return what makes one test of a test of one row.

    Parameters
    ----------
    rows : iterable
        One argument of the test each; where the test takes several, one tuple of them each. None is no table: refused.

    Raises
    ------
    ValueError
        For a table without rows: it would hold whatever the code does.
    """
    table = list(rows)

    def made(test: Callable[..., None]) -> Callable[[], None]:
        if not table:
            raise ValueError(f"{test.__name__}: no rows")
        several = len(inspect.signature(test).parameters) > 1

        def whole() -> None:
            wrong = [said for row in table if (said := _failure(test, row if several else (row,)))]
            if wrong:
                pytest.fail(f"{len(wrong)} of {len(table)} rows do not hold:\n" + "\n".join(wrong), pytrace=False)

        whole.__name__, whole.__qualname__, whole.__module__ = test.__name__, test.__qualname__, test.__module__
        whole.__doc__ = test.__doc__
        return whole

    return made


def _failure(test: Callable[..., None], arguments: tuple[Any, ...]) -> str:
    """Return what a row that does not hold says, with the line of the test; "" where it holds."""
    try:
        test(*arguments)
    except FAILED as error:
        file = inspect.unwrap(test).__code__.co_filename
        line = [one.lineno for one in traceback.extract_tb(error.__traceback__) if one.filename == file][-1:]
        said = str(error) or type(error).__name__
        name = ", ".join(map(str, arguments))[:NAMED]
        return f"- {name}: {type(error).__name__} at line {line[0] if line else '?'}: {said[:SHOWN]}"
    return ""
