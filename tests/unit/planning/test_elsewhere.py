"""Bars that another process judges come out as they would here; where there is none, they are judged here."""

import pickle
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Executor, Future
from pathlib import Path
from typing import Any

import pytest

from polepiece.bench import Bench, coarse_bench
from polepiece.guitar import read_guitar
from polepiece.planning import elsewhere
from polepiece.planning.candidates import Candidate, enumerate_candidates
from polepiece.planning.complaints import parse_complaints
from polepiece.planning.constraints import Constraints
from polepiece.planning.elsewhere import Elsewhere
from polepiece.planning.jobs import Job, jobs_of
from polepiece.planning.rows import Judge, judge_all

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
SAME = 1e-6  # of a score: a magnet solved from another start agrees within the tolerance of its solution


class OtherProcess(Executor):
    """What is asked and answered goes through a pickle, as between processes; or the process dies."""

    def __init__(self, *, begins: bool = True, dies: bool = False) -> None:
        self.begins, self.dies = begins, dies

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> "Future[Any]":
        future: Future[Any] = Future()
        if self.begins:
            future.set_running_or_notify_cancel()
            if self.dies:
                future.set_exception(BrokenExecutor("gone"))
            else:
                found = fn(*pickle.loads(pickle.dumps(args)), **kwargs)
                future.set_result(pickle.loads(pickle.dumps(found)))
        return future


def asked(name: str = "two-bar-single", complaint: str = "piercing") -> tuple[Job, tuple[Candidate, ...]]:
    guitar = read_guitar(EXAMPLES / f"{name}.guitar.toml")
    (job,) = jobs_of(guitar, parse_complaints([complaint], guitar))
    swaps = [one for one in enumerate_candidates(job.base, job.pickup, Constraints()).candidates if one.swap]
    return job, tuple(swaps[:1] + swaps[-1:])


def on_bench(executor: Executor | None) -> Bench:
    bench = coarse_bench()
    bench.executor = executor
    return bench


def test_bars_come_back_as_they_are_judged_here() -> None:
    job, bars = asked()
    there = Elsewhere(on_bench(OtherProcess()), job, Constraints())
    there.ask(bars)
    found = there.fetched(bars)
    assert found is not None
    here, refused = judge_all(Judge(coarse_bench(), job, Constraints()), bars, lambda: None)
    assert [one.candidate for one in found[0]] == [one.candidate for one in here] and found[1] == refused
    assert [one.total for one in found[0]] == pytest.approx([one.total for one in here], rel=SAME)
    assert all(one.job is job for one in found[0])  # rows look for their job by identity


@pytest.mark.parametrize("other", [None, OtherProcess(begins=False), OtherProcess(dies=True)])
def test_what_no_other_process_answers_is_judged_here(other: Executor | None) -> None:
    job, bars = asked()
    there = Elsewhere(on_bench(other), job, Constraints())
    there.ask(bars)
    assert there.fetched(bars) is None
    there.bench = on_bench(OtherProcess())
    there.ask(bars)
    assert there.fetched(bars) is None  # a process without their magnets would solve them a second time


def test_solved_bars_are_kept_for_the_pairs_of_the_same_job(monkeypatch: pytest.MonkeyPatch) -> None:
    job, bars = asked()
    made: list[Judge] = []

    def counted(*arguments: Any) -> Judge:
        made.append(Judge(*arguments))
        return made[-1]

    monkeypatch.setattr(elsewhere, "Judge", counted)
    there = Elsewhere(on_bench(OtherProcess()), job, Constraints())
    for one in bars:
        there.ask((one,))
        assert there.fetched((one,)) is not None
    assert len(made) == 1
