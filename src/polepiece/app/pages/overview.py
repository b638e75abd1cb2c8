"""Bench: the guitars on record, open jobs, and where to go on."""

from nicegui import events, ui

from polepiece.app import shared, theme
from polepiece.app.boxes import LARGEST_FILE, NOT_TAKEN, guitar_in
from polepiece.app.desk import Desk
from polepiece.app.pages.place import Place
from polepiece.app.widgets import Fault, file_taker, link, text
from polepiece.errors import PolepieceError

PAGE = Place(path="/", title="Bench", about="guitars on record and open jobs")


def build() -> None:
    """Register the page."""

    @ui.page(PAGE.path, title=theme.title(PAGE))
    async def overview(guitar: str = "", pickup: str = "") -> None:
        desk = Desk.at(guitar, pickup)
        with theme.frame(PAGE, desk, chooses_pickup=False), ui.element("div").classes("two"):
            with ui.element("section").classes("card"):
                _guitars()
                _open_file()
            with ui.element("section").classes("card"):
                _jobs()


def _guitars() -> None:
    text("h2", "Guitars on record")
    book = shared.room().notebook
    with ui.element("div").classes("scroll").props("tabindex=0 role=region aria-label=Guitars"), ui.element("table"):
        with ui.element("thead"), ui.element("tr"):
            for head in ("guitar", "last change", "when (UTC)"):
                text("th", head).props("scope=col")
        with ui.element("tbody"):
            for one in book.guitars():
                last = book.state(one.state_id)
                with ui.element("tr"):
                    with ui.element("th").props("scope=row"):
                        link(f"/guitar?guitar={one.id}", one.name)
                    text("td", last.why)
                    text("td", f"{last.at:%Y-%m-%d %H:%M}", "n")


def _open_file() -> None:
    text("h3", "Put another guitar on record")
    text("p", "Open a guitar file (*.guitar.toml). All its faults are listed at once; nothing is kept until it reads.")
    fault = Fault()

    async def opened(event: events.UploadEventArguments) -> None:
        fault.clear()
        try:
            guitar = await guitar_in(event.file)
            entry = shared.room().notebook.add_guitar(guitar, why="opened from a file")
        except PolepieceError as error:
            fault.show(error)
            upload.reset()
            return
        ui.navigate.to(f"/guitar?guitar={entry.id}")

    upload = file_taker(
        "open a guitar file …", opened, lambda: fault.show(NOT_TAKEN), accept=".toml", most=LARGEST_FILE,
        mark="open-guitar",
    )  # fmt: skip


def _jobs() -> None:
    text("h2", "Open jobs")
    book = shared.room().notebook
    names = {one.id: one.name for one in book.guitars()}
    there = [one for one in book.jobs() if one.status != "closed"]
    if not there:
        text("p", "No open job. A job is taken in with what the player said of the sound.", "soft")
    with ui.element("ul"):
        for one in there:
            with ui.element("li"):
                link(f"/guitar?guitar={one.guitar_id}", names.get(one.guitar_id, "guitar"))
                text("span", f": {one.complaints} ({one.status}, taken in {one.at:%Y-%m-%d})")
