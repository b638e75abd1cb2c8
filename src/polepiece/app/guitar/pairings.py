"""Which bar was ever with which pickup: in it, tried on the bench, or only computed."""

import tomllib
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from polepiece.app.sheet.log import sheets_of
from polepiece.errors import PolepieceError
from polepiece.moves import parse_change
from polepiece.notebook import Notebook, Part, PredictionEntry
from polepiece.planning import bar_name, read_plan

IN_IT, WAS_IN, TRIED, SHEET, COMPUTED = (
    "is in it",
    "was in it",
    "tried on the bench",
    "has a work sheet",
    "computed only",
)
_ORDER = (COMPUTED, SHEET, TRIED, WAS_IN, IN_IT)
NEVER = "never tried"
Pair = tuple[str, str]  # bar (a grade, "-rough-cast" where it is), pickup


def bar_of(part: Part) -> str | None:
    """Return how a plan names a bar of the drawer, or None where its grade is not known."""
    if part.kind != "bar" or part.grade in (None, "", "unknown"):
        return None
    return f"{part.grade}-rough-cast" if part.finish == "rough-cast" else part.grade


def pairings(book: Notebook, guitar_id: int) -> dict[Pair, str]:
    """Return the pairs of bar and pickup of a guitar on record, and the most that was done with each."""
    found: dict[Pair, str] = {}

    def put(pair: Pair, what: str) -> None:
        if _ORDER.index(what) >= _ORDER.index(found.get(pair, COMPUTED)):
            found[pair] = what

    for pair in _computed(book.predictions(guitar_id)):
        put(pair, COMPUTED)
    for job in book.jobs(guitar_id):
        for pair in _planned(job.plan or {}):
            put(pair, COMPUTED)
    for key, sheet in sheets_of(book, guitar_id).items():
        for pair in _of_changes(key.pickup, key.changes):
            put(pair, SHEET)
        for entry in sheet.entries:
            if entry.startswith("bars."):
                put((entry.removeprefix("bars.").rpartition(".")[0], key.pickup), TRIED)
    states = book.states(guitar_id)
    for text in dict.fromkeys(one.text for one in states):
        for pair in bars_in(text):
            put(pair, WAS_IN)
    for pair in bars_in(states[-1].text):
        put(pair, IN_IT)
    return found


@lru_cache(maxsize=2000)
def bars_in(text: str) -> tuple[Pair, ...]:
    """Return the bars of one state of a guitar, as the notebook keeps it; a fiftieth of the time of reading it all."""
    out = []
    for one in tomllib.loads(text).get("pickups", []):
        magnet = one.get("magnet", {})
        grade = str(magnet.get("grade", "unknown"))
        out.append((f"{grade}-rough-cast" if magnet.get("finish") == "rough-cast" else grade, str(one.get("name", ""))))
    return tuple(out)


def _computed(predictions: Iterable[PredictionEntry]) -> Iterable[Pair]:
    for one in predictions:
        pickup, grades = one.result.get("pickup"), one.result.get("grades")
        if isinstance(pickup, str) and isinstance(grades, list):
            yield from ((str(grade["grade"]), pickup) for grade in grades if isinstance(grade, Mapping))
        where, _, change = one.change.rpartition(":")
        yield from _of_changes(where.strip() or str(pickup or ""), (change.strip(),))


def _planned(plan: Mapping[str, Any]) -> Iterable[Pair]:
    found = read_plan(plan)
    for row in found.rows + found.rest:
        yield from _of_changes(row.pickup, row.change)


def _of_changes(pickup: str, changes: Iterable[str]) -> Iterable[Pair]:
    for one in changes:
        if one.startswith("magnet="):
            try:
                yield bar_name(parse_change(one)), pickup
            except PolepieceError:
                continue  # a grade that this program does not know any more
