"""The site is built without a warning, and every link and anchor on it leads somewhere.

Building costs some 13 s of processor: once, in a process of its own, as `make docs` does it.
"""

import os
import re
import subprocess
import sys
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest

from tests.docs.pages import DOCS, ROOT

LOADED = {("script", "src"), ("link", "href"), ("img", "src"), ("source", "src"), ("iframe", "src"), ("use", "href")}
BUILD = ("-m", "sphinx", "-q", "--fail-on-warning", "--keep-going", "-b", "html")  # as in the Makefile


class Page(HTMLParser):
    """What a page has: names to jump to, links, what it loads, headings."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.links: list[str] = []
        self.loads: list[str] = []
        self.headings = 0
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for key, value in attrs:
            if key in ("id", "name") and value:
                self.names.add(value)
            if (tag, key) == ("a", "href") and value is not None:
                self.links.append(value)
            if (tag, key) in LOADED and value is not None:
                self.loads.append(value)
        self.headings += tag == "h1"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site, built as `make docs` builds it, into a folder of the test."""
    place = tmp_path_factory.mktemp("site")
    environment = {key: value for key, value in os.environ.items() if not key.startswith("PYTEST")}
    line = [sys.executable, *BUILD, "-d", str(place / "trees"), str(DOCS), str(place / "site")]
    built = subprocess.run(line, capture_output=True, text=True, cwd=ROOT, env=environment, timeout=900, check=False)
    assert built.returncode == 0, f"the documentation does not build; `make docs` says the same:\n{built.stderr}"
    return place / "site"


@pytest.fixture(scope="module")
def read(site: Path) -> dict[Path, Page]:
    return {path.resolve(): Page(path.read_text(encoding="utf-8")) for path in site.rglob("*.html")}


def _told(page: Path, site: Path, link: str, why: str) -> str:
    return f"{page.relative_to(site)}: {link}: {why}"


def test_make_docs_builds_the_same_way() -> None:
    assert " ".join(BUILD) in (ROOT / "Makefile").read_text(encoding="utf-8")


def test_every_link_and_anchor_leads_somewhere(site: Path, read: dict[Path, Page]) -> None:
    lost = []
    for path, page in read.items():
        for link in page.links:
            parts = urlsplit(link)
            if parts.scheme in ("http", "https", "mailto"):
                continue
            there = (path.parent / unquote(parts.path)).resolve() if parts.path else path
            if not there.is_file():
                lost.append(_told(path, site, link, "no such page"))
            elif parts.fragment and there.suffix == ".html" and unquote(parts.fragment) not in read[there].names:
                lost.append(_told(path, site, link, "no such place on that page"))
    assert not lost, "\n".join(lost)


def test_nothing_is_loaded_from_another_machine(site: Path, read: dict[Path, Page]) -> None:
    outside = [
        _told(path, site, link, "loaded from outside")
        for path, page in read.items()
        for link in page.loads
        if urlsplit(link).netloc
    ]
    for sheet in site.rglob("*.css"):
        text = sheet.read_text(encoding="utf-8")
        outside += [
            _told(sheet, site, one, "loaded from outside") for one in re.findall(r"url\(\W?(?:https?:)?//[^)]*", text)
        ]
        outside += [_told(sheet, site, one, "loaded from outside") for one in re.findall(r"@import[^;]*//[^;]*", text)]
    assert not outside, "\n".join(outside)


def test_what_a_page_loads_is_there(site: Path, read: dict[Path, Page]) -> None:
    lost = [
        _told(path, site, link, "not there")
        for path, page in read.items()
        for link in page.loads
        if not link.startswith("data:")
        and not (path.parent / unquote(urlsplit(link).path)).is_file()
        and not link.startswith("#")
    ]
    assert not lost, "\n".join(lost)


def test_every_page_is_reached_from_the_first(site: Path, read: dict[Path, Page]) -> None:
    first = (site / "index.html").resolve()
    seen, todo = {first}, [first]
    while todo:
        path = todo.pop()
        for link in read[path].links:
            there = (path.parent / unquote(urlsplit(link).path)).resolve()
            if there in read and there not in seen:
                seen.add(there)
                todo.append(there)
    made_by_the_builder = {"search.html", "genindex.html", "404.html"}
    left = {path for path in read if path not in seen and path.name not in made_by_the_builder}
    assert not left, sorted(str(path.relative_to(site)) for path in left)
    assert len(seen) > 60  # every hand-written page, command and room


def test_every_page_has_one_heading_and_the_words_that_are_searched(site: Path, read: dict[Path, Page]) -> None:
    kept = {path: page for path, page in read.items() if path.name != "search.html"}
    several = [str(path.relative_to(site)) for path, page in kept.items() if page.headings != 1]
    assert not several, f"not exactly one first heading: {several}"
    index = (site / "searchindex.js").read_text(encoding="utf-8")
    assert "reference/complaints" in index and "reference/commands/plan" in index


@pytest.mark.parametrize(
    ("page", "equations"), [("theory/coil", 5), ("theory/sensing", 5), ("theory/circuit", 3)], ids=str
)
def test_equations_are_drawn_by_the_browser_alone(site: Path, page: str, equations: int) -> None:
    text = (site / f"{page}.html").read_text(encoding="utf-8")
    assert text.count("<math") >= equations
    article = re.sub(r"<(pre|code)\b.*?</\1>", "", text.partition("<article")[2], flags=re.DOTALL)
    assert "$" not in article, "an equation that was not read"


def test_an_equation_with_a_slip_fails_the_build(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(DOCS / "extensions"))
    from maths import mathml
    from sphinx.errors import ExtensionError

    assert "<mfrac>" in mathml(r"\frac{1}{2}", display="block")
    with pytest.raises(ExtensionError, match="not known"):
        mathml(r"\fract{1}{2}", display="block")


def test_every_option_stands_on_the_page_of_its_command(
    site: Path, tree: Callable[[], list[tuple[tuple[str, ...], object]]]
) -> None:
    lost = []
    for path, command in tree():
        page = "index" if len(path) == 1 else path[1]
        text = (site / "reference" / "commands" / f"{page}.html").read_text(encoding="utf-8")
        text = re.sub(r"<[^>]+>", "", text).replace("&#39;", "'").replace("&quot;", '"').replace("&amp;", "&")
        lost += [
            f"{' '.join(path)} {name}"
            for one in command.params
            for name in one.opts
            if name.startswith("-") and name not in text
        ]  # type: ignore[attr-defined]
    assert not lost, f"not on the page of its command: {lost}"
