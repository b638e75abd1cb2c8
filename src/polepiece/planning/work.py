"""One complaint being worked on: its candidates, what they come to, and rows made of them."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import partial

from polepiece.bench import QUANTITIES, Bench, difference, h2_interval, position_of
from polepiece.errors import InputError
from polepiece.guitar import Guitar, usual_position
from polepiece.moves import LEVERS
from polepiece.planning.bars import cure_words
from polepiece.planning.beside import Beside, spoiled
from polepiece.planning.bounds import RESET_MINUTES
from polepiece.planning.candidates import Candidate, Refusal, enumerate_candidates
from polepiece.planning.choice import choose, in_order, same_move
from polepiece.planning.clear_gap import clear_gap
from polepiece.planning.constraints import Constraints, cost_words, parts_of
from polepiece.planning.elsewhere import Elsewhere
from polepiece.planning.estimates import StateBench
from polepiece.planning.jobs import Job
from polepiece.planning.positions import Both, Positions
from polepiece.planning.record import Bar, Interval, Row
from polepiece.planning.rows import Judge, Judged, judge_all
from polepiece.planning.said import said_of
from polepiece.planning.scoring import heard_at_all, heard_word
from polepiece.planning.words import (
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

Tell = Callable[[str], None]
SO_FAR = " so far"
SCREENED = 3  # free moves that are computed before all others
VIEW_WORDS = {"split": "Judged with one coil on.", "volume down": "Judged with the volume at 5."}


def _nothing() -> None:
    """Where nothing waits to be told."""


class _Told:
    """Says each line once; what was best so far, and is, is not said again."""

    def __init__(self, tell: Tell) -> None:
        self._tell, self._said = tell, set[str]()

    def __call__(self, line: str) -> None:
        found = line.replace(SO_FAR, "", 1)
        if found not in self._said:
            self._said.add(found)
            self._tell(line)


class Work:
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
        self.clear = clear_gap(bench, job.base, job.pickup) if job.pulls else None
        found = enumerate_candidates(
            job.base, job.pickup, limits, extra=(*job.first, *(self.clear.moves if self.clear else ())),
            partner=job.partner, without=_no_answer(job),
            louder=self.judge.distance.louder if self.judge.distance else None,
            beside=[one for one in at.on if one != job.pickup],
        )  # fmt: skip
        self.candidates = found.candidates if job.aims.weights else self._trials(found.candidates)
        self.refused, self.considered = list(found.refused), found.considered
        if self.clear is not None:
            self.candidates = tuple(one for one in self.candidates if self._answers_pull(one))
        self.judged: list[Judged] = []
        self.elsewhere = Elsewhere(bench, job, limits)
        self.exact: dict[tuple[str, ...], Judged | None] = {}
        self.others: list[Judge] = []
        self.beside = Beside(bench, job.base, job.pickup, ())

    @property
    def advice(self) -> tuple[str, ...]:
        """What is computed of the complaint itself, in sentences."""
        apart = self.judge.apart_words
        return (*([apart] if apart else []), *([self.clear.words] if self.clear else []))

    def stand_beside(self, work: "list[Work]") -> None:
        """Learn of the other complaints: a change for this one may not spoil them."""
        self.others = [one.judge for one in work if one is not self and not one.job.view]
        self.beside = Beside(self.bench, self.job.base, self.job.pickup, (one.job.pickup for one in work))

    def _answers_pull(self, candidate: Candidate) -> bool:
        """Against pull a height is a target; other steps of it are none, and nothing moves where nothing pulls."""
        assert self.clear is not None
        moved = any(LEVERS[one.key].kind in ("height", "screws") for one in candidate.changes)
        return bool(self.clear.moves) and (candidate.texts in self.clear.moves or not moved)

    def _trials(self, candidates: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
        """Where the complaint is not computed, only the first free moves are tried."""
        return tuple(one for one in candidates if one.texts in self.job.first)

    def run(self, progress: Callable[[], None], tell: Tell | None = None) -> None:
        """Judge the candidates: free ones first, what costs something, then pairs of what helps by itself."""
        alone = [one for one in self.candidates if len(one.changes) == 1 and one.also is None]
        free = [one for one in alone if all(task.free for task in one.tasks)]
        bars = tuple(one for one in alone if one.swap)
        told = None if tell is None else _Told(tell)
        if told is not None:
            self._say_first(free, told)
            self._say_best(self._soon(free), told, so_far=SO_FAR)
        exact = None if told is None else partial(self._say_best, tell=told)
        self._judge(free, progress, announced=lambda: self.elsewhere.ask(bars), exact=exact)
        if told is not None:
            self._say_screened(told)
        self._judge([one for one in alone if one not in free and not one.swap], progress)
        self._judge(bars, progress)
        totals = {one.candidate.texts[0]: one.total for one in self.judged}
        pairs = [one for one in self.candidates if one not in alone]
        promising = [one for one in pairs if _promises(one, totals)]
        for _ in range(len(pairs) - len(promising)):
            progress()
        bars = tuple(one for one in promising if one.swap)
        self.elsewhere.ask(bars)
        self._judge([one for one in promising if not one.swap], progress)
        self._judge(bars, progress)

    def _judge(
        self, candidates: Iterable[Candidate], progress: Callable[[], None], *,
        announced: Callable[[], None] = _nothing, exact: Callable[[list[Judged]], None] | None = None,
    ) -> None:  # fmt: skip
        candidates = tuple(candidates)
        found = self.elsewhere.fetched(candidates) if any(one.swap for one in candidates) else None
        if found is None:
            found = judge_all(self.judge, candidates, progress, announced, exact)
        else:
            for _ in candidates:
                progress()
        self.judged += found[0]
        self.refused += _by_reason(found[1])

    def _say_first(self, free: Iterable[Candidate], tell: Tell) -> None:
        """Say what the first moves of a bench come to, before anything else is tried."""
        for one in (one for one in free if one.texts in self.job.first):
            after = one.act(self.job.base)
            if self.judge.estimator.is_estimated(after):  # it takes a probe: later
                continue
            if isinstance(found := self.judge.judge(one, after=after), Judged):
                tell(f"A bench's first move: {self._in_a_line(found)}")

    def _soon(self, free: Iterable[Candidate]) -> list[Judged]:
        """Return the free moves that are best by a screening, computed; the rest has its turn."""
        try:
            found = [self.judge.judge(one) for one in self.judge.screened(free, SCREENED)]
        except InputError:  # the pickup stands too low for the probe
            return []
        return [one for one in found if isinstance(one, Judged)]

    def _say_best(self, judged: list[Judged], tell: Tell, *, so_far: str = "") -> None:
        """Say the best free move so far of those that are computed."""
        found = [one for one in in_order(judged, lambda one: one) if one.total > 0.0 and not one.estimated]
        if found and found[0].best.score.best is not None:
            tell(f"Best free move{so_far}: {self._in_a_line(found[0])}")

    def _say_screened(self, tell: Tell) -> None:
        """Say what is read off a probe so far, and may be better than what is computed."""
        for one in self.judged:
            if one.estimated and one.candidate.texts in self.job.first:
                tell(f"A bench's first move, screened: {self._in_a_line(one)}")
        self._say_best(self.judged, tell)
        best = next(iter(in_order(self.judged, lambda one: one)), None)
        if best is not None and best.estimated and best.total > 0.0 and best.best.score.best is not None:
            tell(f"Perhaps better, screened: {self._in_a_line(best)}")

    def _in_a_line(self, judged: Judged) -> str:
        """Return what is done and what it does to what is complained of; that it does not help where it does not."""
        done = said_of(judged, self.judge.before, "maybe", {}).done
        key = judged.best.score.best
        if key is None or judged.total <= 0.0:
            return f"{done}: computed, it does not help"
        return f"{done}: {QUANTITIES[key].moved_words(judged.best.score.moved[key])}"

    def choose(self, places: int) -> list[Judged]:
        """Return the rows to show."""
        if not self.job.aims.weights:
            return self.judged[:places]
        self.bench.solve_ahead(self.job.base, self.job.pickup, state=False, interval=True)
        for one in choose(self.judged, places, lambda one: one):  # not all of these will be rows, but most
            self.bench.solve_ahead(one.same.guitar, self.job.pickup, state=False, interval=True)
        return choose(self.judged, places, self.settled)

    def settled(self, judged: Judged) -> Judged | None:
        """Return a row with exact figures, or None when it does not help after all or spoils another pickup."""
        exact = self._exact(judged)
        if exact is None:
            return None
        reason = spoiled(exact, self.others) or self.beside.disturbed(exact, self.limits.leave)
        if not reason:
            return exact
        self.exact[judged.candidate.texts] = None
        self.refused.append(Refusal(change=judged.candidate.texts, reason=reason, pickup=judged.candidate.pickup))
        return None

    def _exact(self, judged: Judged) -> Judged | None:
        key = judged.candidate.texts
        if not judged.estimated:
            return self.exact.get(key, judged)
        if key not in self.exact:
            found = self.judge.judge(judged.candidate, exact=True)
            keep = isinstance(found, Judged) and found.total > 0.0 and found.useful == judged.useful
            self.exact[key] = found if keep and isinstance(found, Judged) else None
        return self.exact[key]

    def rest(self, chosen: list[Judged], rank: int) -> list[Row]:
        """Return rows for whatever else helps, best first, without intervals."""
        shown = [one.candidate.texts for one in chosen if one.job is self.job]
        there = {same_move(one) for one in chosen}
        wrong = [texts for texts, exact in self.exact.items() if exact is None]  # estimated to help; it does not
        others = [one for one in self.judged if one.total > 0.0 and one.candidate.texts not in (*shown, *wrong)]
        others = [one for one in others if same_move(one) not in there]
        left = self.limits.leave
        others = [one for one in others if not (spoiled(one, self.others) or self.beside.disturbed(one, left))]
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
        loses = (*said.loses, *(self.beside.losses(judged) if draws else ()))
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
            heard=said.heard, moved=best.score.moved, loses=loses, parted=said.parted,
        )  # fmt: skip

    def parted(self) -> list[str]:
        """Return the first moves of a bench that the computation does not find to help, in a sentence each."""
        found = {one.candidate.texts: one for one in self.judged if one.candidate.texts in self.job.first}
        out = []
        for one in found.values():
            if one.total <= 0.0 or self.exact.get(one.candidate.texts, one) is None:
                out.append(unhelpful_words(said_of(one, self.judge.before, "no", {}).done))
        cures = cure_words(self.job, self.judged)
        return [*out, *([cures] if cures else [])] if self.job.aims.weights else []

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

    def bar(self, order: int, judged: Judged) -> Bar:
        """Return a bar to have on the bench, at its place in the order of trying."""
        row = self.row(order, judged, 0)
        grade = judged.candidate.bar or ""
        if grade.startswith("finish "):
            pickup = self.job.base.pickup(self.job.pickup)
            grade = pickup.magnet.grade + ("-rough-cast" if grade.endswith("rough-cast") else "")
        return Bar(
            order=order,
            pickup=row.pickup,
            grade=grade,
            change=row.change,
            then=row.then,
            score=row.score,
            why=row.why,
            heard=row.heard,
        )


def _promises(candidate: Candidate, totals: Mapping[str, float]) -> bool:
    """Tell whether a pair is worth a look: a part or a bar that does not help by itself is not tried beside another.

    Heights and screws are always tried together: one of them often only makes good what the other spoils.
    """
    if candidate.also is not None or all(task.kind in ("height", "screws") for task in candidate.tasks):
        return True
    return all(totals.get(one, 1.0) > 0.0 for one in candidate.texts)


def _directions(judged: Judged) -> str:
    ways = [
        "take out" if change.value is None else task.direction
        for change, task in zip(judged.candidate.changes, judged.candidate.tasks)
    ]
    return ", ".join(dict.fromkeys(ways))


def _feel(notes: Iterable[str]) -> str:
    return " ".join(notes)


def _no_answer(job: Job) -> tuple[str, ...]:
    """Changes that are none: they only leave the setting in which it is heard, or turn it down.

    A volume turned down answers what is too loud or too sharp, nothing else (common practice, no source).
    """
    if job.view == "split":
        return ("wiring=series",)
    wanted = job.aims.weights
    top = any(wanted.get(key, 0.0) < 0.0 for key in ("presence", "highs", "high_level"))
    if job.view == "volume down" or not (top or wanted.get("level", 0.0) < 0.0):
        return ("volume=", *(f"{one.name} volume=" for one in job.base.pickups))
    return ()


def _by_reason(refused: Iterable[Refusal]) -> list[Refusal]:
    out: dict[str, Refusal] = {}
    for one in refused:
        key = one.reason if one.reason.startswith("budget") else one.reason.partition(":")[0]
        old = out.setdefault(key, one)
        if old is not one:
            out[key] = replace(old, alike=old.alike + 1)
    return list(out.values())
