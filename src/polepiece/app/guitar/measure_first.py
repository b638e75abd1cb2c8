"""What to measure first, as a short list: what the numbers of the pickup hang on, found beside the server and kept."""

from nicegui import run, ui

from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.server.jobs import Stopped
from polepiece.app.widgets.controls import Fault, Working, press, text
from polepiece.bench import HangsOn, Share, known_hangs_on
from polepiece.errors import PolepieceError
from polepiece.guitar import Guitar

LISTED = 5
NOT_ASKED = "Not worked out for the guitar as it is now; it takes some half a minute, once."
ABOUT = "How much of the spread of level, resonance and presence hangs on each thing that is not known."


class MeasureFirstBox:
    """The list, or the button that has it worked out."""

    def __init__(self, desk: Desk, working: Working) -> None:
        self._desk, self._working = desk, working
        self._of: Guitar | None = None  # what is shown is of it
        text("p", ABOUT, "soft small")
        self.list = ui.element("ol").classes("small").mark("measure-first")
        self.words = text("p", "", "soft small")
        with ui.element("div").classes("row"):
            self.button = press("work out what to measure first", self._find, mark="find-first")
        self.button.set_visibility(False)
        self.fault = Fault()

    async def look(self) -> None:
        """Show what is kept of the guitar that is on the desk, or offer to find it."""
        guitar = self._desk.guitar
        if guitar == self._of:
            return
        self._show(guitar, await run.io_bound(known_hangs_on, guitar, self._desk.pickup))

    async def _find(self) -> None:
        guitar = self._desk.guitar
        self.fault.clear()
        try:
            job = shared.room().solves.run(
                "hangs on", guitar, self._desk.pickup, on_progress=self._working.show_progress
            )
            found = await self._working.follow(job)
        except Stopped:
            return
        except PolepieceError as error:
            self.fault.show(error)
            return
        if guitar == self._desk.guitar:
            self._show(guitar, found)

    def _show(self, guitar: Guitar, found: HangsOn | None) -> None:
        self._of = guitar
        self.list.clear()
        self.button.set_visibility(found is None)
        with self.list:
            for one in () if found is None else found.first[:LISTED]:
                text("li", line_of(one))
        self.words.say(NOT_ASKED if found is None else _stays(found))


def line_of(one: Share) -> str:
    """Return one unknown in a line: what it is, its share, how to settle it."""
    return f"{one.words}: {100 * one.share:.0f} % of the spread; to settle it: {one.settle}"


def _stays(found: HangsOn) -> str:
    if not found.first and not found.stays:
        return "Nothing that is not known moves them much."
    said = ", ".join(f"{one.words} {100 * one.share:.0f} %" for one in found.stays)
    return f"Nothing at the bench settles: {said}." if said else ""
