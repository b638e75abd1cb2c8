"""Work sheet: one chosen change, its readings typed in and kept, printed, and recorded as the guitar's new state."""

from collections.abc import Sequence

from fastapi import Query
from nicegui import ui

from polepiece.app.guitar.photos_box import PhotosBox
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive, show_address
from polepiece.app.server.desk import Desk
from polepiece.app.sheet import log as sheet_log
from polepiece.app.sheet import shelf as sheet_shelf
from polepiece.app.sheet.bench_mode import BenchMode
from polepiece.app.sheet.choice import meant, view_of
from polepiece.app.sheet.done import DoneCard
from polepiece.app.sheet.fields import SheetFields
from polepiece.app.sheet.from_table import FromTable
from polepiece.app.sheet.head import SheetHead
from polepiece.app.sheet.log import Figure
from polepiece.app.sheet.shelf import PRINT, Asked
from polepiece.app.sheet.stops import Finding, findings
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Fault, Working, link, press, text
from polepiece.app.widgets.place import Place
from polepiece.errors import PolepieceError
from polepiece.report import Part, WorkSheet, worksheet_html

PAGE = Place(
    path="/worksheet", title="Work sheet", in_job=True, about="readings, steps and cautions of one chosen change"
)
PRINT_JS = (
    "() => {{ const w = window.open({address!r}, '_blank'); if (w) w.addEventListener('load', () => w.print()); }}"
)
JUMP_JS = (
    "() => {{ const h = document.querySelector('[data-part={key}]'); h.scrollIntoView({{block: 'start'}}); "
    "h.focus({{preventScroll: true}}); }}"
)
JUMPS = {"baseline": "baseline", "stops": "stop when", "work": "the work", "after": "check-out"}
WRITTEN = "What you type is kept in the notebook at once; a comma or a point, with or without a unit."


def build() -> None:
    """Register the page and the address of its print."""
    sheet_shelf.build()

    @theme.page(PAGE)
    async def worksheet(
        guitar: str = "", pickup: str = "", against: str = "", position: str = "", state: str = "", job: str = "",
        change: list[str] = Query([]),  # noqa: B008
    ) -> None:  # fmt: skip
        desk = Desk.at(guitar, pickup, against, position)
        there, wanted = meant(desk, job, change)
        desk.look_at(there)
        ui.add_head_html(theme.STYLE)
        with theme.frame(PAGE, desk, chooses_pickup=not wanted):
            view = view_of(
                desk, PAGE.path, lambda what: SheetView(desk, what), state=state, job=job, changes=change
            )  # fmt: skip
            if view is None:
                return
            view.build()
        ui.timer(0.0, view.begin, once=True)


