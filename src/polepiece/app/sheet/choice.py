"""Which sheet is meant: by its address, by a job, or chosen from those begun."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar
from urllib.parse import urlencode

from nicegui import ui

from polepiece.app.plan.rows import moves_of, plan_of
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk, positions_with
from polepiece.app.sheet.log import Sheet, recorded_as, sheets_of
from polepiece.app.sheet.shelf import Asked, asked
from polepiece.app.widgets.controls import Fault, amount, choice, link, text
from polepiece.bench import grade_slugs
from polepiece.errors import InputError, PolepieceError
from polepiece.guitar import Guitar, grade_words, usual_position
from polepiece.moves import apply, move_words, parse_changes
from polepiece.notebook import JobEntry, StateEntry
from polepiece.planning import Row

V = TypeVar("V")


def opened(desk: Desk, *, state: str, job: str, changes: Sequence[str]) -> Asked | None:
    """Return the sheet that an address means, or None where one has to be chosen.

    Without a state, a sheet of the same change that was begun is taken up again; else the guitar as it is now.

    Raises
    ------
    PolepieceError
        When the change cannot be read or made, or there is no such state.
    """
    book = shared.room().notebook
    pickup, wanted = meant(desk, job, changes)
    if not wanted:
        return None
    parse_changes(wanted)
    number = int(state) if state.isascii() and state.isdigit() and len(state) < 16 else None
    if number is None:
        number, job = _begun(desk, pickup, tuple(wanted), job) or (desk.state.id, job)
    found = asked(desk.entry.id, number, pickup, wanted, job, desk.position)
    apply(book.state_guitar(found.base.id), pickup, parse_changes(wanted))  # says at once what cannot be done
    return found


def meant(desk: Desk, job: str, changes: Sequence[str]) -> tuple[str, list[str]]:
    """Return the pickup and the change of an address: what it says, else what was chosen in its job's plan."""
    wanted = [one for one in changes if one.strip()]
    entry = next((one for one in shared.room().notebook.jobs(desk.entry.id) if job and str(one.id) == job), None)
    row = None if wanted or entry is None else chosen_row(entry)
    return (desk.pickup, wanted) if row is None else (row.pickup, list(row.moves))


def _begun(desk: Desk, pickup: str, changes: tuple[str, ...], job: str) -> tuple[int, str] | None:
    """Return state and job of the sheet of this change that was written on last; of any job where none is named."""
    states = {one.uuid: one.id for one in desk.history}
    jobs = {one.uuid: str(one.id) for one in shared.room().notebook.jobs(desk.entry.id)}
    for key in reversed(sheets_of(shared.room().notebook, desk.entry.id)):
        its_job = jobs.get(key.job or "", "")
        if (key.pickup, key.changes) == (pickup, changes) and key.state in states and job in ("", its_job):
            return states[key.state], its_job
    return None


def chosen_row(job: JobEntry) -> Row | None:
    """Return the row of the kept plan that was chosen."""
    plan = plan_of(job)
    rows = () if plan is None else plan.rows + plan.rest
    return next((row for row in rows if row.change and job.change == f"{row.pickup}: {moves_of(row)}"), None)


def sheet_address(path: str, guitar_id: int, pickup: str, changes: Sequence[str], **other: str) -> str:
    """Return the address of a sheet."""
    pairs = [("guitar", str(guitar_id)), ("pickup", pickup), *other.items(), *(("change", one) for one in changes)]
    return f"{path}?{urlencode(pairs)}"


def stage(sheet: Sheet, states: "list[StateEntry]") -> str:
    """Return how far a sheet is, in words."""
    if recorded_as(sheet, states) is not None:
        return "made and measured" if sheet.measured_after else "made, not proven yet"
    if sheet.measured_before:
        return "readings as found are on it"
    return "begun"


def position_choice(desk: Desk, what: Asked, path: str) -> None:
    """Offer the positions of the switches in which the change can be heard, where there are several."""
    base = shared.room().notebook.state_guitar(what.base.id)
    there = positions_with(base, what.key.pickup)
    if not there:
        return
    usual = usual_position(base, what.key.pickup).name
    offered = {"": f"{usual} (as usual)"} | {one: one for one in there if one != usual}

    def chosen(value: str) -> None:
        ui.navigate.to(f"{path}?{replace(what, position=value).query()}")

    choice("Heard in", offered, what.position, chosen, mark="choose-position").classes("inline")


ABOUT = (
    "A work sheet is for one change: what to measure before and after, the steps, when to stop, and a page for the "
    "guitar's owner."
)


def alike(after: Guitar, before: Guitar) -> bool:
    """Tell whether a change changes nothing but what counts as assumed."""
    return replace(after, assumed=before.assumed) == before


