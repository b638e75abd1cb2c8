"""Numbers as people read them: true minus signs, units, sensible digits, intervals; and lengths as people type them."""

import re

from polepiece.errors import InputError

MINUS = "−"
INCH_MM = 25.4


def number(value: float, digits: int = 1) -> str:
    """Return a number with a true minus sign and no minus before a zero."""
    return f"{round(value, digits) + 0.0:.{digits}f}".replace("-", MINUS)


def signed(value: float, digits: int = 1) -> str:
    """Return a difference with its sign; none before a zero."""
    shown = round(value, digits) + 0.0
    return f"{shown:.{digits}f}" if shown == 0.0 else f"{shown:+.{digits}f}".replace("-", MINUS)


def span(interval: "tuple[float, float] | None", digits: int = 1) -> str:
    """Return the ends of an interval, or a dash."""
    if interval is None:
        return "–"
    low, high = sorted(interval)
    if max(-low, high) < 0.5 * 10.0**-digits:
        return f"within ±{0.5 * 10.0**-digits:g}"
    return f"{signed(low, digits)} to {signed(high, digits)}"


_LENGTH = re.compile(r"(?:(\d+)\s*/\s*(\d+)|(\d+(?:[.,]\d+)?))\s*(mm|in|inch|inches|\"|″)?")


def millimetres(text: str) -> float:
    """Read a length as typed at a bench: "2.4", "2,4 mm", "3/32 in", "0.09 in"; a bare number is mm, a fraction inch.

    Raises
    ------
    InputError
        When it is not understood.
    """
    found = _LENGTH.fullmatch(text.strip().lower())
    if found is None or found[2] == "0":
        raise InputError(f"{text!r} is not a length; write millimetres such as 2.4, or inches such as 3/32 in.")
    if found[1] is not None:
        if found[4] == "mm":
            raise InputError(f"{text!r}: fractions are inches; write millimetres such as 2.4.")
        return INCH_MM * int(found[1]) / int(found[2])
    value = float(found[3].replace(",", "."))
    return INCH_MM * value if found[4] not in (None, "mm") else value