class SheetView:
    """One tab on one sheet."""

    def __init__(self, desk: Desk, what: Asked) -> None:
        self.desk, self.what, self.client = desk, what, ui.context.client
        self.written = sheet_shelf.written(what.key)
        self.entries = self.written.entries
        self.base = shared.room().notebook.state_guitar(what.base.id)
        self.sheet: WorkSheet | None = None
        self.fields: SheetFields | None = None
        self._writing = 0  # entries of this tab that are on their way to the disk
        self._seen = self._newest()

    # --- what is on it -----------------------------------------------------------------------------
    def build(self) -> None:
        """Put the head on the page; the sheet itself comes when it is worked out."""
        self.head = SheetHead(self.desk, self.what, self.base, self.entries, self._keep, self._again)
        self.head.build()
        self.working, self.fault = Working(), Fault()
        self.stops = ui.element("div").classes("stop-hold")  # stays in sight while the sheet is written on
        self.looks = ui.element("div")
        self.body = ui.element("div").classes("stack sheet-body").mark("sheet")
        ui.timer(theme.LOOK_AGAIN, self._follow, immediate=False)

    async def begin(self) -> None:
        """Work the sheet out, or take it from the shelf."""
        show_address(self.client, self.address())
        await self._work_out()

    def address(self) -> str:
        """Return the address that shows the same sheet."""
        return f"{PAGE.path}?{self.what.query()}"

    async def _again(self) -> None:
        await self._work_out()

    async def _work_out(self) -> None:
        self.fault.clear()
        entries = dict(self.entries)
        try:
            sheet = sheet_shelf.ready(self.what, entries)
            if sheet is None:
                sheet = await self.working.follow(sheet_shelf.start(self.what, entries, self.working.show_progress))
                sheet_shelf.keep(self.what, entries, sheet)
        except PolepieceError as error:
            if alive(self.client):
                self.fault.show(error)
            return
        if alive(self.client):
            self.sheet = sheet
            self._show(sheet)

    def _show(self, sheet: WorkSheet) -> None:
        self.head.known(sheet)
        fields = self.fields = SheetFields(sheet, self.entries, self._keep)
        self.body.clear()
        with self.body:
            BenchMode()
            self._jumps(sheet)
            self._printing()
            FromTable(self.what.key, self.what.base.id, sheet, self._follow)
            with ui.element("details").classes("off-bench"):
                text("summary", "photos of this job" if self.what.job else "photos of this guitar")
                PhotosBox(self.desk.entry.id, self.what.job)
            fields.bench()
            self._cautions(sheet)
            with ui.element("section").classes("card sheet-part bench-screen"):
                text("h2", "Owner's page").props("data-part=owner tabindex=-1")
                fields.owner()
            with ui.element("section").classes("card sheet-part bench-screen").mark("done-card"):
                self.done = DoneCard(self.desk, self.what, self.written, sheet, PAGE.path)
        self._judge()

    @staticmethod
    def _jumps(sheet: WorkSheet) -> None:
        """Buttons that go to a part of this long page."""
        parts = {one.key: JUMPS[one.key] for one in sheet.sections if one.key in JUMPS}
        with ui.element("nav").classes("jumps off-bench").props('aria-label="Parts of the sheet"'):
            for key, words in (parts | {"owner": "owner's page", "done": "when it is done"}).items():
                button = text("button", words, "press quiet").props("type=button")
                button.on("click", js_handler=JUMP_JS.format(key=key))
            text("span", WRITTEN, "soft small")

    def _printing(self) -> None:
        with ui.element("details").classes("off-bench print-keep"):
            text("summary", "Print and keep")
            with ui.element("div").classes("row"):
                for part, words in sheet_shelf.PARTS.items():
                    address = f"{PRINT}?{self.what.query(part=part)}"
                    button = text("button", f"print {words}", "press").props("type=button").mark(f"print-{part}")
                    button.on("click", js_handler=PRINT_JS.format(address=address))
                press("download HTML", self._html, mark="download-html")
                press("download PDF", self._pdf, mark="download-pdf")
                link(f"{PRINT}?{self.what.query(part='both')}", "open the sheet in a tab").props("target=_blank")
            self.file_working, self.file_fault = Working(), Fault()

    @staticmethod
    def _cautions(sheet: WorkSheet) -> None:
        with ui.element("section").classes("card sheet-part bench-screen"):
            text("h2", "Take care")
            with ui.element("ul").classes("small"):
                for one in (*sheet.cautions, sheet.defer):
                    text("li", one)
            for value, settle in sheet.hangs_on:
                text("p", f"The figures hang most on an assumed value, {value}; to settle it: {settle}.", "small soft")
            text("p", "Steps and limits are common practice without a source.", "small soft")

    # --- writing -----------------------------------------------------------------------------------
    async def _keep(self, entry: str, label: str, value: str, figure: "Figure | None") -> None:
        """Keep one entry; it is on the disk when this returns."""
        book, key = shared.room().notebook, self.what.key
        recorded = sheet_log.recorded_as(self.written, self.desk.history)
        after = recorded is not None and entry.startswith(("after.", "after_strings."))
        state_id = recorded.id if recorded is not None and after else self.what.base.id
        self._writing += 1
        try:
            await shared.written(lambda: sheet_log.write(book, key, state_id, entry, value, label=label, figure=figure))
        except PolepieceError as error:
            self.fault.show(error)
            return
        finally:
            self._writing -= 1
        if value.strip():
            self.entries[entry] = value.strip()[: sheet_log.LONGEST]
        else:
            self.entries.pop(entry, None)
        self.head.kept(label)
        self._judge()
        if self.sheet is not None and not entry.startswith(("head.", "step.")):
            self.done.show_readings()

    def _newest(self) -> int:
        return max((one.id for one in shared.room().notebook.log(self.what.key.guitar_id, last=1)), default=0)

    def _follow(self) -> None:
        """Show what another tab, or another program, has written on this sheet meanwhile."""
        if self._writing:
            return
        try:
            newest = self._newest()
            if newest == self._seen:
                return
            found = sheet_shelf.written(self.what.key)
        except PolepieceError:  # the notebook is busy or gone; what the tab does next says so in words
            return
        self._seen = newest
        changed = [one for one in {**self.entries, **found.entries} if found.entries.get(one) != self.entries.get(one)]
        done = found.done != self.written.done
        self.entries.clear()
        self.entries.update(found.entries)
        self.written.done, self.written.last, self.written.stock = found.done, found.last, found.stock
        if not changed and not done:
            return
        self.head.follow(changed, [] if self.fields is None else self.fields.follow(changed))
        self._judge()
        if self.sheet is not None:
            self.done.show() if done else self.done.show_readings()

    def _judge(self) -> None:
        """Say what the readings say, stops first."""
        if self.sheet is None:
            return
        found = findings(self.sheet, self.entries, self.base.pickup(self.what.key.pickup))
        self.stops.clear()
        self.looks.clear()
        stops, others = [one for one in found if one.stop], [one for one in found if not one.stop]
        self.done.warn(" ".join(f"{'STOP' if one.stop else 'Look again'}: {one.words}" for one in [*stops, *others]))
        if stops:
            with self.stops, ui.element("div").classes("stop-box").props("role=alert").mark("stop"):
                text("strong", "STOP")
                _listed(stops)
        if others:
            with self.looks, ui.element("div").classes("notice").props("role=status").mark("look-again"):
                text("strong", "Look again")
                _listed(others)

    # --- files -------------------------------------------------------------------------------------
    def _ready(self) -> tuple[WorkSheet, dict[str, str]]:
        assert self.sheet is not None
        sheet = sheet_shelf.headed(self.sheet, self.what, self.entries)
        return sheet, sheet_shelf.filled(sheet, self.entries)

    def _html(self) -> None:
        self.file_fault.clear()
        try:
            sheet, filled = self._ready()
        except PolepieceError as error:
            self.file_fault.show(error)
            return
        page = worksheet_html(sheet, paper=sheet_shelf.paper_in(self.entries), filled=filled)
        ui.download.content(page.encode(), f"{self._name()}.html", "text/html")

    async def _pdf(self) -> None:
        self.file_fault.clear()
        part: Part = "both"
        try:
            sheet, filled = self._ready()
            job = shared.room().jobs.run(
                "work sheet as PDF", sheet, sheet_shelf.paper_in(self.entries), part, filled,
                on_progress=self.file_working.show_progress,
            )  # fmt: skip
            data: bytes = await self.file_working.follow(job)
        except PolepieceError as error:
            if alive(self.client):
                self.file_fault.show(error)
            return
        if alive(self.client):
            with self.client:
                ui.download.content(data, f"{self._name()}.pdf", "application/pdf")

    def _name(self) -> str:
        words = f"work sheet {self.desk.entry.name} {self.what.key.pickup} {' '.join(self.what.key.changes)}"
        return "-".join("".join(c if c.isascii() and c.isalnum() else " " for c in words).split()).lower()[:100]


def _listed(found: Sequence[Finding]) -> None:
    with ui.element("ul"):
        for one in found:
            text("li", one.words)
