"""The second process of a command: results, errors and its end, also in the middle of a result."""

import os
import time
from concurrent.futures import BrokenExecutor

import pytest

from polepiece.cli.second import SecondProcess, end_processes


@pytest.fixture
def second():
    one = SecondProcess()
    yield one
    one.end()


def test_it_answers_from_another_process_in_order(second):
    jobs = [second.submit(pow, 2, n) for n in range(5)]

    assert [job.result(timeout=30) for job in jobs] == [1, 2, 4, 8, 16]
    assert second.submit(os.getpid).result(timeout=30) != os.getpid()


def test_an_error_comes_back_to_who_asked(second):
    with pytest.raises(ZeroDivisionError):
        second.submit(divmod, 1, 0).result(timeout=30)


def test_what_has_not_begun_can_be_taken_back(second):
    running = second.submit(time.sleep, 1.0)
    waiting = second.submit(os.getpid)

    assert waiting.cancel()
    assert running.result(timeout=30) is None


def test_ended_while_it_hands_over_a_large_result_it_leaves_nobody_waiting(second):
    """A pool of the standard library waits for ever here: its listener is joined at exit."""
    second.submit(os.getpid).result(timeout=30)
    large = second.submit(bytes, 400_000_000)
    time.sleep(0.15)

    end_processes()

    with pytest.raises(BrokenExecutor):
        large.result(timeout=30)
        second.submit(os.getpid).result(timeout=30)
