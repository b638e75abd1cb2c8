"""What the Guitar page computes: the state now, what it is compared with, the interval of the difference.

Whatever is asked is answered at once as far as it can be: a moved body exactly, a turned screw near, greyed where
nothing is known yet; the exact state follows by itself, and what nobody wants any more is dropped.
"""

import asyncio
from typing import Literal, Protocol

from nicegui import background_tasks

from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.server.jobs import Job, Stopped, Waiting
from polepiece.app.server.worker import Answer
from polepiece.app.widgets.controls import Fault, Working
from polepiece.bench import State, half_a_turn_up
from polepiece.errors import PolepieceError
from polepiece.guitar import Guitar

How = Literal["exact", "turned", "unsolved"]  # a state: as it is; screws near it; without a solution yet
Interval = dict[str, tuple[float, float]]
GOES_OUT = 2e-3  # s in which the loop hands on to the socket what was drawn; assumption: a few of its rounds
TURNING = "finding the exact curve of the turned screws"


class Shown(Protocol):
    """What shows the numbers."""

    def draw(self, *, exact: bool) -> None:
        """Draw the curve of the state now."""

    def put(self, state: State, guitar: Guitar, *, exact: bool) -> None:
        """Show the numbers of a state of a guitar."""

    def grey(self) -> None:
        """Grey what is shown: it is not of what is there now."""

    def show_interval(self, found: Interval, *, of_difference: bool) -> None:
        """Show 90 % intervals: of the difference to what is compared with, or of the state itself."""

    def offer_again(self, offered: bool) -> None:
        """Offer to compute what was stopped."""

    def turns_at_once(self) -> None:
        """A turned screw is answered at once from now on."""


