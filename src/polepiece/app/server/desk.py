"""What one tab looks at: a guitar on record, one of its pickups, and the state to compare with.

Everything a person does is a new state in the notebook; nothing is overwritten. A tab remembers which state it has
seen last, and recording onto another one is refused (`ChangedMeanwhileError`) until the person has chosen.
"""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from urllib.parse import urlencode

from polepiece.app.server import shared
from polepiece.errors import InputError, NotebookError
from polepiece.guitar import Assumption, Guitar, Pickup, positions_of
from polepiece.moves import apply, parse_changes
from polepiece.notebook import GuitarEntry, JobEntry, Notebook, StateEntry

LATELY = 20  # lines of the log among which one of a guitar is looked for first


@dataclass(slots=True, kw_only=True)
class Desk:
    """Mutable: one a tab."""

    entry: GuitarEntry
    state: StateEntry  # the state this tab has seen last
    guitar: Guitar
    pickup: str
    stock: StateEntry  # what is compared with
    stock_guitar: Guitar
    position: str = ""  # of the switches, in which it is heard; empty: where the pickup is usually heard
    notice: str = ""  # said once at the top, where an address did not fit
    turn: asyncio.Lock = field(default_factory=asyncio.Lock)  # held while this tab records: one act after the other

    # --- opening -----------------------------------------------------------------------------------
    @classmethod
    def at(cls, guitar: str = "", pickup: str = "", against: str = "", position: str = "") -> "Desk":
        """Return the desk for an address; a guitar that is not there, or not said, is the one worked on last."""
        book = shared.room().notebook
        entries = book.guitars()
        if not entries:
            raise NotebookError("there is no guitar in this notebook.")
        wanted = _number(guitar)
        last = worked_on_last(book)
        entry = next((one for one in entries if one.id == wanted), last or entries[0])
        notice = f"There is no guitar {guitar} in this notebook; this is the one worked on last." if guitar and (
            entry.id != wanted
        ) else ""  # fmt: skip
        states = book.states(entry.id)
        first = states[0]
        stock = next((one for one in states if one.id == _number(against)), first)
        there = book.state_guitar(states[-1].id)
        names = [one.name for one in there.pickups]
        if pickup and pickup not in names:
            notice = notice or f"This guitar has no pickup called {pickup}; this is its {names[0]} pickup."
        shown = pickup if pickup in names else _chosen(there, book.jobs(entry.id))
        if position and position not in positions_with(there, shown):
            notice = notice or f"The {shown} pickup is not on in a position called {position}; it is heard as usual."
            position = ""
        return cls(
            entry=entry, state=states[-1], guitar=there, pickup=shown, stock=stock,
            stock_guitar=book.state_guitar(stock.id), position=position, notice=notice,
        )  # fmt: skip

    def reload(self) -> None:
        """See the guitar as it is on record now."""
        book = shared.room().notebook
        state = book.state(book.guitar_entry(self.entry.id).state_id)
        self._take(state, book.state_guitar(state.id))

    def news(self) -> StateEntry | None:
        """Return the present state when it is not the one this tab has seen: somebody else has recorded."""
        if self.turn.locked():
            return None
        book = shared.room().notebook
        last = book.guitar_entry(self.entry.id).state_id
        return None if last == self.state.id else book.state(last)

    def _take(self, state: StateEntry, guitar: Guitar) -> None:
        self.state, self.guitar = state, guitar
        names = [one.name for one in guitar.pickups]
        self.look_at(self.pickup if self.pickup in names else names[0])

    def look_at(self, pickup: str) -> None:
        """Look at another pickup of the guitar; in its usual position where it is not on in the one said."""
        self.pickup = pickup
        self.position = self.position if self.position in self.positions else ""

    # --- reading -----------------------------------------------------------------------------------
    @property
    def chosen(self) -> Pickup:
        """The pickup that is looked at."""
        return self.guitar.pickup(self.pickup)

    @property
    def place(self) -> int:
        """Its place in the guitar."""
        return self.guitar.pickups.index(self.chosen)

    @property
    def positions(self) -> list[str]:
        """The positions of the switches in which the pickup is on; none where there is nothing to choose."""
        return positions_with(self.guitar, self.pickup)

    @property
    def heard_in(self) -> str | None:
        """The position as the library takes it: None where the pickup is heard as usual."""
        return self.position or None

    def heard_of(self, guitar: Guitar) -> str | None:
        """The same for another state of the guitar; None where that one has no such position."""
        return self.position if self.position in positions_with(guitar, self.pickup) else None

    @property
    def history(self) -> list[StateEntry]:
        """All states of the guitar, the first one first."""
        return shared.room().notebook.states(self.entry.id)

    @property
    def assumed(self) -> list[Assumption]:
        """What was assumed of the guitar and of this pickup."""
        mine, anyones = f"pickups[{self.place}]", "pickups["
        return [one for one in self.guitar.assumed if one.path.startswith(mine) or not one.path.startswith(anyones)]

    def lane(self, what: str) -> str:
        """Name a lane of questions of this tab."""
        return f"{id(self)} {what}"

    def address(self, path: str, **other: str) -> str:
        """Return the address of a page that looks at the same things."""
        query = {"guitar": str(self.entry.id), "pickup": self.pickup}
        if self.stock.act != "entry":
            query["against"] = str(self.stock.id)
        query |= {"position": self.position} if self.position else {}
        query |= other
        if query.get("position", "") not in positions_with(self.guitar, query["pickup"]):
            query.pop("position", None)
        return f"{path}?{urlencode(query)}"

    def compare_with(self, state_id: int) -> None:
        """Compare with another state of the history."""
        book = shared.room().notebook
        self.stock, self.stock_guitar = book.state(state_id), book.state_guitar(state_id)

    # --- changing ----------------------------------------------------------------------------------
    def try_out(self, changes: Sequence[str]) -> Guitar:
        """Return the guitar after these moves, unrecorded.

        Raises
        ------
        InputError
            By the rules of the command line.
        """
        return apply(self.guitar, self.pickup, parse_changes(changes))

    async def record(self, guitar: Guitar, why: str, *, onto_anything: bool = False) -> None:
        """Record a guitar as the new state; ``onto_anything`` also onto a state this tab has not seen.

        Raises
        ------
        ChangedMeanwhileError
            When another tab has recorded since; nothing is recorded.
        """
        expect = None if onto_anything else self.state.id  # now: what was made of it must not go onto another one
        async with self.turn:
            await self.record_in_turn(guitar, why, expect)

    async def record_in_turn(self, guitar: Guitar, why: str, expect: int | None) -> None:
        """Record onto the state ``expect``, for who holds ``turn`` already."""
        book = shared.room().notebook
        await self._written(lambda: book.record(self.entry.id, guitar, why=why[:500], expect=expect))

    def can_step(self) -> tuple[bool, bool]:
        """Tell whether there is something to undo, and to redo."""
        return shared.room().notebook.can_step(self.entry.id)

    async def undo(self) -> None:
        """Go back one step; a new state."""
        async with self.turn:
            book, expect = shared.room().notebook, self.state.id
            await self._written(lambda: book.undo(self.entry.id, expect=expect))

    async def redo(self) -> None:
        """Take an undo back; a new state."""
        async with self.turn:
            book, expect = shared.room().notebook, self.state.id
            await self._written(lambda: book.redo(self.entry.id, expect=expect))

    async def return_to(self, state_id: int) -> None:
        """Make the guitar what it was in an earlier state; a new state."""
        book = shared.room().notebook
        there = book.state(state_id)
        await self.record(book.state_guitar(state_id), f"as it was on {there.at:%Y-%m-%d %H:%M} UTC")

    async def _written(self, write: Callable[[], StateEntry]) -> None:
        book = shared.room().notebook

        def both() -> tuple[StateEntry, Guitar]:
            state = write()
            return state, book.state_guitar(state.id)

        self._take(*await shared.written(both))


