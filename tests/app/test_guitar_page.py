"""The Guitar page without a browser: what it shows, and that every edit goes by the levers' own rules."""

import asyncio
import sqlite3
import time
from collections.abc import Awaitable, Callable

import pytest
from nicegui import ui
from nicegui.testing import User

from polepiece.app.guitar import boxes
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.widgets.plain_history import plain
from polepiece.guitar import Guitar, write_guitar
from tests.app.conftest import at_rest

Opener = Callable[[str], Awaitable[User]]
AHEAD = True  # what is answered at once is looked at: the process that answers has the guitar, as on a server


async def until(true: Callable[[], bool], seconds: float = 240.0) -> None:
    """Wait for something that a process beside this one brings."""
    for _ in range(round(seconds / 0.05)):
        if true():
            return
        await asyncio.sleep(0.05)
    raise AssertionError("it did not come")


def state_of(number: int = 1) -> str:
    return shared.room().notebook.states(number)[-1].why


async def press(user: User, mark: str) -> None:
    user.find(marker=mark).click()
    await at_rest()


async def enter(user: User, mark: str, value: str) -> None:
    user.find(marker=mark).trigger("enter", value)
    await at_rest()


async def test_the_guitar_page_shows_the_guitar_that_is_on_record(page_of: Opener) -> None:
    user = await page_of("/guitar")
    await user.should_see("The Harbour Lane two-humbucker (invented)")
    await user.should_see("invented: no real instrument")
    assert [one.name for one in shared.room().notebook.guitars()] == ["The Harbour Lane two-humbucker (invented)"]


async def test_raising_is_recorded_as_the_command_line_would_say_it(page_of: Opener) -> None:
    user = await page_of("/guitar")
    await press(user, "raise-bass")
    assert state_of() == "neck: raise_bass=0.1mm"
    assert shared.room().notebook.guitar(1).pickup("neck").gap_bass == pytest.approx(2.5e-3)  # the file says 2.6 mm


@pytest.mark.parametrize(
    ("typed", "metres"),
    [("2.4", 2.4e-3), ("2,4 mm", 2.4e-3), ("3/32 in", 25.4e-3 * 3 / 32), ("0.1 in", 2.54e-3)],  # 1 in = 25.4 mm exactly
)
async def test_a_gap_is_read_as_it_is_typed_at_a_bench(page_of: Opener, typed: str, metres: float) -> None:
    user = await page_of("/guitar")
    await enter(user, "gap-bass", typed)
    gap = shared.room().notebook.guitar(1).pickup("neck").gap_bass
    assert gap == pytest.approx(metres, abs=1e-6)  # moves are written with a thousandth of a mm


async def test_what_is_refused_is_said_under_the_field_and_nothing_is_recorded(page_of: Opener) -> None:
    user = await page_of("/guitar")
    await enter(user, "gap-treble", "0.08")
    await user.should_see("Is it in inches?")
    await enter(user, "gap-treble", "1.2")
    await user.should_see("nothing is planned")  # the words of the lever itself
    await enter(user, "gap-treble", "+3")
    await user.should_see("is no gap")
    await enter(user, "control-volume_pot", "500 ohm")
    await user.should_see("volume_pot")
    assert len(shared.room().notebook.states(1)) == 1


def numbers_of(values: str) -> list[float]:
    """Return the numbers of a curve as they travel to the browser."""
    return [float(one) for one in values.split()]


async def test_the_curve_comes_and_follows_the_height(page_of: Opener) -> None:
    user = await page_of("/guitar")
    chart = next(iter(user.find(marker="chart").elements))
    await until(lambda: any(one["look"] == "now" for one in chart.props["curves"]))
    before = chart.props["curves"][-1]["values"]
    await press(user, "lower-bass")
    await until(lambda: chart.props["curves"][-1]["values"] != before)
    after = chart.props["curves"][-1]["values"]
    assert max(numbers_of(after)) < max(numbers_of(before))  # further from the strings is quieter
    stock = next(one for one in chart.props["curves"] if one["look"] == "stock")
    assert stock["values"] == before