def view_of(
    desk: Desk, path: str, view: Callable[[Asked], V], *, state: str, job: str, changes: Sequence[str],
    about: str = ABOUT,
) -> V | None:  # fmt: skip
    """Return the view of what an address means; None where a change has to be chosen, which the page then offers.

    What cannot be read or made is said above the choice.
    """
    fault = Fault()
    try:
        found = opened(desk, state=state, job=job, changes=changes)
        if found is not None:
            return view(found)
    except PolepieceError as error:
        fault.show(error)
    Choosing(desk, path, about).build()
    return None


def _of_job(job: JobEntry) -> str:
    return f"job {job.called}: {job.complaints}"


class Choosing:
    """What is shown where no change is chosen yet."""

    def __init__(self, desk: Desk, path: str, about: str) -> None:
        self.desk, self.path, self.about = desk, path, about
        book, states = shared.room().notebook, {one.uuid for one in desk.history}
        self.jobs = book.jobs(desk.entry.id)
        self.sheets = [one for one in sheets_of(book, desk.entry.id).values() if one.key.state in states]

    def build(self) -> None:
        """Put the sheets begun, the jobs with a chosen change, and a way to name a change on the page."""
        text("p", self.about)
        with ui.element("div").classes("two"):
            with ui.element("section").classes("card"):
                self._jobs()
                self._begun()
            with ui.element("section").classes("card"):
                self._name_one()

    def _jobs(self) -> None:
        """List what was chosen in a plan, but for what has a sheet by now: that stands under its own heading."""
        text("h2", "Chosen in a plan")
        chosen = [(one, chosen_row(one)) for one in self.jobs if one.status != "closed"]
        there = [(job, row) for job, row in chosen if row is not None]
        begun = {(one.key.job, one.key.pickup, one.key.changes) for one in self.sheets}
        fresh = [job for job, row in there if (job.uuid, row.pickup, row.moves) not in begun]
        if not fresh:
            with ui.element("p").classes("soft"):
                text("span", "What was chosen has its sheet: " if there else "Nothing is chosen yet: ")
                link(self.desk.address("/plan"), "make a plan and choose a row")
                text("span", ", or name a change here.")
        with ui.element("ul"):
            for one in fresh:
                with ui.element("li"):
                    link(f"{self.path}?guitar={self.desk.entry.id}&job={one.id}", one.change or "")
                    text("span", f" ({_of_job(one)})")

    def _begun(self) -> None:
        states, jobs = self.desk.history, {one.uuid: one for one in self.jobs}
        known = {one.uuid: one.id for one in states}
        if not self.sheets:
            return
        text("h2", "Sheets begun")
        with ui.element("ul"):
            for one in reversed(self.sheets):
                key, job = one.key, jobs.get(one.key.job or "")
                other = {"state": str(known[key.state])} | ({"job": str(job.id)} if job else {})
                with ui.element("li"):
                    words = f"{key.pickup}: {', '.join(move_words(text) for text in key.changes)}"
                    link(sheet_address(self.path, key.guitar_id, key.pickup, key.changes, **other), words)
                    when = f", {one.last.at:%Y-%m-%d %H:%M} UTC" if one.last else ""
                    of = f"; {_of_job(job)}" if job else ""
                    text("span", f" ({stage(one, states)}{when}{of})")

    def _name_one(self) -> None:
        text("h2", "Name a change")
        text("p", f"Of the {self.desk.pickup} pickup; choose another pickup at the top.", "soft small")
        bars = {"": "choose a bar"} | {one: grade_words(one) for one in grade_slugs()}
        with ui.element("div").classes("row"):
            choice("another bar", bars, "", self._bar, mark="new-bar")
            amount("or any change, as in a plan", "", self._typed, mark="new-change").classes("wide")
        text("p", "For example lower=0.5mm, tone_cap=10nF, flip=yes; several with a semicolon between.", "soft small")
        self.fault = Fault()

    def _bar(self, slug: str) -> None:
        if slug:
            self._go([f"magnet={slug}"])

    def _typed(self, words: str) -> None:
        found = [one.strip() for one in words.split(";") if one.strip()]
        if found:
            self._go(found)

    def _go(self, changes: Sequence[str]) -> None:
        self.fault.clear()
        try:
            if alike(self.desk.try_out(changes), self.desk.guitar):
                raise InputError(f"{', '.join(changes)}: the {self.desk.pickup} pickup is like that already.")
        except PolepieceError as error:
            self.fault.show(error)
            return
        ui.navigate.to(sheet_address(self.path, self.desk.entry.id, self.desk.pickup, changes))
