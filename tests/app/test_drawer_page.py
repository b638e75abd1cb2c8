"""Drawer without a browser: parts go in as they are typed at a bench, and are held against the guitar."""

from collections.abc import Awaitable, Callable
from decimal import Decimal

from nicegui.testing import User

from polepiece.app.guitar.pairings import COMPUTED, IN_IT, SHEET, TRIED, WAS_IN, pairings
from polepiece.app.server import shared
from polepiece.app.sheet import log as sheet_log
from polepiece.moves import apply, parse_changes
from polepiece.notebook import Part
from tests.app.conftest import at_rest

Open = Callable[[str], Awaitable[User]]


async def typed(user: User, mark: str, value: str, event: str = "enter") -> None:
    user.find(marker=mark).trigger(event, value)
    await at_rest()


async def press(user: User, mark: str) -> None:
    user.find(marker=mark).click()
    await at_rest()


def parts() -> list[Part]:
    return [one.part for one in shared.room().notebook.parts()]


async def test_a_bar_goes_in_as_it_is_typed(page_of: Open) -> None:
    user = await page_of("/drawer")
    await user.should_see("The drawer is empty")
    await typed(user, "part-grade", "alnico-3", "choose")
    await typed(user, "part-finish", "rough-cast", "choose")
    await typed(user, "part-length_mm", "2 1/2 in")
    await typed(user, "part-width_mm", "12,7")
    await typed(user, "part-thickness_mm", "0.125 in")
    await typed(user, "part-gauss", "−45 mT")
    await typed(user, "part-gauss-at", "long edge, middle", "choose")
    await typed(user, "part-price", "8,50 EUR")
    await press(user, "add-part")
    (part,) = parts()
    assert (part.grade, part.finish) == ("alnico-3", "rough-cast")
    assert (part.length_mm, part.width_mm, part.thickness_mm) == (63.5, 12.7, 3.175)  # 1 in = 25.4 mm exactly
    assert (part.gauss, part.gauss_at) == (-450.0, "long edge, middle")
    assert (part.price, part.currency) == (Decimal("8.50"), "EUR")
    await user.should_see("Alnico 3, rough cast")
    await user.should_see("63.5 x 12.7 x 3.175 mm")
    await user.should_see("2.5 x 0.5 x 0.125 in")
    await user.should_see("−450 gauss")
    plan = await page_of("/plan")
    await plan.should_see("only bars from the drawer: Alnico 3, rough cast")


async def test_the_second_click_of_a_double_click_puts_nothing_in(page_of: Open) -> None:
    """As a browser counts clicks (UI Events, `detail`): 1 and 2 of a double click, 0 from the keyboard."""
    user = await page_of("/drawer")
    await typed(user, "part-grade", "alnico-3", "choose")
    for attr, size in (("length_mm", "63.5"), ("width_mm", "12.7"), ("thickness_mm", "3.2")):
        await typed(user, f"part-{attr}", size)
    for detail in (1, 2):
        user.find(marker="add-part").trigger("click", {"detail": detail})
        await at_rest()
    assert len(parts()) == 1
    user.find(marker="add-part").trigger("click", {"detail": 0})  # two alike are bought: pressed again, it counts
    await at_rest()
    assert len(parts()) == 2


async def test_slips_are_named_at_the_field_and_nothing_is_kept(page_of: Open) -> None:
    user = await page_of("/drawer")
    await typed(user, "part-length_mm", "2.5")
    await user.should_see("Is it in inches? 2.5 in is 63.5 mm.")
    await press(user, "add-part")
    await user.should_see("Not kept yet")
    await typed(user, "part-length_mm", "2.5 in")
    await typed(user, "part-gauss", "450")
    await press(user, "add-part")
    await user.should_see("Choose where the gauss were measured")
    await typed(user, "part-price", "12")
    await user.should_see("is no sum with its currency")
    assert parts() == []


async def test_pots_and_capacitors_have_their_own_fields(page_of: Open) -> None:
    user = await page_of("/drawer")
    await typed(user, "part-kind", "pot", "choose")
    await typed(user, "part-resistance_kohm", "0,487 M")
    await typed(user, "part-label", "500 kΩ marked, audio taper")
    await press(user, "add-part")
    await typed(user, "part-kind", "capacitor", "choose")
    await typed(user, "part-capacitance_nf", "22000")
    await user.should_see("Is it in pF, or the code on the part?")
    await typed(user, "part-capacitance_nf", "0.022 µF")
    await press(user, "add-part")
    pot, capacitor = parts()
    assert (pot.kind, pot.resistance_kohm) == ("pot", 487.0)
    assert (capacitor.kind, capacitor.capacitance_nf) == ("capacitor", 22.0)
    await user.should_see("487 kΩ")
    await user.should_see("22 nF")


async def test_a_part_leaves_with_its_reason_and_stays_in_the_history(page_of: Open) -> None:
    await page_of("/drawer")
    entry = shared.room().notebook.add_part(Part(kind="bar", grade="alnico-5"))
    user = await page_of("/drawer")
    await press(user, "retire")
    await user.should_see("Choose the part")
    await typed(user, "retire-part", str(entry.id), "choose")
    await press(user, "retire")
    await user.should_see("Say where it went")
    await typed(user, "retire-why", "sold")
    await press(user, "retire")
    await user.should_see("has left the drawer: 1")
    assert parts() == []
    assert shared.room().notebook.parts(include_retired=True)[0].why == "sold"


async def test_fit_and_what_was_never_tried_are_of_the_chosen_guitar(page_of: Open) -> None:
    await page_of("/drawer")
    book = shared.room().notebook
    book.add_part(Part(kind="bar", grade="alnico-4", length_mm=63.5, width_mm=12.7, thickness_mm=8.0))  # far too thick
    book.add_part(Part(kind="bar", grade="alnico-3", finish="polished"))
    book.add_part(Part(kind="bar", grade="alnico-2", finish="polished"))
    book.keep_prediction(book.guitar_entry(1).state_id, "bridge: magnet=alnico-3", {})
    user = await page_of("/drawer?guitar=1")
    await user.should_see("too large (thickness)")
    await user.should_see("is in it")  # Alnico 2 in the neck, by the file
    await user.should_see("Alnico 3 in the neck pickup")
    await user.should_see("computed only")
    await user.should_not_see("Alnico 3 in the bridge pickup")
    await user.should_not_see("Alnico 4 in the neck pickup")  # does not go in


async def test_what_was_done_with_a_bar_outranks_what_was_computed(page_of: Open) -> None:
    await page_of("/drawer")
    book = shared.room().notebook
    first = book.states(1)[0]
    grades = {"pickup": "neck", "grades": [{"grade": "alnico-3"}, {"grade": "alnico-4"}, {"grade": "ceramic-8"}]}
    book.keep_prediction(first.id, "every grade", grades)
    key = sheet_log.SheetKey(guitar_id=1, state=first.uuid, pickup="neck", changes=("magnet=alnico-4",))
    sheet_log.write(book, key, first.id, "baseline.polarity", "N", label="polarity")
    sheet_log.write(book, key, first.id, "bars.alnico-3.heard", "thinner", label="heard")
    book.record(1, apply(book.guitar(1), "neck", parse_changes(["magnet=alnico-5"])), why="tried")
    found = pairings(book, 1)
    assert found["ceramic-8", "neck"] == COMPUTED
    assert found["alnico-4", "neck"] == SHEET
    assert found["alnico-3", "neck"] == TRIED
    assert found["alnico-2", "neck"] == WAS_IN
    assert found["alnico-5", "neck"] == IN_IT
    assert ("alnico-8", "neck") not in found
