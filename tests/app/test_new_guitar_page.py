"""New guitar without a browser: what is typed is read at once, faults stand at their field, and the record is that."""

import asyncio
import json
import re
from collections.abc import Awaitable, Callable
from pathlib import Path
from types import SimpleNamespace

import httpx
import pytest
from nicegui import core
from nicegui.testing import User

from polepiece.app.entry import draft
from polepiece.app.entry.answer_fields import pictures
from polepiece.app.entry.draft import read_draft
from polepiece.app.entry.templates_offered import TEMPLATE
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.guitar import CONSTRUCTIONS, OF_CONTROLS, cautions, read_guitar, sentence_in_words
from tests.app.conftest import DEMO, application, at_rest

Open = Callable[[str], Awaitable[User]]
HUMBUCKER, ROD = (one.slug for one in CONSTRUCTIONS[:2])


async def typed(user: User, mark: str, value: str, event: str = "enter") -> None:
    user.find(marker=mark).trigger(event, value)
    await at_rest()


async def built(user: User, pickup: int, construction: str) -> None:
    user.find(marker=f"pickup-{pickup}-construction-{construction}").trigger("change", construction)
    await at_rest()


async def press(user: User, mark: str) -> None:
    user.find(marker=mark).click()
    await at_rest()


async def test_a_guitar_goes_on_record_as_it_is_typed(page_of: Open) -> None:
    user = await page_of("/new")
    await user.should_see("choose how each pickup is built")
    await typed(user, "guitar-name", "Mine")
    await built(user, 1, HUMBUCKER)
    await built(user, 2, ROD)
    await user.should_see("Mine: neck (humbucker), bridge (rod single).")
    await typed(user, "pickup-1-grade", "alnico-2", "choose")
    await typed(user, "pickup-1-gap_bass", "5/64")
    await typed(user, "pickup-2-resistance", "6,1k")
    await typed(user, "guitar-tone_cap", ".022")
    await typed(user, "guitar-tuning", "drop D")
    await press(user, "enter-guitar")
    book = shared.room().notebook
    entry = book.guitars()[-1]
    guitar = book.guitar(entry.id)
    assert (guitar.name, guitar.tuning[-1]) == ("Mine", "D2")
    assert guitar.pickups[0].magnet.grade == "alnico-2"
    assert guitar.pickups[0].gap_bass == pytest.approx(5 / 64 * 25.4e-3)
    assert guitar.pickups[1].resistance == 6.1e3
    assert guitar.controls.tone_cap == pytest.approx(22e-9)
    assert "pickups[1].gap_bass_mm" in [one.path for one in guitar.assumed]  # left open
    assert Desk.at().entry.id == entry.id  # what was worked on last is what is opened next


async def test_a_slip_stands_at_its_field_at_once_and_nothing_is_recorded(page_of: Open) -> None:
    user = await page_of("/new")
    before = len(shared.room().notebook.guitars())
    await built(user, 1, HUMBUCKER)
    await typed(user, "pickup-1-gap_treble", "19")
    await user.should_see("If that is sixty-fourths of an inch: that is 7.54063 mm.")
    await press(user, "enter-guitar")
    await user.should_see("Choose how it is built.")  # the other pickup, once one wants to be done
    await user.should_see("Not on record yet")
    assert len(shared.room().notebook.guitars()) == before
    await press(user, "remove-2")
    await typed(user, "pickup-1-gap_treble", "4.5")
    await user.should_not_see("Look at this again")  # of the other gap nothing is known
    await typed(user, "pickup-1-gap_bass", "2")
    await user.should_see("Look at this again: neck pickup has a larger gap on the treble side")  # odd: no refusal
    await press(user, "enter-guitar")
    assert len(shared.room().notebook.guitars()) == before + 1


async def test_a_double_click_puts_one_guitar_on_record(page_of: Open) -> None:
    user = await page_of("/new")
    await built(user, 1, HUMBUCKER)
    await press(user, "remove-2")
    before = len(shared.room().notebook.guitars())
    for detail in (1, 2):
        user.find(marker="enter-guitar").trigger("click", {"detail": detail})
    await at_rest()
    assert len(shared.room().notebook.guitars()) == before + 1


