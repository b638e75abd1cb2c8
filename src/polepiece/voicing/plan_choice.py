"""Which rows are shown, and in what order: free and reversible moves first, the best of each kind."""

from collections.abc import Callable, Iterable

from polepiece.voicing.plan_rows import Judged
from polepiece.voicing.scoring import NAMED

PAIR_GAIN = 0.3  # thresholds that a pair must be better than each of its halves to be shown before them
ALMOST = 0.5  # thresholds: less is a useless move and stays hidden
FREE, PARTS, SWAPS = 3, 2, 2  # places among seven rows, the last is "do nothing"


def order_key(judged: Judged) -> tuple[float, float]:
    """Return the key by which rows are ranked.

    Free and reversible moves that move the complaint by its threshold; then what costs more effort; free moves
    under the threshold come after everything that helps by one.
    """
    effort = float(judged.effort)
    if judged.effort == 0 and not judged.useful:
        effort = 2.5
    elif not judged.useful:
        effort += 5.0
    return effort, -judged.rank_total


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
    ranked = [one for one in _without_twins(ranked) if _better_than_its_halves(one, _alone(ranked))]
    free = [one for one in ranked if one.effort == 0 and one.useful]
    swaps = [one for one in ranked if one.candidate.swap and not only_skin(one)]
    parts = [one for one in ranked if one.effort in (1, 2, 3) and not one.candidate.swap and one.useful]
    moves = [one for one in ranked if not one.candidate.swap and one.effort < 4]
    rest = [one for one in moves if not one.useful and one.heard >= ALMOST and not one.estimated]
    taken: list[Judged] = []
    places = _places(shown)
    for group, count in ((free, places[0]), (swaps, places[2]), (parts, places[1])):
        _take(group, count, taken, settle)
    for group in (free, parts, rest, swaps):  # places that are left over
        _take(group, shown - len(taken), taken, settle)
    return sorted(taken[:shown], key=order_key)


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


def _alone(ranked: list[Judged]) -> dict[str, float]:
    """Return the best score of each lever alone, by family."""
    singles = [one for one in ranked if len(one.candidate.changes) == 1 and one.candidate.also is None]
    return {family(one)[0]: one.total for one in reversed(singles)}


def _better_than_its_halves(judged: Judged, alone: dict[str, float]) -> bool:
    """Tell whether a pair is worth more than the better of its levers alone; a single change is."""
    if len(judged.candidate.changes) < 2:
        return True
    halves = [alone[one] for one in levers_of(judged) if one in alone]
    return judged.total >= max(halves, default=0.0) + PAIR_GAIN


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
        elif key.startswith("screw") and key != "screws_face":
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
