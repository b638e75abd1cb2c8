"""Which states are played in a trial: chosen from what is offered, or typed as moves."""

from functools import partial

from nicegui import ui

from polepiece.app.hear.offered import default_states, offered
from polepiece.app.hear.states import NOW, guitar_in, words_of
from polepiece.app.server.desk import Desk
from polepiece.app.widgets.controls import Fault, OnText, amount, choice, press, text
from polepiece.app.widgets.player import MOST_STATES
from polepiece.errors import InputError, PolepieceError

LEAST_RANKED = 3


class PairForm:
    """Before and after."""

    def __init__(self, desk: Desk, states: list[str]) -> None:
        self.desk = desk
        self.states = (states if len(states) > 1 else default_states(desk))[:2]

    def build(self) -> None:
        """Put its fields."""
        options = offered(self.desk)
        options |= {one: words_of(self.desk, one) for one in self.states if one not in options}
        with ui.element("div").classes("row"):
            choice("before", options, self.states[0], partial(self._set, 0), mark="state-before")
            self.after = choice("after", options, self.states[1], partial(self._set, 1), mark="state-after")
            amount("or moves, such as tone=8", "", self._typed, mark="state-moves").classes("wide")
        self.fault = Fault()

    def _set(self, place: int, state: str) -> None:
        self.states[place] = state

    def _typed(self, words: str) -> None:
        self.fault.clear()
        try:
            state = typed_state(self.desk, words)
        except PolepieceError as error:
            self.fault.show(error)
            return
        if state:
            self.states[1] = state
            self.after.offer(offered(self.desk) | {state: words_of(self.desk, state)}, state)


class ListForm:
    """Three to nine states."""

    def __init__(self, desk: Desk, states: list[str], on_change: OnText) -> None:
        self.desk, self._on_change = desk, on_change
        self.states = list(dict.fromkeys(states or default_states(desk)))[:MOST_STATES]
        if not states:  # three at least: what is offered next fills it up
            more = [one for one in offered(desk) if one not in self.states and one.startswith("grade:")]
            self.states += more[: max(0, LEAST_RANKED - len(self.states))]

    def build(self) -> None:
        """Put the list and what can be added."""
        self.list = ui.element("ol").classes("picked")
        with ui.element("div").classes("row"):
            self.adder = choice("add a state", {"": "choose …"} | offered(self.desk), "", self._add, mark="add-state")
            self.typed = amount("or moves, such as lower=0.5mm; tone=8", "", self._typed, mark="add-moves")
            self.typed.classes("wide")
        self.fault = Fault()
        self._show()

    @property
    def names(self) -> list[str]:
        """Words of the states."""
        return [words_of(self.desk, one) for one in self.states]

    def _show(self) -> None:
        self.list.clear()
        with self.list:
            for one, name in zip(self.states, self.names):
                with ui.element("li"):
                    text("span", name)
                    button = press("remove", partial(self._remove, one), cls="quiet")
                    button.props["aria-label"] = f"remove {name}"
        self._on_change("")

    def _add(self, state: str) -> None:
        self.adder.offer({"": "choose …"} | offered(self.desk), "")
        self.fault.clear()
        try:
            if state in self.states:
                raise InputError(f"{words_of(self.desk, state)} is in the list already.")
            if len(self.states) >= MOST_STATES:
                raise InputError(f"{MOST_STATES} states are the most; remove one first.")
        except PolepieceError as error:
            self.fault.show(error)
            return
        if state:
            self.states.append(state)
            self._show()

    def _typed(self, words: str) -> None:
        self.fault.clear()
        try:
            state = typed_state(self.desk, words)
        except PolepieceError as error:
            self.fault.show(error)
            return
        if state:
            self._add(state)
            self.typed.show("")

    def _remove(self, state: str) -> None:
        self.states = [one for one in self.states if one != state] or [NOW]
        self._show()


def typed_state(desk: Desk, words: str) -> str:
    """Return typed moves as a state, or nothing.

    Raises
    ------
    InputError
        When a move cannot be read or made.
    """
    state = ";".join(one.strip() for one in words.replace(",", ";").split(";") if one.strip())
    if state:
        guitar_in(desk, state)
    return state
