"""Which rows are shown, and in what order: free and reversible moves first, the best of each kind."""

from collections.abc import Callable, Iterable
from typing import TypeVar

from polepiece.moves import KINDS
from polepiece.planning.rows import Judged
from polepiece.planning.scoring import NAMED
from polepiece.planning.words import FEWEST

PAIR_GAIN = 0.3  # thresholds that a pair must be better than each of its halves to be shown before them
ALMOST = 0.5  # thresholds: less is a useless move and stays hidden where there is anything else to do
T = TypeVar("T")
PULL = ("pull", "shift")  # quantities that a gap answers
_PAID = {1: 2, 2: 3, 3: 5, 4: 6, 5: 7}  # tiers by effort
FREE, PARTS, SWAPS = 3, 2, 2  # places among seven rows, the last is "do nothing"


def tier(judged: Judged, *, free_helps: bool = True) -> int:
    """Return the place of a row before its score counts; a lower one stands higher.

    A bench tries what costs nothing first, and does not try what nobody would hear (common practice, no source):

    0     free and reversible, moves the complaint by its threshold (what is just heard side by side)
    1     free and reversible, points the right way by half a threshold or more; also trials for the hands,
          where the complaint has no quantity
    2-3   moves the complaint by its threshold and costs a part (2) or solder (3)
    4     tier 1 where nothing free reaches the threshold: nobody gives a control away or opens a pickup before the
          free move that goes half the way is tried
    5-7   moves the complaint by its threshold and takes a control out (5), opens the pickup (6), cannot be undone (7)
    8-12  costs something and stays under the threshold: as 2-3 and 5-7
    13    free and under half a threshold: hidden, unless the plan would have fewer rows than `FEWEST`

    So no paid row stands above a free one that is heard, and rank 1 is free unless a part or solder is heard and
    nothing free is.

    Parameters
    ----------
    judged : Judged
    free_helps : bool
        Whether any free row for the same complaint reaches the threshold.
    """
    if judged.effort:
        return _PAID[judged.effort] if judged.useful else 7 + judged.effort
    if judged.useful:
        return 0
    if judged.job.aims.weights and judged.heard < ALMOST:
        return 13
    return 1 if free_helps or not judged.job.aims.weights else 4


def in_order(rows: Iterable[T], judged_of: Callable[[T], Judged]) -> list[T]:
    """Return rows by `tier`, within one by score."""
    rows = list(rows)
    helped = {one.job.name for one in map(judged_of, rows) if one.effort == 0 and one.useful}

    def key(row: T) -> tuple[int, float]:
        one = judged_of(row)
        return tier(one, free_helps=one.job.name in helped), -one.rank_total

    return sorted(rows, key=key)


def once_each(rows: Iterable[T], judged_of: Callable[[T], Judged]) -> list[T]:
    """Return rows in which no move stands twice, the better placed kept.

    What two complaints of one pickup ask for is one move where both are heard in the same way; a change that moves
    every pickup, such as strings, answers one complaint once.
    """
    out: dict[object, T] = {}
    for row in rows:
        one = judged_of(row)
        shared = one.candidate.also is None and all(KINDS[task.kind].shared for task in one.candidate.tasks)
        words = tuple(word.name for word, _ in one.job.words)
        out.setdefault((one.candidate.changes, words) if shared else same_move(one), row)
    return list(out.values())


def same_move(judged: Judged) -> tuple[object, ...]:
    """Return what two rows have in common that tell a person to do the same, heard in the same way."""
    candidate, job = judged.candidate, judged.job
    return candidate.pickup, candidate.changes, candidate.also, judged.best.then, job.view, job.position


def choose(judged: Iterable[Judged], shown: int, settle: Callable[[Judged], Judged | None]) -> list[Judged]:
    """Return at most ``shown`` rows in their order.

    Parameters
    ----------
    judged : iterable of Judged
    shown : int
    settle : callable
        Computes a row exactly that was estimated; None when it turns out not to help.
    """
    judged = list(judged)
    ranked = sorted((one for one in judged if one.total > 0.0), key=lambda one: (-one.rank_total, len(one.kinds)))
    alone = _alone(ranked)
    ranked = [one for one in _without_twins(ranked) if _better_than_its_halves(one, alone)]
    ranked = [one for one in ranked if _bar_earns_it(one, alone)]
    free = [one for one in ranked if one.effort == 0 and one.useful]
    swaps = [one for one in ranked if one.candidate.swap and worth_opening(one)]
    parts = [one for one in ranked if one.effort in (1, 2, 3, 4) and not one.candidate.swap and one.useful]
    moves = [one for one in ranked if not one.candidate.swap and one.effort < 5]
    rest = [one for one in moves if not one.useful and one.heard >= ALMOST and not one.estimated]
    taken: list[Judged] = []
    places = _places(shown)
    for group, count in ((free, places[0]), (swaps, places[2]), (parts, places[1])):
        _take(group, count, taken, settle)
    for group in (free, parts, rest):  # places that are left over
        _take(group, shown - len(taken), taken, settle)
    bars = sum(one.candidate.swap for one in taken)  # the list of bars to have says the others
    _take(swaps, min(shown - len(taken), SWAPS - bars), taken, settle)
    # a pickup is not opened for what nobody would name; the place stays empty, it is not for the next worse bar
    worth = [one for one in taken[:shown] if one.best.score.better or not one.candidate.swap]
    little = [one for one in moves if one.effort == 0 and not one.useful and one not in worth]
    _take(little, min(shown, FEWEST - 1) - len(worth), worth, settle)  # better a hint of the direction than nothing
    return in_order(worth, lambda one: one)


