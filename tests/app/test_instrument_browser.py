"""The pages as an instrument in Chromium: what is on the first screen, what stays in sight, one line of header.

1024 x 768 is a tablet on the bench, 390 x 844 a phone. The plan is the one that the command line's tests keep.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from polepiece.guitar import read_guitar
from polepiece.notebook import open_notebook
from tests.app.conftest import DEMO, Served, Tab, clean_tab

LONG = 240_000  # ms until a curve is there on a busy machine
PLAN = Path(__file__).parents[1] / "fixtures" / "json" / "plan.json"
TABLET, PHONE = {"width": 1024, "height": 768}, {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def number(server: Served) -> int:
    """Put a guitar with a planned job on record; return its number."""
    with open_notebook(server.notebook) as book:
        guitar = book.add_guitar(read_guitar(DEMO)).id
        book.keep_plan(book.open_job(guitar, "neck: muddy, clear").id, json.loads(PLAN.read_text(encoding="utf-8")))
    return guitar


@pytest.fixture(scope="module")
def tab(browser: Any, server: Served) -> Iterator[Tab]:
    with clean_tab(browser, server.url) as found:
        found.page.set_viewport_size(TABLET)
        yield found


def inside(page: Any, selector: str, height: int) -> bool:
    """Tell whether all of an element is on the screen."""
    box = page.locator(selector).first.bounding_box()
    return box is not None and box["y"] >= 0 and box["y"] + box["height"] <= height


def test_the_first_row_and_the_curve_are_on_the_first_screen(tab: Tab, number: int) -> None:
    page = tab.goto(f"/plan?guitar={number}")
    page.wait_for_selector("table.plan tbody")
    for selector in (".said-first", "table.plan tbody:nth-of-type(1)", ".whisker", ".next a", "svg.chart"):
        assert inside(page, selector, 768), selector
    assert page.locator(".said-first").inner_text().startswith("Start here:")
    assert page.get_by_role("button", name="make the plan").count() == 0  # the form is folded


def test_the_curve_stays_in_sight(tab: Tab) -> None:
    page = tab.page
    page.evaluate("window.scrollTo(0, document.querySelector('.moves').getBoundingClientRect().bottom - 500)")
    page.wait_for_function("window.scrollY > 50")
    assert inside(page, "svg.chart", 768)
    page.evaluate("window.scrollTo(0, 0)")


def test_a_row_unfolds_by_keyboard_and_its_whisker_says_its_interval(tab: Tab) -> None:
    page = tab.page
    more = page.get_by_role("button", name="more of row 1", exact=False)
    more.focus()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="choose this one: row 1", exact=False).wait_for()
    assert page.get_by_role("button", name="less of row 1", exact=False).get_attribute("aria-expanded") == "true"
    assert page.locator(".whisker-hold").first.get_attribute("aria-label").startswith("90 % interval")
    assert "pickups[" not in page.inner_text("main")


def test_the_guitar_is_one_screen(tab: Tab, number: int) -> None:
    page = tab.goto(f"/guitar?guitar={number}&pickup=neck")
    page.wait_for_selector("path.curve.c-now", timeout=LONG)
    for selector in ("svg.drawing.live", ".at-handles", "svg.chart", ".big-numbers"):
        assert inside(page, selector, 768), selector
    handle = page.locator("[data-handle=screw1]").bounding_box()
    field = page.get_by_label("screw 1, turns up").bounding_box()
    middle = [one["x"] + one["width"] / 2 for one in (handle, field)]
    assert middle[0] == pytest.approx(middle[1], abs=3.0)  # pixels: the field stands under its screw
    page.wait_for_function("document.querySelectorAll('.apart').length === 3", timeout=LONG)
    page.wait_for_function("[...document.querySelectorAll('.apart')].every(one => / to /.test(one.textContent))",
                           timeout=LONG)  # fmt: skip


def test_a_gap_is_typed_at_its_handle(tab: Tab) -> None:
    page = tab.page
    before = page.get_attribute("path.curve.c-now", "d")
    box = page.get_by_label("gap, bass side, mm")
    box.fill("2.9")
    box.press("Enter")
    page.wait_for_function("d => document.querySelector('path.curve.c-now').getAttribute('d') !== d", arg=before)
    page.get_by_role("button", name="undo").click()
    page.wait_for_function("document.querySelector('[data-handle=bass]').getAttribute('aria-valuenow') === '2.6'")


def test_the_curve_can_be_the_difference_and_begins_under_the_lowest_string(tab: Tab) -> None:
    page = tab.page
    page.get_by_label("drawn").select_option("difference")
    page.wait_for_function("[...document.querySelectorAll('svg.chart text')].some(one => one.textContent === '0')")
    named = page.locator("svg.chart text").all_text_contents()
    assert "20" not in named and "100" in named  # from 80 Hz


def test_another_position_of_the_switches_is_heard(tab: Tab, number: int) -> None:
    page = tab.goto(f"/guitar?guitar={number}&pickup=neck")
    page.wait_for_selector("path.curve.c-now", timeout=LONG)
    alone = page.locator(".big").first.inner_text()
    page.get_by_label("Heard in").select_option("both")
    page.wait_for_url("**position=both*")
    page.wait_for_selector("path.curve.c-now", timeout=LONG)
    page.wait_for_selector("svg.chart:not(.stale)", timeout=LONG)
    assert page.locator(".big").first.inner_text() != alone
    for path in ("/plan", "/hear", "/grades"):
        assert "position=both" in page.locator(f"header a[href^='{path}']").get_attribute("href")


@pytest.mark.parametrize("path", ["/", "/guitar", "/plan", "/hear", "/worksheet"])
def test_the_header_is_one_line_on_a_tablet_and_fits_a_phone(
    browser: Any, server: Served, number: int, path: str
) -> None:
    for size, most in ((TABLET, 50), (PHONE, 90)):  # px of its height: one line; two bars
        with clean_tab(browser, server.url, viewport=size) as one:
            page = one.goto(f"{path}?guitar={number}")
            page.evaluate("document.querySelectorAll('.strip li').forEach(one => one.classList.add('done'))")  # widest
            assert page.locator("header.top").bounding_box()["height"] <= most
            for link in page.locator("header nav a").all():
                box = link.bounding_box()
                assert box["x"] >= 0 and box["x"] + box["width"] <= size["width"], link.inner_text()
            assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]


def test_steps_that_are_done_have_their_tick(tab: Tab, number: int) -> None:
    page = tab.goto(f"/guitar?guitar={number}")
    done = [one.inner_text().split("\n")[0].strip() for one in page.locator(".strip li.done a").all()]
    assert done == ["Guitar", "Plan"]
    assert page.locator("nav[aria-label=Shop] a").all_inner_texts() == ["Bench", "Grades", "Listen", "Drawer"]
