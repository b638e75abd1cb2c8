"""What the tutorial shows is what its commands print, and the Python of every page runs.

The tutorial is a person's: it runs on the fine mesh. Its pickup is the neck pickup of the demo, whose geometry the
tests of the demo solve as well; what is solved by either is found by the other in the cache of the run.
"""

import runpy
from collections.abc import Callable
from pathlib import Path

import pytest

from polepiece.bench import bench as bench_module
from polepiece.guitar import read_guitar
from polepiece.moves import apply, parse_changes
from polepiece.pickup.engine import COARSE
from tests.cli.conftest import ask
from tests.docs.pages import ROOT, Block, blocks

WRITER = runpy.run_path(str(ROOT / "scripts" / "write_tutorial.py"))
WRITTEN: Callable[[str], str] = WRITER["written"]
PYTHON = [one for one in blocks() if one.language == "python" and one.page.name != "CONTRIBUTING.md"]


@pytest.mark.parametrize("page", WRITER["PAGES"], ids=lambda page: page.name)
def test_what_is_shown_is_what_is_printed(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert WRITTEN(text) == text, "run scripts/write_tutorial.py, and read what it changed"


def test_every_console_block_of_the_tutorial_is_run() -> None:
    shown = [one for one in blocks() if one.page in WRITER["PAGES"] and one.language == "console"]
    assert len(shown) >= 6
    for one in shown:
        text = f"```console\n{one.text}```"
        assert WRITER["BLOCK"].search(text), f"{one.where}: one command after '$ ', then what it prints"


def test_a_slip_in_what_is_shown_is_found() -> None:
    text = "```console\n$ polepiece --version\npolepiece 0.0.0\n```"
    assert "0.0.0" not in WRITTEN(text) and "polepiece " in WRITTEN(text)


@pytest.mark.parametrize("block", PYTHON, ids=lambda one: one.where)
def test_the_python_of_a_page_runs(block: Block, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """On the coarse mesh, in the repository's folder as it is said there; files it writes go elsewhere."""
    monkeypatch.setattr(bench_module, "Resolution", lambda: COARSE)
    monkeypatch.setattr("polepiece.bench.grades.grade_slugs", lambda: ("alnico-2", "alnico-5"))
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    monkeypatch.chdir(tmp_path)
    guitar = read_guitar(ROOT / "examples" / "demo.guitar.toml")
    around = {
        "guitar": guitar,
        "lowered": apply(guitar, "neck", parse_changes(["lower=0.3mm"])),
        "input": lambda _words: "A",
    }
    if '"sweep.parquet"' in block.text:
        ask("sweep", "examples/demo.guitar.toml", "-p", "neck", "-v", "volume_pot=250k/500k", "-o", "sweep.parquet")
    exec(compile(block.text, block.where, "exec"), around)
