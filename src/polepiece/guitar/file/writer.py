"""Write a guitar as TOML that reads back as the same record, to the last bit."""

from collections.abc import Iterable
from typing import Any

import tomli_w

from polepiece.errors import InputError
from polepiece.guitar.file import layout
from polepiece.guitar.file.layout import home_of
from polepiece.guitar.file.units import to_bench
from polepiece.guitar.parameter import Parameter
from polepiece.guitar.parts import Sheet
from polepiece.guitar.records import Guitar, Pickup
from polepiece.strings import note_frequency

HEAD = """\
# Lengths in mm where a key has no unit. String 1 is the thin one. A gap runs from the underside of a string,
# pressed at the last fret, to the top of its pole. What this file does not say is assumed and listed.
"""
LISTED = """\
# [[assumed]] lists values below that nobody measured; take an entry out when its value is measured.
"""


def document_of(guitar: Guitar, *, silent: frozenset[str], listed: bool) -> str:
    """Return the TOML text of a guitar.

    Parameters
    ----------
    guitar : Guitar
    silent : frozenset of str
        Paths that are left out, because reading would assume the same.
    listed : bool
        Write ``[[assumed]]``.
    """
    document = _table(guitar, layout.GUITAR_KEYS, "", silent)
    if listed:
        document["assumed"] = [_table(one, layout.ASSUMED_KEYS, "", frozenset()) for one in guitar.assumed]
    measured = [one for one in guitar.measured if one.pickup is None]  # typed at the pickup: it is written there
    if measured:
        document["measured"] = [_table(one, layout.MEASURED_KEYS, "", frozenset()) for one in measured]
    if guitar.complaints:
        document["complaints"] = [_table(one, layout.COMPLAINT_KEYS, "", silent) for one in guitar.complaints]
    controls = _table(guitar.controls, layout.CONTROL_KEYS, "controls.", silent)
    for name, (_, keys) in layout.CONTROL_TABLES.items():
        if entries := getattr(guitar.controls, name):
            controls[name] = [_table(one, keys, "", frozenset()) for one in entries]
    if controls:
        document["controls"] = controls
    document["pickups"] = [_pickup(pickup, f"pickups[{place}]", silent) for place, pickup in enumerate(guitar.pickups)]
    if "strings" not in silent:
        quiet = silent | _in_tuning(guitar) | _guessed_plain(guitar, silent)
        document["strings"] = [
            _table(one, layout.STRING_KEYS, f"strings[{place}].", quiet) for place, one in enumerate(guitar.strings)
        ]
    return HEAD + (LISTED if listed else "") + "\n" + tomli_w.dumps(document, multiline_strings=False)


def _in_tuning(guitar: Guitar) -> frozenset[str]:
    """Return the paths of pitches that are just the notes of the tuning: a new tuning then moves them."""
    if len(guitar.tuning) != len(guitar.strings):
        return frozenset()
    out = []
    for place, (one, note) in enumerate(zip(guitar.strings, guitar.tuning)):
        try:
            same = one.pitch == note_frequency(note)
        except InputError:
            same = False
        out += [f"strings[{place}].pitch_hz"] if same else []
    return frozenset(out)


def _guessed_plain(guitar: Guitar, silent: frozenset[str]) -> frozenset[str]:
    """Return the paths of cores that are the string itself, where it is only assumed to be plain: they would say so."""
    return frozenset(
        f"strings[{place}].core_diameter" for place, one in enumerate(guitar.strings)
        if f"strings[{place}].wrap" in silent and one.core_diameter == one.diameter
    )  # fmt: skip


def _get(record: object, attr: str) -> Any:
    for name in attr.split("."):
        record = getattr(record, name, None)
    return record


def _bench(value: Any, key: Parameter) -> Any:
    """Return one value as the file has it; None when nothing is written."""
    if value is None:
        return "none" if key.say_none else None
    if isinstance(value, tuple):
        return [("unknown" if one is None else _bench(one, key)) for one in value] or None
    if value == "" or (key.quiet and value == key.in_si(key.default)):
        return None
    return value if isinstance(value, bool | str) else to_bench(value, key.unit)


def _table(record: object, keys: Iterable[Parameter], path: str, silent: frozenset[str]) -> dict[str, Any]:
    """Return the keys of one record that are written."""
    table = {}
    for key in keys:
        if key.attr.startswith("_") or path + key.name in silent:
            continue
        value = _bench(_get(record, key.attr), key)
        if value is not None:
            table[key.name] = value
    return table


def _pickup(pickup: Pickup, path: str, silent: frozenset[str]) -> dict[str, Any]:
    document = _table(pickup, layout.PICKUP_KEYS, f"{path}.", silent)
    if not pickup.built.can_face and pickup.screws_face == "neck":  # no screw faces anything: nothing to say
        document.pop(layout.parameter_of("screws_face").name, None)
    lacks = pickup.built.lacks
    own = pickup.magnet.constants is not None
    for keys in (layout.PICKUP_TABLES["magnet"][0], layout.PICKUP_TABLES["poles"][0]):
        for key in keys:
            if key.attr.startswith(lacks) or (own and key.attr == "magnet.grade"):
                continue
            home = home_of(key.attr)
            constant = key.attr.startswith("constants.")
            record = pickup.magnet if constant else pickup
            value = _bench(_get(record, key.attr), key)
            if value is not None and f"{path}.{home}{key.name}" not in silent:
                document.setdefault(home.rstrip("."), {})[key.name] = value
    document |= _coils(pickup, path, silent)
    for name, sheet in (("base_plate", pickup.base_plate), ("cover", pickup.cover)):
        if f"{path}.{name}" not in silent:
            document[name] = _sheet(sheet, f"{path}.{name}.", name, silent)
    return document


def _coils(pickup: Pickup, path: str, silent: frozenset[str]) -> dict[str, Any]:
    if len(set(pickup.coils)) == 1:
        coil = _table(pickup.coils[0], layout.COIL_KEYS, f"{path}.coil.", silent)
        return {"coil": coil} if coil else {}
    paths = [f"{path}.coils[{place}]." for place in range(len(pickup.coils))]
    return {"coils": [_table(coil, layout.COIL_KEYS, here, silent) for coil, here in zip(pickup.coils, paths)]}


def _sheet(sheet: Sheet | None, path: str, name: str, silent: frozenset[str]) -> Any:
    if sheet is None:
        return "none"
    return _table(sheet, layout.SHEET_KEYS, path, silent)
