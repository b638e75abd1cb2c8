"""What every record of a listening trial has from its beginning: a seed of its order, and its day."""

import datetime

from polepiece.errors import InputError


def check_begun(seed: object, date: object) -> None:
    """Refuse a seed that is no whole number from 0 on, and a day that is none.

    Raises
    ------
    InputError
    """
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        raise InputError(f"seed is {seed!r:.60}; a whole number from 0 on is needed.")
    try:
        datetime.date.fromisoformat(date)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        raise InputError(f"date is {date!r:.60}; write 2026-11-25.") from None
