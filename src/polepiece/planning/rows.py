"""Candidates judged: each bar twice (gap as it is, gap re-set to the old level), each move once."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from math import floor

from polepiece.bench import State
from polepiece.errors import InputError
from polepiece.guitar import Guitar
from polepiece.moves import KINDS, apply, parse_change
from polepiece.pickup import anatomy
from polepiece.planning.bounds import Bounds, Use
from polepiece.planning.candidates import Candidate, Refusal
from polepiece.planning.constraints import Constraints
from polepiece.planning.estimates import Estimator, StateBench
from polepiece.planning.jobs import Distance, Job
from polepiece.planning.scoring import Score, score

HEIGHT_STEP = 0.05e-3  # m: a tenth of a turn of a height screw; finer is not set at a bench
RESET = 0.02  # thresholds: a bench re-sets the height after a swap unless leaving it answers better (judgement)
FIT = 0.1  # thresholds; ferrite fits badly where alnico sat and "ferrite for everything" cures nothing (judgement)


@dataclass(frozen=True, kw_only=True)
class Judged:
    """One candidate with its best use."""

    job: Job
    candidate: Candidate
    same: Use  # at the same gap
    level: Use | None  # with the gap re-set; None for moves, or where no safe gap reaches the old level
    best: Use
    estimated: bool = False

    @property
    def total(self) -> float:
        """Score of the best use."""
        return self.best.score.total

    @property
    def rank_total(self) -> float:
        """Score less what a bar of the other family must be better by, because it may not fit."""
        bar = self.candidate.bar or ""
        here = self.job.base.pickup(self.candidate.pickup).magnet.grade
        return self.total - FIT * (bar.startswith("ceramic") and here.startswith(("alnico", "unknown")))

    @property
    def heard(self) -> float:
        """Thresholds by which the complaint moves."""
        return self.best.score.heard

    @property
    def free(self) -> bool:
        """No part, no solder, nothing opened."""
        return all(task.free for task in self.candidate.tasks)

    @property
    def reversible(self) -> bool:
        """The guitar can be put back as it was."""
        return all(task.reversible for task in self.candidate.tasks)

    @property
    def useful(self) -> bool:
        """It helps, and moves the complaint by its threshold."""
        return self.total > 0.0 and self.heard >= 1.0

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of its tasks, each once."""
        return tuple(dict.fromkeys(task.kind for task in self.candidate.tasks))

    @property
    def effort(self) -> int:
        """0 free, 1 a part but no solder, 2 solder, 3 a control gone, 4 the pickup is opened, 5 cannot be undone."""
        tasks = self.candidate.tasks
        if not self.reversible:
            return 5
        if any(task.opens_pickup for task in tasks):
            return 4
        if self.candidate.takes_out:
            return 3
        return 2 if any(task.solder for task in tasks) else 0 if self.free else 1


