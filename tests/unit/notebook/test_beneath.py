"""What another program does beneath a notebook: rows of its own, an older copy, an open file moved away."""

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from polepiece.errors import DamagedNotebookError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import (
    Notebook,
    Part,
    Place,
    Server,
    backup_to,
    check_notebook,
    open_notebook,
    read_notebook,
    rescue,
    restore,
)
from polepiece.notebook.chain import KIND_COLUMNS
from polepiece.notebook.end_note import forget_end, note_path
from tests.unit.notebook.conftest import FILE
from tests.unit.notebook.test_file import fill

STRAYS = {
    "stock": "VALUES ({note}, {part}, 7, 'x')",
    "retirements": "VALUES ({note}, {part}, 'x')",
    "job_events": "VALUES ({note}, {job}, 'closed', 'x', NULL)",
    "promises": "VALUES ({note}, {job}, '2026-01-01')",
    "benches": "VALUES ({note}, 'x', 'y')",
    "settings": "VALUES ({note}, 'rate', '{{}}')",
    "guitars": "VALUES (77, '00000000-0000-0000-0000-000000000000', 'ghost', '2026-03-03T09:00:00.000000+00:00')",
}
"""Rows that no guard refuses: each refers to what is there."""


def run(place: Place, *orders: str, guarded: bool = True) -> None:
    """Run statements as another program; not ``guarded``: past every trigger, which are put back."""
    if isinstance(place, Server):
        import psycopg  # optional, as the server is

        with psycopg.connect(place.url) as connection:
            if not guarded:
                connection.execute("SET session_replication_role = replica")
            for order in orders:
                connection.execute(order.encode())
        return
    with closing(sqlite3.connect(place)) as file, file:
        triggers = file.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in () if guarded else triggers:
            file.execute(f"DROP TRIGGER {name}")
        for order in orders:
            file.execute(order)
        for _, sql in () if guarded else triggers:
            file.execute(sql)


@pytest.mark.parametrize("table", STRAYS)
def test_a_row_that_no_entry_wrote_is_said(notebook: Notebook, guitar: Guitar, tmp_path: Path, table: str) -> None:
    entry = notebook.add_guitar(guitar)
    numbers = {
        "part": notebook.add_part(Part(kind="bar", grade="alnico-3")).id,
        "job": notebook.open_job(entry.id, "neck: muddy").id,
        "note": notebook.write_note(entry.id, "a line").id,
    }
    told = notebook.log()
    run(notebook.path, f"INSERT INTO {table} {STRAYS[table].format(**numbers)}")
    words = "no entry" if table == "guitars" else f"a row in {table} that it did not write"
    with pytest.raises(DamagedNotebookError, match=words):
        open_notebook(notebook.path)
    assert any(words in one for one in check_notebook(notebook.path).faults)
    with pytest.raises(NotebookError, match=words):
        backup_to(notebook.path, tmp_path / "copy.sqlite")
    with read_notebook(notebook.path) as book:
        assert book.log() == told  # what was written is whole, and is shown without it
    found = rescue(notebook.path, tmp_path / "whole.sqlite")
    assert (found.kept, found.lost) == (4, ())
    with open_notebook(found.path) as book:
        assert book.log() == told
        assert [one.count for one in book.parts()] == [1]


def test_there_is_a_stray_for_every_kind_of_table() -> None:
    """Those that are not tried above: a state and a choice have guards, the others are like one that is."""
    like = {"states", "branch_choices", "parts", "jobs", "predictions", "notes", "sounds", "bench_ends", "customers",
            "erasures", "job_customers", "quotes"}  # fmt: skip
    assert {table for table, _ in KIND_COLUMNS.values()} == like | set(STRAYS) - {"guitars"}


def emptied(place: Place, after: int) -> None:
    """Put the notebook back to how it was after an entry, as an older copy has it."""
    run(place, *(f"DELETE FROM {table} WHERE id > {after}" for table in ("chain", "notes", "journal")), guarded=False)
    if isinstance(place, Path):
        run(place, f"UPDATE sqlite_sequence SET seq = {after} WHERE name = 'journal'")


