"""The file: settings that survive a crash, refusals in one paragraph, and tables that are only added to."""

import errno
import os
import random
import sqlite3
import stat
import subprocess
import sys
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from polepiece.errors import NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import Notebook, Part, Rate, notebook_path, open_notebook, pass_of, unproven_swaps, written_for
from polepiece.notebook.schema import TABLES, BranchChoiceRow, StateRow
from tests.unit.notebook.conftest import FILE
from tests.unit.notebook.ledgers import drawn_ledger, with_bar


def refused(path: Path) -> str:
    """Open what must be refused; return what is said: one paragraph that names the file."""
    with pytest.raises(NotebookError) as found:
        open_notebook(path)
    words = str(found.value)
    assert str(path) in words
    assert "\n" not in words
    return words


def fill(notebook: Notebook, guitar: Guitar) -> None:
    """Put a row into every table."""
    entry = notebook.add_guitar(guitar)
    part = notebook.add_part(Part(kind="bar"))
    notebook.retire_part(part.id, "sold")
    job = notebook.open_job(entry.id, "muddy")
    notebook.choose(job.id, "lower=1mm")
    notebook.keep_prediction(entry.state_id, "lower=1mm", {})
    notebook.write_note(entry.id, "a line")
    notebook.keep_sound(b"fLaC", label="x", kind="flac", guitar_id=entry.id)
    last = notebook.record(entry.id, guitar, why="here")
    with notebook._write() as session:  # as a merge writes it
        head = notebook._head(entry.id)
        one = StateRow(
            **head, parent_id=entry.state_id, act="record", why="elsewhere", text=last.text, provenance={}, branch=1
        )
        session.add(one)
        session.flush()
        session.add(BranchChoiceRow(**notebook._head(entry.id), state_id=one.id, why="the better one"))
    late = notebook.open_job(entry.id, "thin")
    notebook.promise(late.id, date(2026, 3, 9))
    notebook.set_rate(Rate(per_hour=Decimal(60), currency="EUR"))
    notebook.quote(late.id, minutes=30)
    notebook.count_part(notebook.add_part(Part(kind="pot")).id, 3, "counted")
    notebook.add_customer("Another Name", agreed="to call when it is ready")
    customer = notebook.add_customer("A. Name", agreed="to call when it is ready")
    notebook.job_is_for(job.id, customer.id)
    notebook.erase_customer(customer.id, "asked for it")
    _, token = notebook.add_bench("north")
    with written_for(pass_of(token)):
        notebook.end_bench("north", "lost")  # from here on nobody writes, until another is added


def fill_learned(notebook: Notebook, guitar: Guitar) -> None:
    """Put a row into every table that counts what was learned."""
    entry = notebook.add_guitar(guitar)
    state = notebook.record(entry.id, with_bar(guitar, "neck", "ceramic-8"), why="swap")
    ledger = drawn_ledger(random.Random(1), "neck", ("magnet=ceramic-8",))
    notebook.keep_ledger(entry.id, ledger.to_dict(), state_id=state.id)
    unproven_swaps(notebook)  # counts them


@FILE
def test_every_connection_has_the_settings_that_lose_nothing(notebook: Notebook) -> None:
    for _ in range(3):
        with notebook._engine.connect() as one, notebook._engine.connect() as other:
            for connection in (one, other):
                found = {
                    name: connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()
                    for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
                }
                # SQLite documentation, pragma.html: synchronous 2 is FULL
                assert found == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 5000}


@FILE
def test_only_its_owner_may_read_it(notebook: Notebook) -> None:
    notebook.write_note(None, "x")
    for one in notebook.path.parent.iterdir():
        assert stat.S_IMODE(one.stat().st_mode) == 0o600, one


def test_what_is_closed_is_one_file_and_the_note_of_its_end(tmp_path: Path) -> None:
    with open_notebook(tmp_path / "n.sqlite") as notebook:
        notebook.write_note(None, "x")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["n.sqlite", "n.sqlite-end"]


