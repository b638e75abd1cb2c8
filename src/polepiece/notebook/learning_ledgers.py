"""What a ledger and a guitar file say of bars and of figures, as far as they can be read; nothing here fails.

Both may come from elsewhere, by an archive or a merge: a text that no index would take is cut, a figure that no sum
could hold is none.
"""

import math
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from polepiece.errors import PolepieceError

UNKNOWN = "unknown"
LONGEST = 200  # characters of a text that is counted by
LARGEST = 1e100  # of a figure: squares of many of them are added up
_SIDES = ("computed", "measured")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """What a guitar file says of the bar of one pickup."""

    pickup: str
    place: str  # neck, middle, bridge; the pickup's name where the file does not say
    grade: str


def short(given: object) -> str:
    """Return a text as a table takes it: not too long for an index, without a null character."""
    return str(given)[:LONGEST].replace("\0", "\N{REPLACEMENT CHARACTER}")


def lines_of(body: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Yield the lines of a ledger that hold a measured or a heard value; damaged ones are passed over."""
    entries = body.get("entries")
    for one in entries if isinstance(entries, list) else ():
        if not isinstance(one, dict):
            continue
        claims = {"computed": _claim(one.get("computed")), "measured": _claim(one.get("measured") or one.get("heard"))}
        if claims["measured"] is None:
            continue
        judged = one.get("judged")
        word = judged.get("word") if isinstance(judged, dict) else None
        heard = one.get("measured") is None
        yield {
            "key": short(one.get("key")), "of": short(one.get("of")), "words": short(one.get("words")),
            "unit": short(one.get("unit")), "word": short(word or ""),
            "off": None if heard else off(claims["computed"], claims["measured"]),
            **{f"{who}{end}": None if claims[who] is None else claims[who][k]  # type: ignore[index]
               for who in _SIDES for k, end in enumerate(("", "_low", "_high"))},
        }  # fmt: skip


Span = tuple[float, float, float]  # value, low, high


def _claim(given: object) -> Span | None:
    if not isinstance(given, dict):
        return None
    try:
        value, low, high = (float(given[one]) + 0.0 for one in ("value", "low", "high"))  # -0.0 is not kept alike
    except (KeyError, TypeError, ValueError, OverflowError):
        return None
    return (value, low, high) if abs(value) < LARGEST and -LARGEST < low <= high < LARGEST else None


def off(computed: Span | None, measured: Span | None) -> float | None:
    """Return measured less computed, in halves of their 90 % intervals on the sides that face each other, as squares.

    Within +-1 for 90 % of values whose intervals are what they say (law of propagation, JCGM 100:2008, from memory).
    None where there is nothing to compare, or nothing of the computed value moves.
    """
    if computed is None or measured is None or computed[1] == computed[2]:
        return None
    apart = measured[0] - computed[0]
    up = apart >= 0.0
    mine = computed[2] - computed[0] if up else computed[0] - computed[1]
    theirs = measured[0] - measured[1] if up else measured[2] - measured[0]
    both = math.hypot(max(mine, 0.0), max(theirs, 0.0))
    return apart / both if both > 0.0 and math.isfinite(apart / both) else None


def grade_of(changes: Iterable[str]) -> str:
    """Return the grade of the bar that a change puts in, empty where it puts in none."""
    wanted = [one for one in changes if one.replace(" ", "").lower().startswith("magnet=")]
    return _grade(wanted[-1]) if wanted else ""


@lru_cache(maxsize=512)
def _grade(change: str) -> str:
    from polepiece.moves import parse_change  # a second of numerical libraries

    try:
        value = parse_change(change).value
    except PolepieceError:
        return UNKNOWN
    grade, finish = value if isinstance(value, tuple) else (value, None)
    return short(f"{grade}-rough-cast" if finish == "rough-cast" else grade)


def swapped(before: str, after: str) -> Iterator[tuple[Bar, Bar]]:
    """Yield the bars of pickups that are in both guitar files and have another grade in the second."""
    if set(before.splitlines()) == set(after.splitlines()):
        return
    old = {one.pickup: one for one in bars_of(before)}
    for now in bars_of(after):
        then = old.get(now.pickup)
        if then is not None and then.grade != now.grade and UNKNOWN not in (then.grade, now.grade):
            yield then, now


@lru_cache(maxsize=64)
def bars_of(text: str) -> tuple[Bar, ...]:
    """Return what a guitar file says of its bars; nothing of a file that cannot be read."""
    try:
        pickups = tomllib.loads(text).get("pickups", [])
    except (ValueError, RecursionError):  # tomllib's own error, and numbers of thousands of digits
        return ()
    found = []
    for one in pickups if isinstance(pickups, list) else ():
        if isinstance(one, dict):
            said = one.get("magnet")
            magnet = said if isinstance(said, dict) else {}
            grade = str(magnet.get("grade", UNKNOWN))
            rough = magnet.get("finish") == "rough-cast" and not grade.endswith("-rough-cast")
            name = str(one.get("name", ""))
            place = str(one.get("position", name))
            full = f"{grade}-rough-cast" if rough else grade
            found.append(Bar(pickup=short(name), place=short(place), grade=short(full)))
    return tuple(found)
