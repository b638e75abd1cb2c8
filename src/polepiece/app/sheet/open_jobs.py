"""What the bench has to do: each open job with its next step, and changes that were made but never measured after."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from polepiece.app.guitar.pairings import bars_in
from polepiece.app.sheet.log import DONE, ENTRY, Sheet, SheetKey, recorded_as, sheets_in, sheets_of_job, standing
from polepiece.app.widgets.plain_history import plain
from polepiece.guitar import grade_words
from polepiece.moves import move_words
from polepiece.notebook import LEDGER, JobEntry, Notebook, NoteEntry, StateEntry

GUITAR, PLAN, SHEET = "/guitar", "/plan", "/worksheet"
LONGEST = 160  # characters of a line of what happened


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenJob:
    """A job that is not closed, how far it is, and what comes next."""

    job: JobEntry
    guitar: str
    stage: str
    step: str
    address: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unproven:
    """A change that was made and recorded, without a reading after it."""

    guitar: str
    words: str
    recorded: StateEntry
    address: str


def on_the_bench(book: Notebook) -> tuple[list[OpenJob], list[Unproven]]:
    """Return the open jobs, the oldest first, and what was made but not proven."""
    notes = book.notes()
    sheets = sheets_in(notes)
    names = {one.id: one.name for one in book.guitars()}
    jobs = book.jobs()
    histories: dict[int, list[StateEntry]] = {}

    def history(guitar_id: int) -> list[StateEntry]:
        if guitar_id not in histories:
            histories[guitar_id] = book.states(guitar_id)
        return histories[guitar_id]

    there = []
    for job in jobs:
        if job.status != "closed":
            mine = sheets_of_job(sheets, job)
            stage, step, address = _next(job, mine, history(job.guitar_id) if mine else [])
            there.append(
                OpenJob(job=job, guitar=names.get(job.guitar_id, "guitar"), stage=stage, step=step, address=address)
            )
    numbers = {one.uuid: one.id for one in jobs}
    unproven = []
    on_sheets = {uuid for sheet in sheets.values() for uuid in sheet.done}
    for number, name in names.items():
        unproven += _by_hand(number, name, history(number), on_sheets, notes)
    for key, sheet in sheets.items():
        if not sheet.done:
            continue
        recorded = recorded_as(sheet, history(key.guitar_id))
        if recorded is not None and not proven(sheet, recorded, history(key.guitar_id), notes):
            unproven.append(
                Unproven(
                    guitar=names.get(key.guitar_id, "guitar"), recorded=recorded,
                    words=f"{key.pickup}: {', '.join(move_words(one) for one in key.changes)}",
                    address=address_of(key, history(key.guitar_id), numbers),
                )
            )  # fmt: skip
    return there, unproven


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One line of what happened lately; entries of a work sheet that follow each other are one."""

    at: datetime
    guitar_id: int | None
    guitar: str | None
    words: str


def lately(book: Notebook, count: int) -> list[Told]:
    """Return what happened last, the newest first."""
    sheets = sorted({f"{key.words}: " for key in sheets_in(book.notes())}, key=len, reverse=True)
    out: list[Told] = []
    run, entries = "", 0  # the sheet that the line before was of, and how many of its entries
    for line in reversed(book.log(last=20 * count)):
        said = line.words.removeprefix("measurement: ")
        sheet = next((one for one in sheets if line.kind == "note" and said.startswith(one)), "")
        if sheet and sheet == run:
            entries += 1
            out[-1] = replace(
                out[-1], words=f"{out[-1].words.partition(' (and ')[0]} (and {entries} more on this sheet)"
            )
            continue
        if len(out) == count:
            break
        run, entries = sheet, 0
        words = f"work sheet, {said}" if sheet else plain(line.words)
        out.append(Told(at=line.at, guitar_id=line.guitar_id, guitar=line.guitar, words=short(words)))
    return out


def short(words: str) -> str:
    """Return a line of what happened, cut where it is too long for a list."""
    return words if len(words) < LONGEST else f"{words[: LONGEST - 4]} ..."


def proven(sheet: Sheet, recorded: StateEntry, states: "list[StateEntry]", notes: "list[NoteEntry]") -> bool:
    """Tell whether anything was measured after a change: on its sheet, in a ledger, or since in any other way."""
    return sheet.measured_after or _in_a_ledger(sheet.key, states, notes) or _measured_since(recorded, states, notes)