def test_where_the_notebook_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv("POLEPIECE_NOTEBOOK", raising=False)
    assert notebook_path() == tmp_path / "data" / "polepiece" / "notebook.sqlite"
    assert notebook_path().parent.is_dir()
    monkeypatch.setenv("POLEPIECE_NOTEBOOK", str(tmp_path / "shop.sqlite"))
    assert notebook_path() == tmp_path / "shop.sqlite"
    assert notebook_path(tmp_path / "given.sqlite") == tmp_path / "given.sqlite"
    monkeypatch.setenv("POLEPIECE_NOTEBOOK", "")
    assert notebook_path() == tmp_path / "data" / "polepiece" / "notebook.sqlite"


@pytest.mark.parametrize("name", ["with space", "ünï", "a?b", "a#b", "100%25", "file:x", ":memory:"])
def test_any_name_is_a_file_of_that_name(tmp_path: Path, name: str) -> None:
    with open_notebook(tmp_path / name) as notebook:
        notebook.write_note(None, "x")
    assert sorted(one.name for one in tmp_path.iterdir()) == [name, f"{name}-end"]


def test_a_file_that_is_no_database(tmp_path: Path) -> None:
    path = tmp_path / "letter.txt"
    path.write_text("Dear customer, " * 100, encoding="utf-8")
    assert "is not a notebook (not an SQLite file)" in refused(path)
    assert path.read_text(encoding="utf-8").startswith("Dear customer")


def test_a_database_of_another_program(tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite"
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE guitars (id INTEGER PRIMARY KEY)")
    other.close()
    before = path.read_bytes()
    assert "of another program" in refused(path)
    assert path.read_bytes()[100:] == before[100:]  # but for the header, whose two bytes say that a log may be used


def test_a_folder_and_a_folder_that_is_not_there(tmp_path: Path) -> None:
    assert "is a folder" in refused(tmp_path)
    assert "make the folder first" in refused(tmp_path / "none" / "n.sqlite")
    (tmp_path / "file").write_text("x", encoding="utf-8")
    assert "is a file" in refused(tmp_path / "file" / "n.sqlite")


def test_a_folder_that_is_not_ours_to_write_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> int:
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    monkeypatch.setattr("polepiece.notebook.connection.os.open", never)  # tests may run as root, whom no mode stops
    assert "Read-only file system" in refused(tmp_path / "n.sqlite")


def test_no_damaged_page_passes_unseen(tmp_path: Path, guitar: Guitar) -> None:
    """A page of rubbish, as a failing disk leaves it: refused at opening, or (the empty table of recordings, which is
    not checked there) all of the history reads as before."""
    path = tmp_path / "n.sqlite"
    with open_notebook(path) as notebook:
        entry = notebook.add_guitar(guitar)
        for _ in range(30):
            notebook.record(entry.id, guitar, why="x")
        told = notebook.log(), notebook.guitars(), notebook.states(entry.id)
    data = path.read_bytes()
    pages, found = len(data) // 4096, 0
    for page in range(pages):
        path.write_bytes(data[: page * 4096] + b"\xa5" * 4096 + data[(page + 1) * 4096 :])
        try:
            with open_notebook(path) as notebook:
                assert (notebook.log(), notebook.guitars(), notebook.states(entry.id)) == told
        except NotebookError as error:
            assert str(path) in str(error)
            assert "\n" not in str(error)
            found += 1
    assert found >= pages - 4  # but for recordings, its index and that of the schema's version


def test_a_cut_file_is_found_at_opening(tmp_path: Path, guitar: Guitar) -> None:
    path = tmp_path / "n.sqlite"
    with open_notebook(path) as notebook:
        fill(notebook, guitar)
    os.truncate(path, path.stat().st_size // 2 // 4096 * 4096)
    assert "is damaged" in refused(path)


@FILE
def test_a_notebook_held_by_another_program_says_so(notebook: Notebook, monkeypatch: pytest.MonkeyPatch) -> None:
    holder = sqlite3.connect(notebook.path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    with notebook._engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA busy_timeout = 50")  # of the pooled connection: a test need not wait 5 s
    with pytest.raises(NotebookError, match="held by another program"):
        notebook.write_note(None, "x")
    assert notebook.log() == []  # reading does not wait for a writer
    holder.execute("ROLLBACK")
    holder.close()
    notebook.write_note(None, "now")
    assert len(notebook.log()) == 1


@FILE
def test_opening_does_not_wait_for_a_writer(notebook: Notebook) -> None:
    notebook.write_note(None, "x")
    holder = sqlite3.connect(notebook.path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    with open_notebook(notebook.path) as other:  # an opening that wanted to write would fail after 5 s
        assert len(other.log()) == 1
    holder.execute("ROLLBACK")
    holder.close()


@FILE
def test_a_full_disk_keeps_all_or_nothing(notebook: Notebook) -> None:
    notebook.write_note(None, "before")
    with notebook._engine.connect() as connection:  # the one pooled connection: SQLite's own stand-in for a full disk
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages + 2}")
    with pytest.raises(NotebookError, match="the disk is full"):
        notebook.keep_sound(b"fLaC" + bytes(100_000), label="x", kind="flac")
    assert [one.words for one in notebook.log()] == ["before"]
    with notebook._engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
    notebook.keep_sound(b"fLaC" + bytes(100_000), label="x", kind="flac")
    assert len(notebook.sounds()) == 1


def test_looking_loads_neither_numerical_libraries_nor_migrations(tmp_path: Path) -> None:
    """So that ``polepiece log`` starts in a moment: what takes a second to load is loaded by what needs it."""
    open_notebook(tmp_path / "n.sqlite").close()
    code = (
        "import sys; from polepiece.notebook import open_notebook\n"
        "with open_notebook(sys.argv[1]) as n: n.log(), n.guitars(), n.parts(), n.write_note(None, 'x')\n"
        "print([name for name in ('numpy', 'scipy', 'numba', 'alembic', 'tomli_w') if name in sys.modules])"
    )
    found = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "n.sqlite")], capture_output=True, text=True, check=True
    )
    assert found.stdout.strip() == "[]"


