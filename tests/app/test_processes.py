"""The processes beside the server: the newest question wins, jobs report, stop and die in words, and come again."""

import asyncio
import multiprocessing
import os
import signal
import time
from collections.abc import AsyncIterator, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from polepiece.app.server.jobs import Job, Jobs, Progress, Stopped
from polepiece.app.server.live import Live
from polepiece.app.server.processes import WorkerDied, context, end, start
from polepiece.app.server.worker import Answer
from polepiece.bench import Bench
from polepiece.errors import InputError
from polepiece.guitar import Guitar, read_guitar
from polepiece.moves import apply, parse_changes
from polepiece.notebook import open_notebook
from polepiece.pickup.engine import COARSE
from tests.app import what_is_loaded
from tests.app.conftest import DEMO, application


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return read_guitar(DEMO)


@pytest.fixture
def live() -> Iterator[Live]:
    one = Live()
    yield one
    one.close()


@pytest.fixture
async def jobs() -> AsyncIterator[Jobs]:
    one = Jobs(at_once=1)
    yield one
    one.close()


async def test_it_answers_what_the_bench_says(live: Live, guitar: Guitar) -> None:
    lowered = apply(guitar, "neck", parse_changes(["lower=0.3mm"]))
    first: Answer = await live.ask("a", "state", guitar, "neck")
    assert first.state is None  # a geometry that was never solved is not for the quick process
    await live.ask("a", "state", guitar, "neck", True)
    answer: Answer = await live.ask("a", "state", lowered, "neck")
    assert answer.exact
    assert answer.state is not None
    same = Bench(resolution=COARSE).state(lowered, "neck")  # the same code
    assert answer.state.level_db == pytest.approx(same.level_db, abs=1e-9)


async def test_turned_screws_are_not_answered_as_if_they_were_not(live: Live, guitar: Guitar) -> None:
    await live.ask("a", "state", guitar, "neck", True)
    turned = apply(guitar, "neck", parse_changes(["screw3=up 0.5 turn"]))
    near: Answer = await live.ask("a", "state", turned, "neck")
    assert near.state is None and not near.exact and near.turned
    answer: Answer = await live.ask("a", "turned", turned, "neck")
    bench = Bench(resolution=COARSE)
    bench.state(guitar, "neck")
    exact = bench.state(turned, "neck")
    assert answer.exact and answer.state is not None
    assert answer.state.level_db == pytest.approx(exact.level_db, abs=1e-6)
    assert answer.state.string_balance_db == pytest.approx(exact.string_balance_db, abs=1e-6)
    assert bench.state(guitar, "neck").string_balance_db != pytest.approx(exact.string_balance_db, abs=1e-3)
    many = apply(guitar, "neck", parse_changes([f"screw{k}=up {k}/8 turn" for k in range(1, 5)]))
    assert (await live.ask("a", "state", many, "neck")).turned


async def test_only_the_newest_question_of_a_lane_is_sent(live: Live) -> None:
    await live.warm()
    asked = [asyncio.ensure_future(live.ask("drag", "alive")) for _ in range(20)]
    other = asyncio.ensure_future(live.ask("other lane", "alive"))
    answers = await asyncio.gather(*asked)
    assert answers[-1] is True
    assert answers.count(None) >= 18  # the first may have been on its way already
    assert await other is True


async def test_what_it_refuses_comes_back_in_its_own_words(live: Live, guitar: Guitar) -> None:
    with pytest.raises(InputError, match="no pickup called 'tail'"):
        await live.ask("a", "state", guitar, "tail")
    assert await live.ask("a", "alive") is True


async def test_when_it_is_killed_it_says_so_and_comes_again(live: Live) -> None:
    await live.warm()
    assert live._process is not None
    assert live._process.pid is not None
    os.kill(live._process.pid, signal.SIGKILL)
    with pytest.raises(WorkerDied, match="stopped unexpectedly"):
        await live.ask("a", "alive")
        await live.ask("a", "alive")  # the first may find it dead before it asks, and start another
        raise WorkerDied("stopped unexpectedly: found dead before it was asked, which is as good")
    assert await live.ask("a", "alive") is True


async def test_it_ends_as_a_process_that_was_not_killed(live: Live) -> None:
    """Only then its locks are given back; else Python warns of leaked semaphores when the server has gone."""
    await live.warm()
    process = live._process
    assert process is not None
    live.close()
    assert process.exitcode == 0


@pytest.mark.skipif("forkserver" not in multiprocessing.get_all_start_methods(), reason="nothing is warm here")
def test_a_process_begins_with_solver_and_compiler_and_no_threads_of_its_loops() -> None:
    """Loading them took half a second of each; loops over threads are begun by the process itself."""
    assert context().get_start_method() == "forkserver"
    process, line = start(what_is_loaded.tell, name="told")
    there, compiled, threads = line.recv()
    end(process)
    assert there == ["numba", "scipy.linalg", "scipy.signal"]
    assert compiled and not threads


