"""Level of a pickup against each other pickup of the guitar, before and after a change, with its interval.

A bar or a height is one pickup's own; controls, cable and strings are shared, and move the other pickup as well.
"""

import numpy as np

from polepiece.bench.bench import Bench
from polepiece.guitar import Guitar, draws, ninety

Interval = tuple[float, float]  # low, high


def others_of(guitar: Guitar, pickup: str) -> list[str]:
    """Return the names of the other pickups."""
    return [one.name for one in guitar.pickups if one.name != guitar.pickup(pickup).name]


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
        The interval of the pickup's own level: all there is where nothing that is shared has changed. None: not known.
    """
    others = others_of(before, pickup)
    shared = before.controls != after.controls or before.strings != after.strings
    if not shared and level is not None:
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
