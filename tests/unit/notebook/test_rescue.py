"""Of a damaged notebook what is whole is kept, and the rest is listed; a disk that is read only can be read."""

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from polepiece.errors import DamagedNotebookError, InputError, NotebookError, ReadOnlyNotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import Notebook, check_notebook, export_guitar, open_notebook, read_notebook, rescue
from polepiece.notebook.end_note import forget_end
from tests.unit.notebook.conftest import FILE
from tests.unit.notebook.test_chain import OLD, without_triggers


@pytest.fixture
def path(notebook: Notebook, guitar: Guitar) -> Path:
    """Entry 1 to 4 are states (the third an undo), 5 a job on the last, 6 its end, 7 a sound, 8 a note on state 2."""
    entry = notebook.add_guitar(guitar, name="number 12")
    second = notebook.record(entry.id, replace(guitar, note="two"), why="two")
    notebook.undo(entry.id)
    notebook.record(entry.id, replace(guitar, note="four"), why="four")
    job = notebook.open_job(entry.id, "muddy")
    notebook.close_job(job.id, "clear")
    notebook.keep_sound(b"fLaC", label="x", kind="flac", guitar_id=entry.id)
    notebook.write_note(entry.id, "on two", state_id=second.id)
    notebook.close()
    return notebook.path


def test_all_of_a_whole_notebook(path: Path, tmp_path: Path) -> None:
    found = rescue(path, tmp_path / "out.sqlite")
    assert (found.kept, found.lost, found.tied, found.sealed) == (8, (), (), True)
    assert check_notebook(found.path).faults == ()
    with open_notebook(path) as one, open_notebook(found.path) as two:
        assert one.log() == two.log()
        first = export_guitar(one, 1, tmp_path / "one.zip").read_bytes()
        assert export_guitar(two, 1, tmp_path / "two.zip").read_bytes() == first


def test_a_lost_state_costs_itself_alone(path: Path, tmp_path: Path) -> None:
    """State 2 is changed: the undo of it becomes a plain record; what refers to that is under a new uuid as well."""
    without_triggers(path, "UPDATE states SET text = text || '# more' WHERE id = 2")
    found = rescue(path, tmp_path / "out.sqlite")
    assert [(one.entry, one.words) for one in found.lost] == [(2, "it does not say what was sealed")]
    assert [one.entry for one in found.tied] == [3, 4, 5, 6, 8]
    assert found.kept == 7
    assert check_notebook(found.path).faults == ()
    with open_notebook(found.path) as book:
        assert [one.act for one in book.states(1)] == ["entry", "record", "record"]
        assert book.guitar(1).note == "four"
        assert book.notes(1)[0].state_id == 4
        assert book.jobs(1)[0].outcome == "clear"
        assert len({one.uuid for one in book.states(1)}) == 3


@pytest.mark.parametrize(
    ("order", "lost", "tied"),
    [
        ("UPDATE states SET why = 'x' WHERE id = 1", [1], [2, 3, 4, 5, 6, 8]),
        ("UPDATE jobs SET complaints = 'x'", [5, 6], []),
        ("UPDATE recordings SET data = x'00'", [7], []),
        ("UPDATE guitars SET name = 'x'", [], [1]),
        ("UPDATE guitars SET created = '2026-03-03T09:01:00.0000b0+00:00', name = '', uuid = 'x'", [], [1]),
        ("DELETE FROM guitars", [], [1]),
        ("DELETE FROM journal WHERE id = 8", [8], []),
        ("DELETE FROM chain WHERE id = 8", [8], []),
        ("UPDATE chain SET link = x'00' WHERE id = 3", [], []),
    ],
)
def test_what_is_lost_and_what_is_tied_anew(
    path: Path, tmp_path: Path, order: str, lost: list[int], tied: list[int]
) -> None:
    without_triggers(path, order)
    found = rescue(path, tmp_path / "out.sqlite")
    assert [one.entry for one in found.lost] == lost
    assert [one.entry for one in found.tied] == tied
    assert found.kept == 8 - len(lost)
    assert check_notebook(found.path).faults == ()


