"""What surrounds a notebook: links, full and read-only disks, another program's lock, clocks, names."""

import errno
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from importlib import import_module
from pathlib import Path
from typing import Any
from unicodedata import normalize

import pytest

from polepiece.errors import DamagedNotebookError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import (
    Notebook,
    Place,
    backup_to,
    backups_of,
    check_notebook,
    export_notebook,
    import_archive,
    notebook_path,
    open_notebook,
    read_notebook,
    rescue,
    restore,
)
from polepiece.notebook import backups as rooms
from tests.unit.notebook.conftest import FILE, Clock
from tests.unit.notebook.test_chain import without_triggers


@FILE
def test_a_link_leads_to_one_notebook(notebook: Notebook, tmp_path: Path) -> None:
    link = tmp_path / "elsewhere" / "linked.sqlite"
    link.parent.mkdir()
    link.symlink_to(notebook.path)
    with open_notebook(link) as book:
        book.write_note(None, "by the link")
        found = check_notebook(link)  # while it is open: its last entry is in the log beside the file
        assert (found.faults, found.whole, found.noted) == ((), 1, True)
        assert rescue(link, tmp_path / "saved.sqlite").kept == 1
        copy = backup_to(link, tmp_path / "copy.sqlite")
        book.write_note(None, "and one more")
    assert [one.name for one in link.parent.iterdir()] == ["linked.sqlite"]
    notebook.close()
    restore(link, copy)
    assert link.is_symlink()
    for place in (link, notebook.path):
        with open_notebook(place) as book:
            assert [one.words for one in book.log()] == ["by the link"]


@FILE
def test_a_rescue_on_a_full_disk_leaves_nothing_and_can_be_tried_again(
    notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook.write_note(None, "x")
    out = tmp_path / "saved" / "n.sqlite"
    out.parent.mkdir()

    def full(*_: Any) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    def full_at_once(path: Path) -> None:
        for end in ("", "-wal"):
            path.with_name(path.name + end).write_bytes(b"begun")
        raise NotebookError("the disk is full")

    saving = import_module("polepiece.notebook.rescue")
    for name, does in (("seal", full), ("open_engine", full_at_once)):
        with monkeypatch.context() as patched:
            patched.setattr(saving, name, does)
            with pytest.raises(NotebookError, match="the disk is full"):
                rescue(notebook.path, out)
        assert list(out.parent.iterdir()) == []
    assert rescue(notebook.path, out).kept == 1


_GOES = """
import os, sys
from polepiece.errors import NotebookError
from polepiece.notebook import open_notebook
book, kept = open_notebook(sys.argv[1]), 0
for k in range(5):
    book.write_note(None, f"line {k}")
    print(k, flush=True)
away = os.open(os.devnull, os.O_RDONLY)
for one in os.listdir("/proc/self/fd"):
    if os.path.exists(f"/proc/self/fd/{one}") and os.readlink(f"/proc/self/fd/{one}").endswith("-wal"):
        os.dup2(away, int(one))
try:
    book.write_note(None, "into nothing")
    print("kept", flush=True)
except NotebookError as error:
    print(error, flush=True)
os._exit(0)
"""


@FILE
@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="open files are not told here")
def test_a_disk_that_goes_away_in_the_middle(place: Path) -> None:
    """As a network folder goes: what is open takes nothing any more. What was acknowledged is there when it is back."""
    found = subprocess.run([sys.executable, "-c", _GOES, str(place)], capture_output=True, text=True, check=True)
    *acknowledged, said = found.stdout.splitlines()
    assert acknowledged == ["0", "1", "2", "3", "4"]
    assert "cannot be read or written to any more" in said and "What was not acknowledged is not in it" in said
    with open_notebook(place) as book:
        assert [one.words for one in book.log()] == [f"line {k}" for k in range(5)]
    assert check_notebook(place).faults == ()


@FILE
def test_no_room_for_a_copy_is_said_as_that(notebook: Notebook, monkeypatch: pytest.MonkeyPatch) -> None:
    notebook.write_note(None, "x")
    without_triggers(notebook.path, "UPDATE notes SET text = 'y'")

    def full(*_: Any) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(shutil, "copyfile", full)
    with pytest.raises(NotebookError, match=r"there is no room for one in .*TMPDIR=FOLDER"):
        check_notebook(notebook.path)
    with pytest.raises(DamagedNotebookError, match=r"does not say what was sealed.*cannot be shown: .*no room"):
        read_notebook(notebook.path)


