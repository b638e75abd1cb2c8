"""A release as `make release` makes it: fragments into CHANGELOG.md, what wheel and sdist carry, what is locked."""

import re
import runpy
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import polepiece

ROOT = Path(__file__).parents[2]
GATHER = runpy.run_path(str(ROOT / "scripts" / "gather_changes.py"))
TRY = runpy.run_path(str(ROOT / "scripts" / "try_install.py"))
PINNED = re.compile(r"^([a-z0-9][a-z0-9._-]*)==(\S+)(?: ; ([^\\\n]*[^\\\s]))?", re.MULTILINE)


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """What a release changes, in a folder of its own, with a few fragments."""
    (tmp_path / "src" / "polepiece").mkdir(parents=True)
    shutil.copy(ROOT / "src" / "polepiece" / "__init__.py", tmp_path / "src" / "polepiece")
    (tmp_path / "changelog.d").mkdir()
    for name, text in (
        ("README.md", "# how\n"),
        ("b-thing.added.md", "Second.\nOf two lines.\n"),
        ("a-thing.added.md", "First.\n"),
        ("field.physics.md", "Fields move by 1 %.\n"),
    ):
        (tmp_path / "changelog.d" / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_fragments_become_a_release(copy: Path) -> None:
    page = copy / "docs" / "how-to" / "install.md"
    page.parent.mkdir(parents=True)
    shutil.copy(ROOT / "docs" / "how-to" / "install.md", page)
    assert GATHER["gather"](copy, "7.8.9", "2027-01-02") == 3
    text = (copy / "CHANGELOG.md").read_text(encoding="utf-8")
    assert text.startswith("# Changes\n\n## 7.8.9 (2027-01-02)\n\n")
    assert "### Figures that move\n\n- Fields move by 1 %.\n" in text
    assert "### And\n\n**Added**\n\n- First.\n- Second.\n" in text
    full = (copy / "changelog.d" / "released" / "7.8.9.md").read_text(encoding="utf-8")
    assert full.startswith("# Changes in 7.8.9, in full\n\n## Figures that move\n")
    assert "**Added**\n\n- First.\n- Second.\n  Of two lines.\n" in full
    assert sorted(path.name for path in (copy / "changelog.d").iterdir()) == ["README.md", "released"]
    assert '__version__ = "7.8.9"\n' in (copy / "src" / "polepiece" / "__init__.py").read_text(encoding="utf-8")
    wheels = re.findall(r"polepiece-([\w.]+)-py3-none-any\.whl", page.read_text(encoding="utf-8"))
    assert wheels
    assert set(wheels) == {"7.8.9"}


def test_the_page_on_installing_names_this_version_and_every_extra() -> None:
    page = (ROOT / "docs" / "how-to" / "install.md").read_text(encoding="utf-8")
    assert set(re.findall(r"polepiece-([\w.]+)-py3-none-any\.whl", page)) == {polepiece.__version__}
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    told = set(re.findall(r"^\| `(\w+)` \|", page, re.MULTILINE)) & set(project["optional-dependencies"])
    assert told == set(project["optional-dependencies"])


def test_a_release_has_its_words_by_hand_its_headings_and_links_that_lead_somewhere(copy: Path) -> None:
    folder = copy / "changelog.d"
    for name, text in (
        ("in-short.md", "What it comes to.\n"),
        ("areas.toml", 'only_in_full = ["Inside"]\n[areas]\nPages = ["page", "thing-speed"]\nInside = ["speed"]\n'),
        ("thing-speed.changed.md", "Quicker, see [figures](../docs/performance.md): 3 s.\n"),
        ("more-speed.changed.md", "Nobody sees it.\n"),
        ("last-page.fixed.md", "A page.\n"),
    ):
        (folder / name).write_text(text, encoding="utf-8")
    GATHER["gather"](copy, "7.8.9", "2027-01-02")
    text = (copy / "CHANGELOG.md").read_text(encoding="utf-8")
    assert text.index("What it comes to.") < text.index("### Figures that move") < text.index("### Pages")
    pages = (
        "### Pages\n\n**Changed**\n\n- Quicker, see [figures](docs/performance.md): 3 s.\n\n**Fixed**\n\n- A page.\n"
    )
    assert pages in text and text.index("### Pages") < text.index("### And")
    assert "Nobody sees it" not in text and "with 1 more of the inside](changelog.d/released/7.8.9.md)" in text
    full = (folder / "released" / "7.8.9.md").read_text(encoding="utf-8")
    assert "## Inside\n\n**Changed**\n\n- Nobody sees it.\n" in full and "(../../docs/performance.md)" in full
    assert not (folder / "in-short.md").exists() and (folder / "areas.toml").exists()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("One (with an aside). Two.", "One (with an aside)."),
        (f"It does this and that (an {'a' * 99} aside): details.", "It does this and that: details."),
        (
            f"`polepiece x`: what it does now is said{' at length' * 9}; more.",
            f"`polepiece x`: what it does now is said{' at length' * 9}.",
        ),
        (f'Now "a long: saying{" of it" * 16}" is read; more.', f'Now "a long: saying{" of it" * 16}" is read.'),
        ("Takes 0.5 to 0.8 mm. Then more.", "Takes 0.5 to 0.8 mm."),
        ("- First of a list.\n- Second.", "First of a list."),
    ],
)
def test_a_line_of_the_release_is_the_main_clause(text: str, said: str) -> None:
    assert GATHER["headline"](text) == f"- {said}"