def worked_on_last(book: Notebook) -> GuitarEntry | None:
    """Return the guitar of the last thing that happened to any; None where none is on record."""
    known = {one.id: one for one in book.guitars()}
    lines = (line for count in (LATELY, None) for line in reversed(book.log(last=count)))
    return next((known[one.guitar_id] for one in lines if one.guitar_id in known), None) if known else None


def positions_with(guitar: Guitar, pickup: str) -> list[str]:
    """Return the positions of the switches in which a pickup is on; none where there are fewer than two."""
    if pickup not in [one.name for one in guitar.pickups]:
        return []
    try:
        found = [one.name for one in positions_of(guitar) if pickup in one.on]
    except InputError:  # a template that needs other pickups: the guitar file says so
        return []
    return found if len(found) > 1 else []


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 16 else -1


def _chosen(guitar: Guitar, jobs: Sequence[JobEntry]) -> str:
    """Return the pickup a guitar is opened on: that of the last chosen change, the one complained of, or the first."""
    chosen = [one.change.partition(":")[0] for one in jobs if one.change]
    if chosen and chosen[-1] in [one.name for one in guitar.pickups]:
        return chosen[-1]
    told = [one.pickup for one in guitar.complaints if one.pickup is not None]
    return guitar.pickup(told[0]).name if told else guitar.pickups[0].name
