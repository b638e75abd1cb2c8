"""Grades in a browser: sorted and played by keyboard alone, readable on a telephone, and the rules of access kept."""

from collections.abc import Callable
from typing import Any

import pytest

from polepiece.app.guitar.grade_sheets import as_sheet
from polepiece.bench import Bench, compare_grades
from polepiece.guitar import read_guitar
from polepiece.notebook import open_notebook
from polepiece.trade import trade_verdicts
from tests.app.conftest import DEMO, Served, Tab

LONG = 240_000  # ms until two sounds are there, on a busy machine


@pytest.fixture(scope="module")
def sheet() -> dict[str, Any]:
    guitar, bench = read_guitar(DEMO), Bench(exact_screws=False)
    found = compare_grades(
        guitar, "neck", slugs=("alnico-2", "alnico-3", "alnico-8"), at_level=True, draws=16, bench=bench
    )
    return as_sheet(found, trade_verdicts(guitar, found, draws=16, bench=bench), 0)


@pytest.fixture
def place(server: Served, fresh_guitar: Callable[[], int], sheet: dict[str, Any]) -> str:
    """Address of a guitar whose grades are in the notebook already."""
    number = fresh_guitar()
    with open_notebook(server.notebook) as book:
        book.keep_prediction(book.states(number)[-1].id, "every grade in neck", sheet)
    return f"/grades?guitar={number}&pickup=neck"


def first_bar(page: Any) -> str:
    return str(page.locator("ul.bars h3 span").first.inner_text())


def test_sorted_and_played_by_keyboard(web: Tab, place: str) -> None:
    page = web.goto(place)
    page.wait_for_selector("ul.bars li")
    page.click("summary:has-text('All numbers')")
    page.get_by_role("button", name="level, dB: sort").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("th[aria-sort=descending]")
    assert first_bar(page) == "Alnico 8"
    page.wait_for_function("location.search.includes('sort=-level_db')")
    page.get_by_role("button", name="play Alnico 8").focus()
    page.keyboard.press("Enter")
    page.wait_for_function("document.querySelector('.pp-player').player.run?.voices.size === 2", timeout=LONG)
    playing = page.evaluate("(({current, playing}) => [current, playing])(document.querySelector('.pp-player').player)")
    assert playing == ["grade:alnico-8@outside", True]
    assert page.get_by_role("link", name="hear these with your own recording").is_visible()


def test_curves_are_picked_and_the_address_keeps_it(web: Tab, place: str) -> None:
    page = web.goto(place)
    box = page.get_by_label("curve of Alnico 2")
    box.check()
    page.wait_for_function("location.search.includes('alnico-2')")
    assert page.locator("ul.legend li").count() == 4  # as it is, and three bars
    page.reload()
    page.wait_for_selector("ul.bars li")
    assert page.get_by_label("curve of Alnico 2").is_checked()


def test_the_page_to_share_opens_alone(web: Tab, place: str, tmp_path: Any) -> None:
    page = web.goto(place)
    page.wait_for_selector("ul.bars li")
    page.click("summary:has-text('All numbers')")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="one page to share (HTML)").click()
    kept = tmp_path / "shared.html"
    waiting.value.save_as(kept)
    alone = page.context.new_page()
    asked: list[str] = []
    alone.on("request", lambda request: asked.append(request.url))
    alone.goto(f"file://{kept}")
    assert "Every magnet grade in its neck pickup" in alone.inner_text("body")
    assert [one for one in asked if not one.startswith(("file:", "data:"))] == []


@pytest.mark.parametrize("width", [390, 1600])
def test_nothing_runs_over_the_edge(web: Tab, place: str, width: int) -> None:
    web.page.set_viewport_size({"width": width, "height": 900})
    page = web.goto(place)
    page.wait_for_selector("ul.bars li")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_rules_of_access(web: Tab, place: str, faults_of: Any) -> None:
    page = web.goto(place)
    page.wait_for_selector("ul.bars li")
    assert not faults_of(page)
