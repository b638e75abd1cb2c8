"""The move of a pickup at which its level is the old one again.

``error`` is the level minus the old one, dB, at a pickup lowered by so many metres (raised: < 0). Of one pickup it
falls with the gap. Of several that are on together it need not: out of phase, what one cancels of the other grows as it
comes nearer, and the slope may turn round.
"""

from collections.abc import Callable
from dataclasses import replace

from polepiece.guitar import Guitar, Pickup, unchecked

FIRST_STEP = 0.2e-3  # m; a usual move is as large or larger
GROWTH = 1.25  # of the steps: far from the present gap the level turns round more slowly
CLOSE_DB = 0.005  # a tenth of the least difference that is re-set at all
CLOSE_M = 2e-6  # no screw is set finer


def falling_root(error: Callable[[float], float], low: float, high: float) -> float:
    """Return the root of a falling ``error`` between ``low`` <= 0 and ``high``, m; the end nearest to it elsewhere."""
    error = _kept(error)
    if error(low) <= 0.0:
        return low
    if error(high) >= 0.0:
        return high
    return _between(error, *((low, 0.0) if error(0.0) < 0.0 else (0.0, high)))


def nearest_root(error: Callable[[float], float], low: float, high: float) -> float:
    """Return the root of ``error`` nearest to 0 between ``low`` and ``high``, m.

    Where there is none: the move tried that comes nearest to the old level, 0 when none comes nearer than no move.
    """
    error = _kept(error)
    tried, ends, step = [0.0], {low: 0.0, high: 0.0}, FIRST_STEP
    if error(0.0) == 0.0:
        return 0.0
    while any(here != end for end, here in ends.items()):
        found = []
        for end, here in ends.items():
            there = max(here - step, end) if end == low else min(here + step, end)
            if there == here:
                continue
            if error(here) * error(there) <= 0.0:
                found.append(_between(error, min(here, there), max(here, there)))
            tried.append(there)
            ends[end] = there
        if found:
            return min(found, key=abs)
        step *= GROWTH
    return min(tried, key=lambda move: abs(error(move)))


def _between(error: Callable[[float], float], a: float, b: float) -> float:
    """Return the root between ``a`` and ``b``, where ``error`` has unlike signs: false position, kept off the ends."""
    for end in (a, b):
        if abs(error(end)) < CLOSE_DB:
            return end
    middle = a
    for _ in range(12):
        fa, fb = error(a), error(b)
        middle = a + (b - a) * min(max(fa / (fa - fb), 0.05), 0.95)
        value = error(middle)
        if abs(value) < CLOSE_DB or b - a < CLOSE_M:
            break
        a, b = (middle, b) if value * fa > 0.0 else (a, middle)
    return middle


def _kept(error: Callable[[float], float]) -> Callable[[float], float]:
    found: dict[float, float] = {}

    def kept(move: float) -> float:
        if move not in found:
            found[move] = error(move)
        return found[move]

    return kept


def lowered(guitar: Guitar, pickup: Pickup, move: float) -> Guitar:
    """Return ``guitar`` with the whole pickup lowered by ``move`` m (raised where negative)."""
    moved = unchecked(pickup, gap_bass=pickup.gap_bass + move, gap_treble=pickup.gap_treble + move)
    return replace(guitar, pickups=tuple(moved if p.name == pickup.name else p for p in guitar.pickups))
