"""The drills of the pages on a notebook and on several benches: damaged, looked at, rescued, restored, line by line."""

import os
import shlex
import uuid
from pathlib import Path

import pytest
from typer.testing import CliRunner

from polepiece.cli.commands import app
from polepiece.guitar import read_guitar
from polepiece.notebook import open_notebook
from tests import postgres
from tests.cli.conftest import DEMO
from tests.docs.pages import DOCS
from verification.notebook_trials import Clock, fill, told

ENDS = {"backup": 0, "log": 0, "rescue": 1, "restore": 0}  # exit codes; those of check in their order are
CHECKS = [1, 0, 0]


def lines(page: str = "keep-a-notebook.md") -> list[str]:
    """The lines of the drill as a page has them."""
    text = (DOCS / "how-to" / page).read_text(encoding="utf-8")
    return text.partition("### Practise it once")[2].split("```")[1].strip().splitlines()


def test_the_drill_ends_as_the_page_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    kept = tmp_path / "shop.sqlite"
    monkeypatch.setenv("POLEPIECE_NOTEBOOK", str(kept))
    with open_notebook(kept, clock=Clock()) as book:
        fill(book, read_guitar(DEMO), 4)
        said, entries = told(book), len(book.log())
    checks, shown = [], ""
    for line in lines():
        program, *words = shlex.split(line)
        if program == "python":
            exec(words[1])
            continue
        done = CliRunner().invoke(app, words)
        command = words[1] if words[0] == "notebook" else words[0]
        if command == "check":
            checks.append(done.exit_code)
        else:
            assert done.exit_code == ENDS[command], (line, done.output)
        shown += done.output if command == "log" else ""
    assert checks == CHECKS
    assert "neck lowered" in shown or "other" in shown  # something of it was whole
    for name, whole in (("drill.sqlite", True), ("rescued.sqlite", False)):
        with open_notebook(tmp_path / name) as book:
            assert (told(book) == said) is whole
            assert 0 < len(book.log()) <= entries


def test_the_drill_on_a_server_ends_as_the_page_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if why := postgres.missing():
        pytest.skip(why)
    from psycopg import connect  # optional, as the server is

    cluster = postgres.shared(Path(os.environ["POLEPIECE_TEST_HOME"]))
    practice = f"practice{uuid.uuid4().hex}"
    kept = tmp_path / "shop.sqlite"
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("POLEPIECE_NOTEBOOK", str(kept))
    with open_notebook(kept, clock=Clock()) as book:
        fill(book, read_guitar(DEMO), 2)
        said, notes = told(book), len(book.notes())
    checks, shown = [], ""
    for line in lines("several-benches.md"):
        words = shlex.split(line.replace("postgresql://bench@shop-server/practice", cluster.address(practice)))
        match words:
            case ["sudo", "-u", "postgres", "createdb" | "dropdb" as does, *_]:
                cluster.ask(f"{'CREATE' if does == 'createdb' else 'DROP'} DATABASE {practice}".encode())
            case ["sudo", "-u", "postgres", "psql", "practice", "-c", orders]:
                with connect(cluster.address(practice)) as owner:
                    owner.execute(orders.encode())
            case ["polepiece", *rest]:
                done = CliRunner().invoke(app, rest)
                command = rest[1] if rest[0] == "notebook" else rest[0]
                if command == "check":
                    checks.append(done.exit_code)
                else:
                    assert done.exit_code == ENDS[command], (line, done.output)
                shown += done.output if command == "log" else ""
                if command == "check" and len(checks) == 3:
                    with open_notebook(cluster.address(practice)) as book:
                        assert told(book) == said
            case _:
                pytest.fail(line)
    assert checks == CHECKS
    assert "neck lowered" in shown
    with open_notebook(tmp_path / "rescued.sqlite") as book:
        assert len(book.log()) == len(said["log"]) - notes  # type: ignore[arg-type]
