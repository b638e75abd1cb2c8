"""Numbers as people type them: the one reader of every command, page, file and argument.

A decimal point or a decimal comma; thousands in groups of three (1,000.5, 1.000,5, 12 000, 1_000); ½ and its like; an
exponent; a minus of any kind. What could be read in two ways is refused with both readings: ``1,000`` is a thousand to
one person and one to another. Units are not its business: who calls takes them off first.

>>> typed_number("7,8"), typed_number("1,000.5"), typed_number("−2½")
(Decimal('7.8'), Decimal('1000.5'), Decimal('-2.5'))
"""

import re
import unicodedata
from decimal import Decimal

from polepiece.errors import InputError

LARGEST_POWER = 40  # of ten: beyond anything that can be measured, in any unit
LONGEST = 60  # characters
MINUSES = "\u2212\u2012\u2013\ufe63\uff0d-"  # minus, figure and en dash, small and full-width hyphen, hyphen
THIN = "\u00a0\u2007\u2009\u202f"  # no-break, figure, thin and narrow spaces
VULGAR = "¼½¾⅛⅜⅝⅞"  # exact in decimal digits
# A number inside a longer text: to be put into a pattern, and what it matches to be read by `typed_number`.
SIGN = rf"[+{MINUSES}]?"
DIGITS = (
    rf"(?:[0-9]{{1,3}}(?:[ {THIN}][0-9]{{3}}(?![0-9]))+(?:[.,][0-9]+)?|[0-9][0-9.,_'’]*|[.,][0-9]+)"
    rf"(?:[eE][+{MINUSES}]?[0-9]+)?[{VULGAR}]?"
)
NUMBER = rf"{SIGN}(?:{DIGITS}|[{VULGAR}])"

_WHOLE = re.compile(
    rf"(?P<sign>{SIGN})\s*(?P<body>.*?)(?P<vulgar>[{VULGAR}]?)(?:[eE](?P<power>[+{MINUSES}]?[0-9]{{1,4}}))?"
)
_SPACED = re.compile(rf"[0-9]{{1,3}}(?:(?P<mark>[ {THIN}'’_])[0-9]{{3}})(?:(?P=mark)[0-9]{{3}})*(?:[.,][0-9]+)?")
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:[.,][0-9]{3})+")


def typed_number(text: str) -> Decimal:
    """Return the number that was typed.

    Raises
    ------
    InputError
        When it is none, could be read in two ways, is not finite, or is beyond anything that can be measured. The
        message continues a sentence: "it is not a number", with what is allowed.
    """
    typed = text.strip()
    if not typed:
        raise InputError("nothing was typed; write a number, such as 7.8")
    found = _WHOLE.fullmatch(typed) if len(typed) <= LONGEST else None
    if found is None or not (found["body"] or found["vulgar"]) or (found["vulgar"] and found["power"]):
        raise _none(text)
    number = Decimal(_plain(found["body"].strip(), text)) if found["body"] else Decimal(0)
    if found["vulgar"]:
        if number != number.to_integral_value():
            raise _none(text)
        number += Decimal(str(unicodedata.numeric(found["vulgar"])))
    if found["power"]:
        number = number.scaleb(int(_dash(found["power"])))
    if number and number.adjusted() > LARGEST_POWER:
        raise InputError("it is beyond anything that can be measured")
    return -number if _dash(found["sign"]) == "-" else number


def typed_float(text: str, where: str, *, allowed: str) -> float:
    """Return `typed_number` as a float; an error names ``where`` and what is ``allowed``.

    Raises
    ------
    InputError
        "``where`` is '...'; why. ``allowed``."
    """
    try:
        return float(typed_number(text))
    except InputError as error:
        raise InputError(f"{where} is {text.strip()[:LONGEST]!r}; {error}. {allowed}.") from None


def _plain(body: str, text: str) -> str:
    """Return digits with at most one point."""
    if _SPACED.fullmatch(body):
        body = re.sub(rf"[ {THIN}'’_]", "", body)
    elif re.fullmatch(r"[0-9]+(?:_[0-9]+)+(?:\.[0-9]+)?", body):
        body = body.replace("_", "")  # as programs write it
    if not re.fullmatch(r"[0-9]*(?:[.,][0-9]*)*", body) or not any(one in "0123456789" for one in body):
        raise _none(text)
    points, commas = body.count("."), body.count(",")
    if points and commas:
        mark, group = (".", ",") if body.rindex(".") > body.rindex(",") else (",", ".")
        whole, _, part = body.rpartition(mark)
        if mark in whole or not _GROUPED.fullmatch(whole):
            raise _none(text)
        return f"{whole.replace(group, '')}.{part or 0}"
    if points + commas > 1:
        if not _GROUPED.fullmatch(body):
            raise _none(text)
        return body.replace(".", "").replace(",", "")
    if commas and _GROUPED.fullmatch(body):
        whole, part = body.split(",")
        raise InputError(f"it reads as a decimal comma or as thousands; write {whole}.{part} or {whole}{part}")
    whole, _, part = body.replace(",", ".").partition(".")
    return f"{whole or 0}.{part}" if part else whole or "0"


def _dash(sign: str) -> str:
    return "-" + sign[1:] if sign[:1] and sign[0] in MINUSES else sign


def _none(text: str) -> InputError:
    if text.strip().lower().lstrip("+-") in ("nan", "inf", "infinity"):
        return InputError("it is not a finite number")
    return InputError("it is not a number; write digits with a decimal point or comma, such as 7.8 or 7,8")
