"""Guitar: the pickup to scale with a field at each handle, its curve, three numbers; everything else folded."""

import asyncio
from collections.abc import Awaitable, Callable, Sequence

from nicegui import background_tasks, ui

from polepiece.app.guitar import photos_box
from polepiece.app.guitar.boxes import AssumedBox, FileBox, HistoryBox
from polepiece.app.guitar.computing import Computing, Interval
from polepiece.app.guitar.levers import Levers, height_moves, screw_moves
from polepiece.app.guitar.measure_first import MeasureFirstBox
from polepiece.app.guitar.photos_box import PhotosBox
from polepiece.app.guitar.stage import Stage, colours
from polepiece.app.pages.new_guitar import PAGE as NEW_GUITAR
from polepiece.app.server.desk import Desk
from polepiece.app.widgets import theme
from polepiece.app.widgets.big_numbers import BigNumbers
from polepiece.app.widgets.controls import Choice, Fault, Working, choice, link, press, text, words_of
from polepiece.app.widgets.curves import Curve, Curves, lowest_drawn
from polepiece.app.widgets.notebook_says import Branches, Notices
from polepiece.app.widgets.place import Place
from polepiece.app.widgets.plain_history import plain
from polepiece.app.widgets.readout import Readout, gaps_of
from polepiece.bench import State
from polepiece.errors import ChangedMeanwhileError, PolepieceError
from polepiece.guitar import Guitar
from polepiece.moves import plainly
from polepiece.notebook import StateEntry
from polepiece.report import pickup_drawing

PAGE = Place(
    path="/guitar", title="Guitar", in_job=True, about="the pickup, its heights, magnet and controls, and what they do"
)
DRAWN = {"response": "response", "difference": "difference"}
SEEN_FIRST = 0.1  # s: what is answered at once is drawn before it is written down, and nothing is held up longer
SMALLEST_MOVE = 5e-6  # m, what a move is written to


def build() -> None:
    """Register the page, and the address of photos."""
    photos_box.build()

    @theme.page(PAGE)
    async def guitar(guitar: str = "", pickup: str = "", against: str = "", position: str = "") -> None:
        desk = Desk.at(guitar, pickup, against, position)
        ui.add_head_html(theme.STYLE)
        with theme.frame(PAGE, desk, heading=desk.guitar.name):
            view = GuitarView(desk)
            view.build()
        ui.timer(0.0, view.computing.begin, once=True)
        ui.context.client.on_delete(view.computing.close)


