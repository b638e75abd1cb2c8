"""The page in Chromium: handles, keyboard, files, themes, widths, accessibility; nothing asked of other machines.

That no request leaves the machine and no error reaches the console is checked by the `web` fixture after every test.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from polepiece.app.pages import PAGES
from polepiece.guitar import Guitar, parse_guitar
from polepiece.notebook import open_notebook
from tests.app.conftest import ROOT, WAIT, Served, Tab, clean_tab, new_tab, open_folds, serve, stop

CURVE = "path.curve.c-now"
PATHS = [one.PAGE.path for one in PAGES]


EVERY_LOOK = """() => {
  window.looks = [];
  const look = () => window.looks.push({
    stale: document.querySelector('svg.chart.stale') !== null,
    near: document.querySelector('svg.chart.near') !== null,
    curve: document.querySelector('path.curve.c-now').getAttribute('d'),
    top: document.querySelector('.woven').offsetTop,
    working: [...document.querySelectorAll('[role=status]')].some(
      one => one.textContent.startsWith('finding the exact curve') && one.getClientRects().length > 0),
  });
  new MutationObserver(look).observe(document.body, {subtree: true, childList: true, attributes: true});
}"""
STOP_AT_ONCE = """() => {
  const shown = [...document.querySelectorAll('.working')].find(one => one.getClientRects().length > 0);
  const button = shown && shown.querySelector('button');
  if (!button) return null;
  const place = {y: shown.getBoundingClientRect().y};
  button.click();
  return place;
}"""


@pytest.fixture(scope="module")
def slow(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server on which a turned screw takes long enough to be waited for, and to be stopped."""
    one = serve(tmp_path_factory.mktemp("slow") / "notebook.sqlite", coarse=True, preload="tests.app.slow")
    yield one
    stop(one)


def opened(web: Tab, number: int, query: str = "") -> Any:
    page = web.goto(f"/guitar?guitar={number}{query}")
    page.wait_for_selector(CURVE)
    return page


def recorded(server: Served, number: int) -> tuple[Guitar, list[str]]:
    with open_notebook(server.notebook) as book:
        return book.guitar(number), [one.why for one in book.states(number)]


def settled(page: Any, server: Served, number: int, states: int) -> None:
    """Wait until the notebook holds so many states of a guitar; to open it each time would take half of a core."""
    with open_notebook(server.notebook) as book:
        for _ in range(WAIT // 50):
            if len(book.states(number)) >= states:
                return
            page.wait_for_timeout(50)
    raise AssertionError(f"{recorded(server, number)[1]}")


def test_dragging_the_body_moves_the_curve_and_is_recorded_once(
    web: Tab, server: Served, fresh_guitar: Callable[[], int]
) -> None:
    number = fresh_guitar()
    page = opened(web, number)
    before = page.get_attribute(CURVE, "d")
    box = page.locator("[data-handle=bass]").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 11):
        page.mouse.move(x, y + step)
        page.wait_for_timeout(20)
    page.wait_for_function(
        "before => document.querySelector('path.curve.c-now').getAttribute('d') !== before", arg=before
    )
    assert len(recorded(server, number)[1]) == 1  # while it is held nothing is recorded
    page.mouse.up()
    settled(page, server, number, 2)
    guitar, why = recorded(server, number)
    moved = guitar.pickup("neck").gap_bass - 2.6e-3
    scale = page.evaluate("document.querySelector('svg.drawing.live').getScreenCTM().d")
    assert moved == pytest.approx(10e-3 / scale, abs=0.03e-3)  # ten pixels to scale, on a grid of 0.05 mm
    assert why[-1].startswith("neck: lower_bass=")
    page.reload()
    page.wait_for_selector(CURVE)
    assert page.locator("[data-handle=bass]").get_attribute("aria-valuenow") == str(
        round(1e3 * guitar.pickup("neck").gap_bass, 3)
    )


