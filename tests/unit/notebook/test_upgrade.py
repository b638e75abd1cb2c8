"""Steps of the schema: each whole or not at all; a newer file is left alone; looking writes nothing."""

import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext

from polepiece.errors import NotebookError
from polepiece.guitar import Guitar
from polepiece.notebook import Notebook, check_notebook, counted_lines, open_notebook
from polepiece.notebook import upgrade as own_steps
from polepiece.notebook.dialect import missing_guards, raw_of
from polepiece.notebook.schema import TABLES
from polepiece.notebook.schema_base import REVISIONS, Base
from polepiece.notebook.upgrade import STEPS, script_directory, upgrade
from tests.made_notebooks import STATEMENTS, by_its_statements
from tests.unit.notebook.conftest import FILE
from tests.unit.notebook.test_learned import WITHIN, season

SECOND = """
from alembic import op
import sqlalchemy as sa
revision, down_revision = "9000", "{last}"

def upgrade():
    op.create_table("luthiers", sa.Column("id", sa.Integer(), primary_key=True))
    op.execute("INSERT INTO luthiers VALUES (1)")
    {then}
"""


def steps_with(folder: Path, then: str) -> Path:
    """Return a folder with our steps and one more."""
    steps = folder / "steps"
    shutil.copytree(STEPS, steps, ignore=shutil.ignore_patterns("__pycache__"))
    (steps / "m9000_more.py").write_text(SECOND.format(then=then, last=REVISIONS[-1]), encoding="utf-8")
    return steps


def contents(path: Path) -> list[str]:
    with sqlite3.connect(path) as file:
        found = list(file.iterdump())
    file.close()
    return found


def test_the_steps_make_the_tables_that_the_program_uses(notebook: Notebook) -> None:
    with notebook._engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), Base.metadata) == []


def test_the_program_knows_every_step() -> None:
    script = script_directory()
    assert tuple(one.revision for one in reversed(list(script.walk_revisions()))) == REVISIONS
    assert script.get_heads() == [REVISIONS[-1]]


@FILE
def test_a_step_runs_once_and_is_recorded(notebook: Notebook, tmp_path: Path) -> None:
    steps = steps_with(tmp_path, "pass")
    for _ in range(2):
        with notebook._engine.execution_options(write=True).begin() as connection:
            upgrade(connection, steps)
    found = contents(notebook.path)
    assert 'INSERT INTO "luthiers" VALUES(1);' in found
    assert "INSERT INTO \"alembic_version\" VALUES('9000');" in found


@FILE
@pytest.mark.parametrize(
    "then", ["raise RuntimeError('half way')", "op.execute('SELECT * FROM nowhere')"], ids=["python", "sql"]
)
def test_a_failing_step_leaves_no_trace(notebook: Notebook, tmp_path: Path, then: str) -> None:
    notebook.write_note(None, "before")
    before = contents(notebook.path)
    steps = steps_with(tmp_path, then)
    with (
        pytest.raises(Exception, match=r"half way|no such table"),
        notebook._engine.execution_options(write=True).begin() as connection,
    ):
        upgrade(connection, steps)
    assert contents(notebook.path) == before
    notebook.write_note(None, "and it can be used as before")


def test_a_failing_first_step_leaves_an_empty_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("half way")

    path = tmp_path / "n.sqlite"
    monkeypatch.setattr("alembic.runtime.migration.HeadMaintainer.update_to_step", broken)  # after the tables are made
    with pytest.raises(RuntimeError, match="half way"):
        open_notebook(path)
    assert contents(path) == ["BEGIN TRANSACTION;", "COMMIT;"]
    monkeypatch.undo()
    with open_notebook(path) as notebook:
        notebook.write_note(None, "then it is made")


@pytest.mark.parametrize("found", ["9000", "zz", b"zz"])
def test_a_newer_file_is_refused_and_left_alone(tmp_path: Path, found: str | bytes) -> None:
    path = tmp_path / "n.sqlite"
    with open_notebook(path) as notebook:
        notebook.write_note(None, "x")
    with sqlite3.connect(path) as file:
        file.execute("UPDATE alembic_version SET version_num = ?", (found,))
    file.close()
    before = path.read_bytes()
    with pytest.raises(NotebookError, match=rf"newer version of polepiece \(schema {found!s}"):
        open_notebook(path)
    assert path.read_bytes() == before


def test_opening_what_is_up_to_date_writes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "n.sqlite"
    with open_notebook(path) as notebook:
        notebook.write_note(None, "x")
    before = path.read_bytes()
    with open_notebook(path) as notebook:
        assert len(notebook.log()) == 1
    assert path.read_bytes() == before


def test_several_programs_may_make_the_same_file(tmp_path: Path) -> None:
    code = (
        "import sys; from polepiece.notebook import open_notebook\n"
        "sys.stdin.readline()\n"
        "with open_notebook(sys.argv[1]) as n: n.write_note(None, sys.argv[2])\n"
    )
    path = tmp_path / "n.sqlite"
    programs = [
        subprocess.Popen([sys.executable, "-c", code, str(path), str(k)], stdin=subprocess.PIPE, stderr=subprocess.PIPE)
        for k in range(4)
    ]
    for one in programs:  # all at once, when all have loaded
        assert one.stdin is not None
        one.stdin.write(b"\n")
        one.stdin.flush()
    for one in programs:
        _, words = one.communicate(timeout=60)
        assert one.returncode == 0, words.decode()
    with open_notebook(path) as notebook:
        assert sorted(one.words for one in notebook.log()) == ["0", "1", "2", "3"]


def test_what_other_tests_begin_with_is_what_the_steps_make(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """They have the statements of the first notebook run again (`tests/made_notebooks.py`): the same file."""
    found = []
    for name in ("by the steps", "by the first one's statements", "by them again"):
        if name != "by the steps":
            monkeypatch.setattr(own_steps, "upgrade", by_its_statements(upgrade))
        open_notebook(tmp_path / name).close()
        with sqlite3.connect(tmp_path / name) as file:
            marks = [
                file.execute(f"PRAGMA {one}").fetchone() for one in ("application_id", "user_version", "page_size")
            ]
        file.close()
        found.append((contents(tmp_path / name), marks))
    assert STATEMENTS
    assert found[0] == found[1] == found[2]


def test_what_was_learned_is_counted_anew_by_the_step_that_seals_it(notebook: Notebook, guitar: Guitar) -> None:
    """On a file and on a server that were kept by the version before."""
    season(notebook, guitar, seed=8, swaps=5)
    before = counted_lines(notebook, WITHIN)
    with notebook._engine.execution_options(write=True).begin() as connection:
        for table in ("ledger_lines", "ledger_heads", "swaps", "learned_marks"):
            connection.exec_driver_sql(f"DROP TABLE {table}")
        with Operations.context(MigrationContext.configure(connection)):
            script_directory().get_revision("0010").module.upgrade()
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0010'")
    with open_notebook(notebook.path) as again:
        assert counted_lines(again, WITHIN) == before
        with again._engine.connect() as connection:
            assert list(missing_guards(raw_of(connection), TABLES)) == []
    assert check_notebook(notebook.path).faults == ()
