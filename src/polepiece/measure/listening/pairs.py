"""Which pairs of several states are played, in which order, so that no state and no side is favoured."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from polepiece.errors import InputError

FEWEST, MOST_STATES, MOST_PAIRS = 3, 9, 100
Why = Literal["new", "again", "same"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two states one after the other; ``why``: a pair of the design, one of them again, or one state twice."""

    first: int
    second: int
    why: Why


def cyclic_pairs(states: int, most: int) -> list[tuple[int, int]]:
    """Return pairs in which every state stands equally often, and as nearly as can be as often first as second.

    State i meets i + 1, then i + 2, ... round the circle, as far as ``most`` pairs allow; each whole distance adds as
    much to every state (a balanced, connected incomplete design: David 1988, The Method of Paired Comparisons,
    ch. 5). Where ``most`` lets all pairs meet several times they do, the other way round every second time.

    Raises
    ------
    InputError
        When ``most`` is less than one round (as many pairs as states).
    """
    circle: list[tuple[int, int]] = []
    for distance in range(1, states // 2 + 1):
        half = states % 2 == 0 and distance == states // 2
        met = [(i, (i + distance) % states) for i in range(distance if half else states)]
        if len(circle) + len(met) > most:
            break
        circle += met
    if not circle:
        raise InputError(f"{most} pairs do not let {states} states meet; {states} at least.")
    whole = states * (states - 1) // 2
    times = most // whole if len(circle) == whole else 1
    return [(b, a) if time % 2 else (a, b) for time in range(times) for a, b in circle]


def drawn_pairs(states: int, most: int, again: int, seed: int) -> tuple[Pair, ...]:
    """Return the pairs of a session in the order they are played (design: David 1988; order drawn).

    Parameters
    ----------
    states : int
        3 to 9.
    most : int
        Most pairs of the design.
    again : int
        Pairs of the design that are played once more, the other way round, for the listener's own consistency.
    seed : int

    Returns
    -------
    tuple of Pair
        The design and the repeats in drawn order, a repeat never right after its first, and one state against itself
        somewhere after the first pair: what is said of it is a habit of sides.
    """
    if not FEWEST <= states <= MOST_STATES:
        raise InputError(f"{states} states; {FEWEST} to {MOST_STATES} are compared.")
    if not states <= most <= MOST_PAIRS:
        raise InputError(f"{most} pairs; {states} (one round) to {MOST_PAIRS} are played.")
    rng = np.random.default_rng([seed, states, most])
    turn = bool(rng.integers(0, 2))
    names = rng.permutation(states)
    design = [(int(names[a]), int(names[b])) for a, b in cyclic_pairs(states, most)]
    if not 0 <= again < len(design):
        raise InputError(f"{again} pairs again; 0 to {len(design) - 1} are there.")
    new = [
        Pair(first=b, second=a, why="new") if turn else Pair(first=a, second=b, why="new")
        for a, b in (design[k] for k in rng.permutation(len(design)))
    ]
    played = list(new)
    for k in rng.choice(len(new) - 1, again, replace=False):  # the last has no room behind it
        place = next(i for i, one in enumerate(played) if one is new[k])
        one = Pair(first=new[k].second, second=new[k].first, why="again")
        played.insert(int(rng.integers(place + 2, len(played) + 1)), one)
    twin = int(rng.integers(0, states))
    played.insert(int(rng.integers(1, len(played) + 1)), Pair(first=twin, second=twin, why="same"))
    return tuple(played)
