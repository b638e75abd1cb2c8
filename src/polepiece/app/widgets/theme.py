"""The frame of every page: header with links and choosers, skip link, main part, and how it looks.

Colours are those of ``static/polepiece.css``, two sets of variables after the colour-blind-safe palette of Okabe and
Ito (Color Universal Design, 2008); lines differ in their dashes too.
"""

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager

from nicegui import ui

from polepiece import __version__
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.server.desk import Desk
from polepiece.app.sheet.how_far import steps_done
from polepiece.app.widgets.controls import choice, link, press, text, words_of
from polepiece.app.widgets.place import Place
from polepiece.app.widgets.plain_history import plain
from polepiece.errors import PolepieceError
from polepiece.guitar import usual_position
from polepiece.materials import PUBLISHED, constants_words

LINKED: list[Place] = []  # the pages that the header links to, set once when the application is put together
LOOK_AGAIN = 2.0  # s between two looks whether somebody else has recorded a state of the guitar
NO_ANSWER = (
    "The notebook does not answer. What you see stays; what you do now waits, and says so where it could not be kept."
)
LONGEST_WAIT = 60.0  # s for a page; a server that falls silent is given up long before
LOOK = "polepiece-look"  # cookie: light, dark, or as the system is
LOOKS = {"system": "as the system", "light": "light", "dark": "dark"}
_DARK = {"light": False, "dark": True}

STYLE = '<link rel="stylesheet" href="/static/pages.css">'  # of the pages that are more than a form
HEAD = f'<link rel="stylesheet" href="/static/polepiece.css?v={__version__}">'


def nowhere(look: str) -> str:
    """Return the page for an address that leads nowhere; ``look`` as in its cookie."""
    return f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>No such page – polepiece</title>{HEAD}</head>
<body class="{"body--dark" if look == "dark" else "body--light"}"><main class="page"><h1>There is no such page</h1>
<p>The address leads nowhere here; perhaps it was cut short. Nothing is lost.</p>
<p><a href="/">to the Bench</a></p></main></body></html>"""


def title(place: Place) -> str:
    """Return the title of a page for the browser's tab."""
    return f"{place.title} – polepiece"


def page(place: Place) -> ui.page:
    """Return the decorator of a page's function; a notebook's server is waited for longer than NiceGUI would."""
    return ui.page(place.path, title=title(place), response_timeout=LONGEST_WAIT)


@contextmanager
def frame(
    place: Place, desk: Desk | None, *, heading: str | None = None, chooses_pickup: bool = True
) -> Iterator[None]:
    """Put the frame round a page.

    Parameters
    ----------
    place : Place
    desk : Desk or None
        What the tab looks at; None where no guitar is on record, or none is meant: no choosers of guitar and pickup.
    heading : str, optional
        Of the page; default its title.
    chooses_pickup : bool
        Whether the pickups of the guitar, and the positions of its switches, are offered beside the heading.
    """
    ui.add_head_html(HEAD)
    ui.colors(primary="#0b567f")
    client = ui.context.client
    request = client.request
    look = request.cookies.get(LOOK, "system") if request is not None else "system"
    dark = ui.dark_mode(_DARK.get(look))
    around = client.content.parent_slot  # the library's own <main>, around header and footer too: no landmark
    if around is not None:
        around.parent.props("role=presentation")
    main = ui.element("main").classes("page").props("tabindex=-1")
    with ui.element("header").classes("top") as header:
        _header(place, desk)
    header.move(target_index=0)
    ui.skip_link("Skip to the content", target=main)
    with main:
        with ui.element("div").classes("place"):
            text("h1", heading or place.title)
            if desk is not None and chooses_pickup:
                with ui.element("div").classes("choosers"):
                    _choosers(place, desk)
        if desk is not None:
            if desk.notice:
                text("p", desk.notice, "notice").props("role=status")
            _News(desk, main)
        yield
    with ui.element("footer").classes("foot"):
        pooled = "" if constants_words() == PUBLISHED else f" Constants in use: {constants_words()}."
        text("p", f"polepiece {__version__}. Computed values carry the assumptions listed with them.{pooled}")
        look = look if look in LOOKS else "system"
        choice("Look", LOOKS, look, lambda value: dark.set_value(_DARK.get(value)), mark="choose-look", cookie=LOOK)