async def test_what_check_asks_about_is_asked_in_the_form_too(page_of: Open) -> None:
    """Every caution, of whatever it is, in the words of `check`: of strings, circuit and scale as of pickups."""
    user = await page_of("/new")
    await built(user, 1, HUMBUCKER)
    await press(user, "remove-2")
    odd = {
        "guitar-scale_length": "530", "guitar-tone_cap": "0.7", "guitar-tuning": "E4 B3 G3 D3 A2 F1",
        "pickup-1-pole_spacing": "8",
    }  # fmt: skip
    for mark, value in odd.items():
        await typed(user, mark, value)
    await press(user, "enter-guitar")
    guitar = shared.room().notebook.guitar(shared.room().notebook.guitars()[-1].id)
    asked = [sentence_in_words(one, ["neck"]) for one in cautions(guitar)]
    assert {one.partition(" ")[0] for one in asked} >= {"scale", "string", "controls:", "neck"}
    user = await page_of(f"/new?guitar={shared.room().notebook.guitars()[-1].id}")
    for one in asked:
        await user.should_see(f"Look at this again: {one}")


async def test_the_same_form_edits_a_guitar(page_of: Open) -> None:
    user = await page_of("/new?guitar=1")
    await user.should_see("What it is: The Harbour Lane two-humbucker (invented)")
    await typed(user, "pickup-1-resistance", "8.8")
    await press(user, "add-pickup")
    await built(user, 3, ROD)
    await press(user, "enter-guitar")
    book = shared.room().notebook
    guitar, demo = book.guitar(1), read_guitar(DEMO)
    assert [one.name for one in guitar.pickups] == ["neck", "bridge", "middle"]
    assert guitar.pickups[0].resistance == 8.8e3
    assert guitar.pickups[1] == demo.pickups[1]
    assert book.states(1)[-1].why == "edited: what this guitar is"
    assert guitar.complaints == demo.complaints


async def test_nothing_changed_is_no_new_state(page_of: Open) -> None:
    user = await page_of("/new?guitar=1")
    await press(user, "enter-guitar")
    assert len(shared.room().notebook.states(1)) == 1


def test_every_construction_is_drawn_and_no_two_alike() -> None:
    folds = pictures()
    drawn = [one for group in folds.values() for one in group]
    assert sorted(one.key for one in drawn) == sorted(one.slug for one in CONSTRUCTIONS)
    assert 3 <= len(folds) <= 6 and max(map(len, folds.values())) <= 6  # a fold is read at one look
    assert {one.key for one in folds["single coil with rod magnets"]} == {"rod-single", "plate-rod-single"}
    assert len({(one.name, one.svg) for one in drawn}) == len({one.name for one in drawn}) == len(CONSTRUCTIONS)
    first = {one.svg.replace(one.key, "") for one in drawn[:4]}
    assert len(first) == 4  # drawn, not only named
    for one in drawn:
        assert 'class="coil"' in one.svg
        assert ('class="north"' in one.svg) and ('class="south"' in one.svg)


async def test_with_no_guitar_on_record_the_first_screen_offers_a_new_one_then_the_invented(tmp_path: Path) -> None:
    async with application(tmp_path / "notebook.sqlite", demo=False):
        transport = httpx.ASGITransport(core.app)
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
            lead = await client.get("/plan")
            assert (lead.status_code, lead.headers["location"]) == (303, "/")
            stranger = await client.get("/plan", headers={"host": "elsewhere"})
            assert stranger.status_code == 400  # the guard is asked before anything is told
            page = await client.get("/")
            assert page.text.index("New guitar") < page.text.index("try the invented guitar")
            user = User(client)
            await user.open("/")
            user.find(marker="invented").click()
            await at_rest()
            await at_rest()
            assert [one.name for one in shared.room().notebook.guitars()] == [read_guitar(DEMO).name]
            assert (await client.get("/plan")).status_code == 200