def test_the_keyboard_reaches_everything_and_arrow_up_raises(
    web: Tab, server: Served, fresh_guitar: Callable[[], int]
) -> None:
    number = fresh_guitar()
    page = opened(web, number)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the content"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.tagName") == "MAIN"
    names = []
    for _ in range(60):
        page.keyboard.press("Tab")
        names.append(
            page.evaluate("document.activeElement.getAttribute('data-handle') || document.activeElement.tagName")
        )
        if names[-1] == "bass":
            break
    assert names[-1] == "bass"
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    settled(page, server, number, 2)
    assert recorded(server, number)[0].pickup("neck").gap_bass == pytest.approx(2.4e-3)  # two presses, one state
    assert len(recorded(server, number)[1]) == 2


def test_a_turned_screw_answers_at_once_dashed_and_then_exactly(browser: Any, slow: Served) -> None:
    with clean_tab(browser, slow.url) as tab:
        number = 1
        page = opened(tab, number)
        before = page.get_attribute(CURVE, "d")
        page.wait_for_selector(".at-handles.at-once", timeout=240_000)  # two geometries were solved for it
        page.evaluate(EVERY_LOOK)  # what is dashed may be there for half a second: the page itself keeps watch
        page.locator("[data-handle=screw3]").focus()
        page.keyboard.press("ArrowUp")
        settled(page, slow, number, 2)
        page.wait_for_function("window.looks.some((look) => look.near)")
        page.wait_for_selector("svg.chart:not(.stale)", timeout=240_000)
        page.wait_for_selector("text=finding the exact curve of the turned screws", state="hidden")
        looks = page.evaluate("window.looks")
        exact = page.get_attribute(CURVE, "d")
        near = {look["curve"] for look in looks if look["near"]}
        assert exact != before and near
        assert all(look["stale"] for look in looks if look["near"])  # never as if it were exact
        assert any(look["stale"] and look["working"] for look in looks)
        assert len({look["top"] for look in looks}) == 1  # nothing moves under the hand that turns
        assert recorded(slow, number)[0].pickup("neck").poles.screw_raise[2] == pytest.approx(0.635e-3 / 8, abs=1e-6)


def test_a_refused_drag_is_said_and_springs_back(web: Tab, server: Served, fresh_guitar: Callable[[], int]) -> None:
    number = fresh_guitar()
    page = opened(web, number)
    page.locator("[data-handle=treble]").focus()
    for _ in range(3):
        page.keyboard.press("PageUp")  # half a millimetre each, from 2.2 mm
    page.wait_for_selector("text=nothing is planned")
    page.wait_for_function("document.querySelector('[data-handle=treble]').getAttribute('aria-valuenow') === '2.2'")
    assert len(recorded(server, number)[1]) == 1


def test_a_guitar_file_goes_out_and_comes_back(
    web: Tab, server: Served, fresh_guitar: Callable[[], int], tmp_path: Path
) -> None:
    number = fresh_guitar()
    page = opened(web, number)
    page.click("summary:has-text('Guitar file')")
    with page.expect_download() as coming:
        page.click("text=download the guitar file")
    text = Path(coming.value.path()).read_text(encoding="utf-8")
    assert coming.value.suggested_filename.endswith(".guitar.toml")
    assert parse_guitar(text) == recorded(server, number)[0]
    (tmp_path / "../../etc.toml").resolve()  # the name of a file never becomes a path
    changed = tmp_path / "changed.toml"
    changed.write_text(re.sub(r"gap_bass_mm = 2\.6", "gap_bass_mm = 3.1", text), encoding="utf-8")
    with page.expect_file_chooser() as chooser:
        page.click("text=open a guitar file")
    page.evaluate("window.beforeTheFile = true")
    chooser.value.set_files(changed)
    settled(page, server, number, 2)
    page.wait_for_function("!window.beforeTheFile")  # the page opens anew with what was read
    assert recorded(server, number)[0].pickup("neck").gap_bass == pytest.approx(3.1e-3)


