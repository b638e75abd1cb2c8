"""Plan without a browser: the form speaks the bench's words, and a fault is said before any voicing."""

from collections.abc import Awaitable, Callable
from dataclasses import replace

from nicegui import ui
from nicegui.testing import User

from polepiece.app.plan.form import meaning, words_offered
from polepiece.app.plan.rows import _position, level_of, moves_of, quantities
from polepiece.app.server import shared
from polepiece.notebook import Part
from polepiece.planning import WORDS, read_plan

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
    await user.should_see("Repair first", retries=100)
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
    await user.should_see("Repair first", retries=100)
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
    await user.should_see("Repair first", retries=100)
    assert shared.room().notebook.jobs()[-1].constraints == ("keep-output; owned=alnico-3; budget=20; price-bar=8")


async def test_prices_that_cannot_be_read_are_said(page_of: Open) -> None:
    user = await page_of("/plan")
    user.find("sum").trigger("enter", "20; bolt 8")
    await user.should_see("is not a constraint that is known")


def test_a_row_in_words() -> None:
    row = {
        "change": ["magnet=alnico-5"], "then": "lower=0.3mm", "also": {"pickup": "bridge", "change": ["raise=0.2mm"]},
        "use": "re-set", "effect": {"level_db": 2.0}, "interval": {},
        "effect_at_old_level": {"level_db": 0.1}, "interval_at_old_level": {"level_db": [-0.2, 0.3]},
    }  # fmt: skip
    (row,) = read_plan({"rows": [row]}).rows
    assert moves_of(row) == "bar of Alnico 5, then lower 0.3 mm, bridge: raise 0.2 mm"
    assert level_of(row) == (0.1, (-0.2, 0.3))
    assert level_of(replace(row, use="as it is")) == (2.0, None)
    assert level_of(replace(row, use="as it is", effect={})) == (None, None)  # a flip: nothing is computed of it
    assert quantities(["lows", "low_level"]) == "lows, low end that reaches the amplifier"


def test_a_position_is_named_once() -> None:
    assert _position("both on: level -0.2 dB, out-of-phase") == ("both on", "level −0.2 dB, out-of-phase")


async def test_a_bad_address_falls_back(page_of: Open) -> None:
    user = await page_of("/plan?guitar=99&pickup=middle&job=nonsense&rows=x,-1,3")
    await user.should_see("What is wrong?")
    assert user.find(ui.element).elements
