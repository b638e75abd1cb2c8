"""Bench: the guitars on record, open jobs, and where to go on."""

import asyncio
from collections.abc import Callable
from datetime import datetime

from nicegui import events, ui

from polepiece.app.guitar.boxes import LARGEST_FILE, NOT_TAKEN, guitar_in
from polepiece.app.pages.learned import PAGE as LEARNED
from polepiece.app.pages.new_guitar import PAGE as NEW_GUITAR
from polepiece.app.plan.form import limits_in_words
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.sheet.open_jobs import OpenJob, lately, on_the_bench, short
from polepiece.app.sheet.ordered import ordered_words
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Fault, amount, file_taker, link, press, text
from polepiece.app.widgets.notebook_says import Branches, Notices
from polepiece.app.widgets.place import Place
from polepiece.app.widgets.plain_history import plain
from polepiece.errors import PolepieceError
from polepiece.guitar import read_guitar
from polepiece.moves import plainly
from polepiece.notebook import JobEntry

PAGE = Place(path="/", title="Bench", about="guitars on record, open jobs, what is not proven yet", needs_guitar=False)
FIRST = (
    "No guitar is on record yet. Enter yours: what it is made of, as far as you know it. Or look round with the "
    "invented one; no real instrument stands behind it."
)
PROVEN = (
    "Nothing. A bar that was swapped, or a change of a work sheet, stands here until something was measured after it."
)
INVENTED = "the invented guitar that polepiece comes with"
LATELY = 12  # lines of the log
UNPROVEN = (
    "Recorded, without any reading after: what was heard may be hope. What was only tried out on the Guitar page is "
    "undone there."
)


def build() -> None:
    """Register the page."""

    @theme.page(PAGE)
    async def overview(guitar: str = "", pickup: str = "") -> None:
        ui.add_head_html(theme.STYLE)
        if not shared.room().notebook.guitars():
            with theme.frame(PAGE, None):
                _first_screen()
            return
        with theme.frame(PAGE, Desk.at(guitar, pickup), chooses_pickup=False):
            view = BenchView()
            view.build()


