"""The end of a work sheet: the change, and what was read, recorded as the guitar's new state; and taken back."""

from nicegui import ui

from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.sheet import log as sheet_log
from polepiece.app.sheet.choice import alike
from polepiece.app.sheet.from_stock import FromStock, taken_back
from polepiece.app.sheet.log import Moved, Sheet
from polepiece.app.sheet.readings import done_and_read, last_read, nothing_read, readings_in, readings_words
from polepiece.app.sheet.shelf import Asked
from polepiece.app.widgets.controls import Fault, amount, link, press, text
from polepiece.errors import PolepieceError
from polepiece.evidence import with_readings
from polepiece.guitar import Guitar
from polepiece.moves import parse_changes
from polepiece.report import WorkSheet

CHANGED_SINCE = (
    "The guitar was changed since this sheet was begun: its figures are those of state {}; the change would be made to "
    "the guitar as it is now."
)
KEPT_OFF = "Screw heights, sizes of bars and what was heard stay on the sheet."
PROVE = "/prove"
LONGEST = 300  # characters of what was done, so that the readings have room beside it


class DoneCard:
    """The last card of a sheet.

    Parameters
    ----------
    desk : Desk
    what : Asked
    written : Sheet
        What is written on it; shared with the page, which adds to it.
    sheet : WorkSheet
    path : str
        Of the page.
    """

    def __init__(self, desk: Desk, what: Asked, written: Sheet, sheet: WorkSheet, path: str) -> None:
        self.desk, self.what, self.written, self.sheet, self.path = desk, what, written, sheet, path
        self.box = ui.element("div")
        self._recording = False
        self._open = ""  # what the readings say against it
        self.show()

    def show(self) -> None:
        """Show how far it is."""
        there = sheet_log.standing(self.desk.history)
        recorded = sheet_log.recorded_as(self.written, self.desk.history)
        self.box.clear()
        with self.box:
            text("h2", "When it is done").props("data-part=done tabindex=-1")
            self.open = text("p", self._open, "warn").mark("still-open")
            self.open.set_visibility(bool(self._open))
            if recorded is None:
                self._to_do()
            else:
                text("p", f"Recorded as a new state on {recorded.at:%Y-%m-%d %H:%M} UTC: {recorded.why}",
                     "notice").mark("recorded")  # fmt: skip
                self.reads = ui.element("div")
                last = recorded.id == there[-1].id
                with ui.element("div").classes("row"):
                    proof = "prove it: what was measured and heard beside what was computed"
                    link(f"{PROVE}?{self.what.query()}", proof)
                    if last:
                        twice = len(there) > 1 and there[-2].uuid in self.written.done
                        words = "undo: without these readings" if twice else "undo: the guitar is as before"
                        press(words, self._undo, mark="undo-done")
                if not last:
                    text("p", "The guitar was changed again since; go back in its history on the Guitar page.", "small")
            self.fault = Fault()
        self.show_readings()

    def warn(self, words: str) -> None:
        """Say here, too, what the readings say against it; "" where there is nothing."""
        self._open = words
        self.open.say(words)
        self.open.set_visibility(bool(words))

    def _to_do(self) -> None:
        if self.desk.state.text != self.what.base.text:
            with ui.element("p").classes("warn"):
                text("span", f"{CHANGED_SINCE.format(self.what.base.id)} ")
                anew = f"{self.path}?{self.what.query(state=str(self.desk.state.id))}"
                link(anew, "Begin a sheet of it as it is now")
        self.reads = ui.element("div")
        job = f", job {self.what.job.called}" if self.what.job else ""
        self.why = amount("what was done, for the history", f"{self.what.key.words} (work sheet{job})",
                          lambda _: None, mark="why")  # fmt: skip
        self.why.classes("long")
        self.stock: FromStock = FromStock(self.desk.guitar, self.what.key.pickup, parse_changes(self.what.key.changes))
        press("done: record this change as a new state of the guitar", self._done, cls="main", mark="done", once=True)

    def show_readings(self) -> None:
        """Show what of the readings goes into the guitar, or has to be recorded still."""
        states = self.desk.history
        recorded = sheet_log.recorded_as(self.written, states)
        self.reads.clear()
        with self.reads:
            if recorded is None:
                self._to_be_recorded()
            elif not self.written.measured_after:
                text("p", "Not proven yet: no reading after the job is on the sheet.", "small")
            elif recorded.id == sheet_log.standing(states)[-1].id and self._read_after() != self.desk.guitar:
                text("p", "Read after, not on record in the guitar yet:", "small")
                self._list("after")
                press("record the readings as measured", self._record_readings, mark="record-readings", once=True)

    def _to_be_recorded(self) -> None:
        if all(nothing_read(readings_in(self.sheet, self.written.entries, one)) for one in ("baseline", "after")):
            text("p", "No reading is on the sheet yet: the guitar would be recorded as planned, not as measured.",
                 "small soft")  # fmt: skip
            return
        text("p", "These readings go into the guitar as measured, with the change:", "small")
        for section, words in (("baseline", "as found"), ("after", "after")):
            if not nothing_read(readings_in(self.sheet, self.written.entries, section)):
                text("p", f"{words}:", "small soft")
                self._list(section)
        text("p", KEPT_OFF, "small soft")

    def _list(self, section: str) -> None:
        with ui.element("ul").classes("small").mark(f"goes-in-{section}"):
            for one in readings_words(readings_in(self.sheet, self.written.entries, section)):
                text("li", one)

    def _read_after(self) -> Guitar:
        pickup = self.what.key.pickup
        return with_readings(self.desk.guitar, pickup, readings_in(self.sheet, self.written.entries, "after"))

    # --- acts --------------------------------------------------------------------------------------
    async def _done(self) -> None:
        if self._recording:  # pressed twice: the change must not be made to what it has made
            return
        self.fault.clear()
        desk, key = self.desk, self.what.key
        why = self.why.value.strip()[:LONGEST] or key.words
        try:
            after = done_and_read(desk.guitar, key.pickup, parse_changes(key.changes), self.sheet, self.written.entries)
            if alike(after, desk.guitar):
                self.fault.show(f"{key.words}: the guitar is on record like that already; nothing was recorded.")
                return
            book, take = shared.room().notebook, self.stock.act(self._for())
            self._recording = True
            moved = await shared.written(lambda: take(book))  # first: of what is gone nothing is recorded
            try:
                await self._record(after, why, "made", moved)
            except PolepieceError:
                if moved is not None:
                    await shared.written(lambda: taken_back(book, moved, f"not recorded: {self._for()}"))
                raise
        except PolepieceError as error:
            self.fault.show(error)
            return
        finally:
            self._recording = False
        self.show()

    def _for(self) -> str:
        """Say where parts go, for the history of the drawer."""
        job = f", job {self.what.job.called}" if self.what.job else ""
        return f"{self.desk.entry.name}, {self.what.key.pickup}{job}"[:LONGEST]

    async def _record_readings(self) -> None:
        self.fault.clear()
        try:
            await self._record(self._read_after(), f"{self.what.key.words} (work sheet)", "read after")
        except PolepieceError as error:
            self.fault.show(error)
            return
        self.show()

    async def _record(self, after: Guitar, why: str, did: str, moved: Moved | None = None) -> None:
        before, then = (readings_in(self.sheet, self.written.entries, one) for one in ("baseline", "after"))
        read = readings_words(last_read(before, then))
        self._recording = True
        try:
            await self.desk.record(after, f"{why}; measured: {'; '.join(read)}" if read else why)
        finally:
            self._recording = False
        book, key, state = shared.room().notebook, self.what.key, self.desk.state
        note = await shared.written(lambda: sheet_log.write_done(book, key, state, did, moved))
        self.written.done += (state.uuid,)
        if moved is not None:
            self.written.stock[state.uuid] = moved
        self.written.last = note

    async def _undo(self) -> None:
        self.fault.clear()
        book, moved = shared.room().notebook, self.written.stock.get(self.desk.state.uuid)
        try:
            await self.desk.undo()
            if moved is not None:
                await shared.written(lambda: taken_back(book, moved, f"undone: {self._for()}"))
        except PolepieceError as error:
            self.fault.show(error)
            return
        self.show()
