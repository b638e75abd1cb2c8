"""Plan: from a complaint in words to a ranked table of moves, kept as a job in the notebook."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from urllib.parse import urlencode

from nicegui import ui

from polepiece.app.hear.states import NOW, guitar_in, state_of_row
from polepiece.app.plan.form import PlanForm, limits_in_words
from polepiece.app.plan.rows import moves_of, plan_of, row_in
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive, show_address
from polepiece.app.server.desk import Desk
from polepiece.app.server.jobs import Stopped
from polepiece.app.server.worker import Answer
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Fault, Working, choice, link, press, text
from polepiece.app.widgets.curves import Curve, Curves
from polepiece.app.widgets.place import Place
from polepiece.bench import State
from polepiece.errors import PolepieceError
from polepiece.moves import plainly
from polepiece.notebook import JobEntry
from polepiece.planning import Cause, Finding, Plan, Refusal, Row, Understood, answer_of, plan_json
from polepiece.shown_number import minus_in_words

PAGE = Place(path="/plan", title="Plan", in_job=True, about="a complaint in words becomes a ranked list of moves")
WORK_SHEET = "/worksheet"
MOST_CURVES = 5
SHOWN_REFUSALS = 6
DRAWN = {"difference": "against the guitar as it is", "response": "as they are, dB re 1 V s/m"}
LEVEL_NOTE = "Level is at the same gap unless a bar is judged with the gap re-set; below it the 90 % interval."


def build() -> None:
    """Register the page."""

    @ui.page(PAGE.path, title=theme.title(PAGE))
    async def plan(  # one argument for each part of the address
        guitar: str = "", pickup: str = "", against: str = "", position: str = "", job: str = "", rows: str = "", every: str = "",
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
        self.states: dict[str, State] = {}
        self._drawing = False
        self.drawn = "difference"

    # --- what is on it -----------------------------------------------------------------------------
    def build(self) -> None:
        """Put the form and, where there is one, the plan on the page."""
        self.form = PlanForm(self.desk, self.job, self._make)
        self.working, self.fault = Working(), Fault()
        self.result = ui.element("div").classes("stack").mark("plan")
        with ui.element("section").classes("card after") as self.compare:
            text("h2", "Compare")
            text("p", "Tick rows of the table to lay their curves over the guitar as it is.", "small soft")
            choice("drawn", DRAWN, self.drawn, self._choose_drawn, mark="drawn")
            self.curves = Curves("Response of the ticked rows", unit="dB", span=6.0, file="plan-response.csv")
            self.compare_fault = Fault()
            self.solving = Working()
            self.to_hear = ui.element("p").mark("to-hear")
        self.below = ui.element("div").classes("stack")
        self.client.on_disconnect(self._leave)
        self._show()

    async def begin(self) -> None:
        """Draw the curves of the rows that the address names."""
        if self.plan is not None:
            await self._draw()

    # --- making ------------------------------------------------------------------------------------
    async def _make(self) -> None:
        """Read the form, plan in a process of its own, and keep complaint and plan as a job."""
        self.fault.clear()
        desk, form = self.desk, self.form
        try:
            told, limits = form.read()
        except PolepieceError as error:
            self.fault.show(error)
            return
        words, constraints, said = form.complaint_words(), "; ".join(limits.texts), form.said
        run = shared.room().jobs.run("plan", desk.guitar, told, limits, on_progress=self.working.show_progress)
        form.make.allow(False)
        try:
            found: Plan = await self.working.follow(run)
            self.job = await shared.written(lambda: _kept(desk.entry.id, words, constraints, replace(found, said=said)))
        except Stopped as error:
            self.fault.show(error)
            return
        except PolepieceError as error:
            self.fault.show(error)
            return
        finally:
            form.make.allow(True)
        if not alive(self.client):
            return  # the plan is kept; whoever opens the page finds it
        self.plan = plan_of(self.job)
        self.picked, self.every = [], False
        self.picked = first_picked(self.plan)
        self._show()
        await self._draw()

    # --- showing -----------------------------------------------------------------------------------
    def _show(self) -> None:
        plan = self.plan
        self.result.clear()
        self.below.clear()
        self.compare.set_visibility(plan is not None and bool(plan.rows))
        if plan is None or self.job is None:
            return
        with self.result:
            self._head(self.job)
            _said(plan.said)
            if plan.verdict == "repair-first":
                _repair(plan.repair_first)
            if plan.cheap_causes:
                _causes(plan.cheap_causes)
            rows = plan.rows + (plan.rest if self.every else ())
            if rows:
                self._table(plan, rows)
        with self.below:
            if plan.few:
                text("p", plan.few, "small")
            _refusals(plan.refused)
        show_address(self.client, self.address())

    def _head(self, job: JobEntry) -> None:
        with ui.element("div"):
            text("h2", f"Job {job.called}: {job.complaints}")
            asked = f"; asked for: {limits_in_words(job.constraints)}" if job.constraints else ""
            text("p", f"Taken in {job.at:%Y-%m-%d %H:%M} UTC{asked}. Status: {job.status}.", "small soft")
            if job.change:
                with ui.element("p").classes("notice"):
                    text("span", f"Chosen: {job.change}. Next: ")
                    link(f"{self.desk.address(WORK_SHEET)}&job={job.id}", "its work sheet").mark("chosen-sheet")
            if self.desk.guitar != shared.room().notebook.state_guitar(job.state_id):
                text("p", "The guitar has changed since this plan was made; make the plan again before going by it.",
                     "warn")  # fmt: skip

    def _table(self, plan: Plan, rows: Sequence[Row]) -> None:
        with ui.element("section").classes("card").props('aria-label="Ranked moves"'):
            text("h2", "What to try, in this order")
            answer = answer_of(plan)
            for words in (answer.start, answer.bars, *answer.parted, answer.order):
                if words:
                    text("p", minus_in_words(words))
            text("p", f"Out of {plan.considered} moves considered; free and reversible ones first. {LEVEL_NOTE}",
                 "small soft")  # fmt: skip
            for words in plan.advice:
                text("p", words[:1].upper() + words[1:], "small")
            with (
                ui.element("div").classes("scroll").props('tabindex=0 role=region aria-label="Plan"'),
                ui.element("table").classes("plan cards"),
            ):
                with ui.element("thead"), ui.element("tr"):
                    for head in ("", "move", "better", "worse", "level, dB", "likely heard", "strings", "cost", "time"):
                        text("th", head, "n" if head == "level, dB" else "").props("scope=col")
                several = len({row.pickup for row in rows}) > 1
                for row in rows:
                    row_in(
                        row, job=self.job, ticked=row.rank in self.picked, on_tick=partial(self._tick, row.rank),
                        on_choose=partial(self._choose, row), hear=self._hear_address([row.rank]),
                        sheet=self._sheet_address(row), several=several,
                    )  # fmt: skip
            if plan.rest:
                words = "show only the first rows" if self.every else f"show {len(plan.rest)} more rows that help less"
                press(words, self._toggle_rest, cls="quiet", mark="rest")
            if plan.bars_to_have:
                bars = [f"{one.order}. {moves_of(one)}" for one in plan.bars_to_have]
                text("p", f"Bars to have on the bench, in the order to try them: {'; '.join(bars)}.")

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

    def _hear_address(self, ranks: Sequence[int]) -> str:
        rows = [row for row in (self._row(rank) for rank in ranks) if row is not None and row.change]
        states = [NOW, *dict.fromkeys(state_of_row(row) for row in rows)]
        pickup = rows[0].pickup if rows else self.desk.pickup
        return f"{self.desk.address('/hear', pickup=pickup)}&{urlencode([('state', one) for one in states])}"

    def _sheet_address(self, row: Row) -> str:
        if not any(one.path == WORK_SHEET for one in theme.LINKED) or self.job is None or not row.change:
            return ""
        changes = row.moves
        query = [("job", str(self.job.id)), *(("change", one) for one in changes)]
        return f"{self.desk.address(WORK_SHEET, pickup=row.pickup)}&{urlencode(query)}"

    async def _tick(self, rank: int, on: bool) -> None:
        self.picked = [one for one in self.picked if one != rank] + ([rank] if on else [])
        if len(self.picked) > MOST_CURVES:
            self.picked = self.picked[-MOST_CURVES:]
            self._show()
        show_address(self.client, self.address())
        await self._draw()

    async def _choose(self, row: Row) -> None:
        if self.job is None:
            return
        try:
            job, words, book = self.job, f"{row.pickup}: {moves_of(row)}", shared.room().notebook
            self.job = await shared.written(lambda: book.choose(job.id, words))
        except PolepieceError as error:
            self.fault.show(error)
            return
        self._show()

    def _toggle_rest(self) -> None:
        self.every = not self.every
        self._show()

    # --- curves ------------------------------------------------------------------------------------
    async def _draw(self) -> None:
        """Draw what is ticked; a state whose geometry is new is solved first."""
        self.to_hear.clear()
        if self.picked:
            with self.to_hear:
                link(self._hear_address(self.picked), "hear the ticked rows against the guitar as it is")
        if self._drawing:
            return
        self._drawing = True
        self.compare_fault.clear()
        try:
            while missing := [one for one in self._wanted() if one not in self.states]:
                await self._find(missing[0])
                self._put()
        except PolepieceError as error:
            self.compare_fault.show(error)
        finally:
            self._drawing = False
        self._put()

    def _wanted(self) -> list[str]:
        rows = [row for row in (self._row(rank) for rank in self.picked) if row is not None and row.change]
        pickup = rows[0].pickup if rows else self.desk.pickup
        return [f"{pickup}|{NOW}", *(f"{row.pickup}|{state_of_row(row)}" for row in rows)]

    async def _find(self, wanted: str) -> None:
        pickup, _, state = wanted.partition("|")
        guitar = guitar_in(replace(self.desk, pickup=pickup), state)
        room = shared.room()
        answer: Answer | None = await room.live.ask(self.desk.lane(f"plan {wanted}"), "state", guitar, pickup)
        if answer is not None and answer.state is not None:
            self.states[wanted] = answer.state
            return
        job = room.jobs.run("solve", guitar, pickup, on_progress=self.solving.show_progress)
        self.states[wanted] = await self.solving.follow(job)

    def _leave(self) -> None:
        """Whoever goes on to Hear is not to wait for a curve of this page."""
        if self.solving.job is not None:
            self.solving.job.stop()

    def _choose_drawn(self, drawn: str) -> None:
        self.drawn = drawn
        self._put()

    def _put(self) -> None:
        lines = []
        base = self.states.get(self._wanted()[0])
        for wanted in self._wanted():
            found = self.states.get(wanted)
            if found is None:
                continue
            rank = next((r for r in self.picked if wanted == self._key_of(r)), None)
            row = None if rank is None else self._row(rank)
            name = "as it is" if row is None else f"{rank}: {moves_of(row)}"
            look = "now" if rank is None else str(self.picked.index(rank) + 1)
            level = found.response_db
            if self.drawn == "difference" and base is not None:
                level = level - base.response_db
            lines.append(Curve(name=name, look=look, frequency=found.frequency_hz, level_db=level))
        self.curves.show(lines)

    def _key_of(self, rank: int) -> str:
        row = self._row(rank)
        return "" if row is None or not row.change else f"{row.pickup}|{state_of_row(row)}"


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


def _said(said: Sequence[Understood]) -> None:
    """Say what was understood of the words that were typed, and what was not used."""
    for one in said:
        text("p", f"“{one.text}”: {one.words}.", "small").mark("understood")


def _repair(findings: Sequence[Finding]) -> None:
    with ui.element("section").classes("warn").props("role=status").mark("repair-first"):
        text("h2", "Repair first; no voicing before that")
        for one in findings:
            where = f" ({one.pickup})" if one.pickup else ""
            text("h3", f"{one.fault}{where}")
            text("p", f"{one.why}. Check: {one.check}.")
            if one.cure:
                text("p", f"Cure: {one.cure}.")
            if one.by:
                text("p", f"By: {one.by}.")
            if one.caution:
                text("p", f"Caution: {one.caution}.")
            text("p", f"Basis: {one.basis}", "small soft")


def _causes(causes: Sequence[Cause]) -> None:
    with ui.element("section").classes("card"):
        text("h2", "Rule out first, it costs next to nothing")
        with ui.element("ul"):
            for one in causes:
                with ui.element("li"):
                    text("strong", one.cause)
                    text("span", f": {one.check} ({one.why})")


def _refusals(refused: Sequence[Refusal]) -> None:
    if not refused:
        return
    with ui.element("section").classes("card"):
        text("h2", "Refused")
        with ui.element("ul").classes("small"):
            for one in refused[:SHOWN_REFUSALS]:
                what = ", ".join(one.change)
                words = one.reason if what in one.reason else f"{what}: {one.reason}"
                alike = f" ({one.alike} more for the same reason)" if one.alike else ""
                text("li", plainly(words) + alike)
        if len(refused) > SHOWN_REFUSALS:
            with ui.element("details"):
                text("summary", f"{len(refused) - SHOWN_REFUSALS} more reasons")
                with ui.element("ul").classes("small"):
                    for one in refused[SHOWN_REFUSALS:]:
                        text("li", plainly(one.reason))
