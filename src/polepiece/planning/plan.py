"""From a complaint to a ranked plan: fault gate, cheap causes, then every lever predicted, scored and ranked.

complaints -> jobs (pickup, aims) -> candidates (constraints obeyed or refused) -> judged by the bench
           -> five to seven rows with intervals, free and reversible moves first, "do nothing" among them
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial

from polepiece.bench import BAND_SOURCE, QUANTITIES, Bench, difference, ear_in_use, together
from polepiece.draw_counts import DRAWS
from polepiece.errors import InputError
from polepiece.guitar import Complaint, Guitar, check_draws
from polepiece.planning.answer import advice_first
from polepiece.planning.bars import best_bars, one_list, totals_of, usual_bars
from polepiece.planning.cheap_causes import cheap_causes
from polepiece.planning.choice import in_order, once_each
from polepiece.planning.complaint_word import Word
from polepiece.planning.complaints import spelled_out
from polepiece.planning.constraints import Constraints, of_guitar
from polepiece.planning.estimates import StateBench
from polepiece.planning.gate import fault_gate
from polepiece.planning.jobs import Job, jobs_of
from polepiece.planning.positions import Both
from polepiece.planning.record import Bar, Plan, Row, plan_json, row_json
from polepiece.planning.repair import repair_first
from polepiece.planning.rows import Judge, Judged
from polepiece.planning.words import FEWEST, few_words
from polepiece.planning.work import Tell, Work
from polepiece.strings import spare_the_compiler

__all__ = ["Bar", "Plan", "Row", "make_plan", "plan_json", "row_json"]

Progress = Callable[[int, int], None]


def make_plan(
    guitar: Guitar,
    bench: StateBench | None = None,
    complaints: Iterable[Complaint] | None = None,
    constraints: Constraints | None = None,
    *,
    shown: int = 7,
    draws: int = DRAWS,
    progress: Progress | None = None,
    both: Both | None = None,
    position: str | None = None,
    tell: Tell | None = None,
) -> Plan:
    """Plan what to do about complaints.

    Parameters
    ----------
    guitar : Guitar
    bench : StateBench, optional
        `polepiece.bench.bench.Bench` or anything with the methods of `StateBench`.
    complaints : iterable of Complaint, optional
        Default: those in the guitar file.
    constraints : Constraints, optional
    shown : int
        Rows to show, "do nothing" among them; 2 to 20.
    draws : int
        Draws behind the 90 % intervals of the rows shown.
    progress : callable, optional
        Called with (done, all).
    both : callable, optional
        How several pickups on together are computed, guitar and names in; default: `together` where ``bench`` is a
        `polepiece.bench.bench.Bench`, else nothing is said of them.
    position : str, optional
        In which the guitar is heard, see `pickups_on`. Default: as the complaint says, else its pickup by itself.
    tell : callable, optional
        Called with a line as soon as there is something to do: what to rule out, what a bench tries first, and the
        best free move before anything else is tried.

    Raises
    ------
    InputError
        When no complaint is given, or a word, pickup or number is not understood.
    """
    if draws:
        check_draws(draws)
    told = tuple(guitar.complaints if complaints is None else complaints)
    limits = constraints or Constraints()
    if not 2 <= shown <= 20:
        raise InputError(f"shown is {shown}; a plan shows 2 to 20 rows.")
    limits = of_guitar(limits, guitar)
    told = spelled_out(told, guitar)
    findings = fault_gate(guitar, told)
    if findings:
        return repair_first(guitar, told, findings, limits)
    if not told:
        raise InputError('no complaint is given; say one, for example "neck: muddy".')
    jobs = jobs_of(guitar, told, limits.leave)
    if tell is not None:
        spare_the_compiler()
        for line in _at_once(guitar, told, jobs):
            tell(line)
    if bench is None:
        bench = Bench(exact_screws=False)
    if both is None and isinstance(bench, Bench):
        both = partial(together, bench=bench)
    work = [Work(bench, job, limits, both, position) for job in jobs]
    for one in work:
        one.stand_beside(work)
    count = _Counter(sum(len(one.candidates) for one in work), shown, progress)
    places = _shares(shown - 1, len(work))
    chosen: list[tuple[Work, Judged]] = []
    for one, place in zip(work, places):
        one.run(count, tell)
        chosen += [(one, judged) for judged in one.choose(place)]
    chosen = once_each(in_order(chosen, lambda pair: pair[1]), lambda pair: pair[1])
    rows: list[Row] = []
    for one, judged in chosen:
        row = one.row(len(rows) + 1, judged, draws)
        after = judged.best.guitar
        rows.append(replace(row, other_positions=one.positions.after(after), heard_in=one.positions.moved(after)))
        count()
    rows = advice_first(rows)
    rows.append(_do_nothing(len(rows) + 1, jobs[0], work[0].judge))
    count.finish()
    refused = tuple(refusal for one in work for refusal in one.refused)
    rest = tuple(row for one in work for row in one.rest([judged for _, judged in chosen], len(rows)))
    return Plan(
        verdict="plan", complaints=told, repair_first=(), cheap_causes=cheap_causes(guitar, told),
        advice=(*_advice(jobs), *(words for one in work for words in one.advice), *_by_ear()), constraints=limits.texts,
        rows=tuple(rows),
        rest=rest, refused=refused, few=few_words(len(rows), len(rest), refused) if shown >= FEWEST else "",
        bars_to_have=_bars(work),
        considered=sum(one.considered for one in work), parted=tuple(text for one in work for text in one.parted()),
    )  # fmt: skip


def _at_once(guitar: Guitar, told: tuple[Complaint, ...], jobs: Iterable[Job]) -> list[str]:
    """Return what can be said before anything is computed."""
    causes = [one.cause for one in cheap_causes(guitar, told)]
    first = [
        f"{job.pickup}, {word.name}: {said}"
        for job in jobs for word, _ in job.words if word.first and (said := _first_words(job, word))
    ]  # fmt: skip
    lines = [f"Rule out first: {'; '.join(causes)}."] if causes else []
    return [*lines, *(f"A bench begins with: {one}." for one in first)]


def _shares(places: int, jobs: int) -> list[int]:
    """Share the rows among the jobs; every job gets at least one."""
    return [max(1, places // jobs + (number < places % jobs)) for number in range(jobs)]


class _Counter:
    """Progress over all candidates and the rows shown."""

    def __init__(self, candidates: int, shown: int, progress: Progress | None) -> None:
        self.done, self.all, self.progress = 0, candidates + shown, progress

    def __call__(self) -> None:
        self.done = min(self.done + 1, self.all)
        if self.progress is not None:
            self.progress(self.done, self.all)

    def finish(self) -> None:
        if self.progress is not None:
            self.progress(self.all, self.all)


def _bars(work: Iterable[Work]) -> tuple[Bar, ...]:
    """Return one list of bars for each pickup."""
    work = list(work)
    found = one_list((one.job, best_bars(one.judged, usual_bars(one.job)), totals_of(one.judged)) for one in work)
    count: dict[str, int] = {}
    out = []
    for judged in found:
        owner = next(one for one in work if one.job is judged.job)
        count[judged.job.pickup] = count.get(judged.job.pickup, 0) + 1
        out.append(owner.bar(count[judged.job.pickup], judged))
    return tuple(out)


def _first_words(job: Job, word: Word) -> str:
    """Return what a bench begins with, without screws where this pickup has none."""
    if job.base.pickup(job.pickup).built.has_screws:
        return word.first_words
    kept = [one for one in re.split(r"(?<=[,;]) ", word.first_words) if "screw" not in one]
    return " ".join(kept).rstrip(",;")


def _advice(jobs: Iterable[Job]) -> tuple[str, ...]:
    out = []
    for job in jobs:
        for word, _ in job.words:
            if first := _first_words(job, word):
                out.append(f"{word.name} ({job.pickup}): {first}.")
            if not word.aims or "ot computed" in word.stands_for:
                out.append(f"{word.name}: {word.stands_for}.")
    return tuple(dict.fromkeys(out))


def _do_nothing(rank: int, job: Job, judge: Judge) -> Row:
    """Return the row against which all others are read."""
    zero = dict.fromkeys(difference(judge.before, judge.before), 0.0)
    return Row(
        rank=rank, complaint=job.name, change=(), also=None, kind="none", pickup=job.pickup, direction="leave",
        to="as it is", then=None, use="", free=True, reversible=True, effect=zero, effect_at_old_level=None,
        interval=dict.fromkeys(zero, (0.0, 0.0)), interval_at_old_level={}, better=(), worse=(),
        unchanged=tuple(QUANTITIES)[:6], strings=(),
        likely_heard="no", threshold=1.0, threshold_unit="dB", threshold_source=BAND_SOURCE, fit="n/a", minutes=0,
        cost="none", way_back="nothing to undo", risk="low",
        why="Do nothing: every row is to be heard against this one; record it before strings come off.",
        hangs_on=None, settle=None, score=0.0, decides=None,
    )  # fmt: skip


def _by_ear() -> tuple[str, ...]:
    """Return by whose ear it is said what is heard, where it is one person's own."""
    ear = ear_in_use()
    return (ear.words,) if ear is not None and ear.words else ()
