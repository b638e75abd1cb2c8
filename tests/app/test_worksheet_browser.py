"""Work sheet in Chromium: what comes from elsewhere while somebody types."""

from collections.abc import Callable

from polepiece.app.sheet import log as sheet_log
from polepiece.notebook import open_notebook
from tests.app.conftest import Served, Tab


def test_what_comes_from_elsewhere_is_shown_and_what_is_being_typed_stays(
    web: Tab, server: Served, fresh_guitar: Callable[[], int]
) -> None:
    number = fresh_guitar()
    page = web.goto(f"/worksheet?guitar={number}&pickup=neck&change=magnet%3Dalnico-3")
    hum = page.get_by_label("hum, squeal as it came, as found")
    hum.wait_for(timeout=120_000)
    hum.focus()
    page.keyboard.type("squeals at")
    with open_notebook(server.notebook) as book:
        state = book.states(number)[-1]
        key = sheet_log.SheetKey(guitar_id=number, state=state.uuid, pickup="neck", changes=("magnet=alnico-3",))
        for entry, value in (("baseline.noises", "none"), ("baseline.polarity", "N at the screws")):
            sheet_log.write(book, key, state.id, entry, value, label=entry)
    page.wait_for_selector("text=Written elsewhere, and shown here now")
    assert page.get_by_label("polarity, as found").input_value() == "N at the screws"
    assert hum.input_value() == "squeals at"
    page.keyboard.type(" ten")
    page.keyboard.press("Tab")
    page.wait_for_selector("text=/Kept in the notebook at [0-9]/")
    with open_notebook(server.notebook) as book:
        assert sheet_log.sheets_of(book, number)[key].entries["baseline.noises"] == "squeals at ten"
