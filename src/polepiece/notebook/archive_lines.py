"""The lines of an archive: each entry of the journal as one JSON object, its references by uuid.

Writing and reading share one table of fields, so that neither can know a field that the other does not.
"""

import json
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, NoReturn

from polepiece.errors import InputError
from polepiece.notebook.drawer import part_from
from polepiece.notebook.limits import LARGEST_LINE, MOST_OF_A_PART, json_fault
from polepiece.notebook.money import quote_fault
from polepiece.notebook.records import FIRST_YEAR, LAST_YEAR, LONG, NOTE_SORTS, SHORT, stamp, text_fault
from polepiece.notebook.schema import (
    BranchChoiceRow,
    Entry,
    JobEventRow,
    JobRow,
    NoteRow,
    PartRow,
    PredictionRow,
    PromiseRow,
    QuoteRow,
    RetirementRow,
    SoundRow,
    StateRow,
    StockRow,
)
from polepiece.notebook.words import ACTS, EVENTS

UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field of a line: its column, and why a value of it is refused (None: it is good)."""

    column: str
    fault: Callable[[Any], str | None]
    null: bool = False
    to: str | None = None  # the kind of entry it refers to


def _text(column: str, most: int = LONG, *, null: bool = False, empty: bool = False) -> Field:
    def fault(value: Any) -> str | None:
        return text_fault(value, most) or (None if empty or value.strip() else "is empty")

    return Field(column=column, fault=fault, null=null)


def _one_of(column: str, choices: Iterable[str]) -> Field:
    allowed = tuple(choices)  # what an archive holds need not be hashable
    return Field(
        column=column,
        fault=lambda value: None if value in allowed else f"is {value!r:.60}; allowed are {', '.join(allowed)}",
    )


def _body(column: str, *, null: bool = False) -> Field:
    return Field(column=column, null=null, fault=lambda value: None if isinstance(value, dict) else "is no JSON object")


def _pattern(column: str, pattern: re.Pattern[str], what: str, *, null: bool = False, to: str | None = None) -> Field:
    def fault(value: Any) -> str | None:
        return None if isinstance(value, str) and pattern.fullmatch(value) else f"is {value!r:.60}, not {what}"

    return Field(column=column, null=null, fault=fault, to=to)


def _to(kind: str, *, column: str | None = None, null: bool = False) -> Field:
    return _pattern(column or f"{kind}_id", UUID, "the uuid of an entry", null=null, to=kind)


def _part_fault(value: Any) -> str | None:
    if not isinstance(value, dict):
        return "is no JSON object"
    try:
        part_from(value)
    except (InputError, TypeError, AttributeError) as error:
        return f"is refused ({error})"
    return None


def _day_fault(value: Any) -> str | None:
    try:
        good = isinstance(value, str) and date.fromisoformat(value).isoformat() == value
    except ValueError:
        good = False
    return None if good else f"is {value!r:.60}, not a day such as 2026-03-03"


def _change_fault(value: Any) -> str | None:
    good = isinstance(value, int) and not isinstance(value, bool) and abs(value) <= 2 * MOST_OF_A_PART
    return None if good else f"is {value!r:.60}, not a number of parts"


KINDS: dict[str, tuple[type[Entry], dict[str, Field]]] = {
    "state": (
        StateRow,
        {
            "parent": _to("state", column="parent_id", null=True),
            "act": _one_of("act", ACTS),
            "restores": _to("state", column="restores_id", null=True),
            "why": _text("why", SHORT),
            "provenance": _body("provenance"),
        },
    ),
    "branch-choice": (BranchChoiceRow, {"state": _to("state"), "why": _text("why", SHORT)}),
    "part": (PartRow, {"part": Field(column="body", fault=_part_fault)}),
    "retirement": (RetirementRow, {"part": _to("part"), "why": _text("why", SHORT)}),
    "job": (
        JobRow,
        {
            "state": _to("state"),
            "complaints": _text("complaints"),
            "constraints": _text("constraints", empty=True),
            "customer": _text("customer", SHORT, null=True),
            "number": _text("number", SHORT, null=True),
        },
    ),
    "job-event": (
        JobEventRow,
        {
            "job": _to("job"),
            "what": _one_of("what", EVENTS),
            "words": _text("words"),
            "body": _body("body", null=True),
        },
    ),
    "prediction": (
        PredictionRow,
        {
            "state": _to("state"),
            "change": _text("change"),
            "result": _body("result"),
            "provenance": _body("provenance"),
        },
    ),
    "note": (
        NoteRow,
        {
            "state": _to("state", null=True),
            "sort": _one_of("sort", NOTE_SORTS),
            "text": _text("text"),
            "body": _body("body", null=True),
        },
    ),
    "promise": (PromiseRow, {"job": _to("job"), "day": Field(column="day", fault=_day_fault)}),
    "quote": (QuoteRow, {"job": _to("job"), "quote": Field(column="body", fault=quote_fault)}),
    "stock": (
        StockRow,
        {"part": _to("part"), "change": Field(column="change", fault=_change_fault), "why": _text("why", SHORT)},
    ),
    "sound": (
        SoundRow,
        {
            "sha256": _pattern("sha256", SHA256, "a SHA-256"),
            "state": _to("state", null=True),
            "label": _text("label", SHORT),
        },
    ),
}
OF_A_SHOP = ("promise", "quote", "stock")  # kinds that readers before polepiece/archive/3 do not know
HEAD = ("kind", "uuid", "at", "guitar")
BENCH = "bench"  # where a bench wrote it, its name


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One entry of an archive; ``values`` by column, references still as uuids."""

    number: int
    kind: str
    uuid: str
    at: str
    guitar: str | None
    bench: str | None = None
    values: Mapping[str, Any] = field(default_factory=dict)


