"""The curve beside the rows of a plan: what is ticked, over the guitar as it is, and the next thing to do."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from nicegui import ui

from polepiece.app.hear.states import NOW, guitar_in, state_since
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.server.worker import Answer
from polepiece.app.widgets.controls import Fault, Working, choice, link
from polepiece.app.widgets.curves import Curve, Curves, lowest_drawn
from polepiece.bench import State
from polepiece.errors import PolepieceError
from polepiece.planning import Row, answer_row

DRAWN = {"difference": "difference to the guitar as it is", "response": "response"}
LONGEST_NAME = 44  # characters of a row in the legend


class Compare:
    """Curves of some rows; states whose geometry is new are solved first, and the rest is drawn meanwhile.

    Parameters
    ----------
    desk : Desk
    hear : callable
        Given ranks; returns the address where those rows are heard.
    """

    def __init__(self, desk: Desk, hear: Callable[[Sequence[int]], str]) -> None:
        self.desk, self._hear = desk, hear
        self.rows: list[Row] = []
        self.states: dict[str, State] = {}
        self.drawn = "difference"
        self.since = NOW  # the state that the rows were planned for: that of the guitar, unless it has changed since
        self._drawing = False

    def build(self) -> None:
        """Put it on the page."""
        self.curves = Curves(
            "Response of the ticked rows",
            unit="dB",
            span=6.0,
            file="plan-response.csv",
            low=lowest_drawn(self.desk.guitar),
        )
        choice("drawn", DRAWN, self.drawn, self._choose_drawn, mark="drawn").classes("inline")
        self.solving, self.fault = Working(), Fault()
        self.to_hear = ui.element("p").mark("to-hear")

    def forget(self) -> None:
        """Drop what was drawn of another plan."""
        self.states.clear()

    async def draw(self, rows: Sequence[Row]) -> None:
        """Draw these rows, as far as they change anything."""
        self.rows = [row for row in rows if row.change]
        self.to_hear.clear()
        if self.rows:
            with self.to_hear:
                words = "hear the ticked rows against the guitar as it is"
                link(self._hear([row.rank for row in self.rows]), words)
        if self._drawing:
            return
        self._drawing = True
        self.fault.clear()
        try:
            while missing := [one for one in self._wanted() if one not in self.states]:
                await self._find(missing[0])
                self._put()
        except PolepieceError as error:
            self.fault.show(error)
        finally:
            self._drawing = False
        self._put()

    def leave(self) -> None:
        """Stop solving: whoever goes on to Hear is not to wait for a curve of this page."""
        if self.solving.job is not None:
            self.solving.job.stop()

    def _wanted(self) -> list[str]:
        pickup = self.rows[0].pickup if self.rows else self.desk.pickup
        return [f"{pickup}|{self.since}", *(self._key(row) for row in self.rows)]

    def _key(self, row: Row) -> str:
        return f"{row.pickup}|{state_since(self.since, row)}"

    async def _find(self, wanted: str) -> None:
        pickup, _, state = wanted.partition("|")
        desk = replace(self.desk, pickup=pickup)
        guitar, room = guitar_in(desk, state), shared.room()
        heard = desk.heard_of(guitar)
        answer: Answer | None = await room.live.ask(
            self.desk.lane(f"plan {wanted}"), "state", guitar, pickup, False, heard
        )
        if answer is not None and answer.state is not None:
            self.states[wanted] = answer.state
            return
        job = room.jobs.run("solve", guitar, pickup, heard, on_progress=self.solving.show_progress)
        self.states[wanted] = await self.solving.follow(job)

    def _choose_drawn(self, drawn: str) -> None:
        self.drawn = drawn
        self._put()

    def _put(self) -> None:
        base = self.states.get(self._wanted()[0])
        named = [(self._wanted()[0], "as it is", "now")]
        named += [(self._key(row), _name(row), str(k + 1)) for k, row in enumerate(self.rows)]
        lines = []
        for wanted, name, look in named:
            found = self.states.get(wanted)
            if found is not None:
                level = found.response_db
                if self.drawn == "difference" and base is not None:
                    level = level - base.response_db
                lines.append(Curve(name=name, look=look, frequency=found.frequency_hz, level_db=level))
        self.curves.show(lines, apart=self.drawn == "difference")


def _name(row: Row) -> str:
    words = f"{row.rank}: {answer_row(row).do}"
    return words if len(words) <= LONGEST_NAME else f"{words[: LONGEST_NAME - 2]} …"
