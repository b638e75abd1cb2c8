"""A guitar is a chain of states: nothing is overwritten, and undoing is one more state."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from polepiece.errors import ChangedMeanwhileError, InputError, NotebookError
from polepiece.guitar import Guitar
from polepiece.moves import apply, parse_changes
from polepiece.notebook import Notebook, Place, open_notebook
from tests.unit.notebook.conftest import Clock


def test_a_guitar_comes_back_as_it_was_given(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar, name="number 12")
    assert notebook.guitar(entry.id) == guitar
    assert (entry.name, entry.states) == ("number 12", 1)
    assert notebook.guitars() == [entry]


def test_a_number_too_large_for_the_file_is_refused_in_words(notebook: Notebook) -> None:
    for asked in (notebook.states, notebook.guitar, notebook.state):
        with pytest.raises(NotebookError, match="Was a digit typed twice"):
            asked(10**23)


def test_a_record_follows_the_last_state(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    lowered = apply(guitar, "neck", parse_changes(["lower=0.5mm"]))
    made = notebook.record(entry.id, lowered, why="neck lowered", expect=entry.state_id)
    assert made.parent_id == entry.state_id
    assert notebook.guitar(entry.id) == lowered
    first, last = notebook.states(entry.id)
    assert (first.why, last.why) == ("first entry", "neck lowered")
    assert last == made
    assert last.provenance["version"]
    assert str(last.provenance["constants"]).startswith("sha256:")


def test_a_state_made_from_an_older_one_is_refused_and_nothing_is_written(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    notebook.record(entry.id, replace(guitar, note="in the other window"), why="other window", expect=entry.state_id)
    with pytest.raises(ChangedMeanwhileError, match="other window"):
        notebook.record(entry.id, guitar, why="this window", expect=entry.state_id)
    assert len(notebook.states(entry.id)) == 2


def test_as_it_was_on_a_day(notebook: Notebook, guitar: Guitar, clock: Clock) -> None:
    entry = notebook.add_guitar(guitar)
    clock.now += timedelta(days=30)
    notebook.record(entry.id, replace(guitar, note="later"), why="later")
    assert notebook.guitar_as_of(entry.id, datetime(2026, 3, 20, tzinfo=UTC)).note == ""
    assert notebook.guitar_as_of(entry.id, datetime(2026, 6, 1, tzinfo=UTC)).note == "later"
    assert notebook.state_as_of(entry.id, entry.created).id == entry.state_id  # the moment itself counts
    with pytest.raises(NotebookError, match="came on record at 2026-03-03"):
        notebook.guitar_as_of(entry.id, datetime(2026, 3, 1, tzinfo=UTC))
    with pytest.raises(InputError, match="time zone"):
        notebook.guitar_as_of(entry.id, datetime(2026, 6, 1))


def test_undo_walks_back_redo_walks_forward_and_all_of_it_stays(notebook: Notebook, guitar: Guitar) -> None:
    one, two, three = (replace(guitar, note=word) for word in ("one", "two", "three"))
    entry = notebook.add_guitar(one)
    notebook.record(entry.id, two, why="two")
    notebook.record(entry.id, three, why="three")
    assert notebook.can_step(entry.id) == (True, False)
    notebook.undo(entry.id)
    assert notebook.guitar(entry.id) == two
    notebook.undo(entry.id)
    assert notebook.guitar(entry.id) == one
    with pytest.raises(NotebookError, match="first entered"):
        notebook.undo(entry.id)
    notebook.redo(entry.id)
    assert notebook.guitar(entry.id) == two
    notebook.redo(entry.id)
    assert notebook.guitar(entry.id) == three
    with pytest.raises(NotebookError, match="no undo left"):
        notebook.redo(entry.id)
    states = notebook.states(entry.id)
    assert [one.act for one in states] == ["entry", "record", "record", "undo", "undo", "redo", "redo"]
    assert [one.parent_id for one in states] == [None, *(one.id for one in states[:-1])]


def test_after_a_record_there_is_nothing_to_redo(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    notebook.record(entry.id, replace(guitar, note="a"), why="a")
    notebook.undo(entry.id)
    notebook.record(entry.id, replace(guitar, note="b"), why="b")
    assert notebook.can_step(entry.id) == (True, False)
    with pytest.raises(NotebookError, match="nothing to redo"):
        notebook.redo(entry.id)
    notebook.undo(entry.id)  # to what was before "b": the first entry
    assert notebook.guitar(entry.id) == guitar


def test_texts_of_every_script_come_back(notebook: Notebook, guitar: Guitar) -> None:
    words = "Grüße, ギター, גיטרה, 𝄞, e\u0301 against é, \u2028 and \"quotes\" 'single' -- ; DROP TABLE states"
    entry = notebook.add_guitar(replace(guitar, note=words), name=words, why=words)
    assert notebook.guitar(entry.id).note == words
    assert notebook.guitars()[0].name == words
    assert notebook.states(entry.id)[0].why == words


@pytest.mark.parametrize(
    ("why", "words"),
    [
        ("", "is empty"),
        (" \n", "is empty"),
        ("x" * 501, "at most 500"),
        ("a\0b", "null"),
        ("\ud800", "surrogate"),
        ("neck \u202ew", "turns writing round \\(U\\+202E\\)"),
    ],
)
def test_a_reason_that_cannot_be_kept_is_refused(notebook: Notebook, guitar: Guitar, why: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        notebook.add_guitar(guitar, why=why)
    assert notebook.guitars() == []


def test_a_guitar_that_is_not_there(notebook: Notebook, guitar: Guitar) -> None:
    for ask in (notebook.guitar, notebook.states, notebook.undo, notebook.predictions, notebook.jobs, notebook.log):
        with pytest.raises(NotebookError, match=r"no guitar 99.*none yet"):
            ask(99)
    notebook.add_guitar(guitar)
    with pytest.raises(NotebookError, match="it has: 1"):
        notebook.record(99, guitar, why="x")


def test_a_guitar_is_found_by_number_name_or_beginning(notebook: Notebook, guitar: Guitar) -> None:
    one = notebook.add_guitar(guitar, name="Red archtop")
    two = notebook.add_guitar(guitar, name="Red solid")
    assert notebook.find_guitar(str(one.id)) == one
    assert notebook.find_guitar("red SOLID") == two
    assert notebook.find_guitar("red a") == one
    with pytest.raises(NotebookError, match="any of several"):
        notebook.find_guitar("red")
    with pytest.raises(NotebookError, match="there is no guitar 'blue'"):
        notebook.find_guitar("blue")


def test_a_clock_without_a_time_zone_is_refused(place: Place, guitar: Guitar) -> None:
    with (
        open_notebook(place, clock=lambda: datetime(2026, 1, 1)) as notebook,
        pytest.raises(InputError, match="time zone"),
    ):
        notebook.add_guitar(guitar)


def test_a_clock_that_was_set_back_does_not_reorder_the_history(
    notebook: Notebook, guitar: Guitar, clock: Clock
) -> None:
    """The order is that of recording; a look back takes the last state whose own clock says it was there by then."""
    entry = notebook.add_guitar(guitar)
    clock.now += timedelta(days=400)
    notebook.record(entry.id, replace(guitar, note="with the clock a year ahead"), why="ahead")
    clock.now -= timedelta(days=390)
    notebook.record(entry.id, replace(guitar, note="clock mended"), why="mended")
    assert [one.why for one in notebook.states(entry.id)] == ["first entry", "ahead", "mended"]
    assert notebook.guitar(entry.id).note == "clock mended"
    assert notebook.guitar_as_of(entry.id, clock.now).note == "clock mended"
    assert notebook.guitar_as_of(entry.id, clock.now - timedelta(days=5)).note == ""


def test_a_state_is_read_once_and_another_one_anew(notebook: Notebook, guitar: Guitar) -> None:
    entry = notebook.add_guitar(guitar)
    first = notebook.guitar(entry.id)
    assert notebook.guitar(entry.id) is first
    notebook.record(entry.id, replace(guitar, note="lowered"), why="neck lowered")
    assert (notebook.guitar(entry.id).note, first.note) == ("lowered", guitar.note)