def line_of(row: Entry, uuids: Mapping[int, str], guitars: Mapping[int, str]) -> str:
    """Return an entry as its line, references by uuid."""
    body: dict[str, Any] = {"kind": row.kind, "uuid": row.uuid, "at": row.at}
    body["guitar"] = None if row.guitar_id is None else guitars[row.guitar_id]
    if row.bench is not None:
        body[BENCH] = row.bench
    for name, one in KINDS[row.kind][1].items():
        value = getattr(row, one.column)
        body[name] = uuids[value] if one.to is not None and value is not None else value
    return written(body)


def line_again(line: Line) -> str:
    """Return a line that was read as it is written."""
    body: dict[str, Any] = {"kind": line.kind, "uuid": line.uuid, "at": line.at, "guitar": line.guitar}
    body |= {} if line.bench is None else {BENCH: line.bench}
    body |= {name: line.values[one.column] for name, one in KINDS[line.kind][1].items()}
    return written(body)


def written(body: Mapping[str, Any]) -> str:
    """Return an object as one line, the same for the same object."""
    return json.dumps(body, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":"))


def read_line(text: str, number: int) -> Line:
    """Read one line; nothing but the fields of its kind is allowed.

    Raises
    ------
    InputError
        With what is wrong and where.
    """
    where = f"entries.jsonl line {number}"
    body = strict_json(text, where, LARGEST_LINE)
    kind = body.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        raise InputError(f"{where}: kind is {kind!r:.60}; known are {', '.join(KINDS)}.")
    fields = KINDS[kind][1]
    wrong = set(body) - {BENCH} ^ {*HEAD, *fields}
    if wrong:
        raise InputError(
            f"{where}: a {kind} has {', '.join([*HEAD, *fields])}; wrong or missing: {sorted(wrong)!s:.200}."
        )
    for name, pattern, null in (("uuid", UUID, False), ("guitar", UUID, True)):
        value = body[name]
        if not (null and value is None) and not (isinstance(value, str) and pattern.fullmatch(value)):
            raise InputError(f"{where}: {name} is {value!r:.60}, not a uuid.")
    check_moment(body["at"], f"{where}: at")
    bench = body.get(BENCH)
    if BENCH in body and (fault := text_fault(bench, SHORT) or (None if str(bench).strip() else "is empty")):
        raise InputError(f"{where}: {BENCH} {fault}.")
    for name, one in fields.items():
        if one.null and body[name] is None:
            continue
        if fault := one.fault(body[name]):
            raise InputError(f"{where}: {name} {fault}.")
    values = {one.column: body[name] for name, one in fields.items()}
    return Line(
        number=number, kind=kind, uuid=body["uuid"], at=body["at"], guitar=body["guitar"], bench=bench, values=values,
    )  # fmt: skip


def check_moment(value: Any, where: str) -> None:
    """Refuse a moment that is not written as the notebook writes it."""
    try:
        good = isinstance(value, str) and len(value) < 40 and stamp(datetime.fromisoformat(value)) == value
    except (ValueError, OverflowError):
        good = False
    if not good:
        raise InputError(
            f"{where} is {value!r:.60}; a moment is UTC as in 2026-03-03T09:00:00.000000+00:00, in the years "
            f"{FIRST_YEAR} to {LAST_YEAR}."
        )


def strict_json(text: str, where: str, most: int) -> dict[str, Any]:
    """Read one strict JSON object: no NaN, no key twice, no half characters; its size is judged before it is read."""
    if fault := json_fault(text, most):
        raise InputError(f"{where} {fault}; such JSON is not read.")

    def refuse(name: str) -> NoReturn:
        raise ValueError(f"{name} is not JSON")

    def pairs(found: list[tuple[str, Any]]) -> dict[str, Any]:
        body = dict(found)
        if len(body) != len(found):
            raise ValueError("a key stands twice")
        return body

    try:
        body = json.loads(text, parse_constant=refuse, object_pairs_hook=pairs)
        json.dumps(body, allow_nan=False, ensure_ascii=False).encode("utf-8")
    except (ValueError, RecursionError) as error:
        raise InputError(f"{where} is not strict JSON ({error!s:.200}).") from None
    if not isinstance(body, dict):
        raise InputError(f"{where} is not a JSON object.")
    return body
