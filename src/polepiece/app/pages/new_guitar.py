"""New guitar: everything that is asked of a guitar on one form; the same form edits one that is on record."""

from nicegui import ui

from polepiece.app.entry import draft
from polepiece.app.entry.entry_form import EntryForm
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.widgets import theme
from polepiece.app.widgets.controls import Fault, press, text
from polepiece.app.widgets.place import Place
from polepiece.errors import PolepieceError
from polepiece.guitar import Entered, what_is, whose_is

PAGE = Place(
    path="/new", title="New guitar", about="enter a guitar, or edit what one is", linked=False, needs_guitar=False
)
ABOUT = (
    'Enter what you know. What is left open, or "don\'t know", is assumed with its range and listed; it can be '
    "measured and entered later. A bare number is in the unit beside its name; 5/64 in, 7.8k, .022 and the like are "
    "understood."
)
OPEN = "Not a guitar yet: choose how each pickup is built. All else may stay open."
WRONG = "Not a guitar yet: see what is said beside the fields."
BACK = "What was typed here before, and is not on record yet, is back."
EDITED = "edited: what this guitar is"


def build() -> None:
    """Register the page."""

    @theme.page(PAGE)
    async def new_guitar(guitar: str = "") -> None:
        desk = Desk.at(guitar) if guitar and shared.room().notebook.guitars() else None
        ui.add_head_html(theme.STYLE)
        heading = PAGE.title if desk is None else f"What it is: {desk.guitar.name}"
        with theme.frame(PAGE, desk, heading=heading, chooses_pickup=False):
            view = NewGuitarView(desk)
            view.build()
        if desk is None:
            ui.timer(0.0, view.go_on, once=True)


class NewGuitarView:
    """One tab on the form."""

    def __init__(self, desk: Desk | None) -> None:
        self.desk = desk
        self.found = Entered(guitar=None)
        self.looked = False  # for what this tab had typed before; until then nothing is kept over it

    def build(self) -> None:
        """Put everything on the page."""
        text("p", ABOUT)
        with ui.element("div").classes("notice row").props("role=status") as self.back:
            text("span", BACK)
            press("begin anew", self._anew, cls="quiet", mark="begin-anew")
        self.back.set_visibility(False)
        self.form = EntryForm(None if self.desk is None else self.desk.guitar, self._read)
        with ui.element("div").classes("two entry"):
            self.left = ui.element("div").classes("stack")
            with ui.element("section").classes("card stays").props('aria-label="What is entered"'):
                text("h2", "What is entered")
                self.words = text("p", "").props("role=status")
                words = "put it on record" if self.desk is None else "record what it is"
                press(words, self._done, cls="main", mark="enter-guitar", once=True)
                self.fault = Fault()
                with ui.element("details"):
                    self.count = text("summary", "what is assumed")
                    self.list = ui.element("div").classes("small")
        with self.left:
            self.form.build()

    async def go_on(self) -> None:
        """Put back what was typed in this tab before a reload; a form that was typed in meanwhile stays."""
        blank = self.form.typed.text
        begun = await draft.kept()
        if begun is not None and self.form.typed.text == blank and begun.text != blank:
            self._fill(begun)
            self.back.set_visibility(True)
        self.looked = True
        if self.form.typed.text != blank:
            draft.keep(self.form.typed)

    def _fill(self, begun: draft.Draft | None) -> None:
        self.left.clear()
        self.form = EntryForm(None, self._read, begun)
        with self.left:
            self.form.build()

    def _anew(self) -> None:
        self.back.set_visibility(False)
        self._fill(None)
        draft.forget()

    def _read(self, found: Entered) -> None:
        self.found = found
        if self.looked:
            draft.keep(self.form.typed)
        self.fault.clear()
        if found.guitar is None:
            said = any(not one.sentence.startswith("is missing") for one in found.faults)
            self.words.say(WRONG if said else OPEN)
            self.count.say("what is assumed: listed when it is one")
            self.list.clear()
            return
        pickups = ", ".join(f"{one.name} ({one.built.words.replace('-', ' ')})" for one in found.guitar.pickups)
        self.words.say(f"{found.guitar.name}: {pickups}.")
        self.count.say(f"what is assumed: {len(found.guitar.assumed)} values")
        self._list_assumed(found)

    def _list_assumed(self, found: Entered) -> None:
        assert found.guitar is not None
        names = [one.name for one in found.guitar.pickups]
        groups: dict[str, list[str]] = {}
        for one in found.guitar.assumed:
            spread = "" if one.low is None or one.high is None else f" ({one.low:g} to {one.high:g})"
            owner = "guitar" if one.path == "strings" else whose_is(one.path, names)
            groups.setdefault(owner, []).append(f"{what_is(one.path, found.guitar)}: {one.value}{spread}")
        self.list.clear()
        with self.list:
            for owner, lines in groups.items():
                text("h3", owner)
                text("p", "; ".join(lines))

    async def _done(self) -> None:
        """Put the guitar on record, or its new state."""
        self.form.told = True
        self.form.changed()
        guitar = self.found.guitar
        if guitar is None:
            self.fault.show("\n".join(["Not on record yet: see what is said at the fields.", *self.form.rest]))
            return
        try:
            if self.desk is None:
                entry = await shared.written(lambda: shared.room().notebook.add_guitar(guitar, why="entered"))
                draft.forget()
                ui.navigate.to(f"/guitar?guitar={entry.id}")
            else:
                if guitar != self.desk.guitar:
                    await self.desk.record(guitar, EDITED)
                ui.navigate.to(self.desk.address("/guitar"))
        except PolepieceError as error:
            self.fault.show(error)