@FILE
def test_a_broken_page_costs_what_is_on_it(path: Path, tmp_path: Path) -> None:
    """Every page in turn: what is kept is word for word what was written, and a new notebook is whole."""
    data = path.read_bytes()
    with open_notebook(path) as book:
        texts = {one.id: one.text for one in book.states(1)}
    for page in range(1, len(data) // 4096):
        path.write_bytes(data[: page * 4096] + b"\xa5" * 4096 + data[(page + 1) * 4096 :])
        out = tmp_path / f"{page}.sqlite"
        try:
            found = rescue(path, out)
        except NotebookError as error:
            assert "\n" not in str(error)
            assert not out.exists()
            continue
        assert check_notebook(out).faults == ()
        with open_notebook(out) as book:
            assert all(one.text == texts[one.id] for guitar in book.guitars() for one in book.states(guitar.id))
        assert found.kept + len(found.lost) <= 8


def test_an_old_notebook_is_rescued_without_seals(tmp_path: Path) -> None:
    old = tmp_path / "old.sqlite"
    with closing(sqlite3.connect(old)) as file:
        file.executescript(OLD.read_text("utf-8"))
    found = rescue(old, tmp_path / "out.sqlite")
    assert (found.kept, found.lost, found.sealed) == (16, (), False)
    assert check_notebook(found.path).faults == ()


@FILE
def test_without_seals_nothing_is_shown_as_whole(path: Path, tmp_path: Path) -> None:
    """A letter in the schema hides the table of seals: what is left may be saved, not taken for what was written."""
    with closing(sqlite3.connect(path)) as file, file:
        file.execute("DROP TABLE chain")
    found = rescue(path, tmp_path / "out.sqlite")
    assert (found.kept, found.sealed) == (8, False)
    with pytest.raises(NotebookError, match="chain"):
        read_notebook(path)


@FILE
def test_a_rescue_writes_over_nothing(path: Path, tmp_path: Path) -> None:
    with pytest.raises(NotebookError, match="is there already"):
        rescue(path, path)
    with pytest.raises(NotebookError, match="no such file"):
        rescue(tmp_path / "none", tmp_path / "out.sqlite")


@FILE
def test_a_damaged_notebook_can_be_looked_at_and_not_written_to(path: Path, tmp_path: Path) -> None:
    without_triggers(path, "UPDATE notes SET text = 'x'")
    before = path.read_bytes()
    with read_notebook(path) as book:
        assert "7 entries; 1 entries are lost" in book.reading
        assert book.notices() == (book.reading,)
        assert len(book.log()) == 7
        assert export_guitar(book, 1, tmp_path / "kept.zip").exists()
        for write in (lambda: book.write_note(None, "x"), lambda: book.undo(1)):
            with pytest.raises(ReadOnlyNotebookError, match="is damaged"):
                write()
    assert path.read_bytes() == before


@FILE
@pytest.mark.parametrize("log", [False, True], ids=["closed", "with a log"])
def test_a_disk_that_is_read_only(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, log: bool) -> None:
    """What stands in the log of a killed program is shown too; tests may run as root, whom no mode stops."""
    if log:
        with open_notebook(path) as book:
            book.write_note(None, "in the log")
            kept = path.read_bytes(), path.with_name("notebook.sqlite-wal").read_bytes()
        path.write_bytes(kept[0])
        path.with_name("notebook.sqlite-wal").write_bytes(kept[1])

    before = sorted(one.name for one in tmp_path.iterdir())
    with monkeypatch.context() as patch:
        patch.setattr("polepiece.notebook.connection._prepare", lambda one: _refuse(one) if one == path else None)
        with read_notebook(path) as book:
            assert "cannot be written to; it is open for reading only" in book.reading
            assert len(book.log()) == 8 + log
            with pytest.raises(ReadOnlyNotebookError):
                book.write_note(None, "x")
        with pytest.raises(ReadOnlyNotebookError):
            open_notebook(path)
    assert sorted(one.name for one in tmp_path.iterdir()) == before


def _refuse(path: Path) -> None:
    raise ReadOnlyNotebookError(f"{path} cannot be opened for writing (Read-only file system).")


def test_a_notebook_that_can_be_written_to_is_opened_as_ever(path: Path) -> None:
    forget_end(path)
    with read_notebook(path) as book:
        assert (book.reading, book.notices()) == ("", ())
        book.write_note(None, "x")
        with pytest.raises(InputError):
            book.write_note(None, "")


@pytest.mark.parametrize("number", [10**6, 2**31 - 5])
def test_a_number_that_is_damaged_costs_neither_time_nor_memory(path: Path, tmp_path: Path, number: int) -> None:
    """A flipped bit may make any number of one; whoever counts up to it never ends."""
    for table in ("journal", "notes"):
        without_triggers(path, f"UPDATE {table} SET id = ? WHERE id = 8", number)
    with pytest.raises(DamagedNotebookError, match="is damaged"):
        open_notebook(path)
    assert check_notebook(path).faults
    found = rescue(path, tmp_path / "new.sqlite")
    assert found.kept > 0
    assert len(found.lost) < 100
    with read_notebook(path) as book:
        assert len(book.log()) == found.kept
