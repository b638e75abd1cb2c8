"""The demo, once from its complaint to its report, and the report in a browser."""

import os
import re
import shutil
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
import soundfile

from polepiece.cli import demo
from polepiece.cli.answer_lines import lines_of
from polepiece.guitar import read_guitar
from polepiece.planning import Answer, AnswerRow
from tests.cli.conftest import DEMO, ask


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, Any], Path]:
    folder = tmp_path_factory.mktemp("demo") / "out"
    return ask("demo", "--out", folder), folder


@pytest.fixture(scope="module")
def page(shown: tuple[dict[str, Any], Path]) -> str:
    return Path(shown[0]["report"]).read_text(encoding="utf-8")


def test_the_example_is_the_guitar_of_the_demo() -> None:
    assert DEMO.read_bytes() == demo.GUITAR.read_bytes()
    assert read_guitar(DEMO).invented


def test_everything_is_in_the_folder(shown: tuple[dict[str, Any], Path]) -> None:
    body, folder = shown
    assert sorted(os.listdir(folder)) == sorted(body["files"])
    assert body["plan"]["verdict"] == "plan"
    assert 5 <= len(body["plan"]["rows"]) <= 7
    for name in body["files"]:
        if name.endswith(".wav"):
            assert soundfile.info(folder / name).frames > 48000
    assert read_guitar(folder / "demo.guitar.toml") == read_guitar(DEMO)


def test_the_answer_in_the_readme_is_the_one_that_is_printed(shown: tuple[dict[str, Any], Path]) -> None:
    """All but its last line, which counts what is left out. `scripts/write_readme_answer.py` writes it anew."""
    text = (DEMO.parents[1] / "README.md").read_text(encoding="utf-8")
    block = text.partition("```text\n")[2].partition("\n```\n")[0]
    told = shown[0]["plan"]["answer"]
    rows = tuple(AnswerRow(**row) for row in told["rows"])
    answer = Answer(**{**told, "more": "", "rows": rows})
    count = len(re.findall(r"\bmin,", block))
    assert 1 <= count <= len(rows)
    lines = lines_of(replace(answer, rows=rows[:count]))
    assert block.splitlines()[: len(lines) - 1] == lines[:-1]


def test_a_bar_is_among_what_is_played(shown: tuple[dict[str, Any], Path]) -> None:
    assert any(one.startswith("magnet=") for sound in shown[0]["sounds"] for one in sound["change"])