class BenchView:
    """One tab on the bench."""

    def build(self) -> None:
        """Put everything on the page."""
        self.notices = Notices()
        book = shared.room().notebook
        for one in book.guitars():
            if book.branch_is_open(one.id):
                Branches(one.id, ui.navigate.reload)
        with ui.element("p"):
            link(NEW_GUITAR.path, NEW_GUITAR.title, "press main").mark("new-guitar")
        with ui.element("div").classes("two"):
            with ui.element("div").classes("stack"):
                with ui.element("section").classes("card"):
                    self.jobs = ui.element("div").mark("open-jobs")
                with ui.element("section").classes("card"):
                    self.unproven = ui.element("div").mark("unproven")
            with ui.element("div").classes("stack"):
                with ui.element("section").classes("card"):
                    _guitars()
                    _open_file()
                with ui.element("section").classes("card"):
                    self.log = ui.element("div").mark("log")
        self._show()

    def _show(self) -> None:
        book = shared.room().notebook
        jobs, unproven = on_the_bench(book)
        self.customers = book.customers_of_jobs()
        for box in (self.jobs, self.unproven, self.log):
            box.clear()
        with self.jobs:
            text("h2", "Open jobs")
            if not jobs:
                with ui.element("p").classes("soft"):
                    text("span", "No open job. A job begins with what the player says of the sound: ")
                    link("/plan", "make a plan")
            for one in jobs:
                self._job(one)
        with self.unproven:
            text("h2", "Made, not proven yet")
            text("p", UNPROVEN if unproven else PROVEN, "soft small")
            with ui.element("ul"):
                for made in unproven:
                    with ui.element("li"):
                        link(made.address, f"{made.guitar}, {made.words}")
                        text("span", f" (made {made.recorded.at:%Y-%m-%d %H:%M} UTC)")
            with ui.element("p"):
                link(LEARNED.path, "what was learned from all that is proven").mark("learned")
        with self.log:
            text("h2", "Lately")
            with ui.element("ul").classes("small log"):
                above = None
                for line in lately(book, LATELY):
                    with ui.element("li"):
                        text("span", f"{line.at:%Y-%m-%d %H:%M} ", "soft")
                        if line.guitar is not None and line.guitar_id != above:
                            link(f"/guitar?guitar={line.guitar_id}", line.guitar)
                            text("span", ": ")
                        above = line.guitar_id if line.guitar is not None else above
                        text("span", plainly(line.words))

    def _job(self, one: OpenJob) -> None:
        job = one.job
        with ui.element("div").classes("job").mark(f"job-{job.id}"):
            whose = self.customers.get(job.id) or job.customer
            customer = f", {whose}" if whose else ""
            text("h3", f"Job {job.called}{customer}: {one.guitar}")
            text("p", job.complaints + (f" (asked for: {limits_in_words(job.constraints)})" if job.constraints else ""))
            status = "" if job.status == "open" else f" Status: {job.status}."
            owed = ordered_words(job, datetime.now().astimezone().date())
            text(
                "p", f"Taken in {job.at:%Y-%m-%d}. {one.stage[:1].upper()}{one.stage[1:]}.{status}{owed}", "small soft"
            )
            if one.address:
                with ui.element("p"):
                    text("span", "Next: ")
                    link(one.address, one.step).mark(f"next-{job.id}")
            else:
                text("p", f"Next: {one.step}.")
            with ui.element("details") as box:
                text("summary", "status, outcome").props["aria-label"] = f"status, outcome: job {job.called}"
                if not one.address:
                    box.props["open"] = True
                self._closing(job)

    def _closing(self, job: JobEntry) -> None:
        book = shared.room().notebook
        with ui.element("div").classes("row"):
            status = amount("status, in your own words", "", lambda _: None, mark=f"status-{job.id}")
            named = lambda: book.set_status(job.id, status.value, expect=job.last)  # noqa: E731
            press("set the status", lambda: act(named), cls="quiet", mark=f"set-status-{job.id}")
        with ui.element("div").classes("row"):
            end = amount("outcome; no improvement is one, too", "", lambda _: None, mark=f"outcome-{job.id}")
            press("close the job", lambda: act(lambda: book.close_job(job.id, end.value, expect=job.last)), cls="quiet",
                  mark=f"close-{job.id}")  # fmt: skip
        fault = Fault()

        async def act(what: Callable[[], object]) -> None:
            fault.clear()
            try:
                await shared.written(what)
            except PolepieceError as error:
                fault.show(error)
                return
            self._show()


def _first_screen() -> None:
    """What is there where no guitar is on record."""
    with ui.element("section").classes("card"):
        text("p", FIRST)
        with ui.element("div").classes("row"):
            link(NEW_GUITAR.path, NEW_GUITAR.title, "press main").mark("new-guitar")
            press("try the invented guitar", _invented, mark="invented", once=True)
    with ui.element("section").classes("card after"):
        _open_file()


async def _invented() -> None:
    room = shared.room()
    guitar = await asyncio.to_thread(read_guitar, room.first_guitar)
    entry = await shared.written(lambda: room.notebook.add_guitar(guitar, why=INVENTED))
    ui.navigate.to(f"/guitar?guitar={entry.id}")


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
                    text("td", short(plain(last.why)))
                    text("td", f"{last.at:%Y-%m-%d %H:%M}", "n")


def _open_file() -> None:
    text("h3", "Open a guitar file")
    text("p", "Open a guitar file (*.guitar.toml). All its faults are listed at once; nothing is kept until it reads.")
    fault = Fault()

    async def opened(event: events.UploadEventArguments) -> None:
        fault.clear()
        try:
            guitar = await guitar_in(event.file)
            entry = await shared.written(lambda: shared.room().notebook.add_guitar(guitar, why="opened from a file"))
        except PolepieceError as error:
            fault.show(error)
            upload.reset()
            return
        ui.navigate.to(f"/guitar?guitar={entry.id}")

    upload = file_taker(
        "open a guitar file …", opened, lambda: fault.show(NOT_TAKEN), accept=".toml", most=LARGEST_FILE,
        mark="open-guitar",
    )  # fmt: skip
