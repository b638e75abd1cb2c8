"""Gather the fragments of `changelog.d/` into CHANGELOG.md as one release, and say its version: `make release` does it.

    python scripts/gather_changes.py 0.2.0

A program of this size needs no package for that: the name of a fragment says its kind, its text is the entry.
"""

import re
import sys
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).parents[1]
KINDS = {
    "physics": "Figures that move",
    "added": "Added",
    "changed": "Changed",
    "fixed": "Fixed",
    "removed": "Removed",
}
TITLE = "# Changes\n"
VERSION = re.compile(r'^__version__ = "([^"]+)"$', re.MULTILINE)


def fragments(folder: Path) -> list[Path]:
    """Return the fragments, by name.

    Raises
    ------
    SystemExit
        When there are none, or the name of one says no kind.
    """
    found = sorted(path for path in folder.glob("*.md") if path.name != "README.md")
    strange = [path.name for path in found if kind_of(path) not in KINDS]
    if strange:
        raise SystemExit(
            f"{folder}: {', '.join(strange)}: write <short-words>.<kind>.md, kind one of {', '.join(KINDS)}."
        )
    if not found:
        raise SystemExit(f"{folder} has no fragment: nothing has changed since the last release.")
    return found


def kind_of(path: Path) -> str:
    """Return what the name of a fragment says it is."""
    return path.name.removesuffix(".md").rpartition(".")[2]


def entry(text: str) -> str:
    """Return the text of a fragment as one item of a list."""
    return "- " + "\n  ".join(line.rstrip() for line in text.strip().splitlines()).replace("\n  \n", "\n\n")


def section(found: list[Path], version: str, date: str) -> str:
    """Return what is new in a release, by kind."""
    parts = [f"## {version} ({date})"]
    for kind, words in KINDS.items():
        entries = [entry(path.read_text(encoding="utf-8")) for path in found if kind_of(path) == kind]
        if entries:
            parts.append(f"### {words}\n\n" + "\n".join(entries))
    return "\n\n".join(parts) + "\n"


def gather(root: Path, version: str, date: str) -> int:
    """Write the release into CHANGELOG.md and the version into the package, delete the fragments; return their number.

    Raises
    ------
    SystemExit
        When the version is none, or is in CHANGELOG.md already; nothing is written then.
    """
    if not re.fullmatch(r"\d+\.\d+\.\d+", version):
        raise SystemExit(f"{version!r} is no version: write three numbers, as in make release VERSION=0.2.0.")
    log, package = root / "CHANGELOG.md", root / "src" / "polepiece" / "__init__.py"
    old = log.read_text(encoding="utf-8") if log.exists() else TITLE
    if f"## {version} " in old:
        raise SystemExit(f"{log} has {version} already.")
    found = fragments(root / "changelog.d")
    text, count = VERSION.subn(f'__version__ = "{version}"', package.read_text(encoding="utf-8"))
    if count != 1:
        raise SystemExit(f"{package} does not say its version in one line.")
    log.write_text(f"{TITLE}\n{section(found, version, date)}{old.removeprefix(TITLE)}", encoding="utf-8")
    package.write_text(text, encoding="utf-8")
    for path in found:
        path.unlink()
    return len(found)


if __name__ == "__main__":
    wanted = sys.argv[1] if len(sys.argv) == 2 else ""
    number = gather(ROOT, wanted, datetime.now(UTC).date().isoformat())
    print(f"CHANGELOG.md: {wanted}, {number} changes.")
