"""Readings as they are typed on the command line of ``measure``: 7.8k, 7,8k, 1M, 150p."""

import re

from polepiece.errors import InputError
from polepiece.typed_number import DIGITS, typed_float

PREFIX = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "K": 1e3, "M": 1e6}
_QUANTITY = re.compile(rf"\s*({DIGITS})\s*([pnumkKM]?)\s*(ohm|F|H)?\s*")


def quantity(text: str | None, named: str, unit: str) -> float | None:
    """Return ``7.8k``, ``7,8k``, ``1M``, ``150p`` or a plain number in ``unit``; ``named`` as on the command line."""
    if text is None:
        return None
    found = _QUANTITY.fullmatch(text)
    if found is None or (found.group(3) not in (None, unit)):
        raise InputError(f"{named} is {text!r}; write a number with p, n, u, m, k or M: 7.8k, 1M, 150p.")
    allowed = "Write a number with p, n, u, m, k or M: 7.8k, 1M, 150p"
    return typed_float(found.group(1), named, allowed=allowed) * PREFIX[found.group(2)]


def needed(text: str, named: str, unit: str) -> float:
    """Return a quantity that must be there."""
    value = quantity(text, named, unit)
    assert value is not None
    return value
