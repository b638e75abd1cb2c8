"""The second process of a command: results, errors and its end, also in the middle of a result."""

import os
import time
from concurrent.futures import BrokenExecutor

import pytest

from polepiece.cli.second import SecondProcess, end_processes

SOON = 240  # s: a process begins with its imports, on a busy machine in half a minute


@pytest.fixture
def second():
    one = SecondProcess()
    yield one
    one.end()


def test_it_answers_from_another_process_in_order(second):
    jobs = [second.submit(pow, 2, n) for n in range(5)]

    assert [job.result(timeout=SOON) for job in jobs] == [1, 2, 4, 8, 16]
    assert second.submit(os.getpid).result(timeout=SOON) != os.getpid()


def test_one_that_has_not_begun_starts_with_its_first_job():
    later = SecondProcess(begun=False)
    try:
        assert not later.alive
        assert later.pid == 0
        assert later.submit(pow, 2, 3).result(timeout=SOON) == 8
        assert later.alive
    finally:
        later.end()
    SecondProcess(begun=False).end()  # one that never began ends as well


def test_an_error_comes_back_to_who_asked(second):
    with pytest.raises(ZeroDivisionError):
        second.submit(divmod, 1, 0).result(timeout=SOON)


def test_what_cannot_be_sent_is_said_and_the_next_job_is_done(second):
    """Neither a question nor an answer that cannot be pickled may leave anybody waiting."""
    question, answer = second.submit(lambda: 1), second.submit(compile, "0", "text", "eval")
    unreadable = second.submit(_fails_in_two_words)

    for job in (question, answer, unreadable):
        with pytest.raises(Exception, match=r"pickle|argument"):
            job.result(timeout=SOON)
    assert second.submit(pow, 2, 3).result(timeout=SOON) == 8


class _TwoWords(Exception):
    """An error that a pickle holds and nobody can read: it wants two arguments and hands on one."""

    def __init__(self, one: str, other: str) -> None:
        super().__init__(f"{one} {other}")


def _fails_in_two_words() -> None:
    raise _TwoWords("one", "other")


def test_what_has_not_begun_can_be_taken_back(second):
    running = second.submit(time.sleep, 1.0)
    waiting = second.submit(os.getpid)

    assert waiting.cancel()
    assert running.result(timeout=SOON) is None


def test_ended_while_it_hands_over_a_large_result_it_leaves_nobody_waiting(second):
    """A pool of the standard library waits for ever here: its listener is joined at exit."""
    second.submit(os.getpid).result(timeout=SOON)
    large = second.submit(bytes, 400_000_000)
    time.sleep(0.15)

    end_processes()

    with pytest.raises(BrokenExecutor):
        large.result(timeout=SOON)
        second.submit(os.getpid).result(timeout=SOON)
