"""Work sheets in the notebook: every reading, tick and head line is a note of its own, the last one counts.

The name in its head is personal: it goes on record as a customer of this sheet alone, who can be erased, and the note
says which customer, not the name.

A sheet is known by the state it was made for, the pickup, the changes and the job; state and job by their own uuid, so
that a notebook which went through an archive still finds them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import assert_never

from polepiece.moves import move_words
from polepiece.notebook import JobEntry, Notebook, NoteEntry, StateEntry

ENTRY = "polepiece/work-sheet-entry/1"
DONE = "polepiece/work-sheet-done/1"
HEAD = ("head.customer", "head.job", "head.date", "head.paper", "head.bars", "head.bar_size")
NAME = "head.customer"
ON_A_SHEET = "the name on one work sheet"  # what a name that is typed there is kept for
LONGEST = 2000  # characters of one entry


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetKey:
    """What a sheet is for."""

    guitar_id: int
    state: str  # uuid of the state before the job
    pickup: str
    changes: tuple[str, ...]
    job: str | None = None  # uuid

    def body(self) -> dict[str, object]:
        """Return it as JSON values."""
        return {"state": self.state, "pickup": self.pickup, "changes": list(self.changes), "job": self.job}

    @property
    def words(self) -> str:
        """Return it in one line."""
        return f"{self.pickup}: {', '.join(move_words(one) for one in self.changes)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """Parts that left the drawer with a change, and parts that came into it: their uuids, and how many of each."""

    taken: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    count: int = 1

    def body(self) -> dict[str, object]:
        """Return it as JSON values."""
        return {"taken": list(self.taken), "kept": list(self.kept), "count": self.count}

    @classmethod
    def read(cls, body: object) -> "Moved | None":
        """Read it from JSON values; None where it is none, or nothing moved."""
        if not isinstance(body, dict):
            return None
        taken, kept, count = body.get("taken"), body.get("kept"), body.get("count")
        if not (isinstance(taken, list) and isinstance(kept, list) and isinstance(count, int)) or not taken + kept:
            return None
        return cls(taken=tuple(map(str, taken)), kept=tuple(map(str, kept)), count=count)


@dataclass(slots=True)
class Sheet:
    """What was written on one sheet, and whether its change was recorded."""

    key: SheetKey
    entries: dict[str, str] = field(default_factory=dict)
    done: tuple[str, ...] = ()  # uuids of the states that its change was recorded as
    stock: dict[str, Moved] = field(default_factory=dict)  # parts that went with it, by the state recorded
    last: NoteEntry | None = None
    customer: str | None = None  # uuid of the customer in its head, where one was typed

    def written(self, section: str) -> bool:
        """Tell whether any reading of a section, such as "after", is there."""
        return any(key.startswith((f"{section}.", f"{section}_strings.")) for key in self.entries)

    @property
    def measured_before(self) -> bool:
        """Any reading of the baseline."""
        return self.written("baseline")

    @property
    def measured_after(self) -> bool:
        """Any reading of the check-out."""
        return self.written("after")


def sheets_in(notes: Iterable[NoteEntry]) -> dict[SheetKey, Sheet]:
    """Return the sheets of a notebook, the one last written on last."""
    found: dict[SheetKey, Sheet] = {}
    for note in notes:
        body = note.body
        key = _key_of(note)
        if key is None or body is None:
            continue
        sheet = found.pop(key, None) or Sheet(key)
        sheet.last = note
        if body.get("schema") == DONE:
            sheet.done += (str(body.get("recorded")),)
            if moved := Moved.read(body.get("stock")):
                sheet.stock[str(body.get("recorded"))] = moved
        else:
            name, value = str(body.get("entry")), str(body.get("value", ""))
            if name == NAME:
                sheet.customer = str(body["customer"]) if body.get("customer") else None
            if value:
                sheet.entries[name] = value
            else:
                sheet.entries.pop(name, None)
        found[key] = sheet
    return found


def sheets_of(book: Notebook, guitar_id: "int | None" = None) -> dict[SheetKey, Sheet]:
    """Return the sheets of a guitar, or of all, with the names in their heads that are not erased."""
    found = sheets_in(book.notes(guitar_id))
    if any(sheet.customer for sheet in found.values()):
        named = book.named()
        for sheet in found.values():
            if sheet.customer in named:
                sheet.entries[NAME] = named[sheet.customer][1]
    return found


def write(
    book: Notebook, key: SheetKey, state_id: int, entry: str, value: str, *, label: str, figure: "Figure | None" = None
) -> NoteEntry:
    """Keep one entry; an empty value takes it back. What was there before stays in the history, but for a name."""
    text = value.strip()[:LONGEST]
    if entry == NAME:
        return _write_name(book, key, state_id, text, label)
    reading = not entry.startswith(("head.", "step."))
    body: dict[str, object] = {"schema": ENTRY, **key.body(), "entry": entry, "value": text}
    if figure is not None:
        body |= {"number": figure.number, "unit": figure.unit}
    words = f"{key.words}: {label}: {text or 'taken back'}"
    return book.write_note(
        key.guitar_id, words[:LONGEST], state_id=state_id, sort="measurement" if reading else "note", body=body
    )


def _write_name(book: Notebook, key: SheetKey, state_id: int, name: str, label: str) -> NoteEntry:
    """Put a name on record as a customer of this sheet; the one that the sheet had before is erased."""
    before = sheets_in(book.notes(key.guitar_id)).get(key)
    made = book.add_customer(name, agreed=ON_A_SHEET) if name else None
    said = "taken back" if made is None else f"on record as customer {made.id}"
    body: dict[str, object] = {"schema": ENTRY, **key.body(), "entry": NAME, "value": ""}
    if made is not None:
        body["customer"] = made.uuid
    note = book.write_note(key.guitar_id, f"{key.words}: {label}: {said}"[:LONGEST], state_id=state_id, body=body)
    there = book.named().get(before.customer) if before is not None and before.customer else None
    if there is not None:
        book.erase_customer(there[0], f"no longer {ON_A_SHEET}")
    return note


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A reading as a number in its bench unit."""

    number: float
    unit: str


