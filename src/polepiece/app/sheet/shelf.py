"""Sheets that were worked out, the last few; and the addresses under which they are printed."""

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from fastapi import Query
from nicegui import app
from starlette.responses import HTMLResponse, PlainTextResponse, Response

from polepiece.app.server import shared
from polepiece.app.server.desk import positions_with
from polepiece.app.server.jobs import Job, OnProgress
from polepiece.app.sheet import bench_units as units
from polepiece.app.sheet.log import Sheet, SheetKey, sheets_of
from polepiece.app.sheet.stops import TEMPERATURE, entry_of, quantity_of
from polepiece.errors import InputError, NotebookError, PolepieceError
from polepiece.kept import Kept
from polepiece.moves import parse_bar_size
from polepiece.notebook import JobEntry, StateEntry
from polepiece.report import PAPERS, Paper, Part, WorkSheet, effect_texts, with_head, worksheet_html

PRINT = "/worksheet/print"
KEPT = 12
PARTS: dict[str, str] = {"both": "bench and owner", "bench": "bench sheet", "owner": "owner's page"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A sheet that an address names: its key, and the records that the key stands for."""

    key: SheetKey
    base: StateEntry  # the guitar before the job
    job: JobEntry | None
    position: str = ""  # of the switches, in which the change is heard; empty: as usual

    def query(self, **other: str) -> str:
        """Return the part of an address that names it again."""
        state = other.pop("state", str(self.base.id))
        pairs = [("guitar", str(self.key.guitar_id)), ("pickup", self.key.pickup), ("state", state)]
        pairs += [("job", str(self.job.id))] if self.job is not None else []
        pairs += [("position", self.position)] if self.position else []
        pairs += [("change", one) for one in self.key.changes]
        return urlencode([*pairs, *other.items()])


def asked(
    guitar_id: int, state_id: int, pickup: str, changes: "list[str] | tuple[str, ...]", job: str, position: str = ""
) -> Asked:
    """Return what an address asks for.

    Raises
    ------
    NotebookError
        When there is no such guitar or state.
    """
    book = shared.room().notebook
    base = next((one for one in book.states(guitar_id) if one.id == state_id), None)
    if base is None:
        raise NotebookError(f"this guitar has no state {state_id} on record.")
    entry = next((one for one in book.jobs(guitar_id) if job and str(one.id) == job), None)
    key = SheetKey(
        guitar_id=guitar_id, state=base.uuid, pickup=pickup, changes=tuple(changes),
        job=None if entry is None else entry.uuid,
    )  # fmt: skip
    there = positions_with(book.state_guitar(base.id), pickup)
    return Asked(key=key, base=base, job=entry, position=position if position in there else "")


# --------------------------------------------------------------------------------------------- computing

_Place = tuple[int, str, tuple[str, ...], tuple[str, ...], str]
_SHELF = Kept[_Place, WorkSheet](KEPT)


def bars_in(entries: Mapping[str, str]) -> tuple[str, ...]:
    """Return the bars to try in the same opening."""
    return tuple(dict.fromkeys(entries.get("head.bars", "").replace(",", " ").split()))


def bar_size_in(entries: Mapping[str, str]) -> str:
    """Return the size of the new bar as it was typed."""
    return entries.get("head.bar_size", "")


def ready(what: Asked, entries: Mapping[str, str]) -> WorkSheet | None:
    """Return the sheet if it was worked out already."""
    return _SHELF.get(_place(what, entries))


def start(what: Asked, entries: Mapping[str, str], on_progress: "OnProgress | None" = None) -> Job:
    """Start working a sheet out.

    Raises
    ------
    InputError
        When the size of the bar cannot be read.
    """
    size = bar_size_in(entries)
    return shared.room().jobs.run(
        "work sheet", shared.room().notebook.state_guitar(what.base.id), what.key.pickup, what.key.changes,
        bars_in(entries), parse_bar_size(size) if size else None, what.position or None, on_progress=on_progress,
    )  # fmt: skip


def keep(what: Asked, entries: Mapping[str, str], sheet: WorkSheet) -> None:
    """Put a sheet on the shelf."""
    _SHELF[_place(what, entries)] = sheet


def _place(what: Asked, entries: Mapping[str, str]) -> _Place:
    where = "|".join((what.base.uuid, what.key.pickup, what.position))
    return what.base.id, where, what.key.changes, bars_in(entries), bar_size_in(entries)


# ---------------------------------------------------------------------------------------------- printing


def headed(sheet: WorkSheet, what: Asked, entries: Mapping[str, str]) -> WorkSheet:
    """Return a sheet with the head that was typed, or that of the job."""
    job = what.job
    return with_head(
        sheet, customer=entries.get("head.customer") or customer_for(job),
        job=entries.get("head.job") or (job.called if job else None), date=entries.get("head.date"),
    )  # fmt: skip


def filled(sheet: WorkSheet, entries: Mapping[str, str]) -> dict[str, str]:
    """Return what was written as it is printed: with its unit; a DC resistance with its temperature."""
    out = {key: value for key, value in entries.items() if not key.endswith(f".{TEMPERATURE}")}
    for section in sheet.sections:
        for blank in section.blanks:
            entry = entry_of(section.key, blank)
            if entry in out and blank.string is None and quantity_of(blank) is not None:
                out[entry] = units.with_unit(out[entry], blank.unit)
        degrees = entries.get(f"{section.key}.{TEMPERATURE}")
        read = f"{section.key}.dc_resistance"
        if degrees and read in out:
            out[read] += f" at {units.with_unit(degrees, '°C')}"
    for effect in sheet.effects:
        said = effect_texts(effect)
        if (entry := f"effects.{said['key']}") in out:
            out[entry] = units.with_unit(out[entry], said["unit"])
    return out


def paper_in(entries: Mapping[str, str]) -> Paper:
    """Return the size of paper that was chosen."""
    found = entries.get("head.paper", "a4")
    return next((one for one in PAPERS if one == found), "a4")


def customer_for(job: JobEntry | None) -> str | None:
    """Return whose a job is: the customer on record, who can be erased, or what was typed when it was taken in."""
    return None if job is None else shared.room().notebook.customers_of_jobs().get(job.id) or job.customer


def written(key: SheetKey) -> Sheet:
    """Return what is written on a sheet."""
    return sheets_of(shared.room().notebook, key.guitar_id).get(key) or Sheet(key)


def build() -> None:
    """Register the address of the sheet to print."""

    @app.get(PRINT)
    async def to_print(
        guitar: int, state: int, pickup: str, job: str = "", part: str = "both", position: str = "",
        change: list[str] = Query([]),  # noqa: B008
    ) -> Response:  # fmt: skip
        try:
            what = asked(guitar, state, pickup, change, job, position)
            entries = written(what.key).entries
            sheet = ready(what, entries)
            if sheet is None:
                sheet = await start(what, entries)
                keep(what, entries, sheet)
            page = await asyncio.to_thread(
                worksheet_html, headed(sheet, what, entries), paper=paper_in(entries), part=_part(part),
                filled=filled(sheet, entries),
            )  # fmt: skip
        except PolepieceError as error:
            return PlainTextResponse(str(error), status_code=400)
        return HTMLResponse(page)


def _part(text: str) -> Part:
    found: dict[str, Part] = {"both": "both", "bench": "bench", "owner": "owner"}
    if text not in found:
        raise InputError(f"part is {text!r}; allowed are {', '.join(found)}.")
    return found[text]