def test_all_faults_of_a_bad_file_are_listed_and_nothing_is_recorded(
    web: Tab, server: Served, fresh_guitar: Callable[[], int], tmp_path: Path
) -> None:
    number = fresh_guitar()
    page = opened(web, number)
    bad = tmp_path / "bad.toml"
    page.click("summary:has-text('Guitar file')")
    bad.write_text('scale_length_mm = 6\nstring_set = "12"\n[[pickups]]\nname = "neck"\n', encoding="utf-8")
    with page.expect_file_chooser() as chooser:
        page.click("text=open a guitar file")
    chooser.value.set_files(bad)
    page.wait_for_selector("text=scale_length_mm")
    said = page.inner_text("main")
    assert "string_set" in said
    assert "construction" in said
    assert len(recorded(server, number)[1]) == 1


def test_the_curve_is_read_off_with_the_keys_and_saved_as_csv(web: Tab, fresh_guitar: Callable[[], int]) -> None:
    page = opened(web, fresh_guitar())
    page.focus(".chart-hold")
    page.keyboard.press("ArrowRight")
    page.wait_for_function("/kHz: .*now .* dB/.test(document.querySelector('.reading').textContent)")
    with page.expect_download() as coming:
        page.click("text=data as CSV")
    lines = Path(coming.value.path()).read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("frequency_hz,")
    assert len(lines) == 401  # the grid of the bench


def test_the_chosen_look_is_remembered(web: Tab) -> None:
    page = web.goto("/guitar")
    page.select_option("label:has-text('Look') select", "dark")
    page.wait_for_selector("body.body--dark")
    page.reload()
    page.wait_for_selector("body.body--dark")


def test_the_look_follows_the_system_at_first(browser: Any, server: Served) -> None:
    for scheme in ("dark", "light"):
        with clean_tab(browser, server.url, color_scheme=scheme) as tab:
            tab.goto("/guitar").wait_for_selector(f"body.body--{scheme}")


def test_what_breaks_a_rule_of_access_is_found(web: Tab, faults_of: Callable[[Any], list[str]]) -> None:
    """So that a page without faults says something."""
    page = web.goto("/drawer")
    bad = "<img src='data:,' width=9><p style='color:#999;background:#888'>grey</p>"
    page.evaluate("bad => document.querySelector('main').insertAdjacentHTML('beforeend', bad)", bad)
    assert {one.partition(":")[0] for one in faults_of(page)} == {"image-alt", "color-contrast"}


def test_who_takes_a_page_after_somebody_finds_nothing_of_theirs(browser: Any, server: Served) -> None:
    """Tests take a page one after the other: `clean_tab`. Its store, cookies, size, look and second tabs are as new."""
    kept = "[localStorage.getItem('mine'), sessionStorage.getItem('mine'), document.cookie.includes('mine')]"
    with clean_tab(browser, server.url, viewport={"width": 390, "height": 700}, color_scheme="dark") as first:
        page = first.goto("/drawer")
        page.evaluate("localStorage.mine = sessionStorage.mine = 1, document.cookie = 'mine=1'")
        assert page.evaluate(kept) == ["1", "1", True]
        page.context.new_page()
    with clean_tab(browser, server.url) as second:
        page = second.goto("/drawer")
        assert page is first.page and len(page.context.pages) == 1  # else this tests nothing
        assert page.evaluate(kept) == [None, None, False]
        assert page.evaluate("[innerWidth, matchMedia('(prefers-color-scheme: dark)').matches]") == [1280, False]


@pytest.fixture(scope="module", params=[("light", 390), ("dark", 1600)], ids=["light-390", "dark-1600"])
def visitor(request: pytest.FixtureRequest, browser: Any, server: Served) -> Iterator[tuple[Tab, str, int]]:
    """One visitor a look, who goes from page to page; every page is loaded as narrow, or wide, as it is to fit."""
    scheme, width = request.param
    options = {"color_scheme": scheme, "reduced_motion": "reduce"}
    with clean_tab(browser, server.url, **options) as tab:
        yield tab, scheme, width


