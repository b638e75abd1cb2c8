"""What others have written, in Chromium: markup, quotes, endless words, letters from right to left; files too large.

And the rules of access for what a page shows only after something was done on it: faults, warnings, news.
"""

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

from polepiece.app.pages import PAGES
from polepiece.guitar import read_guitar
from polepiece.moves import apply, parse_changes
from polepiece.notebook import Part, open_notebook
from tests.app.conftest import DEMO, Served, Tab, clean_tab, serve, stop
from tests.unit.notebook.test_evidence import wav

PLAN = Path(__file__).parents[1] / "fixtures" / "json" / "plan.json"
PATHS = [one.PAGE.path for one in PAGES]
MARKUP = "=<script>document.title=1</script><img src=x onerror='document.title=2'>\"&{{7*7}} גיטרה 😀 "
ENDLESS = "W" * 440
PLANTED = "[...document.querySelectorAll('main *, header *')].filter(e => ['SCRIPT', 'IMG'].includes(e.tagName)).length"


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Return a server whose notebook holds nothing but such names."""
    path = tmp_path_factory.mktemp("hostile") / "notebook.sqlite"
    guitar = read_guitar(DEMO)
    with open_notebook(path) as book:
        for name in (MARKUP, ENDLESS):
            pickups = tuple(replace(one, name=f"{one.position} {name[:200]}") for one in guitar.pickups)
            number = book.add_guitar(replace(guitar, name=name, pickups=pickups, complaints=()), why=name).id
            job = book.open_job(number, f"neck: muddy {name}", customer=name[:70], number=f"+{name[:20]}")
            plan = json.loads(PLAN.read_text(encoding="utf-8"))
            book.keep_plan(job.id, plan | {"rows": [row | {"pickup": pickups[0].name} for row in plan["rows"]]})
            book.choose(job.id, f"neck: {name}")
            book.set_status(job.id, name)
            book.promise(job.id, date(2026, 3, 9))
            book.write_note(number, name, sort="measurement", body={name: name})
            book.keep_sound(wav(), label=name, kind="wav", guitar_id=number)
            part = book.add_part(Part(kind="bar", grade=name[:90], label=name, note=f"@{name}"))
            book.count_part(part.id, 3, name)
        book.add_customer(MARKUP, agreed=MARKUP, contact=MARKUP)
    one = serve(path, coarse=True)
    yield one
    stop(one)


def named(served: Served, number: int) -> str:
    with open_notebook(served.notebook) as book:
        return book.guitar(number).pickups[0].name


@pytest.fixture(scope="module")
def visitor(browser: Any, served: Served) -> Iterator[Tab]:
    """One visitor, who goes from page to page."""
    with clean_tab(browser, served.url) as tab:
        yield tab


@pytest.mark.parametrize("path", PATHS)
def test_names_are_text_and_stay_inside_the_page(visitor: Tab, served: Served, path: str) -> None:
    """Each guitar at both widths: one page is loaded narrow and made wide, the other loaded wide and made narrow."""
    with open_notebook(served.notebook) as book:
        numbers = [one.id for one in book.guitars()]
    for number, widths in zip(numbers, ((390, 1280), (1280, 390)), strict=True):
        visitor.page.set_viewport_size({"width": widths[0], "height": 900})
        page = visitor.goto(f"{path}?{urlencode({'guitar': number, 'pickup': named(served, number)})}")
        for width in widths:
            page.set_viewport_size({"width": width, "height": 900})
            page.wait_for_timeout(300)
            assert page.evaluate("document.documentElement.scrollWidth") <= width, number
        assert page.evaluate(PLANTED) == 0
        assert page.title().endswith("polepiece")
    assert not visitor.outside
    assert not visitor.errors


def test_the_printed_sheet_holds_them_as_text(browser: Any, served: Served) -> None:
    with open_notebook(served.notebook) as book:
        job = book.jobs()[0]
    query = [("guitar", job.guitar_id), ("pickup", named(served, job.guitar_id)), ("state", job.state_id)]
    query += [("job", job.id), ("change", "volume_pot=250k")]  # no new geometry: the sheet is there in seconds
    with clean_tab(browser, served.url) as tab:
        tab.page.goto(f"{served.url}/worksheet/print?{urlencode(query)}")
        assert MARKUP.strip() in " ".join(tab.page.inner_text("body").split())
        assert tab.page.evaluate("document.querySelectorAll('script, img').length") == 0
        assert tab.page.title() not in ("1", "2")


def test_a_guitar_file_of_two_mebibytes_is_refused_in_words(browser: Any, served: Served, tmp_path: Path) -> None:
    large = tmp_path / "large.toml"
    large.write_text(DEMO.read_text(encoding="utf-8") + "#" * (2 << 20), encoding="utf-8")
    with clean_tab(browser, served.url) as tab:
        page = tab.goto("/")
        with page.expect_file_chooser() as chooser:
            page.get_by_role("button", name="open a guitar file").click()
        chooser.value.set_files(large)
        page.wait_for_selector("text=is under 1 MiB")
    with open_notebook(served.notebook) as book:
        assert len(book.guitars()) == 2


def _bench(page: Any, server: Served, number: int) -> None:
    with open_notebook(server.notebook) as book:
        job = book.open_job(number, "neck: muddy").called
    page.reload()
    page.get_by_label(f"status, outcome: job {job}").click()
    page.locator(f"[aria-label='status, outcome: job {job}'] ~ .row button:has-text('close the job')").click()
    page.wait_for_selector("text=outcome is empty")


def _guitar(page: Any, server: Served, number: int) -> None:
    with open_notebook(server.notebook) as book:
        book.record(number, apply(book.guitar(number), "neck", parse_changes(["lower=0.2mm"])), why="elsewhere")
    page.click("summary:has-text('by steps')")
    page.click("text=raise 0.1 mm >> nth=0")
    page.wait_for_selector("text=changed in another tab")
    page.get_by_label("gap, treble side, mm").fill("0.2")
    page.get_by_label("gap, treble side, mm").press("Tab")
    page.wait_for_selector(".fault:not(:empty)")


def _plan(page: Any, server: Served, number: int) -> None:
    page.get_by_label("in your own words, such as: the bridge").fill("neck: blorp")
    page.get_by_label("in your own words, such as: the bridge").press("Tab")
    page.wait_for_selector(".fault:not(:empty)")


def _sheet(page: Any, server: Served, number: int) -> None:
    page.get_by_label("or any change, as in a plan").fill("magnet=alnico-2")
    page.get_by_label("or any change, as in a plan").press("Tab")
    page.wait_for_selector("text=is like that already")


def _drawer(page: Any, server: Served, number: int) -> None:
    page.get_by_label("length, mm or in").fill("2500")
    page.get_by_label("length, mm or in").press("Tab")
    page.click("text=put it into the drawer")
    page.wait_for_selector(".fault:not(:empty)")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("path", "act"),
    [("/", _bench), ("/guitar", _guitar), ("/plan", _plan), ("/worksheet", _sheet), ("/drawer", _drawer)],
)
def test_what_a_page_says_after_a_slip_keeps_the_rules_of_access(
    browser: Any, server: Served, fresh_guitar: Callable[[], int], faults_of: Callable[[Any], list[str]], path: str,
    act: Callable[[Any, Served, int], None], scheme: str,
) -> None:  # fmt: skip
    number = fresh_guitar()
    with clean_tab(browser, server.url, color_scheme=scheme, reduced_motion="reduce") as tab:
        page = tab.goto(f"{path}?guitar={number}")
        page.wait_for_selector(f"body.body--{scheme}")
        act(page, server, number)
        page.wait_for_timeout(300)
        found = faults_of(page)
    assert not found, "\n".join(found)