def test_nothing_is_written_after_an_older_copy_was_put_beneath_it(notebook: Notebook, guitar: Guitar) -> None:
    """What was acknowledged is gone: writing on would write over the note that says so."""
    entry = notebook.add_guitar(guitar)
    for k in range(3):
        notebook.write_note(entry.id, f"line {k}")
    emptied(notebook.path, 2)
    for _ in range(2):
        with pytest.raises(DamagedNotebookError, match=r"ends at entry 2, and entry 4 was acknowledged.*not written"):
            notebook.write_note(entry.id, "after")
    with pytest.raises(DamagedNotebookError, match="ends at entry 2, and entry 4 was acknowledged"):
        open_notebook(notebook.path)


def test_an_older_copy_with_its_own_note_is_told_from_what_this_program_wrote(
    notebook: Notebook, guitar: Guitar
) -> None:
    entry = notebook.add_guitar(guitar)
    note = note_path(notebook.path).read_bytes()
    notebook.write_note(entry.id, "gone")
    emptied(notebook.path, 1)
    note_path(notebook.path).write_bytes(note)
    with pytest.raises(DamagedNotebookError, match="ends at entry 1, and entry 2 was acknowledged"):
        notebook.write_note(entry.id, "after")
    with open_notebook(notebook.path) as book:  # a whole older copy: the person who put it there goes on with it
        book.write_note(entry.id, "from here")


MOVED: dict[str, Callable[[Path, Path], object]] = {
    "renamed": lambda path, copy: os.rename(path, path.with_name("elsewhere")),
    "removed": lambda path, copy: os.unlink(path),
    "replaced": lambda path, copy: os.replace(copy, path),
    "restored": restore,
}


@FILE
@pytest.mark.parametrize("how", MOVED)
def test_nothing_is_written_to_a_file_that_is_not_in_its_place_any_more(
    notebook: Notebook, guitar: Guitar, tmp_path: Path, how: str
) -> None:
    """An open file goes on to be written to wherever it was moved, even to nowhere, and nobody would find it."""
    assert isinstance(notebook.path, Path)
    entry = notebook.add_guitar(guitar)
    copy = backup_to(notebook.path, tmp_path / "copy.sqlite")
    MOVED[how](notebook.path, copy)
    with pytest.raises(NotebookError, match=r"moved, removed or replaced.*not written.*open it again"):
        notebook.write_note(entry.id, "after")
    notebook.close()
    if notebook.path.exists():
        assert check_notebook(notebook.path).faults == ()
        with open_notebook(notebook.path) as book:
            assert len(book.log()) == 1


@FILE
def test_entries_taken_away_at_the_end_are_said_without_a_note(notebook: Notebook, guitar: Guitar) -> None:
    """SQLite counts the numbers it has given (AUTOINCREMENT); a transaction that is undone takes its count back."""
    entry = notebook.add_guitar(guitar)
    with pytest.raises(ZeroDivisionError), notebook._write() as session:
        session.execute(text("INSERT INTO journal (uuid, at, kind) VALUES ('x', 'x', 'note')"))
        raise ZeroDivisionError
    notebook.write_note(entry.id, "gone")
    notebook.close()
    forget_end(notebook.path)
    open_notebook(notebook.path).close()
    run(notebook.path, *(f"DELETE FROM {one} WHERE id > 1" for one in ("chain", "notes", "journal")), guarded=False)
    forget_end(notebook.path)
    words = "ends at entry 1, and 2 were numbered"
    with pytest.raises(DamagedNotebookError, match=words):
        open_notebook(notebook.path)
    assert any(words in one for one in check_notebook(notebook.path).faults)


def test_a_whole_notebook_has_none_of_it(notebook: Notebook, guitar: Guitar) -> None:
    fill(notebook, guitar)
    open_notebook(notebook.path).close()
    assert check_notebook(notebook.path).faults == ()
