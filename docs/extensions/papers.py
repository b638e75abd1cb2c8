"""The papers at the repository's root as pages of the site."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAPERS = {
    "ARCHITECTURE.md": "architecture",
    "CONTRIBUTING.md": "contributing",
    "CHANGELOG.md": "changelog",
    "README.md": "readme",
}
LINK = re.compile(r"(!?)\[([^\]\n]+)\]\((?!https?:|#)([^)\s#]+)(#[^)\s]*)?\)")


def paper_page(name: str) -> str:
    """Return a paper with its links as they are from `docs/development/`."""

    def rewritten(found: re.Match[str]) -> str:
        picture, words, path, anchor = found.groups()
        if path in PAPERS and (ROOT / path).exists():
            return f"[{words}]({PAPERS[path]}.md{anchor or ''})"
        there = f"{path}index.md" if path.endswith("/") else path
        if there.startswith("docs/") and (ROOT / there).exists():
            return f"{picture}[{words}](../{there.removeprefix('docs/')}{anchor or ''})"
        return f"{words} (`{path}`)" if words.strip("`") != path else f"`{path}`"

    return LINK.sub(rewritten, (ROOT / name).read_text(encoding="utf-8"))


def paper_pages() -> dict[str, str]:
    """Return the pages by the name of their file."""
    return {f"{page}.md": paper_page(name) for name, page in PAPERS.items() if (ROOT / name).exists()}
