"""Copies of the notebook: made by themselves once a day, whole, no more than are said, and they can be put back."""

import stat
from datetime import timedelta
from pathlib import Path
from typing import NamedTuple

import pytest

from polepiece.errors import DamagedNotebookError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import (
    KEPT_DAILY,
    Notebook,
    backup_to,
    backups_of,
    check_notebook,
    open_notebook,
    restore,
)
from polepiece.notebook import backups as rooms
from tests.unit.notebook.conftest import FILE, Clock
from tests.unit.notebook.test_chain import without_triggers


def names(path: Path) -> list[str]:
    return [one.name for one in backups_of(path)]


def test_the_first_entry_of_a_day_makes_one_copy(notebook: Notebook, clock: Clock) -> None:
    notebook.write_note(None, "first day")
    notebook.write_note(None, "still the first day")
    assert names(notebook.path) == []  # nothing older than today to keep
    clock.now += timedelta(days=1)
    for words in ("second day", "still the second day"):
        notebook.write_note(None, words)
    assert names(notebook.path) == ["2026-03-04.sqlite"]
    (copy,) = backups_of(notebook.path)
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    assert check_notebook(copy).faults == ()
    with open_notebook(copy) as book:
        assert [one.words for one in book.log()] == ["first day", "still the first day", "second day"]


def test_as_many_as_are_said_are_kept(notebook: Notebook, clock: Clock) -> None:
    for _ in range(KEPT_DAILY + 3):
        clock.now += timedelta(days=1)
        notebook.write_note(None, "x")
    assert len(names(notebook.path)) == KEPT_DAILY
    assert names(notebook.path)[-1] == "2026-03-13.sqlite"


@FILE
def test_a_damaged_notebook_pushes_no_good_copy_out(notebook: Notebook, clock: Clock) -> None:
    notebook.write_note(None, "one")
    clock.now += timedelta(days=1)
    notebook.write_note(None, "two")
    without_triggers(notebook.path, "UPDATE notes SET text = 'x' WHERE id = 1")
    clock.now += timedelta(days=1)
    notebook.write_note(None, "three")  # it is kept all the same
    assert names(notebook.path) == ["2026-03-04.sqlite"]
    assert "is damaged (entry 1: it does not say what was sealed); no backup was made" in notebook.notices()[0]


class Disk(NamedTuple):
    total: int
    used: int
    free: int


@FILE
def test_a_full_disk_fails_no_entry(notebook: Notebook, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    notebook.write_note(None, "one")
    clock.now += timedelta(days=1)
    monkeypatch.setattr(rooms.shutil, "disk_usage", lambda _: Disk(1000, 1000, 0))
    notebook.write_note(None, "two")
    assert len(notebook.log()) == 2
    assert "little room left" in notebook.notices()[0]
    assert names(notebook.path) == []


@FILE
def test_a_copy_on_demand(notebook: Notebook, tmp_path: Path, guitar: Guitar) -> None:
    notebook.add_guitar(guitar)
    out = backup_to(notebook.path, tmp_path / "copy.sqlite")  # while it is open
    notebook.write_note(None, "later")
    with open_notebook(out) as book:
        assert [one.kind for one in book.log()] == ["state"]
        assert book.guitar(1) == guitar
    for path, words in ((out, "is there already"), (tmp_path, "is a folder"), (notebook.path, "is there already")):
        with pytest.raises(NotebookError, match=words):
            backup_to(notebook.path, path)
    with pytest.raises(NotebookError, match="the notebook itself"):
        backup_to(notebook.path, notebook.path, replace=True)
    backup_to(notebook.path, out, replace=True)
    with open_notebook(out) as book:
        assert len(book.log()) == 2
    with pytest.raises(NotebookError, match="cannot be written"):
        backup_to(notebook.path, tmp_path / "none" / "copy.sqlite")


@FILE
def test_a_copy_is_put_back_and_what_was_there_is_kept(notebook: Notebook, tmp_path: Path, clock: Clock) -> None:
    notebook.write_note(None, "one")
    clock.now += timedelta(days=1)
    notebook.write_note(None, "two")
    notebook.write_note(None, "three")
    notebook.close()
    without_triggers(notebook.path, "UPDATE notes SET text = 'x' WHERE id = 1")
    with pytest.raises(DamagedNotebookError):
        open_notebook(notebook.path)
    damaged = notebook.path.read_bytes()
    aside = restore(notebook.path, backups_of(notebook.path)[0])
    assert aside is not None
    assert aside.read_bytes() == damaged
    with open_notebook(notebook.path, clock=clock) as book:  # the note of the end does not stand in its way
        assert [one.words for one in book.log()] == ["one", "two"]
        book.write_note(None, "and it goes on")
    assert check_notebook(notebook.path).faults == ()
    with pytest.raises(NotebookError, match="no such file"):
        restore(notebook.path, tmp_path / "none.sqlite")
    with pytest.raises(NotebookError, match="is damaged"):
        restore(notebook.path, aside)
    with open_notebook(notebook.path) as book:
        assert len(book.log()) == 3
