"""How far the job of a guitar is: which steps of the header's strip have their tick."""

from datetime import datetime

from polepiece.app.sheet.log import sheets_in
from polepiece.notebook import LEDGER, Notebook, NoteEntry

LISTENED = "polepiece-listened/1"  # schema of a note that states were played against one another
GUITAR, PLAN, HEAR, SHEET, PROVE = "/guitar", "/plan", "/hear", "/worksheet", "/prove"


def steps_done(book: Notebook, guitar_id: int) -> frozenset[str]:
    """Return the paths of the steps that are done since the last job of a guitar was taken in.

    Guitar: it is on record. Plan: one is kept. Hear: two states were played. Work sheet: its change was recorded.
    Prove: something was measured in a ledger.
    """
    jobs = book.jobs(guitar_id)
    since = jobs[-1].at if jobs else None
    done = {GUITAR}
    if jobs and jobs[-1].plan is not None:
        done.add(PLAN)
    notes = book.notes(guitar_id)
    if any(sheet.done and sheet.last and _after(sheet.last.at, since) for sheet in sheets_in(notes).values()):
        done.add(SHEET)
    for note in notes:
        if _after(note.at, since) and (step := _step_of(note)):
            done.add(step)
    return frozenset(done)


def _after(at: datetime, since: datetime | None) -> bool:
    return since is None or at >= since


def _step_of(note: NoteEntry) -> str:
    body = note.body or {}
    if body.get("schema") == LISTENED:
        return HEAR
    lines = body.get("entries", ())
    if body.get("schema") == LEDGER and isinstance(lines, list):
        return PROVE if any(isinstance(line, dict) and line.get("measured") for line in lines) else ""
    return ""