@pytest.mark.skipif(
    TEMPLATE not in [one.attr for one in OF_CONTROLS], reason="this version has one volume and one tone: no templates"
)
async def test_circuits_are_offered_that_the_pickups_can_have(page_of: Open) -> None:
    user = await page_of("/new")
    await built(user, 1, HUMBUCKER)
    await built(user, 2, HUMBUCKER)

    def words() -> list[str]:
        (one,) = user.find(marker="guitar-template").elements
        return [key for key, _ in one.props["options"]]

    assert "two-volumes-two-tones-three-way" in words()
    assert "one-volume-one-tone-five-way" not in words()
    await typed(user, "guitar-template", "two-volumes-two-tones-three-way", "choose")
    await press(user, "add-pickup")
    await built(user, 3, ROD)
    assert "one-volume-one-tone-five-way" in words()
    await user.should_see("that needs 2 pickups, and this guitar has 3")
    await typed(user, "guitar-template", "one-volume-one-tone-five-way", "choose")
    await press(user, "enter-guitar")
    book = shared.room().notebook
    assert getattr(book.guitar(book.guitars()[-1].id).controls, "template") == "one-volume-one-tone-five-way"  # noqa: B009


async def test_only_what_the_pickup_has_is_asked_of_it(page_of: Open) -> None:
    user = await page_of("/new")
    await press(user, "remove-2")
    await built(user, 1, HUMBUCKER)
    await typed(user, "pickup-1-slug_diameter", "5")
    await typed(user, "pickup-1-wiring", "split-screws", "choose")
    await built(user, 1, "split-rods")
    (wiring,) = user.find(marker="pickup-1-wiring").elements
    assert [key for key, _ in wiring.props["options"]] == ["", "series", "parallel"]
    await user.should_not_see(marker="pickup-1-slug_diameter")
    await typed(user, "pickup-1-rod_diameter", "5,2")
    await typed(user, "pickup-1-row_offset", "11")
    await press(user, "enter-guitar")
    book = shared.room().notebook
    pickup = book.guitar(book.guitars()[-1].id).pickups[0]
    assert (pickup.wiring, pickup.poles.rod_diameter, pickup.poles.row_offset) == ("series", 5.2e-3, 11e-3)


async def test_knobs_that_pull_are_asked_and_their_fault_stands_there(page_of: Open) -> None:
    user = await page_of("/new")
    await built(user, 1, HUMBUCKER)
    await built(user, 2, ROD)
    await typed(user, "guitar-push_pull", "neck: split")
    await user.should_see("of a split say which coil stays on")
    await typed(user, "guitar-push_pull", "neck: split-slugs; bridge: phase")
    await press(user, "enter-guitar")
    book = shared.room().notebook
    assert book.guitar(book.guitars()[-1].id).controls.push_pull == ("neck: split-slugs", "bridge: phase")


async def test_a_reload_brings_back_what_was_typed(page_of: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    kept: dict[str, str] = {}

    def tab(code: str, timeout: float = 0.0) -> Awaitable[str | None]:
        """Do what the store of a browser's tab does."""
        if found := re.fullmatch(r"sessionStorage.setItem\('\S+', (.*)\)", code):
            kept["text"] = json.loads(found[1])
        elif code.startswith("sessionStorage.removeItem"):
            kept.clear()
        answer: asyncio.Future[str | None] = asyncio.get_running_loop().create_future()
        answer.set_result(kept.get("text"))
        return answer

    monkeypatch.setattr(draft, "ui", SimpleNamespace(run_javascript=tab))
    user = await page_of("/new")
    await at_rest()
    await typed(user, "guitar-name", 'My "own" ½')
    await built(user, 1, ROD)
    await press(user, "add-pickup")
    await typed(user, "pickup-3-resistance", "6,1k")
    await typed(user, "pickup-1-rod_diameter", "4.8")
    found = read_draft(kept["text"])
    assert found is not None
    assert (found.of_guitar["name"], len(found.pickups)) == ('My "own" ½', 3)
    await user.open("/new")
    await user.should_see("is back")
    fields = [next(iter(user.find(marker=mark).elements)) for mark in ("guitar-name", "pickup-3-resistance")]
    assert [one.props["value"] for one in fields] == ['My "own" ½', "6,1k"]
    await press(user, "begin-anew")
    assert not kept
    assert next(iter(user.find(marker="guitar-name").elements)).props["value"] == ""


@pytest.mark.parametrize(
    "text",
    [
        None,
        7,
        "",
        "null",
        "{",
        "[1, 2]",
        "[{}, []]",
        '[{"name": 3}, [{}]]',
        "[{}, [{}, {}, {}, {}, {}, {}, {}]]",
        "[" * 9999,
    ],
)
def test_what_comes_back_from_a_tab_is_read_strictly(text: object) -> None:
    assert read_draft(text) is None
