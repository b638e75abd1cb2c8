"""Plan: from a complaint in words to a ranked table of moves, kept as a job in the notebook."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Any
from urllib.parse import urlencode

from nicegui import ui

from polepiece.app.hear.states import NOW, state_since
from polepiece.app.plan import told
from polepiece.app.plan.compare import Compare
from polepiece.app.plan.form import PlanForm, limits_in_words
from polepiece.app.plan.rows import RowActs, Ticked, head_of_table, moves_of, plan_of, reach_of_rows, row_in
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive, show_address
from polepiece.app.server.desk import Desk
from polepiece.app.server.jobs import Job, OnProgress, Progress, Stopped
from polepiece.app.server.under_way import UnderWay
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Fault, Working, link, press, text
from polepiece.app.widgets.place import Place
from polepiece.errors import PolepieceError
from polepiece.notebook import JobEntry
from polepiece.planning import ONLY_FITTED, Plan, Row, answer_of, plan_json
from polepiece.report import MOST_CURVES

PAGE = Place(path="/plan", title="Plan", in_job=True, about="a complaint in words becomes a ranked list of moves")
WORK_SHEET = "/worksheet"


def build() -> None:
    """Register the page."""

    @theme.page(PAGE)
    async def plan(  # one argument for each part of the address
        guitar: str = "", pickup: str = "", against: str = "", position: str = "", job: str = "", rows: str = "",
        every: str = "",
    ) -> None:  # fmt: skip
        desk = Desk.at(guitar, pickup, against, position)
        ui.add_head_html(theme.STYLE)
        with theme.frame(PAGE, desk):
            view = PlanView(desk, job=job, rows=rows, every=bool(every))
            view.build()
        ui.timer(0.0, view.begin, once=True)


class PlanView:
    """One tab on the plan of one guitar."""

    def __init__(self, desk: Desk, *, job: str, rows: str, every: bool) -> None:
        self.desk, self.every, self.client = desk, every, ui.context.client
        self.job = job_of(desk, job)
        self.plan = plan_of(self.job)
        named = [int(one) for one in rows.split(",") if one.isascii() and one.isdigit() and len(one) < 6]
        self.picked = named[:MOST_CURVES] or first_picked(self.plan)
        self.boxes: dict[int, Ticked] = {}

    # --- what is on it -----------------------------------------------------------------------------
    def build(self) -> None:
        """Put the form and, where there is one, the plan on the page."""
        with ui.element("details").classes("asked") as self.fold:
            self.asked = text("summary", "").mark("asked")
            self.form = PlanForm(self.desk, self.job, self._make)
        self.working, self.fault = Working(), Fault()
        self.so_far = ui.element("div").classes("stack").mark("so-far")
        self.result = ui.element("div").classes("stack").mark("plan")
        with ui.element("div").classes("plan-two") as self.both:
            with ui.element("section").classes("card moves").props('aria-label="Ranked moves"'):
                self.table = ui.element("div")
            with ui.element("section").classes("card stays beside").props('aria-label="Compare"'):
                self.next = ui.element("p").classes("next").mark("next")
                self.compare = Compare(self.desk, self._hear_address)
                self.compare.build()
        self.below = ui.element("div").classes("stack")
        self.client.on_disconnect(self.compare.leave)
        self._fold(self.plan is not None or self._under_way() is not None)
        self._show()

    async def begin(self) -> None:
        """Go on with a plan that another tab, or this one before a reload, has begun; draw what is ticked."""
        going = self._under_way()
        if going is not None:
            await self._follow(going)
        elif self.plan is not None:
            await self._draw()

    def _fold(self, closed: bool) -> None:
        """Fold the form to its one line, or open it."""
        self.fold.props["open"] = not closed
        self.fold.update()
        ui.run_javascript(f"const it = getHtmlElement({self.fold.id}); if (it) it.open = {str(not closed).lower()}")

    # --- making ------------------------------------------------------------------------------------
    def _under_way(self) -> UnderWay | None:
        return shared.room().under_way.get(f"plan {self.desk.entry.id}")

    async def _make(self) -> None:
        """Read the form and plan in a process of its own; complaint and plan are kept as a job, tab or no tab."""
        self.fault.clear()
        desk, form = self.desk, self.form
        try:
            complaints, limits = form.read()
        except PolepieceError as error:
            self.fault.show(error)
            return
        words, constraints, said = form.complaint_words(), "; ".join(limits.texts), form.said
        ear = form.own_ear if form.by_ear else None

        def start(tell: OnProgress) -> Job:
            heard = desk.heard_in
            return shared.room().jobs.run(
                "plan", desk.guitar, complaints, limits, heard=heard, ear=ear, on_progress=tell
            )

        async def keep(found: Plan) -> Any:
            return await shared.written(lambda: _kept(desk.entry.id, words, constraints, replace(found, said=said)))

        self._fold(True)
        await self._follow(shared.room().under_way.begin(f"plan {desk.entry.id}", words, start, keep))

    async def _follow(self, going: UnderWay) -> None:
        """Show how far a plan is, and then the plan."""
        self.fault.clear()
        self._ask_line(going.words)
        self.form.make.allow(False)
        going.watch(self.working.show_progress)
        going.watch(self._tell)
        self._tell(going.progress)
        try:
            self.job = await self.working.follow(going)
        except PolepieceError as error:
            if alive(self.client):
                self.fault.show(error)
                self._fold(not isinstance(error, Stopped) and self.plan is not None)
            return
        finally:
            self.form.make.allow(True)
            if alive(self.client):
                self.so_far.clear()
        if not alive(self.client):
            return  # the plan is kept; whoever opens the page finds it
        self.plan = plan_of(self.job)
        self.every, self.picked = False, first_picked(self.plan)
        self.compare.forget()
        self._show()
        await self._draw()

    # --- showing -----------------------------------------------------------------------------------
    def _tell(self, progress: Progress) -> None:
        """Show what is found before the plan is there: what to rule out, first moves, the best free move so far."""
        shown = len(self.so_far.default_slot.children)
        with self.so_far:
            for words in progress.told[shown:]:
                text("p", words).props("role=status")

    def _ask_line(self, words: str, constraints: str = "") -> None:
        """The form in one line."""
        limits = f"; {limits_in_words(constraints)}" if constraints else ""
        heard = f"; heard in {self.desk.position}" if self.desk.position else ""
        self.asked.say(f"{words}{limits}{heard} – change, or plan anew" if words else "What is wrong?")

    def _show(self) -> None:
        plan, job = self.plan, self.job
        for one in (self.result, self.below, self.table, self.next):
            one.clear()
        self.both.set_visibility(plan is not None and bool(plan.rows))
        if plan is None or job is None:
            self._ask_line("")
            return
        self._ask_line(job.complaints, job.constraints)
        answer = answer_of(plan)
        with self.result:
            self._stale()
            if plan.verdict == "repair-first":
                told.repair(plan.repair_first)
            else:
                told.sentence(plan, answer)
            told.how_understood(plan.said)
        rows = plan.rows + (plan.rest if self.every else ())
        with self.table:
            self._rows(plan, rows)
            if rows:
                told.below_rows(plan, answer)
        with self.next:
            self._next(job, rows)
        with self.below:
            self._footnotes(plan, job)
        show_address(self.client, self.address())

    def _since(self) -> str:
        """Return the state that the plan was made for: as it is, or as it was where the guitar has changed since."""
        job = self.job
        if job is None or self.desk.guitar == shared.room().notebook.state_guitar(job.state_id):
            return NOW
        return f"was:{job.state_id}"

    def _stale(self) -> None:
        if self._since() != NOW:
            text(
                "p", "The guitar has changed since this plan was made; make the plan again before going by it.", "warn"
            )

    def _next(self, job: JobEntry, rows: Sequence[Row]) -> None:
        """What to do now, always in the same place."""
        first = next((row for row in rows if row.change), None)
        if job.change:
            text("span", f"Chosen: {job.change}. ")
            link(f"{self.desk.address(WORK_SHEET)}&job={job.id}", "its work sheet", "press main").mark("chosen-sheet")
        elif first is not None:
            link(self._hear_address([first.rank]), f"hear row {first.rank}", "press main").mark("hear-first")
            press(f"choose row {first.rank}", partial(self._choose, first), mark="choose-first")

    def _rows(self, plan: Plan, rows: Sequence[Row]) -> None:
        self.boxes = {}
        if not rows:
            return
        reach = reach_of_rows(rows)
        with (
            ui.element("div").classes("scroll").props('tabindex=0 role=region aria-label="Plan"'),
            ui.element("table").classes("plan"),
        ):
            head_of_table(reach)
            for row in rows:
                acts = RowActs(
                    on_tick=partial(self._tick, row.rank), on_choose=partial(self._choose, row),
                    hear=self._hear_address([row.rank]), sheet=self._sheet_address(row),
                )  # fmt: skip
                box = row_in(row, job=self.job, acts=acts, reach=reach, look=self._look(row.rank))
                if box is not None:
                    self.boxes[row.rank] = box
        if plan.rest:
            words = "show only the first rows" if self.every else f"show {len(plan.rest)} more rows that help less"
            press(words, self._toggle_rest, cls="quiet", mark="rest")

    def _footnotes(self, plan: Plan, job: JobEntry) -> None:
        text("p", f"Job {job.called}, taken in {job.at:%Y-%m-%d %H:%M} UTC. Status: {job.status}. Out of "
             f"{plan.considered} moves considered; free and reversible ones first.", "small soft")  # fmt: skip
        if plan.few:
            text("p", plan.few, "small")
        for head, bars in (
            ("Bars to have on the bench, in the order to try them", plan.bars_advised),
            (ONLY_FITTED, plan.bars_only_fitted),
        ):
            if bars:
                said = "; ".join(f"{one.order}. {moves_of(one)}{one.heard_words}" for one in bars)
                text("p", f"{head}: {said}.", "small")
        told.refusals(plan.refused)

    # --- acts --------------------------------------------------------------------------------------
    def address(self) -> str:
        """Return the address that shows the same."""
        query = {"job": str(self.job.id)} if self.job is not None else {}
        if self.picked:
            query["rows"] = ",".join(str(one) for one in self.picked)
        if self.every:
            query["every"] = "1"
        return self.desk.address(PAGE.path) + (f"&{urlencode(query)}" if query else "")

    def _row(self, rank: int) -> Row | None:
        known = () if self.plan is None else self.plan.rows + self.plan.rest
        return next((one for one in known if one.rank == rank), None)

    def _picked_rows(self) -> list[Row]:
        return [row for row in (self._row(rank) for rank in self.picked) if row is not None]

    def _hear_address(self, ranks: Sequence[int]) -> str:
        rows = [row for row in (self._row(rank) for rank in ranks) if row is not None and row.change]
        since = self._since()
        states = [since, *dict.fromkeys(state_since(since, row) for row in rows)]
        pickup = rows[0].pickup if rows else self.desk.pickup
        return f"{self.desk.address('/hear', pickup=pickup)}&{urlencode([('state', one) for one in states])}"

    def _sheet_address(self, row: Row) -> str:
        if not any(one.path == WORK_SHEET for one in theme.LINKED) or self.job is None or not row.change:
            return ""
        query = [("job", str(self.job.id)), *(("change", one) for one in row.moves)]
        return f"{self.desk.address(WORK_SHEET, pickup=row.pickup)}&{urlencode(query)}"

    async def _tick(self, rank: int, on: bool) -> None:
        self.picked = [one for one in self.picked if one != rank] + ([rank] if on else [])
        self.picked = self.picked[-MOST_CURVES:]
        for one, box in self.boxes.items():
            box.show(self._look(one))
        show_address(self.client, self.address())
        await self._draw()

    def _look(self, rank: int) -> str:
        """Return the look of a row's curve; empty where it has none."""
        return str(self.picked.index(rank) + 1) if rank in self.picked else ""

    async def _choose(self, row: Row) -> None:
        if self.job is None:
            return
        try:
            job, words, book = self.job, f"{row.pickup}: {moves_of(row)}", shared.room().notebook
            self.job = await shared.written(lambda: book.choose(job.id, words, expect=job.last))
        except PolepieceError as error:
            self.fault.show(error)
            return
        if row.pickup != self.desk.pickup:  # the links of the header lead to what was chosen from now on
            self.desk.look_at(row.pickup)
            ui.navigate.to(self.address())
            return
        self._show()

    def _toggle_rest(self) -> None:
        self.every = not self.every
        self._show()

    async def _draw(self) -> None:
        self.compare.since = self._since()
        await self.compare.draw(self._picked_rows())


def _kept(guitar_id: int, words: str, constraints: str, found: Plan) -> JobEntry:
    """Keep complaint and plan as a job."""
    book = shared.room().notebook
    return book.keep_plan(book.open_job(guitar_id, words, constraints).id, plan_json(found, everything=True))


def job_of(desk: Desk, wanted: str) -> JobEntry | None:
    """Return the job that an address names, or the last of this guitar that has a plan."""
    known = shared.room().notebook.jobs(desk.entry.id)
    for one in known:
        if wanted and str(one.id) == wanted:
            return one
    planned = [one for one in known if one.plan is not None]
    return planned[-1] if planned else None


def first_picked(plan: Plan | None) -> list[int]:
    """Return the rows that are ticked at first: the first move and the first bar."""
    rows = [row for row in (() if plan is None else plan.rows) if row.change]
    bars = [row.rank for row in rows if any(text.startswith("magnet=") for text in row.change)]
    return list(dict.fromkeys([*[row.rank for row in rows[:1]], *bars[:1]]))