def _header(place: Place, desk: Desk | None) -> None:
    """The steps of a job as a strip, ticked as they are done; what belongs to no job apart from them."""

    def go(one: Place) -> None:
        there = link(one.path if desk is None else desk.address(one.path), one.title)
        if one is place:
            there.props["aria-current"] = "page"

    link("/" if desk is None else desk.address("/"), "polepiece", "brand")
    if desk is not None:
        known = {str(one.id): one.name for one in shared.room().notebook.guitars()}
        choice(
            "Guitar", known, str(desk.entry.id), lambda value: ui.navigate.to(f"{place.path}?guitar={int(value)}"),
            mark="choose-guitar",
        ).classes("whose")  # fmt: skip
    done = frozenset() if desk is None else steps_done(shared.room().notebook, desk.entry.id)
    with ui.element("nav").classes("steps-of-job").props('aria-label="Job"'), ui.element("ol").classes("strip"):
        for one in (each for each in LINKED if each.in_job):
            with ui.element("li").classes("done" if one.path in done else ""):
                go(one)
                if one.path in done:
                    text("span", "done", "hidden-visually")
    with ui.element("nav").classes("shop").props('aria-label="Shop"'):
        for one in (each for each in LINKED if not each.in_job):
            go(one)


def _choosers(place: Place, desk: Desk) -> None:
    if len(desk.guitar.pickups) > 1:
        names = {one.name: one.name for one in desk.guitar.pickups}
        choice(
            "Pickup", names, desk.pickup, lambda value: ui.navigate.to(desk.address(place.path, pickup=value)),
            mark="choose-pickup",
        )  # fmt: skip
    if desk.positions:
        usual = usual_position(desk.guitar, desk.pickup).name
        offered = {"": f"{usual} (as usual)"} | {one: one for one in desk.positions if one != usual}
        choice(
            "Heard in", offered, "" if desk.position == usual else desk.position,
            lambda value: ui.navigate.to(desk.address(place.path, position=value)), mark="choose-position",
        )  # fmt: skip


class _News:
    """Says that the guitar was changed in another tab or by another program, or that the notebook does not answer."""

    def __init__(self, desk: Desk, main: ui.element) -> None:
        self.desk, self.main = desk, main
        with ui.element("div").classes("notice row").props("role=status") as self.box:
            self.words = text("span")
            press("show it as it is now", ui.navigate.reload, mark="show-news")
        self.box.set_visibility(False)
        self.silent = text("p", NO_ANSWER, "notice").props("role=status").mark("no-answer")
        self.silent.set_visibility(False)
        ui.timer(LOOK_AGAIN, self._look, immediate=False)

    def _look(self) -> None:
        client = self.silent.client
        slow = asyncio.get_running_loop().call_later(
            shared.WAITS, lambda: self.silent.set_visibility(True) if alive(client) else None
        )
        try:
            found = self.desk.news()
        except PolepieceError:  # the notebook is gone; what the tab does next says why
            self.silent.set_visibility(True)
            return
        finally:
            slow.cancel()
        self.silent.set_visibility(False)
        if found is not None:
            self.words.say(
                f"This guitar was changed elsewhere ({plain(found.why)}). The buttons of this tab, dashed, still "
                "mean the guitar as it was."
            )
        self.main.classes(add="stale-tab") if found is not None else self.main.classes(remove="stale-tab")
        self.box.set_visibility(found is not None)


def broken(error: Exception) -> None:
    """Say in words that a page could not be made: what NiceGUI shows instead of it."""
    ui.add_head_html(HEAD)
    with ui.element("main").classes("page"):
        text("h1", "This page could not be made")
        text("p", words_of(error))
        link("/", "to the Bench")


def undone(error: Exception) -> None:
    """Say on the page what kept a button from doing what it does, where the button does not say so itself."""
    if isinstance(error, PolepieceError) and ui.context.slot_stack:
        ui.notify(str(error), type="warning", timeout=15_000, close_button="close", multi_line=True)