class Computing:
    """Asks the processes beside the server for one tab.

    Parameters
    ----------
    desk : Desk
    shown : Shown
    working : Working
    fault : Fault
    """

    def __init__(self, desk: Desk, shown: Shown, working: Working, fault: Fault) -> None:
        self.desk, self.shown, self.working, self.fault = desk, shown, working, fault
        self.now: State | None = None
        self.exact = False
        self.stock: State | None = None
        self._looked_at = desk.guitar  # what was asked for last
        self._stopped: How = "unsolved"  # what a person has stopped last
        self._prepared = False
        self._preparing: Job | None = None
        self._asked: tuple[Guitar, Waiting] | None = None  # the exact curve of turned screws, under way

    # --- now ---------------------------------------------------------------------------------------
    async def begin(self) -> None:
        """First curve: now, then what it is compared with; then what makes a turned screw answer at once."""
        try:
            how = await self.look(self.desk.guitar)
            if how != "exact":
                await self.finish(how)
            await self.find_stock()
            await self._prepare_turns()
        except PolepieceError as error:
            self.fault.show(error)

    async def look(self, guitar: Guitar) -> How:
        """Ask for the state of a guitar and show it as far as it is known; return how far that is."""
        self._looked_at = guitar
        answer = await self._ask("now", guitar)
        if answer is None:  # something newer is asked
            return "exact"
        if answer.state is None:
            self.exact = False
            self.shown.grey()
        else:
            await self._draw(answer.state, exact=answer.exact)
            if answer.turned:  # its exact curve begins while numbers are filled in and the change is written down
                self._ask_turned(guitar)
            self._put(answer.state, guitar, exact=answer.exact)
        return "exact" if answer.exact else "turned" if answer.turned else "unsolved"

    async def _ask(self, lane: str, guitar: Guitar, *, solved: bool = False) -> Answer | None:
        desk = self.desk
        found: Answer | None = await shared.room().live.ask(
            desk.lane(lane), "state", guitar, desk.pickup, solved, desk.heard_of(guitar)
        )
        return found

    async def finish(self, how: How) -> None:
        """After a record: solve what is not solved, then find the interval."""
        self.shown.offer_again(False)
        try:
            if how == "unsolved":
                await self._solve(self.desk.guitar)
                return
            self.stop()
            if how == "turned":
                await self.turn(self.desk.guitar)
            await self._find_interval()
            await self._prepare_turns()
        except PolepieceError as error:
            self.fault.show(error)

    async def _draw(self, state: State, *, exact: bool) -> None:
        """Draw the curve and let it go out alone: it is what an eye waits for."""
        self.now, self.exact = state, exact
        self.shown.draw(exact=exact)
        await asyncio.sleep(GOES_OUT)

    def _put(self, state: State, guitar: Guitar, *, exact: bool) -> None:
        if self.now is state:  # nothing newer was drawn meanwhile
            self.shown.put(state, guitar, exact=exact)

    async def turn(self, guitar: Guitar) -> None:
        """Find the exact curve of turned screws beside the live process; the near one stays until then."""
        self._stop_preparing()  # what is wanted now comes first
        if self._asked is None or self._asked[0] != guitar:
            self._ask_turned(guitar)
        assert self._asked is not None
        (_, asked), self._asked = self._asked, None
        try:
            answer = await self.working.follow(asked)
        except Stopped:
            self._offer_again(guitar, "turned")
            return
        if answer is not None and guitar == self._looked_at:
            await self._draw(answer.state, exact=True)
            self._put(answer.state, guitar, exact=True)

    def _ask_turned(self, guitar: Guitar) -> None:
        """Begin the exact curve of turned screws; what was begun for others and nobody followed is given up."""
        desk = self.desk
        if self._asked is not None:
            self._asked[1].stop()
        asked = shared.room().margins.ask(desk.lane("turned"), "turned", guitar, desk.pickup, desk.heard_of(guitar))
        self._asked = guitar, Waiting(asked, TURNING)

    async def _solve(self, guitar: Guitar) -> None:
        """Solve a new geometry in a job; the old curve stays, greyed, until the exact one is there."""
        desk = self.desk
        self.exact = False
        self.shown.grey()
        self.stop()
        self._stop_preparing()
        try:
            job = shared.room().solves.run(
                "solve", guitar, desk.pickup, desk.heard_of(guitar), on_progress=self.working.show_progress
            )
            await self.working.follow(job)
        except Stopped:
            self._offer_again(guitar, "unsolved")
            return
        if guitar != desk.guitar:
            return
        answer = await self._ask("now", guitar, solved=True)
        if answer is not None and answer.state is not None:
            await self._draw(answer.state, exact=True)
            self._put(answer.state, guitar, exact=True)
            await self._find_interval()
            self._prepared = False
            await self._prepare_turns()

    def _offer_again(self, guitar: Guitar, how: How) -> None:
        """Offer what was stopped once more, if it is still wanted."""
        self._stopped = how
        self.shown.offer_again(guitar == self.desk.guitar and self.working.job is None)

    def close(self) -> None:
        """Stop what computes for this tab alone."""
        self.stop()
        if self._asked is not None:
            self._asked[1].stop()
        self._stop_preparing()

    def stop(self) -> None:
        """Drop the solution of a geometry, or of turned screws, that nobody wants any more."""
        if self.working.job is not None:
            self.working.job.stop()

    async def again(self) -> None:
        """Take up what was stopped."""
        await self.finish(self._stopped)

    async def _prepare_turns(self) -> None:
        """Solve the pickup with all its screws half a turn higher, so that a turned one is answered at once."""
        desk = self.desk
        if self._prepared or not desk.chosen.built.has_screws:
            return
        self._prepared = True
        higher = half_a_turn_up(desk.guitar, desk.pickup)
        try:
            self._preparing = shared.room().solves.run("solve", higher, desk.pickup, desk.heard_of(higher))
            await self._preparing
            await self._ask("higher", higher, solved=True)
            self.shown.turns_at_once()
        except PolepieceError:
            self._prepared = False  # a turned screw is greyed then until its exact curve is there
        finally:
            self._preparing = None

    def _stop_preparing(self) -> None:
        if self._preparing is not None:
            self._preparing.stop()

    # --- compared with -----------------------------------------------------------------------------
    async def find_stock(self) -> None:
        """Find what is compared with."""
        desk = self.desk
        if desk.stock_guitar == desk.guitar and self.now is not None:
            self.stock = self.now
        else:
            self.stock = await self._find(desk.stock_guitar)
        if self.now is not None:
            self.shown.draw(exact=self.exact)
            self.shown.put(self.now, desk.guitar, exact=self.exact)
        await self._find_interval()

    async def _find(self, guitar: Guitar) -> "State | None":
        room, desk = shared.room(), self.desk
        lane, heard = desk.lane("stock"), desk.heard_of(guitar)
        if desk.pickup not in [one.name for one in guitar.pickups]:
            return None
        try:
            answer = await room.live.ask(lane, "state", guitar, desk.pickup, False, heard)
            if answer is not None and answer.turned:
                answer = await room.margins.ask(lane, "turned", guitar, desk.pickup, heard)
            elif answer is not None and not answer.exact:
                await room.solves.run("solve", guitar, desk.pickup, heard)
                answer = await room.live.ask(lane, "state", guitar, desk.pickup, True, heard)
        except PolepieceError as error:
            self.fault.show(error)
            return None
        return None if answer is None else answer.state

    async def _find_interval(self) -> None:
        desk, there = self.desk, self.desk.guitar
        if self.stock is None:
            return
        same = desk.guitar == desk.stock_guitar
        heard = desk.heard_of(there)
        margins, lane = shared.room().margins, desk.lane("interval")
        try:
            if same:
                found = await margins.ask(lane, "span", there, desk.pickup, heard)
            else:
                found = await margins.ask(lane, "interval", desk.stock_guitar, there, desk.pickup, heard)
        except PolepieceError as error:
            self.fault.show(error)
            return
        if found is not None and there == desk.guitar:
            self.shown.show_interval(found, of_difference=not same)

    async def lowering(self) -> float | None:
        """Return how far to lower the pickup for the level of what is compared with, m; None where newer is asked."""
        desk = self.desk
        found: float | None = await shared.room().live.ask(
            desk.lane("regap"), "regap", desk.stock_guitar, desk.guitar, desk.pickup, desk.heard_of(desk.guitar)
        )
        return found

    def follow(self, how: How) -> None:
        """Finish beside what else goes on."""
        background_tasks.create(self.finish(how))
