"""Pages that are made from the source while the site is built, so that nothing is written twice.

They are laid beside the others, since Sphinx reads files alone, and are not kept (`.gitignore`): one a command, one a
room, the papers at the repository's root. A page that has not changed is left as it is, so that it is not built again.
"""

from pathlib import Path
from typing import Any

from command_pages import command_pages
from papers import paper_pages
from room_pages import room_pages
from sphinx.application import Sphinx
from sphinx.config import Config


def write_pages(docs: Path) -> None:
    """Write all pages that are made, and take away those whose source is gone."""
    for folder, pages in (
        ("reference/commands", command_pages()),
        ("reference/rooms", room_pages()),
        ("development", paper_pages()),
    ):
        place = docs / folder
        place.mkdir(exist_ok=True)
        for old in place.glob("*.md"):
            if old.name not in pages and (folder, old.name) != ("development", "index.md"):
                old.unlink()
        for name, text in pages.items():
            path = place / name
            if not path.exists() or path.read_text(encoding="utf-8") != text:
                path.write_text(text, encoding="utf-8")


def _made(app: Sphinx, _config: Config) -> None:
    write_pages(Path(app.srcdir))


def setup(app: Sphinx) -> dict[str, Any]:
    """Have the pages written before any is read."""
    app.connect("config-inited", _made)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
