"""A state beside the first in numbers: loudness, sharpness, centre, attack, and what is just noticed of each."""

from collections.abc import Sequence

from nicegui import ui

from polepiece.app.hear.listening import Entry, Listening
from polepiece.app.hear.sounds import Wish
from polepiece.app.hear.trade import trade_table
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.server.jobs import Stopped
from polepiece.app.widgets.controls import Choice, Fault, Working, choice, press, table, text
from polepiece.auditioning import EXCERPT_S, LISTENING_DB_SPL, Described, TradeWord
from polepiece.errors import PolepieceError
from polepiece.shown_number import number, signed

DIGITS = {"sone": 2, "acum": 2, "phon": 1, "dB": 1, "%": 0, "Hz": 0}
ABOUT = (
    f"Of the loudest {EXCERPT_S:g} s, as the tone is set above. The first state is taken to be heard at "
    f"{LISTENING_DB_SPL:g} dB SPL: sones and acums depend on it. None of them says which one is better."
)


class NumbersCard:
    """Numbers of one state beside those of the first."""

    def __init__(self, listening: Listening) -> None:
        self.listening, self.client = listening, ui.context.client
        self.chosen = ""
        self._sounds: list[str] = []  # that are offered

    def build(self) -> None:
        """Put it on the page."""
        text("h2", "In numbers")
        text("p", ABOUT, "small soft")
        with ui.element("div").classes("row"):
            self.which: Choice = choice("beside the first", {}, "", self._choose, mark="numbers-of")
            self.make = press("compute", self._compute, mark="numbers")
        self.working, self.fault = Working(), Fault()
        self.shown = ui.element("div").mark("numbers-shown")
        self.refresh()

    def refresh(self) -> None:
        """Offer the states that are there; numbers of sounds that are gone are not shown any longer."""
        sounds = [one.wish.key for one in self.listening.entries if one.wish is not None]
        if sounds == self._sounds:
            return
        self._sounds = sounds
        others = {one.state: one.name for one in self.listening.entries[1:]}
        self.chosen = self.chosen if self.chosen in others else next(iter(others), "")
        self.which.offer(others, self.chosen)
        self.make.allow(bool(others))
        self.shown.clear()

    def _choose(self, state: str) -> None:
        self.chosen = state
        self.shown.clear()

    async def _compute(self) -> None:
        self.fault.clear()
        first, other = next(iter(self.listening.entries), None), self._entry()
        if first is None or first.wish is None or other is None or other.wish is None:
            return
        asked = first.wish.key, other.wish.key
        try:
            job = shared.room().jobs.run("describe", first.wish, other.wish, on_progress=self.working.show_progress)
            rows: Sequence[Described] = await self.working.follow(job)
            found, why_not = await self._trade_words(first.wish, other.wish)
        except PolepieceError as error:
            if alive(self.client):
                self.fault.show(error)
            return
        now = self._entry()
        if not alive(self.client) or now is None or now.wish is None or self.listening.entries[0].wish is None or (
            asked != (self.listening.entries[0].wish.key, now.wish.key)
        ):  # fmt: skip
            return
        self.shown.clear()
        with self.shown:
            heads = ("", first.name, other.name, "difference", "just noticed from")
            table("Both sounds in numbers", heads, [_row(one) for one in rows])
            if found:
                trade_table(found)
            elif why_not:
                text("p", f"Through the drives nothing is computed: {why_not}", "small")
            for note in dict.fromkeys(one.note for one in rows if one.note):
                text("p", note, "small")

    async def _trade_words(self, first: Wish, other: Wish) -> tuple[Sequence[TradeWord], str]:
        """Return the words of the trade for both, or nothing and why not."""
        try:
            job = shared.room().jobs.run("trade words", first, other, on_progress=self.working.show_progress)
            return await self.working.follow(job), ""
        except Stopped:
            raise
        except PolepieceError as error:
            return (), str(error)

    def _entry(self) -> Entry | None:
        return next((one for one in self.listening.entries[1:] if one.state == self.chosen), None)


def _row(one: Described) -> tuple[str, ...]:
    return (
        one.name, _shown(one.before, one.unit), _shown(one.after, one.unit),
        "–" if one.difference is None
        else f"{signed(one.difference, DIGITS[one.difference_unit])} {one.difference_unit}",
        _shown(one.threshold, one.difference_unit),
    )  # fmt: skip


def _shown(value: float | None, unit: str) -> str:
    return "–" if value is None else f"{number(value, DIGITS[unit])} {unit}"
