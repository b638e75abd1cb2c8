"""JSON Schema (draft 2020-12) of the guitar file, made from the lines of the parameters."""

from typing import Any

from polepiece.guitar.file import layout, trade_words
from polepiece.guitar.file.layout import Keys, all_names, find_key
from polepiece.guitar.file.units import Unit
from polepiece.guitar.parameter import Parameter
from polepiece.guitar.parts import SHEET_METALS

DRAFT = "https://json-schema.org/draft/2020-12/schema"
NUMBER_TEXT = r"^\s*(?:[A-Ca-c]|[Aa][Ww][Gg]|#)?\s*[+-]?[0-9]*[.,]?[0-9]+.*$"  # "7,8", "5/64 in"
Schema = dict[str, Any]


def guitar_schema() -> dict[str, Any]:
    """Return the JSON Schema of a guitar file.

    The schema knows names, types, words and ranges. What depends on several keys at once (parts that overlap,
    a grade beside own constants) is found by reading the file only.
    """
    pickup = _table(layout.PICKUP_KEYS, required=("name", "position", "construction"))
    for name, (keys, prefixes) in layout.PICKUP_TABLES.items():
        pickup["properties"][name] = _table(keys, prefixes)
    pickup["properties"]["keeper"] = {"anyOf": [{"const": "none"}, pickup["properties"]["keeper"]]}
    pickup["properties"]["coil"] = _table(layout.COIL_KEYS)
    pickup["properties"]["coils"] = _list(_table(layout.COIL_KEYS))
    words: Schema = {"enum": [False, "none", "unknown", *SHEET_METALS]}
    said: Schema = {"type": "string", "pattern": trade_words.pattern("material", *SHEET_METALS)}
    for name in ("base_plate", "cover"):
        pickup["properties"][name] = {"anyOf": [words, said, _table(layout.SHEET_KEYS)]}
    controls = _table(layout.CONTROL_KEYS)
    controls["properties"] |= {name: _list(_table(keys)) for name, (_, keys) in layout.CONTROL_TABLES.items()}
    guitar = _table(layout.GUITAR_KEYS, required=("pickups",))
    guitar["properties"] |= {
        "controls": controls,
        "pickups": {**_list(pickup), "minItems": 1},
        "strings": _list(_table(layout.STRING_KEYS)),
        "complaints": _list(_table(layout.COMPLAINT_KEYS, required=("word",))),
        "assumed": _list(_table(layout.ASSUMED_KEYS, required=("path", "value"))),
        "measured": _list(_table(layout.MEASURED_KEYS, required=("path", "value", "low", "high", "date"))),
    }
    return {"$schema": DRAFT, "title": "polepiece guitar file", **guitar}


def _list(items: Schema) -> Schema:
    return {"type": "array", "items": items}


def _table(keys: Keys, prefixes: tuple[str, ...] = (), required: tuple[str, ...] = ()) -> Schema:
    properties = {}
    for name in all_names(keys, prefixes):
        known = find_key(keys, prefixes, name)
        assert known is not None
        properties[name] = _value(*known)
    for key in keys:
        for prefix in ("", *prefixes):
            for stem in (key.stem, *key.aliases):
                bare = stem.removeprefix(prefix)
                properties.setdefault(bare, {"type": "string", "description": f"{key.meaning} (with its unit)"})
    table: Schema = {"type": "object", "properties": properties, "additionalProperties": False}
    return {**table, "required": list(required)} if required else table


def _said(field: str, *words: str) -> list[Schema]:
    pattern = trade_words.pattern(field, *words)
    return [{"type": "string", "pattern": pattern}] if pattern else []


def _value(key: Parameter, unit: Unit) -> Schema:
    """Return the schema of one value."""
    low, high = key.limits(unit)
    number: Schema = {"type": "integer" if key.whole else "number"}
    if key.low is not None and key.kind != "readings":
        number |= {"minimum": low, "maximum": high}
    text: Schema = {"type": "string", "pattern": NUMBER_TEXT}
    unknown: Schema = {"enum": ["unknown", *(["none"] if key.none == "none" else [])]}
    one = [number, text, unknown]
    forms: dict[str, list[Schema]] = {
        "number": one,
        "numbers": [*one, _list({"anyOf": [number, text]})],
        "readings": [_list({"anyOf": one})],
        "word": [{"enum": [*key.choices, "unknown"]}, *_spoken(key.choices), *_said(key.field, *key.choices)],
        "grade": [{"enum": list(key.choices)}, *_said("grade", *key.choices)],
        "gauge": [{"type": "number"}, {"type": "string", "maxLength": 20}],
        "charge": [{"enum": list(key.choices)}, number, text],
        "text": [{"type": "string", "maxLength": 1000}],
        "texts": [{"type": "string"}, _list({"type": "string", "maxLength": 1000})],
        "flag": [{"type": "boolean"}, {"enum": ["yes", "no", "unknown"]}],
    }
    words = f"{key.meaning} [{unit.word}]" if unit.word else key.meaning
    return {"description": words, "anyOf": forms[key.kind]}


def _spoken(choices: tuple[str, ...]) -> list[Schema]:
    """Return the form of words of several parts that are written as they are spoken: "two volumes, two tones"."""
    several = ["[-_, ]+".join(one.split("-")) for one in choices if one.count("-") > 1]
    return [{"type": "string", "pattern": f"^(?:{'|'.join(several)})$"}] if several else []