def _places(shown: int) -> tuple[int, int, int]:
    if shown >= FREE + PARTS + SWAPS - 1:
        return shown - SWAPS - 1 if shown <= 6 else shown - PARTS - SWAPS, 1 if shown <= 6 else PARTS, SWAPS
    free = max(1, shown // 2)
    swaps = min(SWAPS, shown - free)
    return free, shown - free - swaps, swaps


def _take(group: list[Judged], count: int, taken: list[Judged], settle: Callable[[Judged], Judged | None]) -> None:
    """Take the best of each family from a group, exact figures only."""
    if count <= 0:
        return
    end = len(taken) + count
    for one in group:
        if len(taken) >= end:
            return
        if any(family(one) == family(other) for other in taken):
            continue
        exact = settle(one)
        if exact is not None:
            taken.append(exact)


def _alone(ranked: list[Judged]) -> dict[str, Judged]:
    """Return the best of each lever alone, by family."""
    singles = [one for one in ranked if len(one.candidate.changes) == 1 and one.candidate.also is None]
    return {family(one)[0]: one for one in reversed(singles)}


def _better_than_its_halves(judged: Judged, alone: dict[str, Judged]) -> bool:
    """Tell whether a pair is worth more than the better of its levers alone, or is free and heard where neither is."""
    if len(judged.candidate.changes) < 2:
        return True
    halves = [alone[one] for one in levers_of(judged) if one in alone]
    if judged.effort == 0 and judged.useful and not any(one.useful for one in halves):
        return True
    return judged.total >= max((one.total for one in halves), default=0.0) + PAIR_GAIN


def _bar_earns_it(judged: Judged, alone: dict[str, Judged]) -> bool:
    """Tell whether the bar of a pair is itself heard: a pickup is not opened for what the other half does alone."""
    key = judged.best.score.best
    others = [alone[one] for one in levers_of(judged) if one in alone and not alone[one].candidate.swap]
    if not judged.candidate.swap or key is None or not others:
        return True
    without = max(abs(one.best.score.in_thresholds.get(key, 0.0)) for one in others)
    return judged.heard - without >= 1.0


def _without_twins(ranked: list[Judged]) -> list[Judged]:
    """Leave out rough-cast bars that are no better than the polished bar of their grade: often missed by ear."""
    polished = {
        one.candidate.bar: one.total
        for one in reversed(ranked)
        if one.candidate.bar and not one.candidate.bar.endswith("rough-cast")
    }

    def twin(one: Judged) -> bool:
        grade = (one.candidate.bar or "").removesuffix("-rough-cast")
        return grade != one.candidate.bar and grade in polished and one.total < polished[grade] + NAMED

    return [one for one in ranked if not twin(one)]


def worth_opening(judged: Judged) -> bool:
    """Tell whether a bar is advice: heard, and better on the whole by what would be named.

    Nobody opens a pickup for less pull on the strings: its height does that (common practice, no source).
    """
    return judged.useful and judged.total >= NAMED and not only_skin(judged) and judged.best.score.best not in PULL


def only_skin(judged: Judged) -> bool:
    """Tell whether only the surface of the bar changes and nobody would name the difference: not worth opening for."""
    keys = {one.key for one in judged.candidate.changes}
    return "finish" in keys and keys <= {"finish", "charge"} and judged.heard < NAMED


def levers_of(judged: Judged) -> tuple[str, ...]:
    """Return the levers that are moved: the bar, the whole height, a tilt, the screws, or a key."""
    candidate = judged.candidate
    names = {"lower": "height", "raise": "height", "body_down_screws_up": "body"}
    out = []
    for change in candidate.changes:
        key = names.get(change.key, change.key)
        if key.endswith(("_bass", "_treble")):
            key = "tilt"
        elif key in ("magnet", "finish"):
            key = (candidate.bar or "").removesuffix("-rough-cast")
        elif change.kind == "screws":
            key = "screws"
        elif key == "charge" and candidate.bar is not None:
            continue
        out.append(key)
    return tuple(sorted(set(out)))


def family(judged: Judged) -> tuple[str, ...]:
    """Return what makes two rows variants of one another: the bar, or else the levers that are moved."""
    bar = judged.candidate.bar
    if judged.candidate.swap:
        return ("charge",) if bar is None else (bar.removesuffix("-rough-cast"),)
    return levers_of(judged) + (("other pickup",) if judged.candidate.also else ())
