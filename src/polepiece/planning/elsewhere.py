"""Bars judged in another process, while this one judges what the hands can do."""

from concurrent.futures import BrokenExecutor, Future
from dataclasses import replace
from itertools import count

from polepiece.bench import Bench, Ear, ear_in_use, heard_by
from polepiece.kept import Kept
from polepiece.planning.candidates import Candidate, Refusal
from polepiece.planning.constraints import Constraints
from polepiece.planning.estimates import StateBench
from polepiece.planning.jobs import Job
from polepiece.planning.rows import Judge, Judged, judge_all

Found = tuple[list[Judged], list[Refusal]]
_NUMBER = count(1)
_JUDGES = Kept[int, Judge](4)
"""Of the other process: the judges that it has, each with the bars that it solved."""


def judged_there(
    number: int, bench: Bench, job: Job, limits: Constraints, candidates: tuple[Candidate, ...], ear: Ear | None
) -> Found:
    """Judge candidates of one job; what was solved for the job of this ``number`` is kept for its next call."""
    with heard_by(ear):
        judge = _JUDGES.get(number)
        if judge is None:
            _JUDGES[number] = judge = Judge(bench, job, limits)
        return judge_all(judge, candidates, lambda: None)


class Elsewhere:
    """The other process of a bench, where it has one, as the judge of one job's bars."""

    def __init__(self, bench: StateBench, job: Job, limits: Constraints) -> None:
        self.bench, self.job, self.limits, self.number = bench, job, limits, next(_NUMBER)
        self._asked: tuple[tuple[Candidate, ...], Future[Found]] | None = None
        self._has_bars = True

    def ask(self, candidates: tuple[Candidate, ...]) -> None:
        """Hand candidates over; nothing happens where there is no other process, or it has not solved their bars."""
        executor = self.bench.executor if isinstance(self.bench, Bench) else None
        if executor is None or not candidates or not self._has_bars:
            return
        assert isinstance(self.bench, Bench)
        given = (self.number, self.bench.alike(), self.job, self.limits, candidates, ear_in_use())
        self._asked = candidates, executor.submit(judged_there, *given)

    def fetched(self, candidates: tuple[Candidate, ...]) -> Found | None:
        """Return what was found of these; None where it was not asked, has not begun, or is gone: judge them here."""
        asked, self._asked = self._asked, None
        if asked is None or asked[0] != candidates or asked[1].cancel():
            self._has_bars = False
            return None
        try:
            judged, refused = asked[1].result()
        except BrokenExecutor:
            self._has_bars = False
            return None
        return [replace(one, job=self.job) for one in judged], refused
