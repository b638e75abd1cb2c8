"""The chain: every value of every entry is under a seal, and what is damaged is said with what is whole."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from polepiece.errors import DamagedNotebookError, NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import Notebook, Place, Server, check_notebook, open_notebook, read_notebook
from polepiece.notebook.chain import KIND_COLUMNS
from polepiece.notebook.end_note import End, note_path, read_end, write_end
from tests.unit.notebook.conftest import FILE, Clock
from tests.unit.notebook.test_file import fill

NEWER = ("branch_choices", "benches", "bench_ends", "customers", "erasures", "job_customers",
         "promises", "quotes", "stock", "settings")  # than schema 0001  # fmt: skip
OLD = Path(__file__).parents[2] / "fixtures" / "notebook" / "schema-0001.sql"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, guitar: Guitar) -> Path:
    """A closed notebook with an entry of every kind."""
    path = tmp_path_factory.mktemp("chain") / "n.sqlite"
    with open_notebook(path, clock=Clock()) as book:
        fill(book, guitar)
    return path


@pytest.fixture
def copy(made: Path, tmp_path: Path) -> Path:
    for one in made.parent.iterdir():
        shutil.copy(one, tmp_path / one.name)
    return tmp_path / made.name


def without_triggers(path: Place, order: str, *values: object) -> None:
    """Change a notebook as a program would that means harm: past its triggers, and put back as they were."""
    if isinstance(path, Server):
        import psycopg  # optional, as the server is

        with psycopg.connect(path.url) as connection:
            connection.execute("SET session_replication_role = replica")
            order = order.replace("x'00'", r"'\x00'").replace("?", "%s")
            assert connection.execute(order.encode(), values).rowcount == 1, order
        return
    with closing(sqlite3.connect(path)) as file, file:
        triggers = file.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            file.execute(f"DROP TRIGGER {name}")
        assert file.execute(order, values).rowcount == 1, order
        for _, sql in triggers:
            file.execute(sql)


def columns() -> Iterator[tuple[str, str]]:
    """Every column whose value an entry is made of."""
    yield from (("journal", one) for one in ("uuid", "at", "kind", "guitar_id", "bench"))
    yield from (("guitars", one) for one in ("uuid", "name", "created"))
    yield from (("recordings", one) for one in ("kind", "size"))
    yield from (("personal", one) for one in ("salt", "body"))
    yield from (("chain", one) for one in ("rule", "digest", "guitar", "link"))
    for table, names in KIND_COLUMNS.values():
        yield from ((table, one) for one in names)


def test_every_table_of_a_kind_is_under_the_seal_with_all_its_columns(copy: Path) -> None:
    """A column that somebody adds has to come under a rule; ``branch`` follows from the others and is checked."""
    with closing(sqlite3.connect(copy)) as file:
        for table, names in KIND_COLUMNS.values():
            there = {row[1] for row in file.execute(f"PRAGMA table_info({table})")}
            assert there - {"id", "branch"} == set(names), table


ALLOWED = {
    ("journal", "kind"): "note", ("recordings", "kind"): "wav", ("states", "act"): "undo", ("notes", "sort"): "trial",
    ("job_events", "what"): "status",
}  # fmt: skip
"""What the tables take in columns of which they know the words."""


@pytest.mark.parametrize(("table", "column"), list(columns()))
def test_no_value_can_be_changed_unseen(copy: Path, table: str, column: str) -> None:
    """Letters that read well, numbers that exist: whatever the column, the opening says so."""
    key = "sha256" if table == "recordings" else "id"
    with closing(sqlite3.connect(copy)) as file:
        row, value = file.execute(f"SELECT {key}, {column} FROM {table} ORDER BY {key} LIMIT 1").fetchone()
    other: object = ALLOWED.get((table, column))
    if other is None:
        other = 3 if isinstance(value, int) or value is None else value + value[:1] if value else "x"
    assert other != value
    without_triggers(copy, f"UPDATE {table} SET {column} = ? WHERE {key} = ?", other, row)
    with pytest.raises(DamagedNotebookError, match=r"is damaged .*entries are whole; nothing was changed"):
        open_notebook(copy)
    assert check_notebook(copy).faults


@pytest.mark.parametrize(
    ("order", "words"),
    [
        ("DELETE FROM journal WHERE id = 3", "entry 3: it is gone"),
        ("DELETE FROM notes", r"its row in notes is gone"),
        ("DELETE FROM chain WHERE id = 4", "entry 4: it has no seal"),
        (
            "INSERT INTO journal (id, uuid, at, kind) VALUES (99, 'u', '2026-01-01', 'note')",
            "entry 99: its row in notes is gone",
        ),
        ("UPDATE states SET branch = 1 WHERE branch = 0 AND parent_id IS NOT NULL", "mark as a branch is wrong"),
    ],
)
def test_rows_that_came_or_went(copy: Path, order: str, words: str) -> None:
    without_triggers(copy, order)
    assert any(words in one for one in check_notebook(copy).faults)


def test_a_trigger_that_is_gone_is_said(copy: Path) -> None:
    with closing(sqlite3.connect(copy)) as file:
        file.execute("DROP TRIGGER notes_no_update")
    with pytest.raises(DamagedNotebookError, match="the trigger that keeps notes from update is gone"):
        open_notebook(copy)


def test_a_damaged_sound_is_found_by_the_check(copy: Path) -> None:
    without_triggers(copy, "UPDATE recordings SET data = ?", b"fLac")
    (fault,) = check_notebook(copy).faults
    assert "its bytes do not have its hash" in fault


def test_a_whole_notebook_is_whole_and_the_check_writes_nothing(copy: Path) -> None:
    before = {one.name: one.read_bytes() for one in copy.parent.iterdir()}
    found = check_notebook(copy)
    assert (found.faults, found.remarks, found.noted) == ((), (), True)
    assert found.whole == found.entries == 23
    assert found.sounds == 1
    assert {one.name: one.read_bytes() for one in copy.parent.iterdir()} == before


def test_what_is_not_a_notebook_is_no_damaged_notebook(tmp_path: Path) -> None:
    with pytest.raises(NotebookError, match="no such file"):
        check_notebook(tmp_path / "none.sqlite")
    (tmp_path / "letter").write_text("Dear customer" * 100, encoding="utf-8")
    with pytest.raises(NotebookError, match="cannot be read"):
        check_notebook(tmp_path / "letter")


def test_entries_lost_with_the_log_are_said(tmp_path: Path, guitar: Guitar) -> None:
    """The log of a killed program is removed: SQLite sees a whole, older file; the note beside it knows better."""
    path = tmp_path / "n.sqlite"
    with open_notebook(path) as book:
        book.write_note(None, "one")
    with open_notebook(path) as book:
        book.write_note(None, "two")
        killed = {end: path.with_name(path.name + end).read_bytes() for end in ("", "-wal")}
    path.write_bytes(killed[""])
    path.with_name(path.name + "-wal").write_bytes(killed["-wal"])
    with open_notebook(path) as book:  # with its log all is there
        assert len(book.log()) == 2
    path.write_bytes(killed[""])
    with pytest.raises(DamagedNotebookError, match="ends at entry 1, and entry 2 was acknowledged"):
        open_notebook(path)
    with read_notebook(path) as book:
        assert [one.words for one in book.log()] == ["one"]
    path.write_bytes(b"")  # nothing at all is left: no new notebook is begun in its place
    with pytest.raises(DamagedNotebookError, match="it is empty, and entry 2 was acknowledged"):
        open_notebook(path)


def test_another_copy_in_its_place_is_said(copy: Path) -> None:
    end = read_end(copy)
    assert end is not None
    write_end(copy, End(entry=end.entry - 1, link=bytes(32)))
    with pytest.raises(DamagedNotebookError, match="is not the one that was acknowledged"):
        open_notebook(copy)


@pytest.mark.parametrize("note", [b"", b"\xff", b"polepiece notebook end 1\n1 2\n3\n"])
def test_a_note_that_cannot_be_read_is_no_note(copy: Path, note: bytes) -> None:
    note_path(copy).write_bytes(note)
    assert read_end(copy) is None
    open_notebook(copy).close()
    assert not check_notebook(copy).noted


def test_an_old_notebook_is_sealed_as_it_is(tmp_path: Path) -> None:
    """A notebook of the first schema, written by the version that had it: the steps keep every row and seal it."""
    path = tmp_path / "n.sqlite"
    with closing(sqlite3.connect(path)) as file:
        file.executescript(OLD.read_text("utf-8"))
        before = {
            table: file.execute(f"SELECT {', '.join(('id', *names))} FROM {table} ORDER BY id").fetchall()
            for table, names in KIND_COLUMNS.values()
            if table not in NEWER
        }
    with open_notebook(path) as book:
        assert len(book.log()) == 16
        assert book.guitars()[0].states == 4
        book.undo(1)
    assert check_notebook(path).faults == ()
    with closing(sqlite3.connect(path)) as file:
        for table, rows in before.items():
            names = dict(KIND_COLUMNS.values())[table]
            found = file.execute(f"SELECT {', '.join(('id', *names))} FROM {table} ORDER BY id").fetchall()
            assert found[: len(rows)] == rows
    (backup,) = (path.parent / "n.sqlite-backups").glob("before-*")
    with closing(sqlite3.connect(backup)) as file:
        assert file.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)


def test_an_old_notebook_that_is_broken_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "n.sqlite"
    with closing(sqlite3.connect(path)) as file:
        file.executescript(OLD.read_text("utf-8"))
        file.executescript("DROP TRIGGER notes_no_update; PRAGMA foreign_keys = OFF;")
        file.execute("UPDATE notes SET state_id = 999 WHERE id = (SELECT max(id) FROM notes)")
        file.commit()
    with pytest.raises(DamagedNotebookError, match="a row of notes refers to what is not in states"):
        open_notebook(path)
    with closing(sqlite3.connect(path)) as file:
        assert file.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)
        assert not file.execute("SELECT 1 FROM sqlite_schema WHERE name = 'chain'").fetchone()


@FILE
def test_what_another_program_wrote_is_said(notebook: Notebook) -> None:
    notebook.write_note(None, "ours")
    with closing(sqlite3.connect(notebook.path)) as file, file:
        file.execute(
            "INSERT INTO journal (id, uuid, at, kind) VALUES (2, 'u', '2026-03-03T09:00:00.000000+00:00', 'note')"
        )
        file.execute("INSERT INTO notes VALUES (2, NULL, 'note', 'theirs', NULL)")
    notebook.write_note(None, "ours again")
    assert [one for one in check_notebook(notebook.path).faults if "entry" in one] == [
        "entry 2: it has no seal: another program wrote it, or the seal is gone"
    ]
