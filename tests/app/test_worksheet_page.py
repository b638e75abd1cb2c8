"""Work sheet without a browser: what is typed is kept and judged, and the change is recorded once."""

from collections.abc import Awaitable, Callable
from typing import Any

import httpx
import pytest
from nicegui import core, ui
from nicegui.testing import User

from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.sheet import bench_units as units
from polepiece.app.sheet import log as sheet_log
from polepiece.app.sheet import shelf as sheet_shelf
from polepiece.app.sheet.choice import chosen_row
from polepiece.app.sheet.stops import findings
from polepiece.app.widgets import theme
from polepiece.bench import coarse_bench
from polepiece.errors import InputError
from polepiece.guitar import Guitar, read_guitar
from polepiece.moves import parse_changes
from polepiece.notebook import Part
from polepiece.report import WorkSheet, work_sheet
from tests.app.conftest import DEMO, at_rest

Open = Callable[[str], Awaitable[User]]
ADDRESS = "/worksheet?guitar=1&pickup=neck&change=magnet%3Dalnico-3"


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return read_guitar(DEMO)


@pytest.fixture(scope="module")
def sheet(guitar: Guitar) -> WorkSheet:
    """One sheet, worked out once; its numbers are of the library and are tested there."""
    return work_sheet(guitar, "neck", parse_changes(["magnet=alnico-3"]), bench=coarse_bench(), draws=8)


@pytest.fixture
def shelved(sheet: WorkSheet, monkeypatch: pytest.MonkeyPatch) -> WorkSheet:
    """Let every page find that sheet worked out already."""
    monkeypatch.setattr(sheet_shelf, "ready", lambda what, entries: sheet)
    return sheet


async def typed(user: User, entry: str, value: str) -> None:
    user.find(marker=entry).trigger("enter", value)
    await at_rest()


def kept() -> dict[str, str]:
    return next(iter(sheet_log.sheets_of(shared.room().notebook, 1).values())).entries


async def test_the_sheet_is_worked_out_in_a_process_and_a_reading_is_kept(page_of: Open) -> None:
    user = await page_of(ADDRESS)
    await user.should_see("Baseline, before anything is loosened", retries=2400)
    await user.should_see("7.90 kΩ")  # the resistance that the guitar's file gives
    await typed(user, "baseline.dc_resistance", "7,85")
    assert kept() == {"baseline.dc_resistance": "7,85"}
    note = shared.room().notebook.notes(1, sort="measurement")[-1]
    assert note.body is not None and (note.body["number"], note.body["unit"]) == (7.85, "kΩ")
    assert note.state_id == shared.room().notebook.guitar_entry(1).state_id
    assert "DC resistance" in note.text


async def test_a_reload_finds_everything_again(page_of: Open, shelved: WorkSheet) -> None:
    user = await page_of(ADDRESS)
    await user.should_see("When it is done")
    await typed(user, "baseline.polarity", "N at the screws")
    user.find(marker="step.baseline.photo").trigger("change", True)
    await typed(user, "head.customer", "A. Player")
    await user.should_see("Kept in the notebook")
    again = await page_of(ADDRESS)
    await again.should_see("When it is done")
    field = next(iter(again.find(marker="baseline.polarity").elements))
    assert field.props["value"] == "N at the screws"
    assert next(iter(again.find(marker="step.baseline.photo").elements)).props["checked"] is True
    assert next(iter(again.find(marker="head.customer").elements)).props["value"] == "A. Player"
    await typed(again, "baseline.polarity", "")
    assert "baseline.polarity" not in kept()  # taken back; the history still has it
    assert len(shared.room().notebook.notes(1, sort="measurement")) == 2


