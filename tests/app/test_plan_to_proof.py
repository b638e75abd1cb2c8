"""From a row of a plan to its work sheet in Chromium: readings, print, record; all of it after a reload and a restart.

The plan is the one that the command line's tests keep (``tests/fixtures/json/plan.json``), so that no time goes into
making it; the sheet itself is worked out.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from polepiece.guitar import read_guitar
from polepiece.notebook import Part, open_notebook
from tests.app.conftest import DEMO, Served, Tab, clean_tab, open_folds, serve, stop

LONG = 240_000  # ms until a sheet is worked out on a busy machine
PLAN = Path(__file__).parents[1] / "fixtures" / "json" / "plan.json"
SHEET = ".readings"


@pytest.fixture(scope="module")
def notebook(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a notebook with a planned job and one bar in the drawer."""
    path = tmp_path_factory.mktemp("proof") / "notebook.sqlite"
    with open_notebook(path) as book:
        number = book.add_guitar(read_guitar(DEMO)).id
        job = book.open_job(number, "neck: muddy, clear", customer="A. Player", number="17")
        book.keep_plan(job.id, json.loads(PLAN.read_text(encoding="utf-8")))
        book.add_part(Part(kind="bar", grade="alnico-8", finish="polished"))
    return path


@pytest.fixture(scope="module")
def served(notebook: Path) -> Iterator[Served]:
    one = serve(notebook, coarse=True)
    yield one
    stop(one)


@pytest.fixture(scope="module")
def tab(browser: Any, served: Served) -> Iterator[Tab]:
    counted = "window.print = () => { window.printed = (window.printed || 0) + 1; };"
    with clean_tab(browser, served.url, script=counted, reduced_motion="reduce") as found:
        yield found


def fill(page: Any, label: str, value: str) -> None:
    """Type into a field and leave it with the keyboard."""
    field = page.get_by_label(label, exact=True)
    field.fill(value)
    field.press("Tab")


def entries(notebook: Path) -> dict[str, str]:
    with open_notebook(notebook) as book:
        bodies = [one.body for one in book.notes(1) if one.body is not None]
    return {str(one["entry"]): str(one["value"]) for one in bodies if "entry" in one}


def test_a_row_of_the_plan_goes_to_its_sheet(tab: Tab) -> None:
    page = tab.goto("/")
    page.get_by_role("link", name="choose a row of the plan").click()
    row = page.locator("table.plan tbody", has_text="bar of").first
    row.get_by_role("button", name="more of").click()
    row.get_by_role("button", name="choose this one").click()
    page.get_by_text("Chosen: neck: bar of").wait_for()
    page.get_by_role("link", name="its work sheet").click()
    page.wait_for_selector(SHEET, timeout=LONG)
    assert "state=" in page.url and "job=" in page.url
    assert page.get_by_label("customer (optional)").input_value() == "A. Player"
    assert page.get_by_label("job number (optional)").input_value() == "17"