async def test_a_job_reports_and_ends(jobs: Jobs) -> None:
    seen: list[Progress] = []
    job = jobs.run("sleep", 0.5, on_progress=seen.append)
    assert await job == "rested"
    assert seen[0].words == "starting"
    assert (seen[-1].total, seen[-1].words) == (5, "waiting")
    assert not job.running


async def test_a_stopped_job_is_gone_at_once(jobs: Jobs) -> None:
    job = jobs.run("sleep", 3600)
    await _begun(job)
    process = job._process
    assert process is not None
    before = time.monotonic()
    job.stop()
    with pytest.raises(Stopped, match="Nothing was changed"):
        await job
    await asyncio.to_thread(process.join, 60)
    assert not process.is_alive()
    assert time.monotonic() - before < 600  # of the hour that it wanted


async def test_the_next_job_waits_its_turn_and_can_be_stopped_while_it_waits(jobs: Jobs) -> None:
    first, second, third = (jobs.run("sleep", seconds) for seconds in (60, 60, 0.1))
    await _begun(first)
    assert second.progress.words == "waiting for another job to end"
    second.stop()
    first.stop()
    assert await third == "rested"


async def test_a_job_that_dies_says_so_and_the_next_runs(jobs: Jobs) -> None:
    with pytest.raises(WorkerDied, match=r"exit code 9.*lost"):
        await jobs.run("fall")
    assert await jobs.run("sleep", 0.1) == "rested"


async def test_a_job_refuses_in_words(jobs: Jobs, guitar: Guitar) -> None:
    with pytest.raises(InputError, match="there is no lever 'magnit'"):
        await jobs.run("predict", guitar, "neck", ["magnit=alnico-3"])


async def test_a_warm_process_does_one_job_after_the_other_and_a_stopped_one_is_ended() -> None:
    warm = Jobs(at_once=1, warm=True)
    try:
        first, second = warm.run("sleep", 0.1), warm.run("sleep", 0.1)
        assert (await first, await second) == ("rested", "rested")
        assert first._process is second._process is not None
        with pytest.raises(InputError, match="there is no lever"):
            await warm.run("predict", read_guitar(DEMO), "neck", ["magnit=alnico-3"])
        third = warm.run("sleep", 60)
        await _begun(third)
        assert third._process is first._process  # a refusal has not ended it
        third.stop()
        with pytest.raises(Stopped):
            await third
        with pytest.raises(WorkerDied):
            await warm.run("fall")
        fourth = warm.run("sleep", 0.1)
        assert await fourth == "rested"
        assert fourth._process is not first._process
    finally:
        warm.close()


async def _begun(job: Job) -> None:
    for _ in range(12_000):  # four minutes: a process begins with its imports
        if job.progress.words == "waiting" and job.progress.total:
            return
        await asyncio.sleep(0.02)
    raise AssertionError("the job did not begin")


async def test_a_job_that_cannot_begin_ends_in_words_and_gives_its_place_up(
    jobs: Jobs, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none_left(*_: object, **__: object) -> None:
        raise OSError("no more processes")

    with monkeypatch.context() as patched:
        patched.setattr("polepiece.app.server.processes.start", none_left)
        job = jobs.run("predict")
        with pytest.raises(WorkerDied, match=r"could not begin .* try again"):
            await asyncio.wait_for(job, 240)
    assert not jobs._running


async def test_a_page_that_is_gone_does_not_stop_the_work_or_hold_the_place(jobs: Jobs) -> None:
    def closed(_: Progress) -> None:
        raise RuntimeError("the tab is closed")

    job = jobs.run("sleep", 0.3, on_progress=closed)
    assert await asyncio.wait_for(job, 240) == "rested"
    assert not jobs._running


async def test_the_guitar_that_was_changed_last_is_solved_before_anybody_asks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[Any, ...]] = []
    begun = asyncio.Event()

    async def ask(_: Live, *words: Any) -> None:
        asked.append(words)
        begun.set()

    monkeypatch.setattr(Live, "ask", ask)
    book = tmp_path / "notebook.sqlite"
    with open_notebook(book) as notebook:
        notebook.add_guitar(read_guitar(DEMO), why="came in")
        other = replace(read_guitar(DEMO), name="came in later")
        notebook.add_guitar(other, why="came in later")
    async with application(book, ahead=True):
        await asyncio.wait_for(begun.wait(), 240.0)
    ((lane, what, guitar, pickup, solved),) = asked
    assert (lane, what, guitar.name, solved) == ("warm", "state", "came in later", True)
    assert pickup in [one.name for one in other.pickups]
