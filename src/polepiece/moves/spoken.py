"""Grades, charges and moves as they are spoken at a bench, for pages and sheets."""

import re

from polepiece.guitar import charge_words, grade_words
from polepiece.moves.levers import LEVERS

_JOINED = re.compile(r"(\d)(?=(?:mm|cm|in|nf|pf|kohm|kΩ|ohm|turns?|k|m)\b)", re.IGNORECASE)  # a number and its unit
_TYPED = re.compile(r"\b([a-z][a-z_]*\d?)=([^\s,;:()]+)")


def move_words(text: str) -> str:
    """Return a move in words: ``lower_bass=1mm`` is "lower bass 1 mm"."""
    key, _, value = text.partition("=")
    place, colon, key = key.rpartition(":")
    where = f"{place}: " if colon else ""
    if key == "magnet":
        return f"{where}bar of {grade_words(value)}"
    if key == "charge" and (said := charge_words(value)) != value:
        return f"{where}{said}"
    name = re.sub(r"^screw(\d)", r"screw \1", key.replace("_", " "))
    if value == "none":
        return f"{where}{name} taken out"
    spaced = _JOINED.sub(r"\1 ", value)
    return f"{where}{name} {spaced}"


def plainly(text: str) -> str:
    """Return a text with every move in it that is written for the command line in words.

    >>> plainly("neck: lower_bass=1mm, magnet=alnico-3")
    'neck: lower bass 1 mm, bar of Alnico 3'
    """
    return _TYPED.sub(lambda found: move_words(found[0]) if found[1] in LEVERS else found[0], text)