class Judge:
    """Judges the candidates of one job."""

    def __init__(self, bench: StateBench, job: Job, limits: Constraints) -> None:
        self.job, self.limits, self.bench = job, limits, bench
        self.estimator = Estimator(bench, job.base, job.pickup)
        self.before = self.estimator.before
        self.distance = Distance(bench, job, self.before) if job.partner else None
        self.bounds = Bounds(bench, job, limits, self.before)
        self._moves: dict[tuple[str, ...], float | None] = {}

    @property
    def apart_words(self) -> str:
        """What is computed of two pickups beside what was said of them; "" where they agree."""
        return self.distance.words if self.distance else ""

    def announced(self, candidates: tuple[Candidate, ...]) -> list[tuple[int, Guitar]]:
        """Announce every shape that will be wanted; return the order of work, with the guitar after each.

        First what needs no other shape, then what needs the probe. Another process makes the shapes one after the
        other: this one begins with the later half, from the end, and finds the earlier half made.
        """
        base = self.job.base.pickup(self.job.pickup)
        shapes = {anatomy(base): 0}
        of: list[int] = []
        estimated: list[bool] = []
        afters = [one.act(self.job.base) for one in candidates]
        for after in afters:
            solved = self.estimator.solved(after)
            estimated.append(self.estimator.is_estimated(after))
            of.append(shapes.setdefault(anatomy(solved.pickup(self.job.pickup)), len(shapes)))
            for attr in self.estimator.turned_rows(after):
                self.bench.solve_ahead(self.estimator.probed(attr), self.job.pickup)
            if of[-1]:
                self.bench.solve_ahead(solved, self.job.pickup)
        half = (len(shapes) + 2) // 2
        turn = {shape: place for place, shape in enumerate([0, *range(len(shapes) - 1, half - 1, -1), *range(1, half)])}
        order = sorted(range(len(candidates)), key=lambda number: (turn[of[number]], estimated[number]))
        return [(number, afters[number]) for number in order]

    def judge(
        self, candidate: Candidate, *, after: Guitar | None = None, exact: bool = False
    ) -> Judged | Refusal | None:
        """Return the candidate with its best use, a refusal, or None where it cannot be done.

        ``after`` is the guitar after it, where it is known already.
        """
        after = candidate.act(self.job.base) if after is None else after
        same = self._use("as it is" if candidate.swap else "", candidate, after, exact)
        level = self._at_level(candidate, after, exact) if candidate.swap and self.bounds.may_reset(candidate) else None
        asked = [use for use in (same, level) if use is not None]
        uses = [use for use in asked if not self.bounds.broken(candidate, use)]
        estimated = not exact and self.estimator.is_estimated(after)
        if not uses:
            reason = self.bounds.broken(candidate, asked[-1])
            return Refusal(change=candidate.texts, reason=reason, pickup=candidate.pickup)
        best = max(uses, key=lambda use: use.score.total + RESET * (use is level))
        return Judged(job=self.job, candidate=candidate, same=same, level=level, best=best, estimated=estimated)

    def _state(self, guitar: Guitar, exact: bool) -> State:
        return self.bench.state(guitar, self.job.pickup) if exact else self.estimator.state(guitar)

    def _use(self, kind: str, candidate: Candidate, guitar: Guitar, exact: bool) -> Use:
        state = self._state(guitar, exact)
        return Use(kind=kind, guitar=guitar, state=state, score=self._score(state, guitar, candidate))

    def screened(self, candidates: Iterable[Candidate], most: int) -> list[Candidate]:
        """Return the ``most`` best of candidates that move nothing but heights, none computed; none without heights."""
        found = []
        for one in candidates:
            after = one.act(self.job.base)
            if all(task.kind == "height" for task in one.tasks) and not self.estimator.is_estimated(after):
                found.append((self._score(self.estimator.screened(after), after, one).total, one))
        found = [pair for pair in sorted(found, key=lambda pair: -pair[0]) if pair[0] > 0.0]
        return [one for _, one in found[:most]]

    def score_of(self, guitar: Guitar, candidate: Candidate) -> Score:
        """Return how a guitar, after a change made for another complaint, answers this one."""
        return self._score(self._state(guitar, exact=False), guitar, candidate)

    def _score(self, state: State, guitar: Guitar, candidate: Candidate) -> Score:
        both = candidate.also is not None or any(KINDS[task.kind].shared for task in candidate.tasks)
        apart = self.distance.change(state, guitar, both_moved=both) if self.distance else None
        return score(self.job.aims, self.before, state, apart=apart)

    def _at_level(self, candidate: Candidate, after: Guitar, exact: bool) -> Use | None:
        """Re-set the gap to the old level, in steps of a height screw; None where that is not safe."""
        lowered = self._lowered(candidate, after)
        if lowered is None:
            return None
        if not lowered:
            return replace(self._use("re-set", candidate, after, exact), lowered=0.0)
        way = "lower" if lowered > 0 else "raise"
        then = parse_change(f"{way}={abs(lowered) * 1e3:.2f}mm")
        try:
            moved = apply(after, candidate.pickup, [then])
        except InputError:
            return None
        return replace(self._use("re-set", candidate, moved, exact), then=then, lowered=lowered)

    def _lowered(self, candidate: Candidate, after: Guitar) -> float | None:
        """Return the move for the bar alone; what is done beside it keeps that move."""
        bar = tuple(one.text for one in candidate.changes if one.key in ("magnet", "finish", "charge"))
        if bar not in self._moves:
            alone = apply(self.job.base, candidate.pickup, [parse_change(one) for one in bar])
            _, lowered = self.bench.regap(self.before, alone, candidate.pickup)
            steps = lowered / HEIGHT_STEP
            rounded = round(steps) if lowered > 0 else -floor(-steps + 1e-6)  # never nearer than was found safe
            self._moves[bar] = rounded * HEIGHT_STEP
        return self._moves[bar]


def judge_all(
    judge: Judge, candidates: tuple[Candidate, ...], progress: Callable[[], None],
    announced: Callable[[], None] | None = None, exact: Callable[[list[Judged]], None] | None = None,
) -> tuple[list[Judged], list[Refusal]]:  # fmt: skip
    """Judge every candidate of one job; what has another shape comes last, when another process may have made it.

    ``announced`` is called when all shapes are announced, before the first candidate is judged; ``exact`` with those
    judged before the first that is estimated, which takes another shape, or all.
    """
    found: dict[int, Judged | Refusal | None] = {}
    order = judge.announced(candidates)
    if announced is not None:
        announced()
    for number, after in order:
        if exact is not None and judge.estimator.is_estimated(after):
            exact(_in_turn(found))
            exact = None
        found[number] = judge.judge(candidates[number], after=after)
        progress()
    judged = _in_turn(found)
    if exact is not None:
        exact(judged)
    return judged, [one for _, one in sorted(found.items()) if isinstance(one, Refusal)]


def _in_turn(found: dict[int, Judged | Refusal | None]) -> list[Judged]:
    """Return what was judged in the order of the candidates."""
    return [one for _, one in sorted(found.items()) if isinstance(one, Judged)]
