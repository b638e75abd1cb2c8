"""From a complaint to a ranked plan: fault gate, cheap causes, then every lever predicted, scored and ranked.

complaints -> jobs (pickup, aims) -> candidates (constraints obeyed or refused) -> judged by the bench
           -> five to seven rows with intervals, free and reversible moves first, "do nothing" among them
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial

from polepiece.bench import BAND_SOURCE, QUANTITIES, Bench, difference, h2_interval, position_of, together
from polepiece.errors import InputError
from polepiece.guitar import Complaint, Guitar, check_draws, usual_position
from polepiece.planning.candidates import Candidate, Refusal, enumerate_candidates
from polepiece.planning.choice import choose, in_order, only_skin
from polepiece.planning.complaints import spelled_out
from polepiece.planning.constraints import Constraints, cost_words, of_guitar, parts_of
from polepiece.planning.estimates import StateBench
from polepiece.planning.gate import cheap_causes, fault_gate
from polepiece.planning.jobs import Job, jobs_of
from polepiece.planning.positions import Both, Positions
from polepiece.planning.record import Bar, Interval, Plan, Row, plan_json, row_json
from polepiece.planning.repair import repair_first
from polepiece.planning.rows import Judge, Judged, judge_all
from polepiece.planning.said import said_of
from polepiece.planning.scoring import NAMED, heard_at_all, heard_word
from polepiece.planning.words import (
    FEWEST,
    few_words,
    fit_words,
    gap_words,
    hangs_on,
    notes_of,
    risk_of,
    strings_of,
    threshold_words,
    unhelpful_words,
    way_back,
    why,
)

__all__ = ["Bar", "Plan", "Row", "make_plan", "plan_json", "row_json"]

MOST_BARS = 5
RESET_MINUTES = 5
VIEW_WORDS = {"split": "Judged with one coil on.", "volume down": "Judged with the volume at 5."}
Progress = Callable[[int, int], None]


def make_plan(
    guitar: Guitar,
    bench: StateBench | None = None,
    complaints: Iterable[Complaint] | None = None,
    constraints: Constraints | None = None,
    *,
    shown: int = 7,
    draws: int = 64,
    progress: Progress | None = None,
    both: Both | None = None,
    position: str | None = None,
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
    if bench is None:
        bench = Bench(exact_screws=False)
    if both is None and isinstance(bench, Bench):
        both = partial(together, bench=bench)
    work = [_Work(bench, job, limits, both, position) for job in jobs]
    count = _Counter(sum(len(one.candidates) for one in work), shown, progress)
    places = _shares(shown - 1, len(work))
    chosen: list[tuple[_Work, Judged]] = []
    for one, place in zip(work, places):
        one.run(count)
        chosen += [(one, judged) for judged in one.choose(place)]
    chosen = in_order(chosen, lambda pair: pair[1])
    rows: list[Row] = []
    for one, judged in chosen:
        row = one.row(len(rows) + 1, judged, draws)
        after = judged.best.guitar
        rows.append(replace(row, other_positions=one.positions.after(after), heard_in=one.positions.moved(after)))
        count()
    rows.append(_do_nothing(len(rows) + 1, jobs[0], work[0].judge))
    count.finish()
    refused = tuple(refusal for one in work for refusal in one.refused)
    rest = tuple(row for one in work for row in one.rest([judged for _, judged in chosen], len(rows)))
    return Plan(
        verdict="plan", complaints=told, repair_first=(), cheap_causes=cheap_causes(guitar, told),
        advice=(*_advice(jobs), *_apart(work)), constraints=limits.texts, rows=tuple(rows),
        rest=rest, refused=refused, few=few_words(len(rows), len(rest), refused) if shown >= FEWEST else "",
        bars_to_have=tuple(bar for one in work for bar in one.bars()),
        considered=sum(one.considered for one in work), parted=tuple(text for one in work for text in one.parted()),
    )  # fmt: skip


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


class _Work:
    """One job being done: its candidates, what they came to, and rows made of them."""

    def __init__(
        self, bench: StateBench, job: Job, limits: Constraints, both: Both | None, position: str | None
    ) -> None:
        heard = position_of(job.base, job.pickup, position or job.position)  # None: each pickup by itself
        bench = bench.heard_in(heard) if isinstance(bench, Bench) else bench
        self.job, self.limits, self.bench = job, limits, bench
        at = heard or usual_position(job.base, job.pickup)
        self.position = at.name
        self.positions = Positions(bench, both, job.base, job.pickup)
        self.judge = Judge(bench, job, limits)
        found = enumerate_candidates(
            job.base, job.pickup, limits, extra=job.first, partner=job.partner, without=_no_answer(job),
            louder=self.judge.distance.louder if self.judge.distance else None,
            beside=[one for one in at.on if one != job.pickup],
        )  # fmt: skip
        self.candidates = found.candidates if job.aims.weights else self._trials(found.candidates)
        self.refused, self.considered = list(found.refused), found.considered
        self.judged: list[Judged] = []
        self.exact: dict[tuple[str, ...], Judged | None] = {}

    def _trials(self, candidates: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
        """Where the complaint is not computed, only the first free moves are tried."""
        return tuple(one for one in candidates if one.texts in self.job.first)

    def run(self, progress: Callable[[], None]) -> None:
        """Judge every candidate."""
        self.judged, refused = judge_all(self.judge, self.candidates, progress)
        self.refused += _by_reason(refused)

    def choose(self, places: int) -> list[Judged]:
        """Return the rows to show."""
        if not self.job.aims.weights:
            return self.judged[:places]
        self.bench.solve_ahead(self.job.base, self.job.pickup, state=False, interval=True)
        for one in choose(self.judged, places, lambda one: one):  # not all of these will be rows, but most
            self.bench.solve_ahead(one.same.guitar, self.job.pickup, state=False, interval=True)
        return choose(self.judged, places, self.settled)

    def settled(self, judged: Judged) -> Judged | None:
        """Return a row with exact figures, or None when it does not help after all."""
        if not judged.estimated:
            return judged
        key = judged.candidate.texts
        if key not in self.exact:
            found = self.judge.judge(judged.candidate, exact=True)
            keep = isinstance(found, Judged) and found.total > 0.0 and found.useful == judged.useful
            self.exact[key] = found if keep and isinstance(found, Judged) else None
        return self.exact[key]

    def rest(self, chosen: list[Judged], rank: int) -> list[Row]:
        """Return rows for whatever else helps, best first, without intervals."""
        shown = [one.candidate.texts for one in chosen if one.job is self.job]
        wrong = [texts for texts, exact in self.exact.items() if exact is None]  # estimated to help; it does not
        others = [one for one in self.judged if one.total > 0.0 and one.candidate.texts not in (*shown, *wrong)]
        return [self.row(rank + n + 1, one, 0) for n, one in enumerate(in_order(others, lambda one: one))]

    def row(self, rank: int, judged: Judged, draws: int) -> Row:
        """Return the row of one candidate; no intervals with ``draws`` 0."""
        interval, at_level = self._intervals(judged, draws)
        best, candidate, before = judged.best, judged.candidate, self.judge.before
        feel = not self.job.aims.weights
        heard = heard_word(best.score, at_level if best.kind == "re-set" else interval)
        threshold, unit, source = threshold_words(best.score, before)
        hangs = hangs_on(candidate, self.job.base)
        harms = judged.same.score.total < 0.0 and best.kind == "re-set"
        notes = list(notes_of(candidate, self.job.base.pickup(self.job.pickup)))
        if self.job.view:
            notes.append(VIEW_WORDS[self.job.view])
        if judged.estimated:
            notes.append("Screws: estimated from one probe; shown rows are computed.")
        if feel:
            notes.insert(0, "Not computed: a trial for the hands and a blind comparison.")
            heard = heard_at_all(best.score)
        tasks, effect = candidate.tasks, difference(before, judged.same.state)
        said = said_of(judged, before, heard, effect)
        reset = RESET_MINUTES * (best.then is not None)
        return Row(
            rank=rank, complaint=self.job.name, change=candidate.texts, kind="+".join(judged.kinds),
            also=None if candidate.also is None else (candidate.also[0], tuple(c.text for c in candidate.also[1])),
            pickup=candidate.pickup, direction=_directions(judged),
            to="; ".join(dict.fromkeys(task.to for task in tasks))
            + (f"; {gap_words(best.lowered)}" if best.then is not None else ""),
            then=best.then.text if best.then is not None else None, use=best.kind, free=judged.free,
            reversible=judged.reversible, effect=effect,
            effect_at_old_level=difference(before, judged.level.state) if judged.level is not None else None,
            interval=interval, interval_at_old_level=at_level, better=best.score.better, worse=best.score.worse,
            unchanged=best.score.unchanged, strings=strings_of(before, best.state, best.score), likely_heard=heard,
            threshold=threshold, threshold_unit=unit, threshold_source=source,
            fit=fit_words(candidate, self.job.base.pickup(self.job.pickup)),
            minutes=sum(task.minutes for task in tasks) + reset,
            cost=cost_words(parts_of(candidate.changes, tasks, self.limits), self.limits), way_back=way_back(candidate),
            risk=risk_of(candidate),
            why=_feel(notes) if feel else why(
                best.score, heard, use=best.kind, lowered=best.lowered, other_use_harms=harms, notes=notes
            ),
            hangs_on=hangs.path if hangs else None, settle=hangs.settle if hangs else None,
            score=best.score.total, decides=best.score.best, position=self.position, done=said.done,
            done_in_full=said.done_in_full,
            heard=said.heard, moved=best.score.moved, loses=said.loses, parted=said.parted,
        )  # fmt: skip

    def parted(self) -> list[str]:
        """Return the first moves of a bench that the computation does not find to help, in a sentence each."""
        found = {one.candidate.texts: one for one in self.judged if one.candidate.texts in self.job.first}
        out = []
        for one in found.values():
            if one.total <= 0.0 or self.exact.get(one.candidate.texts, one) is None:
                out.append(unhelpful_words(said_of(one, self.judge.before, "no", {}).done))
        return out if self.job.aims.weights else []

    def _intervals(self, judged: Judged, draws: int) -> tuple[Interval, Interval]:
        if not draws:
            return {}, {}
        same = self._interval(judged.same.guitar, draws)
        if judged.level is None:
            return same, {}
        if judged.level.then is None:
            return same, same
        return same, self._interval(judged.level.guitar, draws)

    def _interval(self, after: Guitar, draws: int) -> Interval:
        base, name = self.job.base, self.job.pickup
        found = self.bench.interval(base, after, name, draws=draws)
        if isinstance(self.bench, Bench):
            found |= h2_interval(base, after, name, bench=self.bench, count=draws)
        return found

    def bars(self) -> list[Bar]:
        """Return the bars to have on the bench, best first: each bar once, in its best use, and only what helps."""
        best: dict[str, Judged] = {}
        for one in sorted(self.judged, key=lambda one: "rough-cast" in (one.candidate.bar or "")):
            alone = all(change.key in ("magnet", "finish", "charge") for change in one.candidate.changes)
            if one.candidate.bar is None or not alone or one.total <= 0.0 or only_skin(one):
                continue
            grade = one.candidate.bar.removesuffix("-rough-cast")
            rougher = grade in best and "rough-cast" in one.candidate.bar
            least = best[grade].total + NAMED * rougher if grade in best else 0.0  # a finish alone is often missed
            if one.total > least:
                best[grade] = one
        ranked = sorted(best.values(), key=lambda one: -one.rank_total)[:MOST_BARS]
        return [self._bar(order, one) for order, one in enumerate(ranked, start=1)]

    def _bar(self, order: int, judged: Judged) -> Bar:
        row = self.row(order, judged, 0)
        grade = judged.candidate.bar or ""
        if grade.startswith("finish "):
            pickup = self.job.base.pickup(self.job.pickup)
            grade = pickup.magnet.grade + ("-rough-cast" if grade.endswith("rough-cast") else "")
        return Bar(
            order=order, pickup=row.pickup, grade=grade, change=row.change, then=row.then, score=row.score, why=row.why
        )


def _directions(judged: Judged) -> str:
    ways = [
        "take out" if change.value is None else task.direction
        for change, task in zip(judged.candidate.changes, judged.candidate.tasks)
    ]
    return ", ".join(dict.fromkeys(ways))


def _feel(notes: Iterable[str]) -> str:
    return " ".join(notes)


def _no_answer(job: Job) -> tuple[str, ...]:
    """Changes that would only leave the setting in which the complaint is heard."""
    if job.view == "split":
        return ("wiring=series",)
    return ("volume=",) if job.view == "volume down" else ()


def _by_reason(refused: Iterable[Refusal]) -> list[Refusal]:
    out: dict[str, Refusal] = {}
    for one in refused:
        key = one.reason if one.reason.startswith("budget") else one.reason.partition(":")[0]
        old = out.setdefault(key, one)
        if old is not one:
            out[key] = replace(old, alike=old.alike + 1)
    return list(out.values())


def _advice(jobs: Iterable[Job]) -> tuple[str, ...]:
    out = []
    for job in jobs:
        for word, _ in job.words:
            first = word.first_words
            if not job.base.pickup(job.pickup).built.has_screws:
                first = ", ".join(one for one in first.split(", ") if "screw" not in one)
            if first:
                out.append(f"{word.name} ({job.pickup}): {first}.")
            if not word.aims or "ot computed" in word.stands_for:
                out.append(f"{word.name}: {word.stands_for}.")
    return tuple(dict.fromkeys(out))


def _apart(work: Iterable[_Work]) -> list[str]:
    return [one.judge.apart_words for one in work if one.judge.apart_words]


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