async def test_what_is_answered_at_once_is_drawn_before_it_is_written_down(
    page_of: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    user = await page_of("/guitar")
    chart = next(iter(user.find(marker="chart").elements))
    await until(lambda: len(chart.props["curves"]) == 2)
    before, drawn, record = chart.props["curves"][-1]["values"], list[bool](), Desk.record_in_turn

    async def noted(desk: Desk, guitar: Guitar, why: str, expect: int | None) -> None:
        drawn.append(chart.props["curves"][-1]["values"] != before)
        await record(desk, guitar, why, expect)

    monkeypatch.setattr(Desk, "record_in_turn", noted)
    monkeypatch.setattr("polepiece.app.pages.guitar.SEEN_FIRST", 60.0)  # however busy the machine is
    await press(user, "lower-bass")
    await until(lambda: len(shared.room().notebook.states(1)) == 2)
    assert drawn == [True]


async def test_a_curve_that_does_not_come_holds_no_record_up(page_of: Opener, monkeypatch: pytest.MonkeyPatch) -> None:
    user = await page_of("/guitar")
    chart = next(iter(user.find(marker="chart").elements))
    await until(lambda: len(chart.props["curves"]) == 2)
    held = asyncio.Event()

    async def never(*_: object) -> None:
        await held.wait()

    monkeypatch.setattr(shared.room().live, "ask", never)
    await press(user, "lower-bass")
    await until(lambda: len(shared.room().notebook.states(1)) == 2)
    held.set()


async def test_one_more_state_changes_the_page_and_does_not_build_it_anew(page_of: Opener) -> None:
    user = await page_of("/guitar")
    chart = next(iter(user.find(marker="chart").elements))
    await until(lambda: len(chart.props["curves"]) == 2)
    for k in range(boxes.RECENT):
        await press(user, "raise-bass" if k % 2 else "lower-bass")
    ids = chart.client.next_element_id
    await press(user, "lower-treble")
    await until(lambda: len(shared.room().notebook.states(1)) == boxes.RECENT + 2)
    await user.should_see(kind=ui.element, content=plain("neck: lower_treble=0.1mm"))
    assert chart.client.next_element_id - ids <= 5  # a line of the history: itself, its words, its button
    listed = user.find(kind=ui.element, content="return to this").elements
    assert len([one for one in listed if one.visible]) == boxes.RECENT - 1  # what is there now is not gone back to


async def test_waiting_for_turned_screws_can_be_given_up_and_taken_up_again(
    page_of: Opener, monkeypatch: pytest.MonkeyPatch
) -> None:
    user = await page_of("/guitar")
    chart = next(iter(user.find(marker="chart").elements))
    await until(lambda: any(one["look"] == "now" for one in chart.props["curves"]))
    before = chart.props["curves"][-1]["values"]
    margins, held = shared.room().margins, asyncio.Event()
    ask = margins.ask

    async def slow(lane: str, question: str, *arguments: object) -> object:
        if question == "turned":
            await held.wait()
        return await ask(lane, question, *arguments)

    monkeypatch.setattr(margins, "ask", slow)
    await press(user, "up-3")
    await user.should_see("finding the exact curve of the turned screws")
    await press(user, "stop")
    await user.should_see("compute the exact curve")
    await user.should_not_see("finding the exact curve of the turned screws")
    assert chart.props["stale"]
    assert chart.props["curves"][-1]["values"] == before  # the old curve, greyed
    assert state_of() == "neck: screw3=up 0.125 turn"  # the turn itself stays on record
    held.set()
    await press(user, "solve-again")
    await until(lambda: not chart.props["stale"] and chart.props["curves"][-1]["values"] != before)
    await user.should_not_see("compute the exact curve")


async def test_undo_and_redo_and_return_are_new_states(page_of: Opener) -> None:
    user = await page_of("/guitar")
    book = shared.room().notebook
    first = write_guitar(book.guitar(1))
    await press(user, "raise-bass")
    raised = write_guitar(book.guitar(1))
    await press(user, "undo")
    assert write_guitar(book.guitar(1)) == first
    await press(user, "redo")
    assert write_guitar(book.guitar(1)) == raised
    user.find(kind=ui.element, content="return to this").click()
    await at_rest()
    assert len(book.states(1)) == 5


async def test_a_second_tab_does_not_overwrite_the_first(page_of: Opener) -> None:
    one, other = await page_of("/guitar"), await page_of("/guitar")
    book = shared.room().notebook
    await press(one, "raise-bass")
    await press(other, "lower-treble")
    await other.should_see("changed in another tab")
    assert len(book.states(1)) == 2  # nothing was written over it
    await press(other, "clash-keep")
    pickup = book.guitar(1).pickup("neck")
    assert len(book.states(1)) == 3
    assert pickup.gap_bass == pytest.approx(2.6e-3)  # mine, as this tab had seen it
    assert pickup.gap_treble == pytest.approx(2.3e-3)


async def test_a_second_tab_can_take_what_the_first_did(page_of: Opener) -> None:
    one, other = await page_of("/guitar"), await page_of("/guitar")
    await press(one, "raise-bass")
    await press(other, "lower-treble")
    await press(other, "clash-reload")
    field = next(iter(other.find(marker="gap-bass").elements))
    assert field.props["value"] == "2.50"
    assert len(shared.room().notebook.states(1)) == 2


async def test_an_address_that_does_not_fit_falls_back_and_says_so(page_of: Opener) -> None:
    user = await page_of("/guitar?guitar=999&pickup=nowhere")
    await user.should_see("There is no guitar 999")


async def test_a_bar_is_swapped_by_its_words(page_of: Opener) -> None:
    user = await page_of("/guitar")
    user.find(marker="lever-magnet").trigger("choose", "alnico-5")
    await at_rest()
    magnet = shared.room().notebook.guitar(1).pickup("neck").magnet
    assert (magnet.grade, magnet.charge) == ("alnico-5", "outside")  # a bought bar comes charged outside


async def test_a_swap_is_brought_to_the_level_that_it_is_compared_with(page_of: Opener) -> None:
    user = await page_of("/guitar")
    chart = next(iter(user.find(marker="chart").elements))
    await until(lambda: len(chart.props["curves"]) == 2)
    await press(user, "lower-bass")
    await press(user, "lower-treble")
    await press(user, "regap")
    book = shared.room().notebook
    await until(lambda: len(book.states(1)) == 4)
    assert state_of().startswith("neck: raise=")
    before, after = (book.state_guitar(book.states(1)[k].id).pickup("neck") for k in (0, -1))
    assert after.gap_bass == pytest.approx(
        before.gap_bass, abs=0.02e-3
    )  # both ends were lowered alike: back where it was
    assert after.gap_treble == pytest.approx(before.gap_treble, abs=0.02e-3)


async def test_a_notebook_held_by_another_program_stops_one_tab_and_not_the_others(page_of: Opener) -> None:
    user = await page_of("/guitar")
    holder = sqlite3.connect(shared.room().notebook.path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    try:
        user.find(marker="raise-bass").click()
        slowest = 0.0
        for _ in range(20):
            before = time.perf_counter()
            await asyncio.sleep(0.02)
            slowest = max(slowest, time.perf_counter() - before)
        other = await page_of("/drawer")
        await other.should_see("Drawer")
        assert slowest < 4.0  # the notebook's own patience is 5 s; a busy machine takes up to one by itself
        assert len(shared.room().notebook.states(1)) == 1
    finally:
        holder.execute("ROLLBACK")
        holder.close()
    await until(lambda: len(shared.room().notebook.states(1)) == 2)


async def test_quick_presses_are_recorded_one_after_the_other(page_of: Opener) -> None:
    user = await page_of("/guitar")
    for _ in range(3):
        user.find(marker="raise-bass").click()
    await until(lambda: len(shared.room().notebook.states(1)) == 4)
    assert shared.room().notebook.guitar(1).pickup("neck").gap_bass == pytest.approx(2.3e-3)
    await user.should_not_see("changed in another tab", retries=3)