async def test_what_another_tab_writes_is_shown_and_said_without_a_reload(
    page_of: Open, shelved: WorkSheet, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(theme, "LOOK_AGAIN", 0.1)
    one, other = await page_of(ADDRESS), await page_of(ADDRESS)
    await one.should_see("When it is done")
    await other.should_see("When it is done")
    await typed(other, "baseline.noises", "none")
    await typed(one, "baseline.dc_resistance", "7.90")
    await typed(one, "after.dc_resistance", "8.07")
    one.find(marker="step.baseline.photo").trigger("change", True)
    await typed(one, "head.customer", "A. Player")
    await other.should_see("Written elsewhere, and shown here now")
    await other.should_see("8.07 kΩ after; more than 2 %")  # judged here too
    await other.should_see(marker="step.baseline.photo")
    for entry, value in (
        ("after.dc_resistance", "8.07"),
        ("head.customer", "A. Player"),
        ("baseline.noises", "none"),
    ):
        assert next(iter(other.find(marker=entry).elements)).props["value"] == value
    assert next(iter(other.find(marker="step.baseline.photo").elements)).props["checked"] is True
    one.find(marker="step.baseline.photo").trigger("change", False)
    await typed(one, "after.dc_resistance", "")
    await at_rest()
    await other.should_not_see("8.07 kΩ after; more than 2 %")
    assert next(iter(other.find(marker="step.baseline.photo").elements)).props["checked"] is False
    one.find(marker="done").click()
    await other.should_see("Recorded as a new state")
    assert len(shared.room().notebook.states(1)) == 2


async def test_a_slip_is_said_at_the_field_and_kept_as_typed(page_of: Open, shelved: WorkSheet) -> None:
    user = await page_of(ADDRESS)
    await user.should_see("When it is done")
    await typed(user, "baseline.dc_resistance", "7850")
    await user.should_see("Is it in ohm? 7850 ohm is 7.85 kΩ. It is kept as typed")
    assert kept()["baseline.dc_resistance"] == "7850"
    note = shared.room().notebook.notes(1)[-1]
    assert note.body is not None and "number" not in note.body


async def test_a_broken_stop_limit_is_said(page_of: Open, shelved: WorkSheet) -> None:
    user = await page_of(ADDRESS)
    await user.should_see("When it is done")
    await typed(user, "baseline.dc_resistance", "7.90")
    await typed(user, "after.dc_resistance", "8.05")
    with pytest.raises(AssertionError):
        user.find(marker="stop")  # 1.9 % is within the limit
    await typed(user, "after.dc_resistance", "8.07")
    await user.should_see("+2.2 % off: 7.90 kΩ before, 8.07 kΩ after; more than 2 %")
    await user.should_see("STOP: DC resistance is +2.2 % off")  # beside the button that records the change, too
    await typed(user, "baseline.temperature", "20")
    await typed(user, "after.temperature", "24")
    with pytest.raises(AssertionError):
        user.find(marker="stop")  # 4 degrees of copper are 1.6 %


async def test_done_records_the_change_once_and_undo_takes_it_back(page_of: Open, shelved: WorkSheet) -> None:
    book = shared.room().notebook
    user = await page_of(ADDRESS)
    await user.should_see("When it is done")
    await typed(user, "why", "Alnico 3 for the neck, as agreed")
    user.find(marker="done").click()
    user.find(marker="done").click()  # twice, as hands do
    await at_rest()
    await user.should_see("Not proven yet")
    assert book.guitar(1).pickup("neck").magnet.grade == "alnico-3"
    last = book.states(1)[-1]
    assert last.why == "Alnico 3 for the neck, as agreed"
    assert book.notes(1, sort="swap")[-1].state_id == last.id
    await typed(user, "after.dc_resistance", "7.91")
    assert book.notes(1, sort="measurement")[-1].state_id == last.id  # a reading of the new state
    again = await page_of(ADDRESS)  # the same address, although the guitar has that bar now
    await again.should_see("Recorded as a new state")
    again.find(marker="undo-done").click()
    await at_rest()
    await again.should_see("done: record this change")
    assert book.guitar(1).pickup("neck").magnet.grade == "alnico-2"
    assert len(book.states(1)) == 3


async def test_the_bar_leaves_the_drawer_and_the_old_one_comes_into_it(page_of: Open, shelved: WorkSheet) -> None:
    book = shared.room().notebook
    bar = book.add_part(Part(kind="bar", grade="alnico-3"))
    book.add_part(Part(kind="bar", grade="alnico-8"))  # another grade, never offered
    book.add_part(Part(kind="bar", grade="alnico-3", finish="rough-cast"))  # another bar, never offered
    user = await page_of(ADDRESS)
    await user.should_see("When it is done")
    (field,) = user.find(marker="stock-taken").elements
    assert [key for key, _ in field.props["options"]] == ["", str(bar.id)]
    assert field.props["value"] == str(bar.id)
    user.find(marker="stock-old").trigger("choose", "drawer")
    await at_rest()
    user.find(marker="done").click()
    user.find(marker="done").click()
    await user.should_see("Recorded as a new state")
    there = {(one.part.grade, one.part.finish): one.count for one in book.parts()}
    assert there[("alnico-3", "unknown")] == 0
    assert there[("alnico-2", book.guitar(1).pickup("neck").magnet.finish)] == 1 or there[("alnico-2", "unknown")] == 1
    again = await page_of(ADDRESS)
    await again.should_see("Recorded as a new state")
    again.find(marker="undo-done").click()
    await again.should_see("done: record this change")
    there = {one.part.grade: one.count for one in book.parts() if one.part.finish != "rough-cast"}
    assert there == {"alnico-3": 1, "alnico-8": 1, "alnico-2": 0}


async def test_a_bar_that_another_bench_took_meanwhile_is_not_put_in(page_of: Open, shelved: WorkSheet) -> None:
    book = shared.room().notebook
    bar = book.add_part(Part(kind="bar", grade="alnico-3"))
    user = await page_of(ADDRESS)
    await user.should_see("When it is done")
    book.use_part(bar.id, "another job")
    user.find(marker="done").click()
    await user.should_see("none is left to take")
    assert book.guitar(1).pickup("neck").magnet.grade == "alnico-2"
    user.find(marker="stock-taken").trigger("choose", "")  # bought for this job
    await at_rest()
    user.find(marker="done").click()
    await user.should_see("Recorded as a new state")
    assert book.guitar(1).pickup("neck").magnet.grade == "alnico-3"


async def test_what_was_read_goes_into_the_guitar_as_measured(page_of: Open, shelved: WorkSheet) -> None:
    book = shared.room().notebook
    user = await page_of(ADDRESS)
    await user.should_see("No reading is on the sheet yet")
    await typed(user, "baseline.gap_bass", "2,5")
    await typed(user, "after.dc_resistance", "7.87")
    await typed(user, "after.temperature", "21.5")
    await typed(user, "after.gap_treble", "5/64")
    await typed(user, "after_strings.pole_gauss.screws.3", "-22 mT")
    await user.should_see("DC resistance 7.87 kΩ at 21.5 °C")
    user.find(marker="done").click()
    await at_rest()
    await user.should_see("Recorded as a new state")
    pickup = book.guitar(1).pickup("neck")
    assert pickup.magnet.grade == "alnico-3" and pickup.magnet.measured_gauss[2] == -220.0
    assert (pickup.resistance, pickup.temperature) == (7870.0, 21.5)
    assert (pickup.gap_bass, pickup.gap_treble) == pytest.approx((2.5e-3, 25.4e-3 * 5 / 64))
    assert not [one for one in book.guitar(1).assumed if one.path == "pickups[0].temperature_c"]
    assert "measured: " in book.states(1)[-1].why and "gap, treble side 1.98 mm" in book.states(1)[-1].why
    await typed(user, "after.inductance_120hz_h", "4600 mH")
    assert book.guitar(1).pickup("neck").inductance is None  # nothing goes into the guitar by typing alone
    user.find(marker="record-readings").click()
    await at_rest()
    assert book.guitar(1).pickup("neck").inductance == 4.6
    with pytest.raises(AssertionError):
        user.find(marker="record-readings")  # all is on record
    for inductance, resistance in ((None, 7870.0), (None, 7900.0)):
        user.find(marker="undo-done").click()
        await at_rest()
        pickup = book.guitar(1).pickup("neck")
        assert (pickup.inductance, pickup.resistance) == (inductance, resistance)
    assert pickup.magnet.grade == "alnico-2" and len(book.states(1)) == 5


async def test_another_tab_sees_that_the_guitar_was_changed(page_of: Open, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(theme, "LOOK_AGAIN", 0.1)
    user, other = await page_of("/guitar?guitar=1"), await page_of("/drawer?guitar=1")
    user.find(marker="raise-bass").click()
    await at_rest()
    await other.should_see("changed elsewhere (neck: bass side up 0.1 mm)")
    with pytest.raises(AssertionError):
        await user.should_see("changed elsewhere", retries=5)


async def test_a_guitar_that_was_changed_meanwhile_is_not_overwritten(page_of: Open, shelved: WorkSheet) -> None:
    user, other = await page_of(ADDRESS), await page_of("/guitar?guitar=1")
    await user.should_see("When it is done")
    other.find(marker="raise-bass").click()
    await at_rest()
    await other.should_see("bass side up")
    user.find(marker="done").click()
    await at_rest()
    await user.should_see("changed meanwhile")
    assert shared.room().notebook.guitar(1).pickup("neck").magnet.grade == "alnico-2"


async def test_what_cannot_be_done_is_said_and_something_else_offered(page_of: Open) -> None:
    user = await page_of("/worksheet?guitar=1&pickup=neck&change=magnet%3Dalnico-99")
    await user.should_see("alnico-99")
    await user.should_see("Name a change")
    user.find(marker="new-change").trigger("enter", "magnet=alnico-2")
    await at_rest()
    await user.should_see("is like that already")


async def test_the_chosen_row_of_a_plan_opens_its_sheet(page_of: Open, shelved: WorkSheet) -> None:
    book = shared.room().notebook
    job = book.open_job(1, "neck: muddy", customer="A. Player", number="17")
    row = {"pickup": "neck", "change": ["magnet=alnico-3"], "then": "lower=0.3mm", "rank": 2}
    four = {"order": 1, "pickup": "neck", "grade": "alnico-4", "change": ["magnet=alnico-4"]}
    eight = {"order": 2, "pickup": "neck", "grade": "alnico-8", "change": ["magnet=alnico-8"], "heard": "no"}
    bars = [four, eight]
    book.keep_plan(job.id, {"rows": [row], "rest": [], "bars_to_have": bars})
    book.add_part(Part(kind="bar", grade="alnico-5", finish="rough-cast"))
    chosen = book.choose(job.id, "neck: bar of Alnico 3, then down 0.3 mm")
    found = chosen_row(chosen)
    assert found is not None and (found.rank, found.moves) == (2, ("magnet=alnico-3", "lower=0.3mm"))
    user = await page_of(f"/worksheet?guitar=1&job={job.id}")
    await user.should_see("neck pickup: bar of Alnico 3, down 0.3 mm")
    assert next(iter(user.find(marker="head.job").elements)).props["value"] == "17"
    await user.should_see("Alnico 4 (in the plan)")
    await user.should_see("Alnico 8 (benches fit it, not heard)")
    await user.should_see("Alnico 5, rough cast (in the drawer)")
    user.find(marker="bar-alnico-4").trigger("change", True)
    await user.should_see("Kept in the notebook")
    assert kept()["head.bars"] == "alnico-4"
    user.find(marker="bar-size").trigger("enter", "2.5x0.5x0.125")
    await at_rest()
    await user.should_see("is not understood")
    overview = await page_of("/worksheet?guitar=1")
    await overview.should_see("neck: bar of Alnico 3, down 0.3 mm")  # its sheet is begun: it stands there, once
    await overview.should_not_see("neck: bar of Alnico 3, then down 0.3 mm")


async def test_the_head_is_of_the_pickup_that_was_chosen(page_of: Open, shelved: WorkSheet) -> None:
    """The page looked at the neck; what the plan's job chose is of the bridge: one pickup is spoken of, not two."""
    book = shared.room().notebook
    job = book.open_job(1, "bridge: piercing")
    book.keep_plan(job.id, {"rows": [{"pickup": "bridge", "change": ["tone=7"], "rank": 1}], "rest": []})
    job = book.choose(job.id, "bridge: tone 7")
    for path in ("/worksheet", "/prove"):
        user = await page_of(f"{path}?guitar=1&pickup=neck&job={job.id}")
        await user.should_see("bridge")
        await user.should_not_see(marker="choose-pickup", retries=20)
        links = [one.props["href"] for one in user.find(kind=ui.element).elements if "href" in one.props]
        assert any("/hear?" in one for one in links)
        assert not [one for one in links if "pickup=neck" in one]
    assert Desk.at("1").pickup == "bridge"  # a page that is opened without a pickup looks at what was chosen
    assert Desk.at("1", "neck").pickup == "neck"


async def test_the_print_has_what_was_typed_and_asks_nobody(page_of: Open, shelved: WorkSheet) -> None:
    user = await page_of(ADDRESS)
    await user.should_see("When it is done")
    await typed(user, "baseline.dc_resistance", "7.85")
    await typed(user, "baseline.temperature", "21")
    await typed(user, "head.customer", "A. <Player>")
    state = shared.room().notebook.guitar_entry(1).state_id
    print_address = f"/worksheet/print?guitar=1&state={state}&pickup=neck&change=magnet%3Dalnico-3"
    transport: Any = httpx.ASGITransport(core.app)
    async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
        page = (await client.get(print_address)).text
        owner = (await client.get(print_address + "&part=owner")).text
        wrong = await client.get(print_address + "&part=cover")
        nowhere = await client.get(print_address.replace(f"state={state}", "state=99"))
    assert "7.85 kΩ at 21 °C" in page and "A. &lt;Player&gt;" in page and "STOP when" in page
    assert "STOP when" not in owner and "7.85 kΩ at 21 °C" in owner
    assert "http" not in page.replace("http-equiv", "")
    assert (wrong.status_code, nowhere.status_code) == (400, 400)


def test_stops_are_those_of_the_sheet(sheet: WorkSheet, guitar: Guitar) -> None:
    def stops(**entries: str) -> list[str]:
        found = findings(sheet, {key.replace("__", "."): one for key, one in entries.items()}, guitar.pickup("neck"))
        return [one.words for one in found if one.stop]

    assert stops(after__isolation="12 kohm")[0].startswith("Coil to plate reads “12 kohm” after")
    assert stops(after__isolation="OL") == []
    assert "1.2 mm" in stops(after__gap_treble="1,2")[0]  # 1.5 mm is the least that is planned: common practice
    assert stops(after__gap_treble="1.5") == []
    assert stops(baseline__dc_slug="3.9", after__dc_slug="3.7")[0].startswith("DC of the slug coil is -5.1 % off")


def test_polarity_and_phase_are_held_against_before(sheet: WorkSheet, guitar: Guitar) -> None:
    pickup = guitar.pickup("neck")
    same = {"baseline.polarity": "N at the screws", "after.polarity": "north"}
    assert findings(sheet, same, pickup) == []
    turned = findings(sheet, same | {"after.polarity": "S"}, pickup)
    assert [one.stop for one in turned] == [False] and "should be as before" in turned[0].words
    assert findings(sheet, {"baseline.phase.bridge": "in", "after.phase.bridge": "out of phase"}, pickup)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("7,85", units.COIL, 7.85), ("7850 ohm", units.COIL, 7.85), ("7.85k", units.COIL, 7.85),
        ("25 mT", units.FLUX, 250.0), ("−245", units.FLUX, -245.0), ("3/32", units.GAP, 25.4 * 3 / 32),
        ("2 1/2 in", units.LENGTH, 63.5), ("0,125 in", units.THICKNESS, 3.175), ("0.022 µF", units.CAPACITANCE, 22.0),
        ("500k", units.POT, 500.0), ("0.5 MΩ", units.POT, 500.0), ("4600 mH", units.INDUCTANCE, 4.6),
    ],
)  # fmt: skip
def test_bench_units(text: str, kind: units.Quantity, value: float) -> None:
    assert units.read(text, kind) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "slip"),
    [
        ("7850", units.COIL, "7850 ohm is 7.85"), ("25", units.INDUCTANCE, "in mH"),
        ("15", units.FLUX, "millitesla"),
        ("0.09", units.GAP, "in inches"), ("2.5", units.LENGTH, "2.5 in is 63.5 mm"),
        ("223", units.CAPACITANCE, "code"),
        ("0.022", units.CAPACITANCE, "µF"), ("1,250", units.FLUX, "decimal comma"), ("7.9 pF", units.COIL, "no unit"),
        ("-7.9", units.COIL, "is no DC resistance"), ("about 8", units.COIL, "such as 7.85"),
        ("3/0", units.GAP, "no gap"),
        ("3/32 mm", units.GAP, "one of an inch"), ("70", units.CELSIUS, "°F"),
    ],
)  # fmt: skip
def test_the_likely_slip_is_named(text: str, kind: units.Quantity, slip: str) -> None:
    with pytest.raises(InputError) as error:
        units.read(text, kind)
    assert slip in str(error.value)