@pytest.mark.parametrize("path", PATHS)
def test_every_page_fits_and_is_accessible_in_both_looks(
    visitor: tuple[Tab, str, int], faults_of: Callable[[Any], list[str]], path: str
) -> None:
    tab, scheme, width = visitor
    tab.page.set_viewport_size({"width": width, "height": 900})
    page = tab.goto(path)
    page.wait_for_selector(f"body.body--{scheme}")
    page.wait_for_timeout(500)  # until what is computed for the page is on it
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.set_viewport_size({"width": 1280, "height": 900})
    open_folds(page)
    found = faults_of(page)
    assert not found, "\n".join(found)
    assert not tab.outside
    assert not tab.errors


@pytest.mark.parametrize("where", ["http://somewhere.example/x.png", "http://192.0.2.1/x.png"])
def test_what_would_leave_the_machine_is_seen_and_gets_nowhere(browser: Any, where: str) -> None:
    """So that the tests of all pages, which look at what was asked, would see it. The address is nobody's."""
    context = browser.new_context()
    tab = new_tab(context, "http://127.0.0.1:9")
    tab.page.set_content(f'<img src="{where}">')  # waits for it, or for its failure
    context.close()
    assert tab.outside == [where]
    assert [one for one in tab.errors if "ERR_NAME_NOT_RESOLVED" in one], tab.errors


def test_a_page_of_another_port_cannot_reach_in(browser: Any, server: Served, tmp_path: Path) -> None:
    """A hostile page, opened from elsewhere, tries to read the page and to open its socket."""
    context = browser.new_context()
    page = context.new_page()
    page.set_default_timeout(WAIT)
    page.route("http://127.0.0.1:9/**", lambda route: route.fulfill(status=200, content_type="text/html", body="<p>x"))
    page.goto("http://127.0.0.1:9/")
    read = page.evaluate("u => fetch(u).then(() => 'read', () => 'refused')", server.url + "/guitar")
    socket = page.evaluate(
        "u => new Promise(done => { const s = new WebSocket(u);"
        " s.onopen = () => done('open'); s.onerror = () => done('refused'); })",
        server.url.replace("http", "ws") + "/_nicegui_ws/socket.io/?EIO=4&transport=websocket",
    )
    context.close()
    assert (read, socket) == ("refused", "refused")


def test_names_are_shown_as_text_whatever_they_hold(web: Tab, server: Served) -> None:
    name = "<img src=x onerror='document.title=1'> & \"quotes\" {{ 1 + 1 }}"
    guitar = replace(parse_guitar((ROOT / "examples" / "demo.guitar.toml").read_text(encoding="utf-8")), name=name)
    pickups = tuple(replace(one, name=f"{one.position} <b>{{{{ 7 * 7 }}}}</b>") for one in guitar.pickups)
    with open_notebook(server.notebook) as book:
        number = book.add_guitar(
            replace(guitar, pickups=pickups, complaints=()), why="<script>document.title=2</script>"
        ).id
    page = web.goto(f"/guitar?guitar={number}")
    assert page.inner_text("h1") == name
    page.wait_for_selector(CURVE)
    assert page.query_selector("main img, main script, main b") is None
    web.goto("/")
    assert name in page.inner_text("main")
    assert page.title() == "Bench – polepiece"


def test_a_stopped_solution_can_be_taken_up_again(browser: Any, slow: Served) -> None:
    with clean_tab(browser, slow.url) as tab:
        number = 1
        page = opened(tab, number)
        there = len(recorded(slow, number)[1])  # another test may have turned its screws before
        for screw in (1, 2, 4, 5):
            page.locator(f"[data-handle=screw{screw}]").focus()
            page.keyboard.press("ArrowDown")
        settled(page, slow, number, there + 4)  # the last one is at work, for a second at least
        place = page.wait_for_function(STOP_AT_ONCE).json_value()  # the page itself presses: it may last half a second
        assert 0 <= place["y"] < 900  # in sight, however far one has scrolled
        page.wait_for_selector("text=compute the exact curve")
        assert page.query_selector("svg.chart.stale") is not None
        page.click("text=undo")
        page.wait_for_selector("svg.chart:not(.stale)", timeout=240_000)
        page.wait_for_selector("text=compute the exact curve", state="hidden")