class Walker(HTMLParser):
    """Collects what a page refers to, and its structure."""

    def __init__(self) -> None:
        super().__init__()
        self.targets: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.tags.append((tag, found))
        self.targets += [
            value or "" for key, value in attrs if key in ("src", "href", "srcset", "poster", "data", "action")
        ]
        if tag not in ("meta", "link", "br", "img", "input", "hr"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag, f"</{tag}> closes another element"


@pytest.fixture(scope="module")
def walked(page: str) -> Walker:
    walker = Walker()
    walker.feed(re.sub(r"<(\w+)([^<>]*)/>", r"<\1\2></\1>", page))
    assert walker.open == []
    return walker


def test_the_report_refers_to_nothing_outside(walked: Walker, page: str) -> None:
    assert walked.targets
    for target in walked.targets:
        assert target.startswith(("data:", "#")), target[:80]
    assert "@import" not in page
    assert not re.search(r"url\((?!['\"]?data:)", page)


def test_the_report_has_players_and_data(walked: Walker) -> None:
    players = [found for tag, found in walked.tags if tag == "audio"]
    assert len(players) == 4  # as it is, and three rows
    assert all((one["src"] or "").startswith("data:audio/flac;base64,") for one in players)
    assert sum(target.startswith("data:text/csv") for target in walked.targets) == 2


def test_the_report_is_accessible_in_its_markup(walked: Walker) -> None:
    """Table headers with scope, one h1, names for drawings and players: WCAG 2.2, 1.1.1, 1.3.1, 2.4.6, 3.1.1."""
    tags = walked.tags
    assert sum(tag == "h1" for tag, _ in tags) == 1
    assert all(found.get("scope") for tag, found in tags if tag == "th")
    assert all(found.get("aria-labelledby") for tag, found in tags if tag == "audio")
    assert next(found for tag, found in tags if tag == "html")["lang"] == "en"
    ids = [found["id"] for _, found in tags if found.get("id")]
    assert len(ids) == len(set(ids))
    for tag, found in tags:
        if tag == "svg":
            assert found.get("role") == "img" or found.get("aria-hidden") == "true"


def test_the_report_says_what_it_must(page: str) -> None:
    for words in (
        "invented",
        "neck: muddy",
        "do nothing",
        "What was assumed",
        "sha256:",
        "local codes",
        "playback level down",
    ):
        assert words in page


def test_stylesheet_contrast(page: str) -> None:
    """WCAG 2.2, 1.4.3: text at least 4.5 : 1 against what it stands on, in light and in dark."""
    blocks = re.findall(r":root\{(.*?)\}", page, flags=re.DOTALL)[:2]
    for block in blocks:
        colours = dict(re.findall(r"--([\w-]+):(#[0-9a-f]{6})", block))
        for text in ("ink", "soft", "accent", "good", "bad"):
            for ground in ("paper", "card", "mark"):
                assert contrast(colours[text], colours[ground]) >= 4.5, (text, ground)
        for k in range(6):  # 1.4.11: graphics 3 : 1
            assert contrast(colours[f"c{k}"], colours["card"]) >= 3.0


def contrast(one: str, other: str) -> float:
    """Contrast ratio after WCAG 2.2."""

    def luminance(colour: str) -> float:
        parts = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
        r, g, b = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    bright, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


# ------------------------------------------------------------------------------------ in a browser

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or "/usr/bin/chromium"
ARGUMENTS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--autoplay-policy=no-user-gesture-required", "--mute-audio",
)  # fmt: skip
WAIT = 240_000  # ms, for a machine out of breath


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if not Path(CHROMIUM).exists():
        pytest.skip(f"no browser at {CHROMIUM}")
    try:
        with playwright.sync_playwright() as driver:
            found = driver.chromium.launch(executable_path=CHROMIUM, headless=True, args=list(ARGUMENTS), timeout=WAIT)
            yield found
            found.close()
    except playwright.Error as error:
        pytest.skip(f"the browser does not start: {error}")


def until(page: Any, condition: str) -> None:
    """Wait for a condition; the page forbids the way of waiting that evaluates strings."""
    for _ in range(2400):  # two minutes, for a machine out of breath
        if page.evaluate(condition):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never came true: {condition}")


@pytest.mark.parametrize("width", [390, 1600])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_in_a_browser(browser: Any, shown: tuple[dict[str, Any], Path], width: int, scheme: str) -> None:
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    page.set_default_timeout(WAIT)
    outside: list[str] = []
    errors: list[str] = []
    address = (shown[1] / "report.html").resolve().as_uri()

    def guard(route: Any) -> None:
        if route.request.url.startswith((address, "data:", "blob:")):
            route.continue_()
        else:
            outside.append(route.request.url)
            route.abort()

    page.route("**/*", guard)
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda message: errors.append(message.text) if message.type in ("error", "warning") else None)
    page.goto(address)
    until(page, "[...document.querySelectorAll('audio')].every(one => one.readyState >= 1)")
    lengths = page.evaluate("[...document.querySelectorAll('audio')].map(one => one.duration)")
    overflow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.evaluate("document.querySelectorAll('audio')[0].play()")
    until(page, "document.querySelectorAll('audio')[0].currentTime > 0.2")
    page.evaluate("document.querySelectorAll('audio')[1].play()")
    until(
        page, "document.querySelectorAll('audio')[0].paused && document.querySelectorAll('audio')[1].currentTime > 0.2"
    )
    context.close()
    assert not outside
    assert not errors
    assert all(one > 1.0 for one in lengths)
    assert overflow <= 0  # nothing sticks out sideways
    red = int(re.findall(r"\d+", ground)[0])
    assert (red > 128) == (scheme == "light")


def test_the_demo_names_its_schema(shown: tuple[dict[str, Any], Path]) -> None:
    assert shown[0]["schema"] == "polepiece/demo/1"