def test_readings_are_kept_while_they_are_typed(tab: Tab, notebook: Path) -> None:
    page = tab.page
    fill(page, "DC resistance, 20 °C, as found, in kΩ", "7,90")
    fill(page, "temperature, as found, in °C", "20")
    fill(page, "screws, gauss, string 3, as found", "24 mT")
    fill(page, "polarity, as found", "N at the screws")
    page.get_by_label("Photograph it from above", exact=False).check()
    page.locator("[role=status]", has_text="Kept in the notebook").wait_for()
    for _ in range(LONG // 100):  # each is kept by itself, and the last one may come late
        if "step.baseline.photo" in (found := entries(notebook)):
            break
        page.wait_for_timeout(100)
    assert found["baseline.dc_resistance"] == "7,90"
    assert found["baseline_strings.pole_gauss.screws.3"] == "24 mT"
    assert found["step.baseline.photo"] == "done"


def test_a_stop_shows_beside_what_is_typed(tab: Tab) -> None:
    page = tab.page
    fill(page, "DC resistance, same °C, after, in kΩ", "8.4")
    box = page.locator(".stop-box")
    box.get_by_text("DC resistance is +6.3 % off: 7.90 kΩ before, 8.40 kΩ after").wait_for()
    assert box.get_attribute("role") == "alert"
    place = box.bounding_box()
    assert 0 <= place["y"] < 900 - place["height"]  # in sight, where the reading is typed
    fill(page, "DC resistance, same °C, after, in kΩ", "7.93")
    box.wait_for(state="detached")


def test_the_print_is_the_sheet_with_what_was_typed(tab: Tab) -> None:
    page = tab.page
    page.get_by_text("Print and keep").click()
    with page.context.expect_page() as waiting:
        page.get_by_role("button", name="print bench and owner").click()
    sheet = waiting.value
    sheet.wait_for_load_state()
    sheet.wait_for_function("window.printed === 1")
    sheet.emulate_media(media="print")
    words = sheet.inner_text("body")
    assert "7,90 kΩ at 20 °C" in words and "24 mT" in words and "N at the screws" in words
    assert "A. Player" in words and "STOP when" in words and "What was done to your guitar" in words
    assert "7.93 kΩ" in sheet.locator("#owner").inner_text()
    assert sheet.locator("nav, header.top, button").count() == 0  # nothing of the page around it
    pages = sheet.pdf(prefer_css_page_size=True).count(b"/Type /Page\n")
    assert 3 <= pages <= 5  # bench sheet, and the owner's page on one of its own
    sheet.close()


def test_it_goes_out_as_one_file(tab: Tab) -> None:
    page = tab.page
    with page.expect_download() as coming:
        page.get_by_role("button", name="download HTML").click()
    text = Path(coming.value.path()).read_text(encoding="utf-8")
    assert coming.value.suggested_filename.endswith(".html")
    assert "7,90 kΩ at 20 °C" in text and "<script" not in text
    pytest.importorskip("weasyprint")
    with page.expect_download(timeout=LONG) as coming:
        page.get_by_role("button", name="download PDF").click()
    assert Path(coming.value.path()).read_bytes()[:5] == b"%PDF-"


def test_done_is_a_new_state(tab: Tab, notebook: Path) -> None:
    page = tab.page
    page.get_by_role("button", name="done: record this change").click()
    page.get_by_text("Recorded as a new state").wait_for()
    with open_notebook(notebook) as book:
        assert book.guitar(1).pickup("neck").magnet.grade != "alnico-2"
        assert "work sheet, job 17" in book.states(1)[-1].why


def test_everything_is_there_after_a_reload_and_a_restart(
    browser: Any, notebook: Path, tab: Tab, served: Served
) -> None:
    page = tab.page
    address = page.url.removeprefix(served.url)

    def holds(page: Any) -> None:
        page.wait_for_selector(SHEET, timeout=LONG)
        page.get_by_text("Recorded as a new state").wait_for()
        assert page.get_by_label("DC resistance, 20 °C, as found, in kΩ", exact=True).input_value() == "7,90"
        assert page.get_by_label("DC resistance, same °C, after, in kΩ", exact=True).input_value() == "7.93"
        assert page.get_by_label("screws, gauss, string 3, as found", exact=True).input_value() == "24 mT"
        assert page.get_by_label("Photograph it from above", exact=False).is_checked()

    page.reload()
    holds(page)
    again = serve(notebook, coarse=True)
    try:
        with clean_tab(browser, again.url, viewport={"width": 390, "height": 844}, color_scheme="dark") as other:
            holds(other.goto(address))
            assert other.page.evaluate("document.documentElement.scrollWidth") <= 390
            other.goto("/").get_by_text("close it with its outcome").wait_for()
    finally:
        stop(again)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("path", ["sheet", "/worksheet?guitar=1", "/drawer?guitar=1", "/"])
def test_pages_keep_the_rules_of_access(
    browser: Any, tab: Tab, served: Served, faults_of: Any, path: str, scheme: str
) -> None:
    address = tab.page.url.removeprefix(served.url) if path == "sheet" else path
    with clean_tab(browser, served.url, color_scheme=scheme, reduced_motion="reduce") as other:
        page = other.goto(address)
        if path == "sheet":
            page.wait_for_selector(SHEET, timeout=LONG)
            fill(page, "gap, treble side, after, in mm", "1.2")
            page.wait_for_selector(".stop-box")
        page.wait_for_timeout(500)
        open_folds(page)
        found = faults_of(page)
    assert not found, "\n".join(found)
