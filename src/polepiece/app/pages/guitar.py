"""Guitar: the pickup to scale with its handles, its curve and numbers following, and its history."""

from collections.abc import Awaitable, Callable, Sequence
from typing import Literal

from nicegui import background_tasks, ui

from polepiece.app.guitar.boxes import AssumedBox, FileBox, HistoryBox
from polepiece.app.guitar.drawing import Drawing
from polepiece.app.guitar.levers import Levers, height_moves, screw_moves
from polepiece.app.pages.new_guitar import PAGE as NEW_GUITAR
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.server.jobs import Stopped, Waiting
from polepiece.app.server.worker import Answer
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Choice, Fault, Working, choice, link, press, text, words_of
from polepiece.app.widgets.curves import Curve, Curves
from polepiece.app.widgets.place import Place
from polepiece.app.widgets.readout import Readout, gaps_of
from polepiece.bench import State
from polepiece.errors import ChangedMeanwhileError, PolepieceError
from polepiece.guitar import Guitar
from polepiece.moves import plainly
from polepiece.notebook import StateEntry
from polepiece.report import pickup_drawing

How = Literal["exact", "turned", "unsolved"]  # a state: as it is; screws near it; without a solution yet

PAGE = Place(
    path="/guitar", title="Guitar", in_job=True, about="the pickup, its heights, magnet and controls, and what they do"
)
HOW = (
    "Drag the arrows beside the body, or on a screw; with the keyboard: arrow up and down. Over every string: the "
    "vertical field at its axis, computed."
)
TURNING = "finding the exact curve of the turned screws"
COLOURS = (
    ("north", "magnet, north (N)"), ("south", "magnet, south (S)"), ("steel", "steel: screws, slugs, keeper"),
    ("coil", "coil"), ("plate", "plate or cover"), ("field", "field"),
)  # fmt: skip
SMALLEST_MOVE = 5e-6  # m, what a move is written to


def build() -> None:
    """Register the page."""

    @ui.page(PAGE.path, title=theme.title(PAGE))
    async def guitar(guitar: str = "", pickup: str = "", against: str = "", position: str = "") -> None:
        desk = Desk.at(guitar, pickup, against, position)
        with theme.frame(PAGE, desk, heading=desk.guitar.name):
            view = GuitarView(desk)
            view.build()
        ui.timer(0.0, view.begin, once=True)
        ui.context.client.on_delete(view.close)


