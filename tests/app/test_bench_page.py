"""Bench without a browser: what is open, what comes next, and what was made but never measured."""

from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from nicegui.testing import User

from polepiece.app.server import shared
from polepiece.app.sheet import log as sheet_log
from polepiece.app.sheet.log import SheetKey
from polepiece.app.sheet.open_jobs import lately, on_the_bench
from polepiece.moves import apply, parse_changes
from polepiece.notebook import (
    LEDGER,
    Notebook,
    StateEntry,
    backup_to,
    export_notebook,
    merge_archive,
    open_notebook,
)
from tests.app.conftest import at_rest

Open = Callable[[str], Awaitable[User]]


def begun(book: Notebook, job: str | None = None) -> tuple[SheetKey, StateEntry]:
    """Return a sheet with one reading as found."""
    first = book.states(1)[-1]
    key = SheetKey(guitar_id=1, state=first.uuid, pickup="neck", changes=("magnet=alnico-3",), job=job)
    sheet_log.write(book, key, first.id, "baseline.dc_resistance", "7.9", label="DC resistance")
    return key, first


def made(book: Notebook, key: SheetKey) -> StateEntry:
    """Record the change of a sheet."""
    after = book.record(1, apply(book.guitar(1), "neck", parse_changes(key.changes)), why="made")
    sheet_log.write_done(book, key, after)
    return after


async def test_the_next_step_of_a_job_follows_what_was_done(page_of: Open) -> None:
    user = await page_of("/")
    await user.should_see("No open job")
    book = shared.room().notebook

    def step() -> tuple[str, str]:
        (one,) = on_the_bench(book)[0]
        return one.step, one.address.partition("?")[0]

    job = book.open_job(1, "neck: muddy", customer="A. Player", number="17")
    assert step() == ("make a plan", "/plan")
    book.keep_plan(job.id, {"rows": [{"pickup": "neck", "change": ["magnet=alnico-3"]}]})
    assert step() == ("choose a row of the plan", "/plan")
    job = book.choose(job.id, "neck: bar of Alnico 3")
    assert step() == ("open its work sheet", "/worksheet")
    key, _ = begun(book, job.uuid)
    assert step() == ("go on with the work sheet", "/worksheet")
    after = made(book, key)
    assert step() == ("take the readings after", "/worksheet")
    sheet_log.write(book, key, after.id, "after.dc_resistance", "7.9", label="DC resistance")
    assert step() == ("close it with its outcome", "")
    user = await page_of("/")
    await user.should_see("Job 17, A. Player")
    await user.should_see("made, and measured after".capitalize())


async def test_a_job_is_closed_with_its_outcome(page_of: Open) -> None:
    await page_of("/")
    book = shared.room().notebook
    job = book.open_job(1, "neck: muddy")
    user = await page_of("/")
    user.find(marker=f"close-{job.id}").click()
    await user.should_see("outcome is empty")
    user.find(marker=f"status-{job.id}").trigger("enter", "waiting for the bar")
    await at_rest()
    user.find(marker=f"set-status-{job.id}").click()
    await user.should_see("Status: waiting for the bar")
    user.find(marker=f"outcome-{job.id}").trigger("enter", "no improvement")
    await at_rest()
    user.find(marker=f"close-{job.id}").click()
    await user.should_see("No open job")
    assert book.job(job.id).outcome == "no improvement"


async def test_what_is_made_without_a_reading_after_is_listed_until_there_is_one(page_of: Open) -> None:
    await page_of("/")
    book = shared.room().notebook
    key, _ = begun(book)
    assert on_the_bench(book)[1] == []  # nothing is made yet
    after = made(book, key)
    (one,) = on_the_bench(book)[1]
    assert one.recorded.id == after.id
    user = await page_of("/")
    await user.should_see("The Harbour Lane two-humbucker (invented), neck: bar of Alnico 3")
    book.write_note(1, "gauss at the poles", state_id=after.id, sort="measurement", body={"gauss": 211})
    assert on_the_bench(book)[1] == []  # measured by another way


async def test_a_ledger_with_something_measured_proves_a_change(page_of: Open) -> None:
    await page_of("/")
    book = shared.room().notebook
    key, _first = begun(book)
    made(book, key)
    (one,) = on_the_bench(book)[1]
    base = next(state.id for state in book.states(1) if state.uuid == key.state)
    record = {"schema": LEDGER, "pickup": key.pickup, "change": list(key.changes)}
    book.keep_ledger(1, record | {"entries": [{"measured": None}]}, state_id=base)
    assert on_the_bench(book)[1] == [one]
    book.keep_ledger(1, record | {"entries": [{"measured": {"value": -1.0}}]}, state_id=base)
    assert on_the_bench(book)[1] == []


