"""Grades, charges and moves as they are spoken at a bench, for pages and sheets."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from polepiece.errors import InputError
from polepiece.guitar import Guitar, charge_words, grade_words
from polepiece.moves.by_hand import full_words, gap_words, joined, short_words
from polepiece.moves.changes import Change, parse_change
from polepiece.moves.levers import LEVERS

_JOINED = re.compile(r"(\d)(?=(?:mm|cm|in|nf|pf|kohm|kΩ|ohm|turns?|k|m)\b)", re.IGNORECASE)  # a number and its unit
_TURN = r"(?:(?:bass|treble) )?(?:up|down) [\d.,/]+ ?(?:mm|in|turns?)\b"
_TYPED = re.compile(rf"\b([a-z][a-z_]*\d{{0,2}})=({_TURN}|[^\s,;:()]+)")
_BY_HAND = re.compile(r"(lower|raise)(_bass|_treble)?|tilt|(neck_|bridge_)?screws?\d*")  # said without the guitar


def move_words(text: str) -> str:
    """Return a move in words: ``lower_bass=1mm`` is "bass side down 1 mm"."""
    key, _, value = text.partition("=")
    place, colon, key = key.rpartition(":")
    where = f"{place}: " if colon else ""
    if _BY_HAND.fullmatch(key) and (turned := _hand_words(f"{key}={value}")):
        return where + turned
    if key == "magnet":
        return f"{where}bar of {grade_words(value)}"
    if key == "charge" and (said := charge_words(value)) != value:
        return f"{where}{said}"
    name = re.sub(r"\bscrew(\d)", r"screw \1", key.replace("_", " "))
    if value == "none":
        return f"{where}{name} taken out"
    spaced = _JOINED.sub(r"\1 ", value)
    return f"{where}{name} {spaced}"


def _hand_words(text: str) -> str:
    """Return which side or screw goes which way and how far; "" where the value is none of this lever."""
    try:
        change = parse_change(text)
    except InputError:
        return ""
    nobody: Any = None  # these words ask neither guitar
    movement = LEVERS[change.key].by_hand(nobody, nobody, "", change.value)
    return f"{movement.part} {movement.move}".strip()


def plainly(text: str) -> str:
    """Return a text with every move in it that is written for the command line in words.

    >>> plainly("neck: lower_bass=1mm, magnet=alnico-3")
    'neck: bass side down 1 mm, bar of Alnico 3'
    """
    return _TYPED.sub(lambda found: move_words(found[0]) if found[1] in LEVERS else found[0], text)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandWords:
    """A job as it is done by hand."""

    short: str  # for one row: "neck pickup, bass side down 0.8 mm"
    full: str  # for a sentence, with the gaps before and after
    loses: tuple[str, ...]  # what a player misses afterwards


def hand_words(
    before: Guitar,
    after: Guitar,
    pickup: str,
    changes: Sequence[Change],
    *,
    also: tuple[str, Iterable[Change]] | None = None,
) -> HandWords:
    """Return a job in the words of hands.

    Parameters
    ----------
    before, after : Guitar
        As it is, and with all of it done.
    pickup : str
    changes : sequence of Change
        In the order in which they are done.
    also : (pickup, changes) or None
        What is done on another pickup at the same time.
    """
    jobs = [(pickup, one) for one in changes] + ([(also[0], one) for one in also[1]] if also else [])
    found = joined([LEVERS[one.key].by_hand(before, after, one.of or name, one.value) for name, one in jobs])
    names, last = dict.fromkeys(name for name, _ in jobs), len(before.strings)
    gaps = [gap_words(before.pickup(name), after.pickup(name), last) for name in names]
    lost = dict.fromkeys(LEVERS[one.key].lost(one.value) for _, one in jobs)
    shared = "all pickups" if len(before.pickups) > 1 else ""
    told = "; ".join(one for one in gaps if one)
    return HandWords(
        short=short_words(found, shared=shared), full=full_words(found, told, shared=shared),
        loses=tuple(one for one in lost if one),
    )  # fmt: skip
