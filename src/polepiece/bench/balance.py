"""Level of a pickup against each other pickup of the guitar, before and after a change, with its interval.

A bar or a height is one pickup's own; controls, cable and strings are shared, and move the other pickup as well.
"""

import numpy as np

from polepiece.bench.bench import Bench
from polepiece.guitar import Guitar, draws, is_heard, ninety, usual_position

Interval = tuple[float, float]  # low, high


def others_of(guitar: Guitar, pickup: str) -> list[str]:
    """Return the names of the pickups that are heard elsewhere than this one: two that are always on together are not.

    One that is never on is left out. A guitar without a switch has one position; nobody hears one of its pickups
    against the other.
    """
    here = usual_position(guitar, guitar.pickup(pickup).name)
    there = [one.name for one in guitar.pickups if is_heard(guitar, one.name)]
    return [one for one in there if usual_position(guitar, one) != here]


def balances(before: Guitar, after: Guitar, pickup: str, *, bench: Bench) -> dict[str, tuple[float, float]]:
    """Return the level against each other pickup, dB: before and after the change."""
    own = [bench.level(guitar, pickup) for guitar in (before, after)]
    return {
        other: (own[0] - bench.level(before, other), own[1] - bench.level(after, other))
        for other in others_of(before, pickup)
    }


def balance_intervals(
    before: Guitar, after: Guitar, pickup: str, *, bench: Bench, count: int, level: Interval | None
) -> dict[str, Interval]:
    """Return the 90 % interval of the change of each balance, dB, by dotted key.

    Parameters
    ----------
    before, after : Guitar
    pickup : str
    bench : Bench
    count : int
        Paired draws.
    level : (low, high) or None
        The interval of the pickup's own level: all there is where nothing that is shared has changed and the other is
        heard without it. None: not known.
    """
    others = others_of(before, pickup)
    name = before.pickup(pickup).name
    shared = before.controls != after.controls or before.strings != after.strings
    both = any(name in usual_position(before, other).on for other in others)
    if not shared and not both and level is not None:
        return {f"balance_with_db.{other}": level for other in others}
    sample = draws(count, bench.seed)
    stated = balances(before, after, pickup, bench=bench)
    out = {}
    for other in others:
        ends = []
        for guitar in (before, after):
            own, theirs = (bench.drawn(guitar, one, sample) for one in (pickup, other))
            ends.append(np.array([a["level_db"] - b["level_db"] for a, b in zip(own, theirs)]))
        was, now = stated[other]
        out[f"balance_with_db.{other}"] = ninety((ends[1] - ends[0])[:, None], [now - was])[0]
    return out
