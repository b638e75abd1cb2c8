"""Records that are read back: one way to say that one is of something else, lacks a part, or is damaged."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from polepiece.errors import MeasurementError


@contextmanager
def read_back(data: Mapping[str, Any], schema: str, what: str) -> Iterator[None]:
    """Let a record be taken apart inside; faults of it become words.

    Parameters
    ----------
    data : mapping
    schema : what it has to say that it is.
    what : "a ledger", for messages.

    Raises
    ------
    MeasurementError
        When ``data`` is something else, naming what is missing.
    """
    try:
        if data["schema"] != schema:
            raise MeasurementError(f"the record is a {data['schema']!r}; {schema!r} is read.")
        yield
    except KeyError as error:
        raise MeasurementError(f"the record of {what} lacks {error.args[0]!r}.") from error
    except (TypeError, ValueError, AttributeError) as error:
        raise MeasurementError(f"the record of {what} is damaged: {error}") from error
