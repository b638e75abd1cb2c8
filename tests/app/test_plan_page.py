"""Plan without a browser: the form speaks the bench's words, and a fault is said before any voicing."""

import json
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from nicegui import ui
from nicegui.testing import User

from polepiece.app.plan.form import meaning, words_offered
from polepiece.app.plan.rows import _position, moves_of, quantities, reach_of_rows
from polepiece.app.server import shared
from polepiece.app.widgets.controls import Text
from polepiece.app.widgets.whisker import LEAST, step_of
from polepiece.notebook import Part
from polepiece.planning import WORDS, read_plan
from tests.app.conftest import at_rest

PLAN = Path(__file__).parents[1] / "fixtures" / "json" / "plan.json"
Open = Callable[[str], Awaitable[User]]


async def test_the_complaint_of_the_file_is_there(page_of: Open) -> None:
    user = await page_of("/plan")
    await user.should_see("neck: muddy, clear")
    await user.should_see("make the plan")


async def test_every_word_of_the_table_is_offered(page_of: Open) -> None:
    assert set(words_offered()) == {one.name for one in WORDS}
    assert list(words_offered())[-1] in {one.name for one in WORDS if one.kind == "fault"}
    for one in WORDS:
        assert "low_level" not in meaning(one.name)  # a key of the program is no word
        assert one.means in meaning(one.name)


async def test_a_fault_is_repaired_first(page_of: Open) -> None:
    user = await page_of("/plan?guitar=1")
    user.find("remove").click()
    await user.should_see("nothing yet")
    user.find("own-words").trigger("enter", "hums")
    await user.should_see("neck: hums")
    user.find("make-plan").click()
    await user.should_see("Repair first")
    await user.should_see("find the ground or shield; never a magnet")
    await user.should_not_see("What to try, in this order")
    job = shared.room().notebook.jobs()[-1]
    assert job.complaints == "neck: hums"
    assert job.plan is not None and job.plan["verdict"] == "repair-first"
    again = await page_of(f"/plan?guitar=1&job={job.id}")
    await again.should_see("Repair first")


async def test_a_word_that_is_not_known_says_the_nearest(page_of: Open) -> None:
    user = await page_of("/plan")
    user.find("own-words").trigger("enter", "muuudy")
    await user.should_see("is not a complaint word that is known; the nearest is")
    await user.should_see("muddy")


async def test_what_was_understood_and_what_not_is_shown(page_of: Open) -> None:
    user = await page_of("/plan")
    user.find("remove").click()
    user.find("own-words").trigger("enter", "brigde hums like a zebra")
    user.find("own-limits").trigger("enter", "leave the neck alone")
    user.find("make-plan").click()
    await user.should_see("Repair first")
    await user.should_see("not used: zebra")
    await user.should_see("By: a bench with an ohmmeter.")
    await user.should_see("that pickup is left alone")
    job = shared.room().notebook.jobs()[-1]
    assert (job.complaints, job.constraints) == ("brigde hums like a zebra", "leave the neck alone")


async def test_words_that_name_their_pickup_keep_it(page_of: Open) -> None:
    user = await page_of("/plan")
    user.find("own-words").trigger("enter", "bridge too bright")
    await user.should_see("bridge too bright")
    await user.should_not_see("neck: bridge too bright")
    user.find("own-words").trigger("enter", "too dark")
    await user.should_see("neck: too dark")


async def test_a_limit_that_is_said_with_the_complaint_is_a_limit(page_of: Open) -> None:
    user = await page_of("/plan")
    user.find("remove").click()
    user.find("own-words").trigger("enter", "the bridge hums, but no soldering")
    await user.should_see("the bridge hums")
    user.find("make-plan").click()
    await user.should_see("Repair first", retries=100)
    job = shared.room().notebook.jobs()[-1]
    assert (job.complaints, job.constraints) == ("the bridge hums", "no soldering")


async def test_a_limit_that_is_not_known_is_said(page_of: Open) -> None:
    user = await page_of("/plan")
    user.find("own-limits").trigger("enter", "paint it black")
    await user.should_see("is not a constraint that is known")


async def test_nothing_complained_of_is_said(page_of: Open) -> None:
    user = await page_of("/plan")
    user.find("remove").click()
    user.find("make-plan").click()
    await user.should_see("Nothing is complained of yet")
    assert not shared.room().notebook.jobs()


async def test_bars_of_the_drawer_and_prices_reach_the_plan(page_of: Open) -> None:
    user = await page_of("/plan")
    shared.room().notebook.add_part(Part(kind="bar", grade="alnico-3", finish="polished"))
    user.find("flag-owned").trigger("change", True)
    user.find("flag-keep-output").trigger("change", True)
    user.find("sum").trigger("enter", "20; bar 8")
    user.find("own-words").trigger("enter", "hums")
    user.find("make-plan").click()
    await user.should_see("Repair first")
    assert shared.room().notebook.jobs()[-1].constraints == ("keep-output; owned=alnico-3; budget=20; price-bar=8")


async def test_prices_that_cannot_be_read_are_said(page_of: Open) -> None:
    user = await page_of("/plan")
    user.find("sum").trigger("enter", "20; bolt 8")
    await user.should_see("is not a constraint that is known")