def test_the_release_that_comes_can_be_read(tmp_path: Path) -> None:
    """A line of each fragment is no paragraph, and the whole is what a person skims in a quarter of an hour."""
    folder = ROOT / "changelog.d"
    if not any("." in one.name.removesuffix(".md") for one in folder.glob("*.md")):
        pytest.skip("everything is released")
    found = GATHER["fragments"](folder)
    told, full = GATHER["section"](folder, found, "7.8.9", "2027-01-02")
    lines = [line for line in told.splitlines() if line.startswith("- ") and not line.startswith("- **")]
    assert not [line for line in lines if len(line) > 400], "shorten its first sentence"
    assert len(told.split()) < 6000  # 400 words a minute are skimmed
    for path in found:
        assert " ".join(path.read_text(encoding="utf-8").replace("](../", "](../../").split()[-6:]) in " ".join(
            full.split()
        )


def test_the_newest_release_stands_first(copy: Path) -> None:
    GATHER["gather"](copy, "7.8.9", "2027-01-02")
    (copy / "changelog.d" / "later.fixed.md").write_text("Mended.\n", encoding="utf-8")
    GATHER["gather"](copy, "7.9.0", "2027-02-03")
    text = (copy / "CHANGELOG.md").read_text(encoding="utf-8")
    assert text.count("# Changes\n") == 1 and text.index("## 7.9.0") < text.index("Mended") < text.index("## 7.8.9")


@pytest.mark.parametrize(
    ("version", "fragment", "word"),
    [("0.2", "", "three numbers"), ("7.8.9", "thing.better.md", "kind one of"), ("7.8.9", "none", "no fragment")],
)
def test_what_cannot_be_released_changes_nothing(copy: Path, version: str, fragment: str, word: str) -> None:
    if fragment == "none":
        for path in (copy / "changelog.d").glob("*.*.md"):
            path.unlink()
    elif fragment:
        (copy / "changelog.d" / fragment).write_text("What.\n", encoding="utf-8")
    before = sorted(copy.rglob("*"))
    with pytest.raises(SystemExit, match=word):
        GATHER["gather"](copy, version, "2027-01-02")
    assert sorted(copy.rglob("*")) == before


def test_every_fragment_says_its_kind() -> None:
    strange = [path.name for path in (ROOT / "changelog.d").glob("*.md") if path.name not in GATHER["NO_FRAGMENT"]]
    assert not [name for name in strange if GATHER["kind_of"](Path(name)) not in GATHER["KINDS"]]


@pytest.mark.parametrize(("kind", "ending"), [("wheel", ".whl"), ("sdist", ".tar.gz")])
def test_what_is_built_carries_the_tool_and_no_pictures_or_tests(tmp_path: Path, kind: str, ending: str) -> None:
    """Its size is held as well: 3 MB, twice what it is."""
    pytest.importorskip("hatchling", reason="hatchling is not installed")
    line = [sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", str(tmp_path)]
    subprocess.run(line, cwd=ROOT, check=True, capture_output=True, timeout=300)
    built = next(tmp_path.glob(f"*{ending}"))
    names = TRY["names"](built)
    assert not [name for name in names if any(one in name for one in TRY["NOT_IN"])]
    assert built.stat().st_size < TRY["MOST_FILE_MB"] * 1e6
    for needed in (
        "polepiece/__init__.py",
        "materials/data/magnets.toml",
        "cli/demo.guitar.toml",
        "app/static/polepiece.css",
    ):
        assert any(name.endswith(needed) for name in names), needed


# ------------------------------------------------------------------------------------------------ what is locked


def locked(name: str) -> dict[tuple[str, str], str]:
    text = (ROOT / "requirements" / f"{name}.txt").read_text(encoding="utf-8")
    return {(package, where): version for package, version, where in PINNED.findall(text)}


@pytest.mark.parametrize("name", ["run", "docs", "test", "uv"])
def test_every_package_of_a_lock_is_held_to_its_hashes(name: str) -> None:
    text = (ROOT / "requirements" / f"{name}.txt").read_text(encoding="utf-8")
    entries = re.split(r"^(?=[a-z0-9])", text, flags=re.MULTILINE)
    bare = [entry.partition("\n")[0] for entry in entries if "==" in entry and "--hash=sha256:" not in entry]
    assert locked(name) and not bare, f"run make lock: {bare}"


def test_the_locks_say_the_same_versions_and_hold_all_that_is_wanted() -> None:
    everything = locked("test")
    for name in ("run", "docs"):
        assert not set(locked(name).items()) - set(everything.items()), "run make lock"
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = [*project["project"]["dependencies"], *project["dependency-groups"]["build"]]
    wanted += [one for extra in project["project"]["optional-dependencies"].values() for one in extra]
    named = {re.split(r"[\[<>=!~ ;]", one)[0].lower().replace("_", "-") for one in wanted} - {"polepiece"}
    assert not named - {package for package, _ in everything}, "run make lock"
    small = [re.split(r"[\[<>=!~ ;]", one)[0].lower() for one in project["project"]["dependencies"]]
    assert not set(small) - {package for package, _ in locked("run")}


def test_the_package_imports_no_drawing_library() -> None:
    """It takes half a second to load; a library of the extra `descriptors` would, and is loaded without it."""
    sources = (ROOT / "src" / "polepiece").rglob("*.py")
    assert not [path for path in sources if "matplotlib" in path.read_text(encoding="utf-8")]