@FILE
def test_every_table_refuses_to_be_changed(notebook: Notebook, guitar: Guitar) -> None:
    fill_learned(notebook, guitar)
    fill(notebook, guitar)
    stranger = sqlite3.connect(notebook.path)
    for table in TABLES:
        columns = [row[1] for row in stranger.execute(f"PRAGMA table_info({table})")]
        row = stranger.execute(f"SELECT * FROM {table} LIMIT 1").fetchone()
        assert row is not None, f"{table} has no row to try"
        marks = ", ".join("?" for _ in columns)
        for order, values in (
            *((f"UPDATE {table} SET {column} = {column}", ()) for column in columns),
            (f"DELETE FROM {table}", ()),
            (f"INSERT OR REPLACE INTO {table} VALUES ({marks})", row),
            (f"INSERT INTO {table} VALUES ({marks}) ON CONFLICT DO UPDATE SET {columns[0]} = {columns[0]}", row),
        ):
            with pytest.raises(sqlite3.IntegrityError, match=r"append-only|follows the last state"):
                stranger.execute(order, values)
        assert stranger.execute(f"SELECT * FROM {table} LIMIT 1").fetchone() == row
    stranger.close()


@FILE
def test_the_database_itself_holds_the_chain(notebook: Notebook, guitar: Guitar) -> None:
    one, two = notebook.add_guitar(guitar), notebook.add_guitar(guitar)
    stranger = sqlite3.connect(notebook.path)
    stranger.execute("PRAGMA foreign_keys = ON")

    def state(guitar_id: int | None, parent: int | None, branch: int = 0) -> None:
        with stranger:
            row = stranger.execute(
                "INSERT INTO journal (uuid, at, kind, guitar_id) VALUES (hex(randomblob(8)), 'x', 'state', ?)",
                (guitar_id,),
            )
            stranger.execute(
                "INSERT INTO states VALUES (?, ?, 'record', NULL, 'why', 'text', '{}', ?)",
                (row.lastrowid, parent, branch),
            )

    for guitar_id, parent, words in (
        (one.id, None, "follows"),  # a second beginning
        (one.id, two.state_id, "follows"),  # of another guitar
        (None, one.state_id, "follows"),  # of no guitar
        (one.id, 999, "follows|FOREIGN KEY"),  # of no state
    ):
        with pytest.raises(sqlite3.IntegrityError, match=words):
            state(guitar_id, parent)
    state(one.id, one.state_id)
    with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
        state(one.id, one.state_id)  # a branch that is not marked as one
    with pytest.raises(sqlite3.IntegrityError, match="follows"):
        state(two.id, two.state_id, branch=1)  # a branch without an elder
    state(one.id, one.state_id, branch=1)
    stranger.close()
