"""Write docs/reference/files.md: every file of the source in one line, from its docstring; `--check` only compares."""

import ast
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "polepiece"
PAGE = ROOT / "docs" / "reference" / "files.md"

INTRODUCTION = """\
# Every file in one line

*Written by `scripts/write_files_page.py` from the first line of each file. How rooms stand on one another, and where a
new line belongs, is in [ARCHITECTURE.md](../../ARCHITECTURE.md).*
"""


def says(path: Path) -> str:
    """First paragraph of a file's docstring, as one line."""
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    return " ".join(text.partition("\n\n")[0].split())


def room(folder: Path) -> list[str]:
    """One folder: its name, what it says of itself, its files."""
    name = folder.relative_to(SOURCE).as_posix()
    files = [one for one in sorted(folder.glob("*.py")) if one.name != "__init__.py"]
    title = "On the ground: what everything may use" if folder == SOURCE else f"`{name}/`"
    said = "" if folder == SOURCE else says(folder / "__init__.py")
    lines = [f"- `{one.stem}`: {says(one)}" for one in files if says(one)]
    return [f"## {title}", "", *([said, ""] if said else []), *lines, ""] if lines else []


def page() -> str:
    """The whole page."""
    folders = [SOURCE, *sorted(one.parent for one in SOURCE.rglob("__init__.py") if one.parent != SOURCE)]
    lines = [line for one in folders for line in room(one)]
    return "\n".join([INTRODUCTION, *lines]).rstrip("\n") + "\n"


if __name__ == "__main__":
    if "--check" in sys.argv:
        sys.exit(PAGE.read_text(encoding="utf-8") != page())
    PAGE.write_text(page(), encoding="utf-8")