async def test_a_bar_swapped_without_a_sheet_is_not_proven_either(page_of: Open) -> None:
    await page_of("/")
    book = shared.room().notebook
    first = book.guitar(1)
    swapped = apply(first, "neck", parse_changes(["magnet=alnico-5"]))
    book.record(1, swapped, why="neck: magnet=alnico-5")
    lowered = book.record(1, apply(swapped, "neck", parse_changes(["lower=0.3mm"])), why="neck: lower=0.3mm")
    (one,) = on_the_bench(book)[1]
    assert one.words == "neck: bar of Alnico 5, without a work sheet"
    user = await page_of("/")
    await user.should_see("neck: bar of Alnico 5, without a work sheet")
    book.write_note(1, "resistance", state_id=lowered.id, sort="measurement", body={"kohm": 7.9})
    assert on_the_bench(book)[1] == []  # measured after it, at another height
    book.record(1, apply(lowered_guitar := book.guitar(1), "neck", parse_changes(["magnet=alnico-3"])), why="again")
    assert len(on_the_bench(book)[1]) == 1
    book.record(1, lowered_guitar, why="as it was")
    assert on_the_bench(book)[1] == []  # the old bar is back


async def test_what_was_taken_back_is_not_asked_for(page_of: Open) -> None:
    await page_of("/")
    book = shared.room().notebook
    key, first = begun(book)
    made(book, key)
    book.undo(1)
    assert on_the_bench(book)[1] == []
    book.redo(1)
    assert len(on_the_bench(book)[1]) == 1
    book.record(1, book.state_guitar(first.id), why="the old bar is back")
    assert on_the_bench(book)[1] == []


async def test_the_last_things_that_happened_are_told(page_of: Open) -> None:
    await page_of("/")
    book = shared.room().notebook
    key, first = begun(book)
    for string in range(1, 7):
        entry = f"baseline_strings.pole_gauss.screws.{string}"
        sheet_log.write(book, key, first.id, entry, str(240 + string), label=f"screws, gauss, string {string}")
    user = await page_of("/")
    words = "work sheet, neck: bar of Alnico 3: screws, gauss, string 6: 246 (and 6 more on this sheet)"
    await user.should_see(words)
    await user.should_see("came on record")
    assert len(lately(book, 12)) == 2


def _went_on_twice(folder: Path) -> None:
    """Let guitar 1 go on in this notebook and in a copy of it, and bring both together."""
    book = shared.room().notebook
    with open_notebook(backup_to(book.path, folder / "away.sqlite")) as away:
        away.record(1, apply(away.guitar(1), "neck", parse_changes(["lower=0.3mm"])), why="neck: lower=0.3mm")
        book.record(1, apply(book.guitar(1), "neck", parse_changes(["raise=0.2mm"])), why="neck: raise=0.2mm")
        merge_archive(book, export_notebook(away, folder / "all.zip"))


async def test_of_two_continuations_one_is_chosen(page_of: Open, tmp_path: Path) -> None:
    await page_of("/")
    _went_on_twice(tmp_path)
    book = shared.room().notebook
    here, away = book.branches(1)
    user = await page_of("/guitar?guitar=1")
    await user.should_see("2 continuations of this guitar are on record")
    user.find(marker=f"branch-{away.id}").click()
    await at_rest()
    assert book.guitar_entry(1).state_id == away.id
    assert not book.branch_is_open(1)
    assert book.state(here.id).why == "neck: raise=0.2mm"  # nothing is lost
    user = await page_of("/")
    await user.should_not_see("2 continuations of this guitar")  # chosen: no question any more


async def test_who_stays_is_asked_no_more(page_of: Open, tmp_path: Path) -> None:
    await page_of("/")
    _went_on_twice(tmp_path)
    book = shared.room().notebook
    here = book.branches(1)[0]
    user = await page_of("/")
    await user.should_see("2 continuations of this guitar are on record")
    user.find(marker=f"branch-{here.id}").click()
    await at_rest()
    assert book.guitar_entry(1).state_id == here.id
    assert not book.branch_is_open(1)


async def test_a_clock_that_went_back_is_said_until_it_is_seen(page_of: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    await page_of("/")
    book = shared.room().notebook
    past = datetime(2001, 2, 3, tzinfo=UTC)
    monkeypatch.setattr(book, "_clock", lambda: past)
    book.record(1, apply(book.guitar(1), "neck", parse_changes(["raise=0.2mm"])), why="raised")
    for path in ("/", "/guitar?guitar=1"):
        user = await page_of(path)
        await user.should_see("The clock went back: this state is dated 2001-02-03")
    user.find(marker="notice-seen").click()
    await user.should_not_see("The clock went back")
    user = await page_of("/")
    await user.should_not_see("The clock went back")
