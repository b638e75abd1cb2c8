"""Limits of what is kept, written to an archive and read from one: the same for all three."""

import re

LARGEST_JSON = 16 * 1024 * 1024  # characters of one JSON object
MOST_VALUES = 2_000_000  # in one JSON object; each takes up to 64 bytes of memory
MOST_DEPTH = 100  # objects and lists inside one another
LARGEST_LINE = LARGEST_JSON + 1024 * 1024  # characters of an entry: its object, and texts around it
LONGEST_LINE = 4 * LARGEST_LINE  # bytes: of up to four a character
BUSY_MS = 5000  # for which another program may hold the notebook before one is told
MOST_ENTRIES = 100_000  # of an archive
MOST_OF_A_PART = 10_000  # that are in the drawer

_MARKS = re.compile(r'"(?:[^"\\]|\\.)*+"?|[\[\]{}]', re.DOTALL)  # strings whole, so that what is in them is not seen


def json_fault(text: str, most: int = LARGEST_JSON) -> str | None:
    """Return why a JSON text of at most so many characters is not kept, judged before it is read; None: it may be.

    Counts commas and brackets, those inside strings too: none of that costs what reading would.
    """
    if len(text) > most:
        return f"has {len(text)} characters; at most {most} are kept"
    values = text.count(",") + text.count("[") + text.count("{")
    if values > MOST_VALUES:
        return f"has {values} values or more; at most {MOST_VALUES} are kept"
    return f"has lists or objects more than {MOST_DEPTH} deep" if _deep(text) else None


def _deep(text: str) -> bool:
    """Tell whether brackets outside strings go too deep; a text with few brackets is not looked at twice."""
    if text.count("[") + text.count("{") <= MOST_DEPTH:
        return False
    depth = 0
    for mark in _MARKS.finditer(text):
        if mark[0] in "[{":
            depth += 1
            if depth > MOST_DEPTH:
                return True
        elif mark[0] in "]}":
            depth -= 1
    return False
