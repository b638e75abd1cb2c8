"""Gather the fragments of `changelog.d/` into one release, and say its version: `make release` does it.

    python scripts/gather_changes.py 0.2.0

CHANGELOG.md gets what a person reads: `changelog.d/in-short.md` (written by hand for a release, if somebody did), then
the main clause of every change under the headings of `changelog.d/areas.toml`, but for those that concern nobody who
uses the tool. The whole texts go to `changelog.d/released/`. A program of this size needs no package for that: the name
of a fragment says its kind. The page on installing names the new wheel.
"""

import re
import sys
import tomllib
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).parents[1]
KINDS = {"physics": "", "added": "Added", "changed": "Changed", "fixed": "Fixed", "removed": "Removed"}
PHYSICS = "Figures that move"
REST = "And"
TITLE = "# Changes\n"
NO_FRAGMENT = ("README.md", "in-short.md")
VERSION = re.compile(r'^__version__ = "([^"]+)"$', re.MULTILINE)
WHEEL = re.compile(r"polepiece-\d+\.\d+\.\d+-py3-none-any\.whl")  # as docs/how-to/install.md names what is installed
LINK = re.compile(r"(\]\()\.\./([^)\s]+\))")  # from changelog.d/ to what lies beside it
SENTENCE = re.compile(r"(?<=[a-z0-9)`\"\]/*][.!?])\s+(?=[A-Z`\"*])")
ASIDE = re.compile(r" \([^()]*\)(?=[ ,.;:]|$)")
LONG = 110  # characters from which a sentence loses its asides, and what comes after a colon or semicolon
CLAUSE = re.compile(r"[:;] ")


def fragments(folder: Path) -> list[Path]:
    """Return the fragments, by name.

    Raises
    ------
    SystemExit
        When there are none, or the name of one says no kind.
    """
    found = sorted(path for path in folder.glob("*.md") if path.name not in NO_FRAGMENT)
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


def area_of(path: Path, areas: Mapping[str, list[str]]) -> str:
    """Return the heading that a fragment stands under: by its whole name, else by a word of it."""
    if kind_of(path) == "physics":
        return PHYSICS
    name = path.name.removesuffix(".md").rpartition(".")[0]
    for words in ({name}, set(name.split("-"))):
        for area, known in areas.items():
            if words & set(known):
                return area
    return REST


def whole(text: str) -> str:
    """Return the text of a fragment as one item of a list; paragraphs and lists in it stay what they are."""
    lines = [line.rstrip() for line in text.strip().splitlines()]
    if lines[0].startswith("- "):
        return "\n".join(lines)
    return "- " + "\n  ".join(lines).replace("\n  \n", "\n\n")


def headline(text: str) -> str:
    """Return how a fragment begins, as one item of a list: its first sentence, of a long one the main clause."""
    flat = " ".join(text.strip().removeprefix("- ").partition("\n- ")[0].split())
    said = SENTENCE.split(flat)[0]
    if len(said) > LONG:
        said = ASIDE.sub("", said)
        ends = [one.start() for one in CLAUSE.finditer(said) if _says(said[: one.start()])]
        said = said[: ends[0]] if len(said) > LONG and ends else said
    return f"- {said.rstrip('.')}."


def _says(text: str) -> bool:
    """Tell whether a beginning says something: no quotation, code or bracket is open, and it is no bare name."""
    closed = text.count("`") % 2 == 0 and text.count('"') % 2 == 0 and text.count("(") == text.count(")")
    return closed and len(re.findall(r"\w+", re.sub(r"`[^`]*`", "", text))) >= 5


def listed(found: list[Path], areas: Mapping[str, list[str]], said: Callable[[str], str]) -> str:
    """Return the changes under their headings, by kind, each as ``said``."""
    parts = []
    for area in (PHYSICS, *areas, REST):
        mine = [path for path in found if area_of(path, areas) == area]
        if not mine:
            continue
        parts.append(f"### {area}")
        for kind, words in KINDS.items():
            entries = [said(path.read_text(encoding="utf-8")) for path in mine if kind_of(path) == kind]
            if entries:
                parts.append((f"**{words}**\n\n" if words else "") + "\n".join(entries))
    return "\n\n".join(parts) + "\n"


def section(folder: Path, found: list[Path], version: str, date: str) -> tuple[str, str]:
    """Return what is new in a release: what CHANGELOG.md says of it, and the whole text of every change."""
    place, short = folder / "areas.toml", folder / "in-short.md"
    table = tomllib.loads(place.read_text(encoding="utf-8")) if place.exists() else {}
    areas, inside = table.get("areas", {}), table.get("only_in_full", [])
    shown = [path for path in found if area_of(path, areas) not in inside]
    parts = [f"## {version} ({date})"]
    if short.exists():
        parts.append(short.read_text(encoding="utf-8").strip())
    rest = f", with {len(found) - len(shown)} more of the inside" if len(shown) < len(found) else ""
    parts.append(f"Each change in a line; [in full{rest}](changelog.d/released/{version}.md).")
    told = "\n\n".join(parts) + "\n\n" + listed(shown, areas, headline)
    return LINK.sub(r"\1\2", told), (
        f"# Changes in {version}, in full\n\n" + LINK.sub(r"\1../../\2", listed(found, areas, whole))
    ).replace("\n### ", "\n## ")


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
    folder = root / "changelog.d"
    found = fragments(folder)
    text, count = VERSION.subn(f'__version__ = "{version}"', package.read_text(encoding="utf-8"))
    if count != 1:
        raise SystemExit(f"{package} does not say its version in one line.")
    told, full = section(folder, found, version, date)
    (folder / "released").mkdir(exist_ok=True)
    (folder / "released" / f"{version}.md").write_text(full, encoding="utf-8")
    log.write_text(f"{TITLE}\n{told}{old.removeprefix(TITLE)}", encoding="utf-8")
    package.write_text(text, encoding="utf-8")
    install = root / "docs" / "how-to" / "install.md"
    if install.exists():
        named = WHEEL.sub(f"polepiece-{version}-py3-none-any.whl", install.read_text(encoding="utf-8"))
        install.write_text(named, encoding="utf-8")
    (folder / "in-short.md").unlink(missing_ok=True)
    for path in found:
        path.unlink()
    return len(found)


if __name__ == "__main__":
    wanted = sys.argv[1] if len(sys.argv) == 2 else ""
    number = gather(ROOT, wanted, datetime.now(UTC).date().isoformat())
    print(f"CHANGELOG.md: {wanted}, {number} changes.")
