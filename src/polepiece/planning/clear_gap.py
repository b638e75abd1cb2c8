"""How far a pickup has to stand for its magnets to leave the strings alone: a target, not a step.

The rule: the gap, in tenths of a millimetre, at which no open string is pulled out of tune by more than what is just
heard (`QUANTITIES["shift"].threshold`, cents). The bass side alone where that is enough, else the whole pickup.
"""

from collections.abc import Callable
from dataclasses import dataclass

from polepiece.bench import QUANTITIES, State
from polepiece.errors import InputError
from polepiece.guitar import Guitar
from polepiece.moves import apply, parse_change, pickup_words, string_words
from polepiece.planning.estimates import StateBench

STEP = 0.1e-3  # m
MOST_STEPS = 30  # 3 mm: what the springs of a height screw give (common practice, no source)
MOST_GAP = 6e-3  # m: further away a pickup is hardly heard (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearGap:
    """What keeps the strings in tune over one pickup."""

    moves: tuple[tuple[str, ...], ...]  # ready to try; empty where nothing has to be moved
    words: str


def most_detuned(state: State) -> tuple[int, float]:
    """Return the string that is pulled furthest out of tune, and by how many cents."""
    cents = [abs(one) for one in state.partial_shift_cents]
    most = max(range(len(cents)), key=lambda n: cents[n])
    return most + 1, cents[most]


def clear_gap(bench: StateBench, guitar: Guitar, pickup: str) -> ClearGap:
    """Return the moves that leave every string within what is just heard, and a sentence.

    Parameters
    ----------
    bench : StateBench
    guitar : Guitar
    pickup : str
    """
    limit = QUANTITIES["shift"].threshold
    number, cents = most_detuned(bench.state(guitar, pickup))
    name = pickup_words(guitar.pickup(pickup).name)
    most = f"the magnets of the {name} pull the {string_words(number)} string {cents:.1f} cents flat"
    if cents <= limit:
        return ClearGap(
            moves=(),
            words=f"Computed, {most}, the others less; under {limit:g} cents nobody hears it. Look at intonation, nut "
            "and strings instead.",
        )
    moves = []
    for key in ("lower_bass", "lower"):
        steps = _fewest(lambda n, key=key: _cents(bench, guitar, pickup, key, n), limit)  # type: ignore[misc]
        if steps is not None:
            moves.append((f"{key}={steps * STEP * 1e3:.1f}mm",))
            break
    if not moves:
        return ClearGap(moves=(), words=f"Computed, {most}; no gap up to {MOST_GAP * 1e3:g} mm brings it to {limit:g}.")
    return ClearGap(
        moves=tuple(moves),
        words=f"Computed, {most}; the target is the gap that leaves {limit:g}, which is just heard (not computed: "
        "beats up the neck, where it is more). Set the intonation afterwards.",
    )


def _cents(bench: StateBench, guitar: Guitar, pickup: str, key: str, steps: int) -> float | None:
    """Return how far the worst string is off so many steps lower; None where that is too far away."""
    try:
        after = apply(guitar, pickup, [parse_change(f"{key}={steps * STEP * 1e3:.1f}mm")])
    except InputError:
        return None
    there = after.pickup(pickup)
    if max(there.gap_bass, there.gap_treble) > MOST_GAP:
        return None
    return most_detuned(bench.state(after, pickup))[1]


def _fewest(cents_at: Callable[[int], float | None], limit: float) -> int | None:
    """Return the fewest steps that reach the limit (the pull only falls with the distance), None where none does."""
    low, high = 1, MOST_STEPS + 1
    while low < high:
        middle = (low + high) // 2
        cents = cents_at(middle)
        if cents is not None and cents > limit:
            low = middle + 1
        else:
            high = middle
    cents = cents_at(low) if low <= MOST_STEPS else None
    return low if cents is not None and cents <= limit else None