class GuitarView:
    """One tab on one pickup."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._mine: Guitar | None = None  # what could not be recorded because another tab has
        self._mine_why = ""
        self._views = ""  # that are shown now
        self.drawn = "response"

    # --- what is on it -----------------------------------------------------------------------------
    def build(self) -> None:
        """Put everything on the page; numbers come later."""
        desk = self.desk
        self.notices = Notices()
        Branches(desk.entry.id, ui.navigate.reload)
        self._clash()
        self.working, self.fault = Working(floats=True), Fault()
        self.computing = Computing(desk, self, self.working, self.fault)
        self.levers = Levers(desk.guitar, desk.pickup, self._move)
        with ui.element("div").classes("two instrument woven"):
            with ui.element("section").classes("card").props('aria-label="Drawing"'):
                self._whose()
                self.stage = Stage(self.levers, self._handle)
                self.stage.build()
                with ui.element("div").classes("row beside-stage"):
                    self.levers.grade()
                    self.undo = press("undo", self._undo, mark="undo")
                    self.redo = press("redo", self._redo, mark="redo")
            with ui.element("section").classes("card").props('aria-label="Curve"'):
                self.curves = Curves("Response: string velocity to the amplifier", low=lowest_drawn(desk.guitar))
                with ui.element("div").classes("row under-curve"):
                    choice("drawn", DRAWN, self.drawn, self._choose_drawn, mark="drawn")
                    self.against: Choice = choice("compared with", {}, "", self._compare, mark="compare")
                    self.again = press("compute the exact curve", self.computing.again, mark="solve-again")
                self.again.set_visibility(False)
        self.numbers = BigNumbers()
        self._folded()
        self._show_record()

    def _whose(self) -> None:
        with ui.element("p").classes("whose-pickup small soft"):
            text("span", f"{self.desk.pickup} pickup, {self.desk.chosen.built.words.replace('-', ' ')}")
            if self.desk.guitar.invented:
                text("span", "invented: no real instrument", "badge")
            edit = link(f"{NEW_GUITAR.path}?guitar={self.desk.entry.id}", "edit").mark("edit-guitar")
            edit.props["aria-label"] = "edit what this guitar is"
            link(self.desk.address("/winding"), "winding").mark("to-winding")

    def _folded(self) -> None:
        """Everything that is not needed at every look, under its own line."""
        desk = self.desk
        with ui.element("div").classes("folds"):
            with _fold("Magnet: surface, charge, way round"):
                self.levers.magnet()
                with ui.element("div").classes("row"):
                    press("re-set the height to the level compared with", self._regap, mark="regap", once=True)
                self.regap_fault = Fault()
            with _fold("Controls, cable, coils, cover, strings"):
                self.levers.controls()
            with _fold("Heights" + (" and screws" if self.levers.screws else "") + " by steps"):
                self.levers.steps()
            with _fold("All numbers, string by string"):
                self.readout = Readout(len(desk.guitar.strings))
            with _fold("Section across the poles, and from above"):
                self.views = ui.html("", sanitize=False).classes("views")
                self.views_words = text("p", "", "soft small")
                colours()
            with _fold("What to measure first"):
                self.first = MeasureFirstBox(desk, self.working)
            with _fold("What is assumed"):
                self.assumed = AssumedBox()
            with _fold("History"):
                self.history = HistoryBox(self._return_to)
            with _fold("Photos"):
                PhotosBox(desk.entry.id)
            with _fold("Guitar file"):
                self.file = FileBox(desk, lambda: ui.navigate.to(desk.address(PAGE.path)))

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

    # --- showing -----------------------------------------------------------------------------------
    def _show_record(self) -> None:
        """Show everything that follows from the record at once, without computing."""
        desk = self.desk
        self.stage.show(desk.guitar, desk.pickup, self.computing.now)
        self.levers.show(desk.guitar)
        side, top, words = pickup_drawing(desk.guitar, desk.pickup)
        if side + top != self._views:
            self._views = side + top
            self.views.set_content(self._views)
        self.views_words.say(words)
        back, forward = desk.can_step()
        self.undo.allow(back)
        self.redo.allow(forward)
        states = desk.history
        options = {str(one.id): f"{_called(one)}, {one.at:%d %b %H:%M}" for one in states}
        self.against.offer(options, str(desk.stock.id))
        self.history.show(states, desk.state.id)
        self.notices.show()
        self.assumed.show(desk.assumed, desk.guitar)
        background_tasks.create(self.first.look())

    def put(self, state: State, guitar: Guitar, *, exact: bool) -> None:
        """Show the numbers of a state of a guitar; of one that is only near it greyed."""
        stock = self.computing.stock
        self.numbers.show(state, stock, exact=exact)
        gaps = gaps_of(guitar.pickup(self.desk.pickup), len(guitar.strings))
        self.readout.show(state, stock, gaps, stale=not exact)
        self.stage.show(guitar, self.desk.pickup, state)

    def grey(self) -> None:
        """Grey what is shown: it is not of what is there now."""
        self.curves.grey()

    def show_interval(self, found: Interval, *, of_difference: bool) -> None:
        """Show 90 % intervals."""
        self.numbers.show_interval(found, of_difference=of_difference)
        if of_difference:
            self.readout.show_interval(found)

    def offer_again(self, offered: bool) -> None:
        """Offer to compute what was stopped."""
        self.again.set_visibility(offered)

    def turns_at_once(self) -> None:
        """Mark the screws: a turned one is answered at once from now on."""
        self.stage.box.classes(add="at-once")

    def draw(self, *, exact: bool) -> None:
        """Draw the curve now over what it is compared with; one that is only near it dashed."""
        now, stock = self.computing.now, self.computing.stock
        apart = self.drawn == "difference" and stock is not None
        base = stock.response_db if apart and stock is not None else 0.0
        lines = []
        if stock is not None:
            name = "compared with" if self.desk.stock.act != "entry" else "as first recorded"
            level = stock.response_db - base
            lines.append(Curve(name=name, look="stock", frequency=stock.frequency_hz, level_db=level))
        if now is not None:
            lines.append(Curve(name="now", look="now", frequency=now.frequency_hz, level_db=now.response_db - base))
        self.curves.show(lines, stale=not exact, near=not exact, span=6.0 if apart else 20.0, apart=apart)

    def _choose_drawn(self, drawn: str) -> None:
        self.drawn = drawn
        self.draw(exact=self.computing.exact)

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
                if await self.computing.look(tried) == "turned":
                    await self.computing.turn(tried)
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
                looking = background_tasks.create(self.computing.look(mine))
                await asyncio.wait([looking], timeout=SEEN_FIRST)  # writing keeps this process as busy as drawing
                if mine != self.desk.guitar:
                    await self.desk.record_in_turn(mine, why, self.desk.state.id)
        except ChangedMeanwhileError:
            self._mine, self._mine_why = mine, why
            self.clash.set_visibility(True)
            await looking
            return
        how = await looking
        self._show_record()
        self.computing.follow(how)

    async def _after(self) -> None:
        self._show_record()
        self.computing.follow(await self.computing.look(self.desk.guitar))

    async def _regap(self) -> None:
        """Raise or lower the whole pickup until it is as loud as what is compared with: how a swap is judged."""
        self.regap_fault.clear()
        try:
            lowered = await self.computing.lowering()
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
        await self.computing.find_stock()


def _called(state: StateEntry) -> str:
    """Return a state's name in a list to choose from."""
    return "first record" if state.act == "entry" else plain(state.why)[:40]


def _fold(words: str) -> ui.element:
    """Return a box that opens under its line."""
    with ui.element("details").classes("card fold") as made:
        text("summary", words)
    return made
