"""The pages of the documentation as they are written by hand, and what is shown in them."""

import re
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
MADE = ("reference/commands", "reference/rooms", "development", "extensions")  # while the site is built
PAPERS = ("README.md", "ARCHITECTURE.md", "CONTRIBUTING.md")
FENCE = re.compile(r"^(?P<ticks>`{3,})(?P<language>[^\n`]*)\n(?P<text>.*?)^(?P=ticks)$", re.MULTILINE | re.DOTALL)


class Block(NamedTuple):
    """What is shown between fences: in which page, in which language, from which line on."""

    page: Path
    language: str
    text: str
    line: int

    @property
    def where(self) -> str:
        """For a message."""
        return f"{self.page.relative_to(ROOT)}:{self.line}"


def pages() -> list[Path]:
    """Return every page that is written by hand or kept, and the papers at the root."""
    found = sorted(DOCS.rglob("*.md"))
    kept = [path for path in found if not path.relative_to(DOCS).as_posix().startswith(MADE)]
    return [*kept, *(ROOT / name for name in PAPERS)]


def blocks() -> list[Block]:
    """Return every fenced block of every page."""
    made = []
    for page in pages():
        text = page.read_text(encoding="utf-8")
        for found in FENCE.finditer(text):
            line = text.count("\n", 0, found.start("text")) + 1
            made.append(Block(page, found["language"].strip(), found["text"], line))
    return made


def words_of(folder: str) -> str:
    """Return all pages of a folder of docs/ as one text."""
    return "\n".join(path.read_text(encoding="utf-8") for path in pages() if path.is_relative_to(DOCS / folder))
