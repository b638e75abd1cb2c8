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
RELEASED = ROOT / "changelog.d" / "released"  # every change of a release, in full
LINK = re.compile(r"(!?)\[([^\]\n]+)\]\((?!https?:|#)([^)\s#]+)(#[^)\s]*)?\)")


def paper_page(name: str) -> str:
    """Return a paper with its links as they are from `docs/development/`."""

    def rewritten(found: re.Match[str]) -> str:
        picture, words, path, anchor = found.groups()
        path = path.removeprefix("../../")  # of a file in RELEASED
        if (ROOT / path).parent == RELEASED and (ROOT / path).exists():
            return f"[{words}](changes-{Path(path).name})"
        if path in PAPERS and (ROOT / path).exists():
            return f"[{words}]({PAPERS[path]}.md{anchor or ''})"
        there = f"{path}index.md" if path.endswith("/") else path
        if there.startswith("docs/") and (ROOT / there).exists():
            return f"{picture}[{words}](../{there.removeprefix('docs/')}{anchor or ''})"
        return f"{words} (`{path}`)" if words.strip("`") != path else f"`{path}`"

    return LINK.sub(rewritten, (ROOT / name).read_text(encoding="utf-8"))


def paper_pages() -> dict[str, str]:
    """Return the pages by the name of their file."""
    papers = {f"{page}.md": paper_page(name) for name, page in PAPERS.items() if (ROOT / name).exists()}
    released = sorted(RELEASED.glob("*.md"))
    return papers | {f"changes-{one.name}": paper_page(str(one.relative_to(ROOT))) for one in released}
