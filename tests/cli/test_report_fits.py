"""A plan to keep as a page: nothing is cut off in a window of 1100 px, nor on A4 with its margins."""

import os
from pathlib import Path

import pytest

from polepiece.cli.sheets import plan_sheet
from polepiece.guitar import Complaint
from polepiece.planning import make_plan
from polepiece.report import printed_html
from tests.unit.planning.double_bench import DoubleBench, guitar

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
WAIT = 240_000  # ms, for a machine out of breath
A4_PX = round((210 - 2 * 14) / 25.4 * 96)  # mm between the margins of the page's own rule, at 96 px an inch
WIDEST = "Math.max(...[...document.querySelectorAll('body *')].map(e => e.getBoundingClientRect().right))"


@pytest.mark.parametrize(("width", "media"), [(1100, "screen"), (A4_PX, "print")])
def test_nothing_of_a_plan_is_cut_off(width: int, media: str, tmp_path: Path) -> None:
    driver = pytest.importorskip("playwright.sync_api")
    if not Path(CHROMIUM).exists():
        pytest.skip(f"no {CHROMIUM}")
    told = [Complaint(word="muddy", pickup="neck"), Complaint(word="piercing", pickup="bridge")]
    page = tmp_path / "plan.html"
    page.write_text(printed_html(plan_sheet(guitar(), make_plan(guitar(), DoubleBench(), told, draws=8))), "utf-8")
    with driver.sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, headless=True, args=["--no-sandbox"], timeout=WAIT
        )
        tab = browser.new_page(viewport={"width": width, "height": 900})
        tab.set_default_timeout(WAIT)
        tab.emulate_media(media=media)
        tab.goto(page.as_uri())
        assert tab.evaluate("document.documentElement.scrollWidth") <= width
        assert tab.evaluate(WIDEST) <= width + 1  # px of rounding
        browser.close()