class GuitarView:
    """One tab on one pickup."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.now: State | None = None
        self.stock: State | None = None
        self._looked_at = desk.guitar  # what was asked for last
        self._mine: Guitar | None = None  # what could not be recorded because another tab has
        self._mine_why = ""
        self._drawn = ""  # the views that are shown now
        self._stopped: How = "unsolved"  # what a person has stopped last

    def close(self) -> None:
        """Stop what computes for this tab alone."""
        self._stop_solving()

    # --- what is on it -----------------------------------------------------------------------------
    def build(self) -> None:
        """Put everything on the page; numbers come later."""
        desk = self.desk
        with ui.element("div").classes("row"):
            text("p", f"{desk.pickup} pickup, {desk.chosen.built.words}", "soft")
            if desk.guitar.invented:
                text("span", "invented: no real instrument", "badge")
            link(f"{NEW_GUITAR.path}?guitar={desk.entry.id}", "edit what this guitar is", "press").mark("edit-guitar")
        self._clash()
        self.working = Working(floats=True)
        self.fault = Fault()
        with ui.element("div").classes("two woven"):
            with ui.element("div").classes("stack"):
                with ui.element("section").classes("card first").props('aria-label="Drawing"'):
                    self.drawing = Drawing(self._handle).mark("drawing")
                    _key()
                    text("p", HOW, "soft small")
                    self._other_views()
                self.levers = Levers(desk.guitar, desk.pickup, self._move)
                with ui.element("section").classes("card"):
                    self.levers.heights()
                with ui.element("section").classes("card"):
                    self.levers.magnet()
                    self._regap_row()
                with ui.element("section").classes("card"):
                    self.levers.controls()
            with ui.element("div").classes("stack"):
                with ui.element("section").classes("card second stays").props('aria-label="Curve"'):
                    with ui.element("div").classes("row"):
                        self.undo = press("undo", self._undo, mark="undo")
                        self.redo = press("redo", self._redo, mark="redo")
                        self.against: Choice = choice("compare with", {}, "", self._compare, mark="compare")
                    self.curves = Curves("Response: string velocity to the amplifier")
                    self.again = press("compute the exact curve", self._solve_again, mark="solve-again")
                    self.again.set_visibility(False)
                with ui.element("section").classes("card third").props('aria-label="Numbers"'):
                    self.readout = Readout(len(desk.guitar.strings))
                with ui.element("section").classes("card"):
                    self.assumed = AssumedBox()
                with ui.element("section").classes("card"):
                    self.file = FileBox(desk, lambda: ui.navigate.to(desk.address(PAGE.path)))
                with ui.element("section").classes("card"):
                    self.history = HistoryBox(self._return_to)
        self._show_record()

    def _clash(self) -> None:
        """What is said when another tab has recorded since."""
        with ui.element("div").classes("warn").props("role=alert") as self.clash:
            text(
                "p", "This guitar was changed in another tab since you have looked; your last move is not recorded yet."
            )
            with ui.element("div").classes("row"):
                press("reload: drop my move", self._reload, mark="clash-reload")
                press("keep mine as a new state", self._keep_mine, mark="clash-keep")
        self.clash.set_visibility(False)

    def _other_views(self) -> None:
        with ui.element("details"):
            text("summary", "Section across the poles, and from above")
            self.views = ui.html("", sanitize=False).classes("views")
            self.views_words = text("p", "", "soft small")

    def _regap_row(self) -> None:
        with ui.element("div").classes("row"):
            press("re-set the height to the level compared with", self._regap, mark="regap")
        self.regap_fault = Fault()

    # --- showing -----------------------------------------------------------------------------------
    def _show_record(self) -> None:
        """Show everything that follows from the record at once, without computing."""
        desk = self.desk
        self.drawing.show(desk.guitar, desk.pickup, self.now)
        self.levers.show(desk.guitar)
        side, top, words = pickup_drawing(desk.guitar, desk.pickup)
        if side + top != self._drawn:
            self._drawn = side + top
            self.views.set_content(self._drawn)
        self.views_words.say(words)
        back, forward = desk.can_step()
        self.undo.allow(back)
        self.redo.allow(forward)
        self._show_history()
        self.assumed.show(desk.assumed)

    def _show_history(self) -> None:
        states = self.desk.history
        options = {str(one.id): f"{_called(one)}, {one.at:%d %b %H:%M}" for one in states}
        self.against.offer(options, str(self.desk.stock.id))
        self.history.show(states, self.desk.state.id)

    def _draw_curves(self, *, stale: bool = False) -> None:
        lines = []
        if self.stock is not None:
            name = "compared with" if self.desk.stock.act != "entry" else "as first recorded"
            lines.append(
                Curve(name=name, look="stock", frequency=self.stock.frequency_hz, level_db=self.stock.response_db)
            )
        if self.now is not None:
            lines.append(Curve(name="now", look="now", frequency=self.now.frequency_hz, level_db=self.now.response_db))
        self.curves.show(lines, stale=stale)

    # --- computing ---------------------------------------------------------------------------------
    async def begin(self) -> None:
        """First curve: now, then what it is compared with."""
        try:
            how = await self._look(self.desk.guitar)
        except PolepieceError as error:
            self.fault.show(error)
            return
        if how != "exact":
            await self._finish(how)
        await self._find_stock()

    async def _look(self, guitar: Guitar) -> How:
        """Ask for the state of a guitar and show it as far as it is known; return how far that is."""
        self._looked_at = guitar
        answer: Answer | None = await shared.room().live.ask(self.desk.lane("now"), "state", guitar, self.desk.pickup)
        if answer is None:  # something newer is asked
            return "exact"
        if answer.state is None:
            self.curves.grey()
        else:
            self._put(answer.state, guitar, stale=not answer.exact)
        return "exact" if answer.exact else "turned" if answer.turned else "unsolved"

    async def _finish(self, how: How) -> None:
        """After a record: solve what is not solved, then find the interval."""
        self.again.set_visibility(False)
        try:
            if how == "unsolved":
                await self._solve(self.desk.guitar)
                return
            self._stop_solving()
            if how == "turned":
                await self._turn(self.desk.guitar)
            await self._find_interval()
        except PolepieceError as error:
            self.fault.show(error)

    def _put(self, state: State, guitar: Guitar, *, stale: bool) -> None:
        self.now = state
        self._draw_curves(stale=stale)
        self.readout.show(state, self.stock, gaps_of(guitar.pickup(self.desk.pickup), len(guitar.strings)), stale=stale)
        self.drawing.show(guitar, self.desk.pickup, state)

    async def _turn(self, guitar: Guitar) -> None:
        """Find the exact curve of turned screws beside the live process; the near one stays, greyed, until then."""
        desk = self.desk
        asked = shared.room().margins.ask(desk.lane("turned"), "turned", guitar, desk.pickup)
        try:
            answer = await self.working.follow(Waiting(asked, TURNING))
        except Stopped:
            self._offer_again(guitar, "turned")
            return
        if answer is not None and guitar == self._looked_at:
            self._put(answer.state, guitar, stale=False)

    async def _solve(self, guitar: Guitar) -> None:
        """Solve a new geometry in a job; the old curve stays, greyed, until the exact one is there."""
        room, desk = shared.room(), self.desk
        self.curves.grey()
        self._stop_solving()
        try:
            job = room.solves.run("solve", guitar, desk.pickup, on_progress=self.working.show_progress)
            await self.working.follow(job)
        except Stopped:
            self._offer_again(guitar, "unsolved")
            return
        if guitar != desk.guitar:
            return
        answer = await room.live.ask(desk.lane("now"), "state", guitar, desk.pickup, True)
        if answer is not None:
            self._put(answer.state, guitar, stale=False)
            await self._find_interval()

    def _offer_again(self, guitar: Guitar, how: How) -> None:
        """Offer what was stopped once more, if it is still wanted."""
        self._stopped = how
        self.again.set_visibility(guitar == self.desk.guitar and self.working.job is None)

    def _stop_solving(self) -> None:
        """Drop the solution of a geometry, or of turned screws, that nobody wants any more."""
        if self.working.job is not None:
            self.working.job.stop()

    async def _solve_again(self) -> None:
        await self._finish(self._stopped)

    async def _find_stock(self) -> None:
        desk = self.desk
        if desk.stock_guitar == desk.guitar and self.now is not None:
            self.stock = self.now
        else:
            self.stock = await self._exact(desk.stock_guitar)
        if self.now is not None:
            self._put(self.now, desk.guitar, stale=bool(self.curves.chart.props["stale"]))
        await self._find_interval()

    async def _exact(self, guitar: Guitar) -> "State | None":
        room, lane = shared.room(), self.desk.lane("stock")
        if self.desk.pickup not in [one.name for one in guitar.pickups]:
            return None
        try:
            answer = await room.live.ask(lane, "state", guitar, self.desk.pickup)
            if answer is not None and answer.turned:
                answer = await room.margins.ask(lane, "turned", guitar, self.desk.pickup)
            elif answer is not None and not answer.exact:
                await room.solves.run("solve", guitar, self.desk.pickup)
                answer = await room.live.ask(lane, "state", guitar, self.desk.pickup, True)
        except PolepieceError as error:
            self.fault.show(error)
            return None
        return None if answer is None else answer.state

    async def _find_interval(self) -> None:
        desk = self.desk
        if self.stock is None or desk.guitar == desk.stock_guitar:
            return
        there = desk.guitar
        try:
            found = await shared.room().margins.ask(
                desk.lane("interval"), "interval", desk.stock_guitar, there, desk.pickup
            )
        except PolepieceError as error:
            self.fault.show(error)
            return
        if found is not None and there == desk.guitar:
            self.readout.show_interval(found)

    # --- what a person does ------------------------------------------------------------------------
    async def _handle(self, what: str, value: float, let_go: bool) -> None:
        """Follow a handle; record when it is let go."""
        pickup = self.desk.chosen
        if what in ("bass", "treble"):
            moves = height_moves(what, getattr(pickup, f"gap_{what}"), 1e-3 * value)
        else:
            screw = int(what.removeprefix("screw"))
            moves = screw_moves(screw, pickup.poles.screw_raise[screw - 1], 1e-3 * value)
        self.fault.clear()
        try:
            if let_go:
                await self._move(moves)
            else:
                tried = self.desk.try_out(moves)
                if await self._look(tried) == "turned":
                    await self._turn(tried)
        except PolepieceError as error:
            self.fault.show(plainly(str(error)))
            if let_go:
                self._show_record()

    async def _move(self, moves: Sequence[str]) -> None:
        """Record moves as a new state, then show it.

        Raises
        ------
        PolepieceError
            When they cannot be made.
        """
        self.fault.clear()
        if not moves:
            await self._after()
            return
        try:
            async with self.desk.turn:
                mine, why = self.desk.try_out(moves), f"{self.desk.pickup}: {', '.join(moves)}"
                looking = background_tasks.create(self._look(mine))  # answered while the record is written
                if mine != self.desk.guitar:
                    await self.desk.record_in_turn(mine, why, self.desk.state.id)
        except ChangedMeanwhileError:
            self._mine, self._mine_why = mine, why
            self.clash.set_visibility(True)
            await looking
            return
        how = await looking
        self._show_record()
        background_tasks.create(self._finish(how))

    async def _after(self) -> None:
        self._show_record()
        background_tasks.create(self._finish(await self._look(self.desk.guitar)))

    async def _regap(self) -> None:
        """Raise or lower the whole pickup until it is as loud as what is compared with: how a swap is judged."""
        desk = self.desk
        self.regap_fault.clear()
        try:
            lowered = await shared.room().live.ask(
                desk.lane("regap"), "regap", desk.stock_guitar, desk.guitar, desk.pickup
            )
            if lowered is None:
                return
            if abs(lowered) < SMALLEST_MOVE:
                self.regap_fault.show("It is as loud already, or no safe gap brings it nearer.")
                return
            await self._move([f"{'lower' if lowered > 0 else 'raise'}={1e3 * abs(lowered):.2f}mm"])
        except PolepieceError as error:
            self.regap_fault.show(error)

    async def _undo(self) -> None:
        await self._step(self.desk.undo)

    async def _redo(self) -> None:
        await self._step(self.desk.redo)

    async def _return_to(self, state_id: int) -> None:
        await self._step(lambda: self.desk.return_to(state_id))

    async def _step(self, step: Callable[[], Awaitable[None]]) -> None:
        self.fault.clear()
        try:
            await step()
        except ChangedMeanwhileError:
            self._mine = None
            self.clash.set_visibility(True)
            return
        except PolepieceError as error:
            self.fault.show(words_of(error))
            return
        await self._after()

    async def _reload(self) -> None:
        self.clash.set_visibility(False)
        self.desk.reload()
        await self._after()

    async def _keep_mine(self) -> None:
        self.clash.set_visibility(False)
        if self._mine is None:
            await self._reload()
            return
        await self.desk.record(self._mine, f"{self._mine_why} (kept over a change of another tab)", onto_anything=True)
        self._mine = None
        await self._after()

    async def _compare(self, value: str) -> None:
        self.desk.compare_with(int(value))
        ui.navigate.history.replace(self.desk.address(PAGE.path))
        await self._find_stock()


def _called(state: StateEntry) -> str:
    """Return a state's name in a list to choose from."""
    return "first record" if state.act == "entry" else plainly(state.why)[:40]


def _key() -> None:
    """What the colours of the drawing mean."""
    with ui.element("ul").classes("key").props('aria-label="Colours of the drawing"'):
        for colour, words in COLOURS:
            with ui.element("li"):
                ui.element("i").style(f"background: var(--{colour})").props("aria-hidden=true")
                text("span", words)
