"""The bars to have on the bench: one list a pickup, best first, and what benches would fit beside it."""

from collections.abc import Collection, Iterable

from polepiece.bench import HEARD_WORDS, heard_scale
from polepiece.guitar import grade_words
from polepiece.planning.choice import worth_opening
from polepiece.planning.jobs import Job
from polepiece.planning.rows import Judged
from polepiece.planning.scoring import NAMED
from polepiece.trade import cures_of

MOST_BARS = 5
_KEYS = ("magnet", "finish", "charge")


def is_bar_alone(judged: Judged) -> bool:
    """Tell whether a bar is all that changes, the height that is re-set beside it left aside."""
    candidate = judged.candidate
    return candidate.bar is not None and all(change.key in _KEYS for change in candidate.changes)


def usual_bars(job: Job) -> set[str]:
    """Return the bars that benches fit against what a job complains of."""
    there = job.base.pickup(job.pickup).magnet.grade
    return {bar for word, _ in job.words for bar in cures_of(word.name, there)}


def best_bars(judged: Iterable[Judged], usual: Collection[str] = ()) -> dict[str, Judged]:
    """Return the best use of each grade that is heard and helps, or that benches fit and that helps at all.

    A finish alone is often missed.
    """
    best: dict[str, Judged] = {}
    for one in sorted(judged, key=lambda one: "rough-cast" in (one.candidate.bar or "")):
        if not is_bar_alone(one):
            continue
        assert one.candidate.bar is not None
        grade = one.candidate.bar.removesuffix("-rough-cast")
        if not worth_opening(one) and not (one.candidate.bar in usual and one.total > 0.0):
            continue
        rougher = grade in best and "rough-cast" in one.candidate.bar
        least = best[grade].total + NAMED * rougher if grade in best else 0.0
        if one.total > least:
            best[grade] = one
    return best


def one_list(found: Iterable[tuple[Job, dict[str, Judged], dict[str, float]]]) -> list[Judged]:
    """Return one order a pickup of what several complaints about it would choose.

    Parameters
    ----------
    found : iterable of (job, bars, totals)
        `best_bars` of each, and the score of every bar there, in its best use; a bar that makes another complaint
        about the same pickup worse is none to have.
    """
    by_pickup: dict[str, list[tuple[dict[str, Judged], dict[str, float]]]] = {}
    for job, bars, totals in found:
        by_pickup.setdefault(job.pickup, []).append((bars, totals))
    out: list[Judged] = []
    for lists in by_pickup.values():
        sums: dict[str, tuple[float, Judged]] = {}
        for own, (bars, _) in enumerate(lists):
            for grade, one in bars.items():
                others = [totals.get(grade, 0.0) for other, (_, totals) in enumerate(lists) if other != own]
                worse = min(others, default=0.0) < 0.0
                if not worse and (grade not in sums or one.rank_total > sums[grade][1].rank_total):
                    sums[grade] = (sum(others) + one.rank_total, one)  # as rows are ordered, so that both agree
        out += [one for _, one in sorted(sums.values(), key=lambda pair: -pair[0])[:MOST_BARS]]
    return out


def totals_of(judged: Iterable[Judged]) -> dict[str, float]:
    """Return the best score of every grade by itself, helpful or not."""
    out: dict[str, float] = {}
    for one in judged:
        if is_bar_alone(one):
            assert one.candidate.bar is not None
            grade = one.candidate.bar.removesuffix("-rough-cast")
            out[grade] = max(out.get(grade, one.total), one.total)
    return out


def cure_words(job: Job, judged: Iterable[Judged]) -> str:
    """Return what benches fit against a complaint where another bar is shown, or none is worth it; "" else."""
    there = job.base.pickup(job.pickup).magnet
    alone = {one.candidate.bar: one for one in sorted(judged, key=lambda one: one.total) if is_bar_alone(one)}
    for word, _ in job.words:
        usual = [bar for bar in cures_of(word.name, there.grade) if bar in alone]
        if not usual:
            continue
        best = max(usual, key=lambda bar: alone[bar].total)
        shown = max((bar for bar, one in alone.items() if worth_opening(one)), key=lambda bar: alone[bar].rank_total,
                    default=best)  # fmt: skip
        if worth_opening(alone[best]) and shown in usual:
            listed = cures_of(word.name, "")
            if there.grade not in listed or listed.index(shown) > listed.index(there.grade):
                return ""
            inside, better = (grade_words(one).replace(",", "") for one in (there.grade, shown))
            return (
                f'Benches fit {inside}, which is in it, against "{word.name}" themselves; computed, {better} does more.'
            )
        *first, last = [grade_words(bar).replace(",", "") for bar in usual]
        names = f"{', '.join(first)} or {last}" if first else last
        several = len(usual) > 1
        heard = HEARD_WORDS[heard_scale(alone[best].heard)]
        if worth_opening(alone[best]):
            told = f"{grade_words(best)} is heard as well" if several else "it is heard as well"
        elif alone[best].total <= 0.0:
            told = "they make it worse" if several else "it makes it worse"
        elif alone[best].useful:
            told = f"{grade_words(best)} does almost as much harm as good"
        else:
            told = f"the best of them, {grade_words(best)}, is {heard}" if several else f"it is {heard}"
        return f'Benches fit {names} against "{word.name}"; computed, {told}.'
    return ""
