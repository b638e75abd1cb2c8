"""What was said as data, without a plan: complaints, faults, limits, and what was not used."""

import re
from collections.abc import Iterable
from typing import Any

from polepiece.guitar import Guitar
from polepiece.planning.spoken import Item, LimitsRead, Reading, said_apart

_ONE = re.compile(r"string (\d+) ")
_BASS, _TREBLE = (4, 5, 6), (1, 2, 3)
_SIDES = {"bass strings": _BASS, "wound strings": _BASS, "treble strings": _TREBLE, "plain strings": _TREBLE}
"""Strings that the names of words speak of, on six strings."""


def said_both(
    complaints: Iterable[str] | None, limits: Iterable[str] | None, guitar: Guitar
) -> tuple[list[str] | None, list[str]]:
    """Return complaints and limits, what was said of either in one sentence put where it belongs.

    None for the complaints where there is none: those of the guitar file.
    """
    parts = [said_apart(one, guitar) for one in complaints or ()]
    told = [one for one, _ in parts if one]
    return told or None, [*(one for _, one in parts if one), *(limits or ())]


def understanding(readings: Iterable[Reading], limits: Iterable[LimitsRead]) -> dict[str, Any]:
    """Return what sentences and limits were understood as, as JSON values.

    A fault is what a repair answers, not voicing; a complaint names pickup, position of the switch, word, strings and
    strength (1 slight, 2 clear, 3 strong). None for a pickup: the guitar.
    """
    readings, limits = tuple(readings), tuple(limits)
    items = [one for reading in readings for one in reading.items if one.word is not None]
    left = [word for one in readings for word in one.not_used] + [word for one in limits for word in one.not_used]
    return {
        "complaints": [_complaint(one) for one in items if not _is_fault(one)],
        "faults": [{"pickup": one.target.pickup, "fault": _name(one)} for one in items if _is_fault(one)],
        "constraints": [words for one in limits for words in one.understood],
        "not_used": "; ".join(left),
    }


def _is_fault(item: Item) -> bool:
    return item.sudden or (item.word is not None and item.word.kind == "fault")


def _name(item: Item) -> str:
    assert item.word is not None
    return f"suddenly {item.word.name}" if item.sudden and item.word.kind != "fault" else item.word.name


def _complaint(item: Item) -> dict[str, Any]:
    return {
        "pickup": item.target.pickup, "position": item.target.position, "word": _name(item),
        "strings": list(_strings(item)), "strength": item.strength,
    }  # fmt: skip


def _strings(item: Item) -> tuple[int, ...]:
    """Return the numbers of the strings that are meant, string 1 the thin one; empty where all are."""
    assert item.word is not None
    if item.strings:
        return tuple(int(one) for one in item.strings)
    if item.side and item.word.name.startswith(tuple(_SIDES)):
        return tuple(int(one) for one in sorted(item.side))
    one = _ONE.match(item.word.name)
    if one is not None:
        return (int(one[1]),)
    return next((numbers for words, numbers in _SIDES.items() if item.word.name.startswith(words)), ())
