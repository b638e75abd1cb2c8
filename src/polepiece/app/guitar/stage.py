"""The drawing with a field at each of its handles: gaps at both ends, turns under every screw."""

from collections.abc import Callable
from functools import partial
from typing import Any

from nicegui import ui

from polepiece.app.guitar.drawing import Drawing, OnMove, scene, share_of_width
from polepiece.app.guitar.levers import Levers
from polepiece.app.widgets.controls import Amount, Fault, text
from polepiece.bench import State
from polepiece.guitar import Guitar

GAPS = "Gaps in mm, string pressed at the last fret, its underside to the pole top."
TURNS = "Under each screw its turns up from the drawn height: 0.25, -1/8."
HOW = (
    "Drag the arrows beside the body, or on a screw; with the keyboard: arrow up and down. Over every string: the "
    "vertical field at its axis, computed."
)
COLOURS = (
    ("north", "magnet, north (N)"), ("south", "magnet, south (S)"), ("steel", "steel: screws, slugs, keeper"),
    ("coil", "coil"), ("plate", "plate or cover"), ("field", "field"),
)  # fmt: skip


class Stage:
    """Drawing and fields, aligned.

    Parameters
    ----------
    levers : Levers
        Whose rules read what is typed.
    on_move : callable
        Of the drawing's handles.
    """

    def __init__(self, levers: Levers, on_move: OnMove) -> None:
        self.levers, self._on_move = levers, on_move
        self._places: list[tuple[ui.element, Callable[[dict[str, Any]], float]]] = []

    def build(self) -> None:
        """Put both on the page."""
        with ui.element("div").classes("stage"):
            self.drawing = Drawing(self._on_move).mark("drawing")
            with ui.element("div").classes("at-handles").props('role=group aria-label="Heights"') as self.box:
                self.fault = Fault()
                self._field(self.levers.gap_field("bass", self.fault), partial(_handle, -1))
                for k in reversed(range(self.levers.screws)):  # from the left, as they are drawn
                    self._field(self.levers.screw_field(k + 1, self.fault), partial(_screw, k))
                self._field(self.levers.gap_field("treble", self.fault), partial(_handle, 1))
        self.seen = text("p", "", "soft small under-stage")

    def _field(self, box: Amount, place: Callable[[dict[str, Any]], float]) -> None:
        self._places.append((box, place))

    def show(self, guitar: Guitar, pickup: str, state: "State | None") -> None:
        """Draw a pickup; the fields stand under their handles."""
        seen = scene(guitar, pickup, state)
        self.drawing.show_scene(seen)
        where = f"Seen from the bridge; the {seen['far_side']}." if seen["far"] else "Seen from the bridge."
        self.seen.say(f"{where} {GAPS} {TURNS}" if self.levers.screws else f"{where} {GAPS}")
        for box, place in self._places:
            left = f"{100 * share_of_width(seen, place(seen)):.2f}%"
            if box.style.get("--at") != left:
                box.style(f"--at: {left}")


def _handle(side: int, seen: dict[str, Any]) -> float:
    return side * (float(seen["half"]) + 2.6)


def _screw(k: int, seen: dict[str, Any]) -> float:
    return float(seen["screws"][k]["u"])


def colours() -> None:
    """What the colours of the drawing mean, and how it is worked: folded."""
    with ui.element("details"):
        text("summary", "Colours, and how to move what is drawn")
        text("p", HOW, "soft small")
        with ui.element("ul").classes("key").props('aria-label="Colours of the drawing"'):
            for colour, words in COLOURS:
                with ui.element("li"):
                    ui.element("i").style(f"background: var(--{colour})").props("aria-hidden=true")
                    text("span", words)
