"""The head of a work sheet: whose it is, what is done, and what the sheet is worked out for."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from functools import partial

from nicegui import ui

from polepiece.app.plan.rows import plan_of
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.sheet.choice import position_choice
from polepiece.app.sheet.fields import Keep, shown_again
from polepiece.app.sheet.shelf import Asked, bars_in, customer_for, paper_in
from polepiece.app.widgets.controls import (
    Amount,
    Fault,
    Handler,
    TickBox,
    amount,
    choice,
    link,
    press,
    text,
    tick_box,
)
from polepiece.bench import grade_slugs
from polepiece.errors import PolepieceError
from polepiece.guitar import Guitar, grade_words
from polepiece.moves import move_words, parse_bar_size, parse_change, parse_changes
from polepiece.notebook import owned_bars
from polepiece.planning import bar_name
from polepiece.report import WorkSheet, with_head

STAYS = (
    "A name that is typed here goes on record as a customer of this sheet alone and can be erased: take it out again, "
    "or polepiece customer erase. The other lines stay in the history for good."
)
MOST_TOLD = 4  # labels of what was written elsewhere
PAPER_WORDS = {"a4": "A4", "letter": "letter"}


class SheetHead:
    """The first card of a sheet.

    Parameters
    ----------
    desk : Desk
    what : Asked
    base : Guitar
        Before the job.
    entries : dict
        What is written on the sheet.
    keep : callable
        Keeps an entry.
    again : callable
        Called when the sheet has to be worked out anew.
    """

    def __init__(
        self, desk: Desk, what: Asked, base: Guitar, entries: dict[str, str], keep: Keep, again: Handler
    ) -> None:
        self.desk, self.what, self.base, self.entries = desk, what, base, entries
        self._keep, self._again = keep, again
        self.new_bar = any(one.key in ("magnet", "finish") for one in parse_changes(what.key.changes))
        self.sheet: WorkSheet | None = None
        self._ticks: dict[str, TickBox] = {}  # of the bars that are offered
        self._shown: dict[str, tuple[str, Callable[[], None]]] = {}  # by entry: its label, and what shows it

    def build(self) -> None:
        """Put it on the page."""
        key = self.what.key
        with ui.element("section").classes("card").props('aria-label="Head of the sheet"'):
            with ui.element("p").classes("change"):
                text("strong", f"{key.pickup} pickup: {', '.join(move_words(one) for one in key.changes)}")
                text("span", f"  ({self.desk.entry.name})", "soft")
                if self.base.invented:
                    text("span", "invented guitar", "badge")
            position_choice(self.desk, self.what, "/worksheet")
            self.facts = text("p", "", "small")
            if self.what.job is not None:
                with ui.element("p").classes("small"):
                    text("span", f"For job {self.what.job.called}: ")
                    link(self.desk.address("/plan", pickup=key.pickup) + f"&job={self.what.job.id}",
                         self.what.job.complaints)  # fmt: skip
            with ui.element("div").classes("row"):
                job = self.what.job
                self._line("customer", customer_for(job) or "", "customer (optional)").classes("name-field")
                self._line("job", job.called if job else "", "job number (optional)")
                self.date = self._line("date", "", "date")
                press("today", self._today, cls="quiet", mark="today")
                paper = choice("paper", PAPER_WORDS, paper_in(self.entries), self._paper, mark="paper")
                self._shown["head.paper"] = "paper", lambda: paper.offer(PAPER_WORDS, paper_in(self.entries))
            text("p", STAYS, "soft small")
            self.fault = Fault()
            if self.new_bar:
                self._bars()
            self.status = text("p", "", "soft small").props("role=status").mark("kept")

    def known(self, sheet: WorkSheet) -> None:
        """Say what the sheet says of the whole job."""
        self.sheet = sheet
        parts = ", ".join(sheet.parts) or "none"
        heard = f"{sheet.position_words}. " if sheet.position_words else ""
        outcome = "; ".join(sheet.outcome)
        self.facts.say(f"{heard}Afterwards: {outcome}. About {sheet.minutes} min; parts: {parts}; risk: {sheet.risk}.")

    def kept(self, label: str) -> None:
        """Say that something was kept."""
        self.status.say(f"Kept in the notebook at {datetime.now().astimezone():%H:%M:%S}: {label}")

    def follow(self, changed: Iterable[str], elsewhere: Sequence[str]) -> None:
        """Show what was written elsewhere, and say so with its labels; those of the sheet's fields are handed in."""
        labels = [*shown_again(self._shown, changed), *elsewhere]
        if labels:
            more = f" and {len(labels) - MOST_TOLD} more" if len(labels) > MOST_TOLD else ""
            self.status.say(f"Written elsewhere, and shown here now: {', '.join(labels[:MOST_TOLD])}{more}")

    # --- lines -------------------------------------------------------------------------------------
    def _line(self, name: str, otherwise: str, label: str) -> Amount:
        async def typed(value: str) -> None:
            self.fault.clear()
            if value.strip() == self.entries.get(f"head.{name}", otherwise):
                return
            try:
                if self.sheet is not None:
                    with_head(self.sheet, **{name: value})
            except PolepieceError as error:
                self.fault.show(error)
                return
            await self._keep(f"head.{name}", name, value, None)

        def show() -> None:
            box.show(self.entries.get(f"head.{name}", otherwise))

        box = amount(label, "", typed, mark=f"head.{name}")
        show()
        self._shown[f"head.{name}"] = name, show
        return box

    async def _today(self) -> None:
        today = f"{datetime.now().astimezone():%Y-%m-%d}"
        self.date.show(today)
        await self._keep("head.date", "date", today, None)

    async def _paper(self, paper: str) -> None:
        await self._keep("head.paper", "paper", paper, None)

    # --- bars --------------------------------------------------------------------------------------
    def _bars(self) -> None:
        offered = bars_offered(self.what)
        with ui.element("details") as box:
            if bars_in(self.entries) or self.entries.get("head.bar_size"):
                box.props["open"] = True
            text("summary", "Other bars to try in the same opening, and the new bar's size")
            if offered:
                with ui.element("div").classes("ticks"):
                    for name, where in offered.items():
                        with ui.element("label").classes("tick"):
                            self._ticks[name] = tick_box(
                                name in bars_in(self.entries), partial(self._ticked, name), f"bar-{name}"
                            )
                            text("span", f"{grade_words(name)} ({where})")
            else:
                text("p", "No other bar is in the drawer or in the plan.", "soft small")
            with ui.element("div").classes("row"):
                more = amount("other grades, such as alnico-4", "", self._more, mark="more-bars")
                label = "new bar, length x width x thickness with one unit"
                size = amount(label, "", self._size, mark="bar-size").classes("wide")
                press("work the sheet out again", self._again, mark="again")
            self.bar_fault = Fault()

        def show_bars() -> None:
            for name, tick in self._ticks.items():
                tick.show(name in bars_in(self.entries))
            more.show(" ".join(one for one in bars_in(self.entries) if one not in self._ticks))

        def show_size() -> None:
            size.show(self.entries.get("head.bar_size", ""))

        show_bars()
        show_size()
        self._shown |= {"head.bars": ("bars to try", show_bars), "head.bar_size": ("size of the new bar", show_size)}

    async def _ticked(self, name: str, on: bool) -> None:
        there = [one for one in bars_in(self.entries) if one != name] + ([name] if on else [])
        await self._keep("head.bars", "bars to try", ", ".join(there), None)

    async def _more(self, words: str) -> None:
        self.bar_fault.clear()
        try:
            named = [bar_name(parse_change(f"magnet={one}")) for one in words.replace(",", " ").split()]
        except PolepieceError as error:
            self.bar_fault.show(error)
            return
        offered = bars_offered(self.what)
        there = [one for one in bars_in(self.entries) if one in offered] + named
        await self._keep("head.bars", "bars to try", ", ".join(dict.fromkeys(there)), None)

    async def _size(self, words: str) -> None:
        self.bar_fault.clear()
        try:
            if words.strip():
                parse_bar_size(words)
        except PolepieceError as error:
            self.bar_fault.show(error)
            return
        await self._keep("head.bar_size", "size of the new bar", words, None)


def bars_offered(what: Asked) -> dict[str, str]:
    """Return the bars of the drawer and of the plan's list, other than the one that goes in, and where they are."""
    found = {one: "in the drawer" for one in owned_bars(shared.room().notebook.parts())}
    plan = plan_of(what.job)
    listed = [] if plan is None else [(one, "in the plan") for one in plan.bars_advised]
    listed += [] if plan is None else [(one, f"benches fit it{one.heard_words}") for one in plan.bars_only_fitted]
    for bar, where in listed:
        for one in bar.change:
            if bar.pickup == what.key.pickup and one.startswith("magnet="):
                found.setdefault(bar_name(parse_change(one)), where)
    known = grade_slugs()
    own = {bar_name(one) for one in parse_changes(what.key.changes) if one.key == "magnet"}
    here = shared.room().notebook.state_guitar(what.base.id).pickup(what.key.pickup).magnet
    own.add(f"{here.grade}-rough-cast" if here.finish == "rough-cast" else here.grade)
    return {name: where for name, where in found.items() if name not in own and plain_grade(name) in known}


def plain_grade(name: str) -> str:
    """Return the grade of a bar without its finish."""
    return name.removesuffix("-rough-cast")