def write_done(
    book: Notebook, key: SheetKey, recorded: StateEntry, words: str = "made", moved: Moved | None = None
) -> NoteEntry:
    """Keep that the change of a sheet was made (or read after): the guitar is recorded in that state."""
    body: dict[str, object] = {"schema": DONE, **key.body(), "recorded": recorded.uuid}
    if moved is not None:
        body["stock"] = moved.body()
    return book.write_note(
        key.guitar_id, f"{words}: {key.words} (state {recorded.id})", state_id=recorded.id, sort="swap", body=body
    )


def standing(states: Iterable[StateEntry]) -> list[StateEntry]:
    """Return the states of a history that are in effect: records that were not undone, oldest first."""
    past: list[StateEntry] = []
    future: list[StateEntry] = []
    for one in states:
        match one.act:
            case "undo":
                future.append(past.pop())
            case "redo":
                past.append(future.pop())
            case "entry" | "record":
                past.append(one)
                future.clear()
            case _:
                assert_never(one.act)
    return past


def recorded_as(sheet: Sheet, states: Iterable[StateEntry]) -> StateEntry | None:
    """Return the state in effect that the change of a sheet was recorded as last, or None.

    A later state that is again what the guitar was before the change takes it back as an undo does.
    """
    every = list(states)
    texts = {one.id: one.text for one in every}
    there = standing(every)
    for k in range(len(there) - 1, -1, -1):
        if there[k].uuid in sheet.done:
            before = texts.get(there[k].parent_id or 0)
            return None if any(one.text == before for one in there[k + 1 :]) else there[k]
    return None


def sheets_of_job(sheets: Mapping[SheetKey, Sheet], job: JobEntry) -> list[Sheet]:
    """Return the sheets of a job, the one last written on last."""
    return [one for key, one in sheets.items() if key.job == job.uuid]


def _key_of(note: NoteEntry) -> SheetKey | None:
    body = note.body
    if body is None or note.guitar_id is None or body.get("schema") not in (ENTRY, DONE):
        return None
    changes, job = body.get("changes"), body.get("job")
    if not isinstance(changes, list):
        return None
    return SheetKey(
        guitar_id=note.guitar_id, state=str(body.get("state")), pickup=str(body.get("pickup")),
        changes=tuple(str(one) for one in changes), job=None if job is None else str(job),
    )  # fmt: skip
