"""A clock that was wrong: things happened in the order in which they were recorded, and it is said."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import permutations

import pytest

from polepiece.errors import InputError
from polepiece.guitar import Guitar
from polepiece.notebook import Notebook, check_notebook
from polepiece.notebook.clock import settled
from tests.unit.notebook.conftest import Clock


@pytest.mark.parametrize(
    ("moments", "counted"),
    [
        ("", ""),
        ("b", "b"),
        ("abbc", "abbc"),
        ("bac", "aac"),  # one of the two is wrong; the later entry is believed
        ("bcad", "bccd"),  # a battery was empty: it counts from the one before it
        ("azbc", "abbc"),  # a clock was ahead: it counts from when it was put right
        ("bcaad", "aaaad"),  # of two runs equally long the one with the latest entries
        ("bza", "bzz"),
    ],
)
def test_moments_in_the_order_of_recording(moments: str, counted: str) -> None:
    assert "".join(settled(list(moments))) == counted


def test_they_rise_whatever_the_clock_said() -> None:
    for one in permutations("abcde"):
        found = settled(one)
        assert found == sorted(found)
        assert sum(a == b for a, b in zip(one, found)) >= 1


def test_a_clock_without_a_battery(notebook: Notebook, guitar: Guitar, clock: Clock) -> None:
    entry = notebook.add_guitar(guitar)
    clock.now += timedelta(days=1)
    notebook.record(entry.id, replace(guitar, note="two"), why="two")
    today, clock.now = clock.now, datetime(1970, 1, 1, tzinfo=UTC)
    notebook.record(entry.id, replace(guitar, note="three"), why="three")
    (said,) = notebook.notices()
    assert "the clock went back: this state is dated 1970-01-01T00:01" in said
    clock.now = today + timedelta(days=2)
    notebook.record(entry.id, replace(guitar, note="four"), why="four")
    assert notebook.guitar_as_of(entry.id, today + timedelta(days=1)).note == "three"  # after two and before four
    assert "state 3 (dated 1970-01-01" in notebook.notices()[-1]
    assert check_notebook(notebook.path).faults == ()
    assert "state 3 is dated 1970" in check_notebook(notebook.path).remarks[0]


@pytest.mark.parametrize("year", [1, 1969, 2200, 9999])
def test_years_at_the_ends_of_the_calendar_are_not_written(notebook: Notebook, clock: Clock, year: int) -> None:
    clock.now = datetime(year, 6, 1, tzinfo=UTC)
    with pytest.raises(InputError, match="the notebook keeps 1970 to 2199"):
        notebook.write_note(None, "x")
    assert notebook.log() == []