def test_a_row_in_words() -> None:
    row = {
        "change": ["magnet=alnico-5"], "then": "lower=0.3mm", "also": {"pickup": "bridge", "change": ["raise=0.2mm"]},
        "use": "re-set", "effect": {"level_db": 2.0}, "interval": {},
    }  # fmt: skip
    (row,) = read_plan({"rows": [row]}).rows
    assert moves_of(row) == "bar of Alnico 5, then down 0.3 mm, bridge: up 0.2 mm"
    assert quantities(["lows", "low_level"]) == "lows, low end at the amplifier"


def test_all_rows_share_one_axis_that_ends_on_a_tick() -> None:
    wide, small = {"level_db": [-3.4, -1.0]}, {"level_db": [0.1, 0.3]}
    rows = [
        {"change": ["lower=1mm"], "decides": "level", "effect": {"level_db": -2.2}, "interval": wide},
        {"change": ["raise=1mm"], "decides": "level", "effect": {"level_db": 0.2}, "interval": small},
        {"change": ["flip=yes"], "effect": {}, "interval": {}},  # nothing is computed of it
    ]  # fmt: skip
    assert reach_of_rows(read_plan({"rows": rows}).rows) == 4.0  # the widest end, 3.4 dB, up to the next tick of 2 dB
    assert reach_of_rows(read_plan({"rows": rows[1:]}).rows) == LEAST
    assert step_of(7.0) == 5.0


async def test_a_plan_is_said_in_a_sentence_first_and_its_form_is_one_line(page_of: Open) -> None:
    user = await page_of("/plan?guitar=1")
    book = shared.room().notebook
    book.keep_plan(book.open_job(1, "neck: muddy, clear", "keep-output").id, json.loads(PLAN.read_text("utf-8")))
    user = await page_of("/plan?guitar=1")
    shown = sorted(user.find(kind=Text).elements, key=lambda one: one.id)  # as they stand; found as a set
    said = [one.text for one in shown if isinstance(one, Text)]
    start = next(k for k, words in enumerate(said) if words.startswith("Start here:"))
    assert start < said.index("what to do")
    assert "neck: muddy, clear; keep the output – change, or plan anew" in said
    folds = [one for one in user.find(kind=ui.element).elements if one.tag == "details" and "asked" in one.classes]
    assert [one.props["open"] for one in folds] == [False]
    await user.should_see("hear row 1")
    user.find("more-1").click()
    await user.should_see("choose this one")
    await user.should_not_see("pickups[")  # keys of the file are for --json
    user.find("choose-first").click()
    await user.should_see("its work sheet")


async def test_a_plan_is_heard_from_the_guitar_that_it_was_made_for(page_of: Open) -> None:
    """Once a row is done, its curve and its sounds are those of the guitar before it, not of the row done twice."""
    user = await page_of("/plan?guitar=1")
    book = shared.room().notebook
    job = book.keep_plan(book.open_job(1, "neck: muddy, clear", "").id, json.loads(PLAN.read_text("utf-8")))
    user = await page_of(f"/plan?guitar=1&job={job.id}")
    (link,) = user.find("hear row 1").elements
    assert "state=now&" in link.props["href"] and "was" not in link.props["href"]
    other = await page_of("/guitar?guitar=1")
    other.find(marker="raise-bass").click()
    await at_rest()
    user = await page_of(f"/plan?guitar=1&job={job.id}")
    await user.should_see("The guitar has changed since this plan was made")
    (link,) = user.find("hear row 1").elements
    assert f"state=was%3A{job.state_id}&state=was%3A{job.state_id}%3B" in link.props["href"]


async def test_a_tick_leaves_the_rows_where_they_are(page_of: Open) -> None:
    await page_of("/plan?guitar=1")
    book = shared.room().notebook
    book.keep_plan(book.open_job(1, "neck: muddy, clear").id, json.loads(PLAN.read_text("utf-8")))
    user = await page_of("/plan?guitar=1")
    (before,) = user.find(marker="tick-1").elements
    user.find(marker="tick-1").trigger("change", False)  # it and the first bar, row 5, are ticked at first
    await at_rest()
    (after,) = user.find(marker="tick-1").elements
    assert after is before, "a row that is built anew takes the keyboard's place away"
    assert after.props["checked"] is False
    lines = [one.content for one in user.find(kind=ui.html).elements if "sample" in one.content]
    assert len(lines) == 1 and "c-1" in lines[0]  # row 5 alone, which has the first look now


async def test_a_plan_under_way_is_seen_and_stopped_from_another_tab(
    page_of: Open, monkeypatch: pytest.MonkeyPatch
) -> None:
    user = await page_of("/plan?guitar=1")
    jobs = shared.room().jobs
    run = jobs.run
    monkeypatch.setattr(jobs, "run", lambda kind, *_, heard=None, ear=None, **more: run("sleep", 60.0, **more))
    user.find("make-plan").click()
    await user.should_see("waiting (")
    again = await page_of("/plan?guitar=1")  # as after a reload
    await again.should_see("waiting (")
    await again.should_see("neck: muddy, clear – change, or plan anew")
    again.find("stop").click()
    await again.should_see("Stopped while")
    await user.should_see("Stopped while")
    assert not shared.room().notebook.jobs()
    assert shared.room().under_way.get("plan 1") is None


def test_a_position_is_named_once() -> None:
    assert _position("both on: level -0.2 dB, out-of-phase") == ("both on", "level −0.2 dB, out-of-phase")


async def test_a_bad_address_falls_back(page_of: Open) -> None:
    user = await page_of("/plan?guitar=99&pickup=middle&job=nonsense&rows=x,-1,3")
    await user.should_see("What is wrong?")
    assert user.find(ui.element).elements
