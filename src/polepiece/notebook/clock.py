"""Moments that a clock gave, put in the order in which things happened.

The order of recording is known; the clock may have been wrong. Of moments that do not rise, the longest run that does
is believed (of several equally long the one with the latest entries, as a clock is put right sooner or later); the
others happened after the believed one before them and before the one after, and count from the end of that span which
is nearer to what their clock said.
"""

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise


def settled(moments: Sequence[str]) -> list[str]:
    """Return the moments from which entries count, rising, one for each; those that rise already are as they are.

    >>> settled(["2026-03", "1970-01", "2026-05"])
    ['2026-03', '2026-03', '2026-05']
    """
    if all(one <= two for one, two in pairwise(moments)):
        return list(moments)
    believed = _longest_rise(moments)
    found: list[str] = []
    latest = moments[max(believed)]
    for place in reversed(range(len(moments))):  # none later than the believed one after it
        if place in believed:
            latest = moments[place]
        found.append(min(moments[place], latest) if place < max(believed) else moments[place])
    found.reverse()
    for place in range(1, len(found)):  # none earlier than what came before it
        found[place] = max(found[place], found[place - 1])
    return found


def _longest_rise(moments: Sequence[str]) -> set[int]:
    """Return the places of the longest run that does not fall; patience sorting, n log n."""
    ends: list[str] = []  # least moment that ends a run of each length
    places: list[int] = []
    before: list[int | None] = []
    for place, one in enumerate(moments):
        length = bisect_right(ends, one)
        before.append(places[length - 1] if length else None)
        if length == len(ends):
            ends.append(one)
            places.append(place)
        else:
            ends[length], places[length] = one, place
    here: int | None = places[-1]
    found: set[int] = set()
    while here is not None:
        found.add(here)
        here = before[here]
    return found
