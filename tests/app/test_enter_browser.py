"""Visitors in Chromium enter instruments of their own and come to the first plan, their inputs counted; the form."""

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from polepiece.notebook import open_notebook
from tests.app.conftest import Served, clean_tab, open_folds, serve, stop
from tests.app.visitors import INSTRUMENTS, MOST_INPUTS, WAIT, Visitor

WIDTHS = (390, 1024, 1440)


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server whose notebook holds no guitar at first; the time of a plan on the usual mesh: benchmarks/door.py."""
    one = serve(tmp_path_factory.mktemp("entering") / "notebook.sqlite", demo=False, coarse=True)
    yield one
    stop(one)


@pytest.mark.parametrize("kind", INSTRUMENTS)
def test_from_nothing_to_the_first_plan(browser: Any, empty: Served, kind: str) -> None:
    one = INSTRUMENTS[kind]
    with clean_tab(browser, empty.url) as tab:
        visitor = Visitor(tab.goto("/"))
        visitor.enter(one)
        visitor.ask(one)
        heard = visitor.see_rows()
    assert visitor.inputs <= MOST_INPUTS
    told = [words.partition(":")[0] for words in heard[:-1]]  # before the rows
    assert told[0] == "Rule out first" and "Best free move so far" in told
    with open_notebook(empty.notebook) as book:
        entry = book.guitars()[-1]
        guitar, jobs = book.guitar(entry.id), book.jobs(entry.id)
    assert (guitar.name, [pickup.construction for pickup in guitar.pickups]) == (
        one.name, [told.built for told in one.pickups.values()],
    )  # fmt: skip
    assert {pickup.poles.count % len(guitar.strings) for pickup in guitar.pickups} == {0}  # of a bass two a string
    assert jobs[-1].plan is not None and jobs[-1].plan["rows"]


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
        page.get_by_label("gap at the thickest string, mm").first.fill("2")
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
        for _ in range(WAIT // 20):
            if any(words in str(one) for one in self.kept):
                return
            self.page.wait_for_timeout(20)
        raise AssertionError(f"the server never said {words}")

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


def test_a_reload_of_a_half_filled_form_keeps_what_was_typed(browser: Any, server: Served) -> None:
    with clean_tab(browser, server.url) as tab:
        page = tab.goto("/new")
        page.get_by_label("name", exact=True).fill("Half filled")
        page.get_by_label("name", exact=True).blur()
        page.wait_for_function("(sessionStorage.getItem('polepiece-new-guitar') || '').includes('Half filled')")
        page.get_by_text("single coil with rod magnets").first.click()  # the page has answered: it stays open
        page.get_by_role("radio", name="rod single").first.check()
        page.get_by_label("DC resistance, kohm").first.fill("6k1")
        page.get_by_label("DC resistance, kohm").first.blur()
        page.wait_for_function("(sessionStorage.getItem('polepiece-new-guitar') || '').includes('6k1')")
        page.reload()
        page.wait_for_selector("text=is back")
        assert page.get_by_label("name", exact=True).input_value() == "Half filled"
        assert page.get_by_label("DC resistance, kohm").first.input_value() == "6k1"
        assert page.locator("input[value=rod-single]").first.is_checked()
        page.get_by_role("button", name="begin anew").click()
        page.wait_for_function("document.querySelector('[name=built-1]:checked') === null")
        page.wait_for_function("sessionStorage.getItem('polepiece-new-guitar') === null")
