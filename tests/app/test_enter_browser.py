"""A visitor in Chromium enters a guitar and comes to the first plan: counted inputs, on the clock, at three widths."""

import re
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from polepiece.notebook import open_notebook
from tests.app.conftest import Served, clean_tab, open_folds, serve, stop

MOST_INPUTS = 40
MOST_SECONDS = 180.0  # three minutes, the plan's own computing included
WIDTHS = (390, 1024, 1440)


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server whose notebook holds no guitar."""
    one = serve(tmp_path_factory.mktemp("entering") / "notebook.sqlite", demo=False)
    yield one
    stop(one)


class Visitor:
    """Somebody with a mouse and a keyboard; everything that is pressed, typed or chosen counts as one input."""

    def __init__(self, page: Any) -> None:
        self.page, self.inputs = page, 0

    def press(self, place: Any) -> None:
        self.inputs += 1
        place.click()

    def type(self, label: str, text: str, place: Any = None) -> None:
        self.inputs += 1
        field = (place or self.page).get_by_label(label, exact=True)
        field.fill(text)
        field.blur()

    def choose(self, label: str, words: str, place: Any = None) -> None:
        self.inputs += 1
        (place or self.page).get_by_label(label).select_option(words)


def test_from_nothing_to_the_first_plan(browser: Any, empty: Served) -> None:
    with clean_tab(browser, empty.url) as tab:
        page = tab.goto("/")
        visitor, begun = Visitor(page), time.monotonic()
        visitor.press(page.get_by_role("link", name="New guitar"))
        page.wait_for_selector("fieldset.pictures")
        visitor.type("name", "The visitor's")
        said = {"Neck pickup": ("Alnico 2", "7.6k", "2.5", "5/64"), "Bridge pickup": ("Alnico 5", "8,2k", "2.2", "1.8")}
        for title, (magnet, resistance, bass, treble) in said.items():
            card = page.locator("section.card", has=page.get_by_role("heading", name=title))
            visitor.press(card.get_by_text("humbucker, two coils beside one another"))
            visitor.press(card.locator('input[type=radio][value="humbucker"]'))
            visitor.choose("grade of the magnet", magnet, card)
            visitor.type("DC resistance, kohm", resistance, card)
            visitor.type("gap at the thickest string, mm", bass, card)
            visitor.type("gap at string 1, the thin one, mm", treble, card)
        visitor.type("strings: a set, or gauges from string 1 on", "tens")
        visitor.type("tone cap, nF", ".022")
        page.wait_for_selector("text=The visitor's: neck (humbucker), bridge (humbucker).")
        visitor.press(page.get_by_role("button", name="put it on record"))
        page.wait_for_url("**/guitar?guitar=1*")
        visitor.press(page.get_by_role("link", name="Plan", exact=True))
        page.get_by_label("how it sounds").wait_for()
        visitor.choose("how it sounds", "boomy")
        visitor.choose("where", "neck")
        visitor.press(page.get_by_role("button", name="add", exact=True))
        visitor.press(page.get_by_role("button", name="make the plan"))
        page.wait_for_selector("table.plan", timeout=1000.0 * MOST_SECONDS)
        took = time.monotonic() - begun
    assert visitor.inputs <= MOST_INPUTS
    assert took <= MOST_SECONDS
    with open_notebook(empty.notebook) as book:
        guitar = book.guitar(1)
    assert guitar.pickup("neck").gap_treble == pytest.approx(5 / 64 * 25.4e-3)
    assert (guitar.pickup("bridge").resistance, guitar.string_set) == (8.2e3, "10-46")


@pytest.mark.parametrize("look", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
def test_the_form_fits_and_is_accessible_with_a_slip_and_a_drawing_on_it(
    browser: Any, server: Served, faults_of: Callable[[Any], list[str]], width: int, look: str
) -> None:
    with clean_tab(browser, server.url, color_scheme=look, reduced_motion="reduce") as tab:
        tab.page.set_viewport_size({"width": width, "height": 900})
        page = tab.goto("/new")
        for fold in page.query_selector_all("fieldset details > summary"):
            fold.click()
        page.get_by_role("radio", name="two bar single").first.check()
        page.get_by_role("radio", name="rod single").last.check()
        page.get_by_label("gap at string 1, the thin one, mm").first.fill("4")
        page.get_by_label("gap at string 1, the thin one, mm").first.blur()
        page.wait_for_selector("text=Look at this again")
        page.get_by_label("DC resistance, kohm").first.fill("78")
        page.get_by_label("DC resistance, kohm").first.blur()
        page.wait_for_selector("text=pickups lie between 1 and 30 kohm")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        open_folds(page)
        found = faults_of(page)
        assert not found, "\n".join(found)
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_drawn_constructions_are_radio_buttons_for_the_keyboard(browser: Any, server: Served) -> None:
    with clean_tab(browser, server.url) as tab:
        page = tab.goto("/new")
        page.get_by_text("humbucker, two coils beside one another").first.click()
        first = page.get_by_role("radio").first
        first.focus()
        page.keyboard.press("Space")
        assert first.is_checked()
        page.keyboard.press("ArrowDown")
        page.wait_for_function("document.querySelectorAll('input[type=radio]')[1].checked")
        group = page.get_by_role("group", name="how it is built")
        assert group.count() == 2


class HeldUp:
    """The socket of a page; while `holding`, what the server says is kept back, as on a machine that is busy."""

    def __init__(self, page: Any) -> None:
        self.page, self.holding, self.kept = page, False, list[Any]()
        page.route_web_socket(re.compile("socket.io"), self._between)

    def _between(self, socket: Any) -> None:
        server = socket.connect_to_server()
        socket.on_message(server.send)
        server.on_message(self._said)
        self.socket = socket

    def _said(self, message: Any) -> None:
        if self.holding:
            self.kept.append(message)
        else:
            self.socket.send(message)

    def until_kept(self, words: str) -> None:
        """Wait until the server has said something with these words in it."""
        while not any(words in str(one) for one in self.kept):
            self.page.wait_for_timeout(20)

    def let_go(self) -> None:
        """Hand on what was kept back, in its order."""
        self.holding = False
        for one in self.kept:
            self.socket.send(one)
        self.kept.clear()


def test_what_is_chosen_or_typed_before_the_page_has_answered_stays(browser: Any, server: Served) -> None:
    with clean_tab(browser, server.url, script="/* a page of its own */") as tab:
        held, page = HeldUp(tab.page), tab.goto("/new")
        card = page.locator("section.card", has=page.get_by_role("heading", name="Bridge pickup"))
        for place in range(2):
            page.get_by_text("humbucker, two coils beside one another").nth(place).click()
        page.locator('input[type=radio][value="humbucker"]').first.check()
        circuit, wiring = page.get_by_label("volumes, tones, switch"), card.get_by_label("wiring")
        card.get_by_text("more of this pickup", exact=True).click()
        held.holding = True
        card.locator('input[type=radio][value="humbucker"]').check()
        held.until_kept("two-volumes-two-tones-three-way")  # the answer: circuits and wirings that this guitar can have
        template = "one-volume-one-tone-three-way"
        circuit.select_option(template)
        wiring.select_option("parallel")
        held.let_go()
        Visitor(page).type("name", "Hasty")
        page.wait_for_selector("text=Hasty: neck (humbucker), bridge (humbucker).")  # all before it was handled
        assert (circuit.input_value(), wiring.input_value()) == (template, "parallel")