def _in_a_ledger(key: SheetKey, states: "list[StateEntry]", notes: "list[NoteEntry]") -> bool:
    """Tell whether a ledger of this change has a line that was measured."""
    base = {one.id for one in states if one.uuid == key.state}
    for note in reversed(notes):  # the last one counts
        body: Mapping[str, Any] = note.body or {}
        if note.state_id in base and body.get("schema") == LEDGER and (
            (body.get("pickup"), body.get("change")) == (key.pickup, list(key.changes))
        ):  # fmt: skip
            return any(line.get("measured") for line in body.get("entries", ()))
    return False


def _measured_since(recorded: StateEntry, states: "list[StateEntry]", notes: "list[NoteEntry]") -> bool:
    since = {one.id for one in states if one.id >= recorded.id}
    return any(
        one.state_id in since and one.sort in ("measurement", "trial")
        and (one.body is None or one.body.get("schema") not in (ENTRY, DONE))
        for one in notes
    )  # fmt: skip


def _by_hand(
    guitar_id: int, name: str, states: "list[StateEntry]", on_sheets: "set[str]", notes: "list[NoteEntry]"
) -> list[Unproven]:
    """Return the bars that a guitar has now by a state recorded without a work sheet, with nothing measured since.

    A bar that was not known before was learned, not swapped; a state that is again what it was before is no swap.
    """
    there = standing(states)
    out: list[Unproven] = []
    settled: set[str] = set()
    now = {pickup: bar for bar, pickup in bars_in(there[-1].text)}
    for k in range(len(there) - 1, 0, -1):
        before = {pickup: bar for bar, pickup in bars_in(there[k - 1].text)}
        for bar, pickup in bars_in(there[k].text):
            if before.get(pickup, bar) == bar or pickup in settled:
                continue
            settled.add(pickup)
            again = there[k].text in [one.text for one in there[:k]]
            if (
                before[pickup] == "unknown" or bar != now.get(pickup) or again or there[k].uuid in on_sheets
                or _measured_since(there[k], states, notes)
            ):  # fmt: skip
                continue
            out.append(
                Unproven(
                    guitar=name,
                    recorded=there[k],
                    words=f"{pickup}: bar of {grade_words(bar)}, without a work sheet",
                    address=f"{GUITAR}?{urlencode({'guitar': guitar_id, 'pickup': pickup})}",
                )
            )
    return out


def address_of(key: SheetKey, states: "list[StateEntry]", jobs: Mapping[str, int]) -> str:
    """Return the address of a sheet."""
    pairs = [("guitar", str(key.guitar_id)), ("pickup", key.pickup)]
    pairs += [("state", str(one.id)) for one in states if one.uuid == key.state]
    pairs += [("job", str(jobs[key.job]))] if key.job is not None and key.job in jobs else []
    return f"{SHEET}?{urlencode([*pairs, *(('change', one) for one in key.changes)])}"


def _next(job: JobEntry, sheets: "list[Sheet]", states: "list[StateEntry]") -> tuple[str, str, str]:
    """Return how far a job is, the next step in words, and where that is done."""
    plan_address = f"{PLAN}?guitar={job.guitar_id}&job={job.id}"
    plan: Mapping[str, Any] | None = job.plan
    if sheets:
        sheet = sheets[-1]
        address = address_of(sheet.key, states, {job.uuid: job.id})
        recorded = recorded_as(sheet, states)
        if recorded is not None:
            if sheet.measured_after:
                return "made, and measured after", "close it with its outcome", ""
            return "made, not proven yet", "take the readings after", address
        if sheet.measured_before:
            return "on the bench, readings as found are on the sheet", "go on with the work sheet", address
        return "work sheet begun", "take the readings as found", address
    if job.change is not None:
        return f"chosen: {job.change}", "open its work sheet", f"{SHEET}?guitar={job.guitar_id}&job={job.id}"
    if plan is None:
        return "taken in", "make a plan", plan_address
    if plan.get("verdict") == "repair-first":
        return "a fault comes first", "see what to repair", plan_address
    return "planned", "choose a row of the plan", plan_address
