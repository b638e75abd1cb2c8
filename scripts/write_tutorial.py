"""Run what docs/tutorial/ shows and write the answers under it; `tests/docs/test_tutorial.py` fails where they differ.

    python scripts/write_tutorial.py

A block ```console holds one command after `$ `, continued after a backslash, and what it prints. Commands of a page
run one after the other in one empty folder with a notebook of their own. `<!-- 12 lines -->` before a block shows as
many, then `[...]`. Run it after a change of the physics or of the words; it takes half a minute.
"""

import os
import re
import shlex
import tempfile
from collections.abc import Iterator
from contextlib import chdir, contextmanager
from pathlib import Path
from types import SimpleNamespace
from unittest.mock import patch

from typer.testing import CliRunner

from polepiece.cli import second
from polepiece.cli.commands import app

PAGES = sorted((Path(__file__).parents[1] / "docs" / "tutorial").glob("*.md"))
BLOCK = re.compile(
    r"(?P<head>(?:<!-- (?P<most>\d+) lines -->\n)?```console\n)(?P<typed>\$ (?:[^\n]*\\\n)*[^\n]*\n)(?P<told>.*?)```",
    re.DOTALL,
)
DAY = "2026-11-30"  # whatever day it is


@contextmanager
def apart(folder: Path) -> Iterator[None]:
    """Work in ``folder`` with a notebook in it, 80 columns wide, without colour, in this process alone."""
    names = {"POLEPIECE_NOTEBOOK": str(folder / "notebook.sqlite"), "COLUMNS": "80", "NO_COLOR": "1"}
    alone = patch.object(second, "os", SimpleNamespace(cpu_count=lambda: 1))
    with patch.dict(os.environ, names), alone, chdir(folder):
        yield


def answered(typed: str, folder: Path) -> str:
    """Run one command line; return what it prints, the same on every day and in every folder.

    Raises
    ------
    SystemExit
        When the command fails.
    """
    words = shlex.split(typed.removeprefix("$ ").replace("\\\n", " "))
    result = CliRunner().invoke(app, words[1:])
    if result.exit_code != 0:
        raise SystemExit(f"{typed}{result.output}exit code {result.exit_code}: {result.exception!r}")
    text = result.stdout.replace(f"{folder}{os.sep}", "")
    text = re.sub(r"\d{4}-\d\d-\d\d \d\d:\d\d", f"{DAY} 10:00", text)
    return "".join(f"{line.rstrip()}\n" for line in text.splitlines())


def shown(told: str, most: str | None) -> str:
    """Return the first lines of an answer."""
    lines = told.splitlines(keepends=True)
    return told if most is None or len(lines) <= int(most) else "".join(lines[: int(most)]).rstrip("\n") + "\n[...]\n"


def written(text: str) -> str:
    """Return a page with every answer as it is now."""
    with tempfile.TemporaryDirectory() as name, apart(Path(name)):

        def block(found: re.Match[str]) -> str:
            told = answered(found["typed"], Path(name))
            return f"{found['head']}{found['typed']}{shown(told, found['most'])}```"

        return BLOCK.sub(block, text)


if __name__ == "__main__":
    for page in PAGES:
        page.write_text(written(page.read_text(encoding="utf-8")), encoding="utf-8")