@FILE
def test_a_file_that_is_written_to_while_it_is_copied_is_copied_again(
    notebook: Notebook, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is in the log moves into the file between the two copies: together they would hold neither."""
    for k in range(3):
        notebook.write_note(None, f"line {k}")
    real, left = shutil.copyfile, [1]

    def copied(source: Path, target: Path) -> None:
        real(source, target)
        if left and source == notebook.path:
            left.pop()
            with closing(sqlite3.connect(source)) as other:
                other.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()

    monkeypatch.setattr(shutil, "copyfile", copied)
    found = check_notebook(notebook.path)
    assert (found.faults, found.whole, left) == ((), 3, [])


@FILE
def test_a_copy_does_not_wait_for_ever_for_another_program(
    notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook.write_note(None, "x")
    notebook.close()
    monkeypatch.setattr(rooms, "BUSY_S", 0.05)
    with closing(sqlite3.connect(notebook.path, isolation_level=None)) as holder:
        holder.execute("PRAGMA locking_mode = EXCLUSIVE")
        holder.execute("BEGIN EXCLUSIVE")
        with pytest.raises(NotebookError, match="is held by another program"):
            backup_to(notebook.path, tmp_path / "copy.sqlite")
    assert list(tmp_path.glob("*copy*")) == []


@FILE
def test_a_notebook_on_a_disk_that_is_read_only_can_be_copied_elsewhere(
    notebook: Notebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    notebook.write_note(None, "x")
    real = rooms._copy_pages

    def copied(path: Path, target: sqlite3.Connection) -> None:
        if path == notebook.path:  # what SQLite says where it may make no file beside it
            raise sqlite3.OperationalError("attempt to write a readonly database")
        real(path, target)

    monkeypatch.setattr(rooms, "_copy_pages", copied)
    assert check_notebook(backup_to(notebook.path, tmp_path / "copy.sqlite")).whole == 1


@FILE
@pytest.mark.parametrize("years", [-2, 70])
def test_a_clock_that_was_wrong_for_a_week_stops_no_copies(
    notebook: Notebook, clock: Clock, monkeypatch: pytest.MonkeyPatch, years: int
) -> None:
    """Set right again, the copies of the right days are kept, and those made meanwhile go."""

    kept_daily = 3
    monkeypatch.setattr(rooms, "KEPT_DAILY", kept_daily)

    def days(count: int) -> None:
        for _ in range(count):
            clock.now += timedelta(days=1)
            notebook.write_note(None, "x")

    days(kept_daily + 2)
    right = clock.now
    clock.now = right.replace(year=right.year + years)
    days(kept_daily + 2)
    wrong = clock.now
    newest = f"{wrong:%Y-%m-%d}.sqlite"
    assert newest in [one.name for one in backups_of(notebook.path)]
    clock.now = right + timedelta(days=kept_daily + 2)
    days(kept_daily)
    kept = [one.name for one in backups_of(notebook.path)]
    assert len(kept) == kept_daily
    assert f"{clock.now:%Y-%m-%d}.sqlite" in kept
    assert sum(one.startswith(f"{wrong.year}") for one in kept) <= 1


def test_two_benches_whose_clocks_are_an_hour_apart(place: Place, guitar: Guitar) -> None:
    now = [datetime(2026, 3, 3, 9, tzinfo=UTC)]

    def clock(ahead: timedelta) -> Any:
        return lambda: now[0] + ahead

    with (
        open_notebook(place, clock=clock(timedelta(hours=1))) as fast,
        open_notebook(place, clock=clock(timedelta())) as slow,
    ):
        entry = fast.add_guitar(guitar)
        for k, book in enumerate((slow, fast, slow, fast, slow)):
            now[0] += timedelta(minutes=10)
            book.record(entry.id, guitar, why=f"step {k}")
        for book in (fast, slow):
            told = [one.words.rpartition(": ")[2] for one in book.log()]
            assert told[1:] == [f"step {k}" for k in range(5)]  # as it was recorded
            assert book.state_as_of(entry.id, now[0] + timedelta(hours=2)).why == "step 4"
            assert book.state_as_of(entry.id, now[0] + timedelta(minutes=5)).why in ("step 3", "step 4")
        assert any("the clock went back" in one for one in slow.notices())
    found = check_notebook(place)
    assert found.faults == () and any("the clock went back" in one for one in found.remarks)


def test_a_name_as_it_is_written_comes_before_one_in_another_case(notebook: Notebook, guitar: Guitar) -> None:
    numbers = {name: notebook.add_guitar(guitar, name=name).id for name in ("Étoile", "étoile", "STRASSE", "straße")}
    for name, number in numbers.items():
        assert notebook.find_guitar(name).id == number
    with pytest.raises(NotebookError, match="any of several"):
        notebook.find_guitar("ÉTOILE")
    alone = notebook.add_guitar(guitar, name="Ñandú")
    assert notebook.find_guitar(normalize("NFD", "ñan")).id == alone.id  # as another keyboard writes it


@FILE
@pytest.mark.parametrize("name", ["x" * 300, "a\0b", "a\ud800b"], ids=["long", "null", "surrogate"])
def test_a_name_that_no_file_can_have(notebook: Notebook, tmp_path: Path, name: str) -> None:
    notebook.write_note(None, "x")
    path = tmp_path / name
    for work in (
        lambda: notebook_path(str(path)),
        lambda: check_notebook(path),
        lambda: rescue(notebook.path, path),
        lambda: backup_to(notebook.path, path),
        lambda: restore(notebook.path, path),
        lambda: export_notebook(notebook, path),
        lambda: import_archive(notebook, path),
    ):
        with pytest.raises(NotebookError, match="there can be no such file"):
            work()
