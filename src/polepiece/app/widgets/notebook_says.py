"""What the notebook has to say: a clock that went back, a backup that failed, a guitar that went on twice."""

from collections.abc import Callable
from functools import partial

from nicegui import ui

from polepiece.app.server import shared
from polepiece.app.widgets.controls import Fault, press, text
from polepiece.app.widgets.plain_history import plain
from polepiece.errors import PolepieceError
from polepiece.notebook import StateEntry

WENT_ON_TWICE = (
    "{name} went on in two notebooks, and both were brought together. Nothing is lost; choose which one it goes on "
    "from. The other stays on record and can be chosen later."
)


class Notices:
    """Paragraphs at the top of a page, each until somebody has seen it."""

    def __init__(self) -> None:
        self._said: tuple[str, ...] = ()
        self.box = ui.element("div").mark("notices")
        self.show()

    def show(self) -> None:
        """Look again what there is to say."""
        room = shared.room()
        said = tuple(one for one in room.notebook.notices() if one not in room.seen)
        if said == self._said:
            return
        self._said = said
        self.box.clear()
        with self.box:
            for one in said:
                with ui.element("div").classes("notice row").props("role=status"):
                    text("span", one[:1].upper() + one[1:])
                    press("seen", partial(self._seen, one), cls="quiet", mark="notice-seen")

    def _seen(self, words: str) -> None:
        shared.room().seen.add(words)
        self.show()


class Branches:
    """The continuations of one guitar, and the choice of the one it goes on from; nothing where there is one.

    Parameters
    ----------
    guitar_id : int
    on_chosen : callable
        Called when one was chosen.
    """

    def __init__(self, guitar_id: int, on_chosen: Callable[[], object]) -> None:
        book = shared.room().notebook
        self._guitar_id, self._on_chosen = guitar_id, on_chosen
        ends = book.branches(guitar_id)
        if len(ends) < 2:
            return
        is_open, name = book.branch_is_open(guitar_id), book.guitar_entry(guitar_id).name
        with ui.element("details").classes("warn" if is_open else "asked").mark("branches") as box:
            box.props["open"] = is_open
            text("summary", f"{len(ends)} continuations of this guitar are on record")
            text("p", WENT_ON_TWICE.format(name=name))
            with ui.element("ul").classes("picked"):
                for place, one in enumerate(ends):
                    self._line(one, present=place == 0, is_open=is_open)
            self.fault = Fault()

    def _line(self, one: StateEntry, *, present: bool, is_open: bool) -> None:
        words = f"{plain(one.why)}, {one.at:%Y-%m-%d %H:%M} UTC"
        with ui.element("li"):
            text("span", f"{words} (shown here)" if present else words)
            if not present or is_open:
                said = "stay with this one" if present else "go on from this one"
                button = press(said, partial(self._choose, one), cls="quiet", mark=f"branch-{one.id}")
                button.props["aria-label"] = f"{said}: {words}"

    async def _choose(self, one: StateEntry) -> None:
        self.fault.clear()
        book = shared.room().notebook
        try:
            await shared.written(lambda: book.choose_branch(self._guitar_id, one.id, why="chosen of two continuations"))
        except PolepieceError as error:
            self.fault.show(error)
            return
        self._on_chosen()
