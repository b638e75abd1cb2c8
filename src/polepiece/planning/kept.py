"""A plan that was kept as JSON, read back as the record that it was: pages and sheets ask the record."""

from collections.abc import Iterable, Mapping
from dataclasses import MISSING, fields
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from polepiece.guitar import Complaint
from polepiece.planning.candidates import Refusal
from polepiece.planning.cheap_causes import Cause
from polepiece.planning.gate import Finding
from polepiece.planning.positions import Position
from polepiece.planning.record import Bar, Plan, Row, Understood

Record = TypeVar("Record")


def read_plan(body: Mapping[str, Any]) -> Plan:
    """Return the plan that `record.plan_json` wrote.

    What an earlier version did not write yet is empty; what is not of its kind (a file from elsewhere) is left out.
    """
    return Plan(
        verdict=_word(body.get("verdict"), "plan"), complaints=_all(Complaint, body.get("complaints")),
        repair_first=_all(Finding, body.get("repair_first")), cheap_causes=_all(Cause, body.get("cheap_causes")),
        advice=_words(body.get("advice")), constraints=_words(body.get("constraints")),
        rows=tuple(_row(one) for one in _mappings(body.get("rows"))),
        rest=tuple(_row(one) for one in _mappings(body.get("rest"))), refused=_all(Refusal, body.get("refused")),
        bars_to_have=_all(Bar, body.get("bars_to_have")), considered=_made(body.get("considered"), int),
        few=_word(body.get("few"), ""), said=_all(Understood, body.get("said")), parted=_words(body.get("parted")),
    )  # fmt: skip


def _row(body: Mapping[str, Any]) -> Row:
    other = body.get("also")
    also = (_word(other.get("pickup"), ""), _words(other.get("change"))) if isinstance(other, Mapping) else None
    effects = {key: flat(body[key]) for key in ("effect", "effect_at_old_level") if isinstance(body.get(key), Mapping)}
    intervals = {
        key: {name: (float(pair[0]), float(pair[1])) for name, pair in _pairs(body.get(key))}
        for key in ("interval", "interval_at_old_level")
    }
    positions = tuple(
        _record(Position, {**one, "difference": flat(one.get("difference", {}))})
        for one in _mappings(body.get("other_positions"))
    )
    whole = {**body, "effect": {}, "effect_at_old_level": None, **effects, **intervals}
    return _record(Row, {**whole, "also": also, "other_positions": positions})


def flat(effect: object, head: str = "") -> dict[str, float]:
    """Return numbers that are nested by band and string under their dotted keys."""
    out: dict[str, float] = {}
    inside = dict(enumerate(effect, 1)) if isinstance(effect, list) else effect
    if isinstance(inside, Mapping):
        for key, value in inside.items():
            out |= flat(value, f"{head}.{key}" if head else str(key))
    elif isinstance(inside, (int, float)):
        out[head] = float(inside)
    return out


def _record(kind: type[Record], body: Mapping[str, Any]) -> Record:
    hints, values = get_type_hints(kind), {}
    for field in fields(kind):  # type: ignore[arg-type]
        if field.name in body or field.default is MISSING:
            values[field.name] = _made(body.get(field.name), hints[field.name])
    return kind(**values)


def _made(value: object, kind: Any) -> Any:
    """Return ``value`` where it is of its kind, else what is empty of that kind."""
    may_miss = type(None) in get_args(kind)
    whole = next(one for one in get_args(kind) if one is not type(None)) if may_miss else kind
    plain = get_origin(whole) or whole
    if plain is tuple and isinstance(value, list):  # of words or of numbers
        return tuple(one for one in value if isinstance(one, get_args(whole)[0]))
    if plain is float and isinstance(value, int):
        return float(value)
    if isinstance(value, plain):
        return value
    return None if may_miss else plain()


def _all(kind: type[Record], found: object) -> tuple[Record, ...]:
    return tuple(_record(kind, one) for one in _mappings(found))


def _mappings(found: object) -> Iterable[Mapping[str, Any]]:
    return [one for one in found if isinstance(one, Mapping)] if isinstance(found, (list, tuple)) else []


def _pairs(found: object) -> Iterable[tuple[str, Any]]:
    if not isinstance(found, Mapping):
        return []
    return [(str(key), one) for key, one in found.items() if isinstance(one, (list, tuple)) and len(one) == 2]


def _word(found: object, other: str) -> str:
    return found if isinstance(found, str) else other


def _words(found: object) -> tuple[str, ...]:
    return tuple(one for one in found if isinstance(one, str)) if isinstance(found, (list, tuple)) else ()
