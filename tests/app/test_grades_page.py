"""Grades without a browser: the table that is kept is shown, sorted, and exported; three bars, computed once."""

import csv
import io
import re
from collections.abc import Awaitable, Callable, Iterator
from html.parser import HTMLParser
from typing import Any

import pytest
from nicegui.testing import User

from polepiece.app.guitar.grade_sheets import KEYS, as_sheet, csv_rows
from polepiece.app.hear.states import grade_words
from polepiece.app.pages.grades import default_curves, moved_words
from polepiece.app.server import shared
from polepiece.app.widgets.controls import Press
from polepiece.bench import Bench, compare_grades
from polepiece.guitar import Guitar, read_guitar
from polepiece.report import grade_sheet_page
from polepiece.trade import trade_verdicts
from tests.app.conftest import DEMO

Open = Callable[[str], Awaitable[User]]


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return read_guitar(DEMO)


@pytest.fixture(scope="module")
def sheet(guitar: Guitar) -> Iterator[dict[str, Any]]:
    bench = Bench(exact_screws=False)
    found = compare_grades(
        guitar, "neck", slugs=("alnico-2", "alnico-3", "alnico-8"), at_level=True, draws=16, bench=bench
    )
    yield as_sheet(found, trade_verdicts(guitar, found, draws=16, bench=bench), 0)


async def shown(page_of: Open, sheet: dict[str, Any], more: str = "") -> User:
    """Open the page on a notebook that has the sheet already: nothing is computed."""
    await page_of("/")
    book = shared.room().notebook
    book.keep_prediction(book.states(1)[-1].id, "every grade in neck", sheet)
    user = await page_of(f"/grades?guitar=1&pickup=neck{more}")
    await user.should_see("Alnico 8")
    return user


def bars(user: User) -> list[str]:
    """Return the bars in the order of the table."""
    buttons = sorted(user.find(Press).elements, key=lambda one: one.id)
    labels = [str(one.props.get("aria-label", "")) for one in buttons]
    return [one.removeprefix("play ") for one in labels if one.startswith("play ")]


async def test_what_is_kept_is_shown_without_computing(page_of: Open, sheet: dict[str, Any]) -> None:
    user = await shown(page_of, sheet)
    await user.should_see("common practice, no source")
    await user.should_see("computed: not computed")  # "firm" has no measure
    await user.should_see("Confounded: reputations come from whole pickups")
    assert len(shared.room().notebook.predictions(1)) == 1


async def test_sheets_of_other_constants_are_not_shown(page_of: Open, sheet: dict[str, Any]) -> None:
    await page_of("/")
    book = shared.room().notebook
    book.keep_prediction(book.states(1)[-1].id, "every grade in neck", sheet | {"constants": "sha256:other"})
    user = await page_of("/grades?guitar=1&pickup=neck")
    await user.should_not_see("Alnico 8, ")
    await user.should_see("stop")


async def test_columns_sort_both_ways(page_of: Open, sheet: dict[str, Any]) -> None:
    user = await shown(page_of, sheet, "&sort=level_db")
    level = {grade_words(one["grade"]): one["same"]["difference"]["level_db"] for one in sheet["grades"]}
    assert bars(user) == sorted(level, key=level.__getitem__)
    user.find(marker="sort-level_db").click()
    await user.should_see("level, dB")
    assert bars(user) == sorted(level, key=level.__getitem__, reverse=True)


async def test_reset_shows_the_move(page_of: Open, sheet: dict[str, Any]) -> None:
    user = await shown(page_of, sheet, "&gap=reset")
    strong = next(one for one in sheet["grades"] if one["grade"] == "alnico-8")
    await user.should_see(moved_words(strong["reset"]["lowered_mm"]))
    await user.should_see("judged there, also while the table has the gap re-set")
    await user.should_see("computed at the same gap: agrees")
    assert moved_words(strong["reset"]["lowered_mm"]).startswith("lower")  # louder bars go down


def test_csv_holds_both_gaps_and_every_interval(sheet: dict[str, Any]) -> None:
    out = io.StringIO()
    csv.writer(out).writerows(csv_rows(sheet))
    rows = list(csv.DictReader(io.StringIO(out.getvalue())))
    assert [one["gap"] for one in rows] == ["same gap", "re-set to the old level"] * 3
    strong = next(one for one in rows if one["grade"] == "alnico-8" and one["gap"] == "same gap")
    there = next(one["same"] for one in sheet["grades"] if one["grade"] == "alnico-8")
    for key in KEYS:
        assert float(strong[key]) == pytest.approx(there["difference"][key], rel=1e-3, abs=1e-4)
        assert float(strong[f"{key} 90% low"]) <= float(strong[f"{key} 90% high"])
    assert "agreed" in strong["trade level (common practice; judged at the same gap)"]


class _Outside(HTMLParser):
    """Collects everything that a page would fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.fetched: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, "str | None"]]) -> None:
        for name, value in attrs:
            if name in ("src", "srcset", "data", "poster") or (tag == "link" and name == "href"):
                self.fetched.append(value or "")
        assert tag != "script"


def test_the_page_to_share_is_one_file(guitar: Guitar, sheet: dict[str, Any]) -> None:
    page = grade_sheet_page(guitar, sheet)
    outside = _Outside()
    outside.feed(page)
    assert all(one.startswith("data:") for one in outside.fetched), outside.fetched
    assert not re.search(r"url\(|@import", page)
    assert "invented" in page
    for one in sheet["grades"]:
        assert one["grade"] in page
    assert "With the gap re-set to the old level" in page
    assert "Common practice, no source" in page


def test_what_is_drawn_at_first_spans_the_range(sheet: dict[str, Any]) -> None:
    assert default_curves(sheet) == ["alnico-3", "alnico-8"]  # weakest, strongest; the bar that is in is drawn anyway
