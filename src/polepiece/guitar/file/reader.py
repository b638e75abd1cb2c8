"""From the tables of a guitar file to the records: what was given, what is assumed, every fault."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from polepiece.guitar.assumption import Assumption, defaults_of
from polepiece.guitar.checks import printed
from polepiece.guitar.defaults import SIX_STRINGS, Strung
from polepiece.guitar.file.controls import check_controls, read_controls
from polepiece.guitar.file.layout import ASSUMED_KEYS, COMPLAINT_KEYS, GUITAR_KEYS
from polepiece.guitar.file.measured import read_measured
from polepiece.guitar.file.pickup import read_pickup
from polepiece.guitar.file.strings import read_strings
from polepiece.guitar.file.tables import Filler, Table, Values, make, read_table
from polepiece.guitar.file.values import Faults
from polepiece.guitar.records import Complaint, Guitar, Pickup
from polepiece.guitar.switching import as_place

MOST_PICKUPS = 24


def read_complaints(tables: list[Table], names: tuple[str, ...], faults: Faults) -> tuple[Complaint, ...]:
    """Read [[complaints]]; a pickup that is named must exist."""
    complaints = []
    for place, table in enumerate(tables):
        path = f"complaints[{place}]"
        given = read_table(table, COMPLAINT_KEYS, path, faults)
        if "word" not in given:
            if "word" not in table:
                faults.add(f"{path}.word", "is missing; say what is wrong, e.g. muddy.")
            continue
        if "pickup" in given and given["pickup"].value not in names:
            faults.add(given["pickup"].path, f'is "{given["pickup"].value}"; this guitar has: {", ".join(names)}.')
        values = {attr: one.value for attr, one in given.items()}
        if values.get("position"):
            values["position"] = as_place(values["position"])
        complaints.append(make(Complaint, values))
    return tuple(complaints)


def _tables(document: Table, name: str, faults: Faults) -> list[Table]:
    """Return a list of tables, or note that it is none."""
    raw = document.get(name, [])
    if not isinstance(raw, list) or not all(isinstance(one, Mapping) for one in raw):
        faults.add(name, f"is {printed(raw)}; it must be a list of tables, [[{name}]].")
        return []
    return raw


def read_document(document: Table, faults: Faults) -> Guitar | None:
    """Turn a TOML document into a guitar; None when it has faults."""
    filler = Filler()
    leave = ("pickups", "strings", "complaints", "assumed", "measured", "controls")
    given = read_table(document, GUITAR_KEYS, "", faults, leave=leave)
    pickups = _read_pickups(document, _strung(document, given), faults, filler)
    controls = document.get("controls", {})
    if not isinstance(controls, Mapping):
        faults.add("controls", f"is {printed(controls)}; it must be a table, [controls].")
        controls = {}
    top = filler.fill(GUITAR_KEYS, given, defaults_of(GUITAR_KEYS), "")
    own_controls = read_controls(controls, faults, filler)
    others = not {"neck", "both"} & {one.position for one in pickups} and "selector" not in controls
    if others and pickups:  # what is assumed has to be there
        own_controls = replace(own_controls, selector=max(pickups, key=lambda one: one.distance_from_bridge).name)
        filler.instead_of("controls.selector", own_controls.selector)
    if len(pickups) == 1:  # no other one can be meant
        filler.assumed = [one for one in filler.assumed if one.path != "controls.selector"]
    parts: dict[str, Any] = {
        "pickups": pickups,
        "controls": own_controls,
        "strings": read_strings(_tables(document, "strings", faults), top, given, faults, filler),
        "complaints": read_complaints(
            _tables(document, "complaints", faults), tuple(one.name for one in pickups), faults
        ),
        "assumed": _assumed(document, filler, faults),
        "measured": read_measured(_tables(document, "measured", faults), pickups, faults),
    }
    if faults.found:
        return None
    guitar = check_controls(make(Guitar, top, **parts), controls, faults)
    return None if faults.found else guitar


def _strung(document: Table, given: Values) -> Strung:
    """Return what lies over the pickups; six strings of a guitar where the file does not say otherwise, or wrongly."""
    top = Filler().fill(GUITAR_KEYS, given, defaults_of(GUITAR_KEYS), "")
    listed, scale = _tables(document, "strings", Faults()), top["scale_length"]
    if not (listed or "string_set" in given) or not scale:
        return SIX_STRINGS
    strings = read_strings(listed, top, given, Faults(), Filler())
    return Strung(strings=len(strings), thinnest=min((one.diameter for one in strings), default=0.0), scale=scale)


def _read_pickups(document: Table, strung: Strung, faults: Faults, filler: Filler) -> tuple[Pickup, ...]:
    """Read every [[pickups]] table; at least one, no two of a name."""
    tables = _tables(document, "pickups", faults)
    if not tables:
        faults.add("pickups", "is missing; a guitar needs a [[pickups]] table with name, position, construction.")
    if len(tables) > MOST_PICKUPS:
        faults.add("pickups", f"has {len(tables)} pickups; instruments with 1 to {MOST_PICKUPS} are covered.")
        return ()
    pickups: list[Pickup] = []
    for place, table in enumerate(tables):
        path = f"pickups[{place}]"
        pickup = read_pickup(table, path, faults, filler, strung)
        if pickup is None:
            continue
        if pickup.name in [one.name for one in pickups]:
            faults.add(f"{path}.name", f'is "{pickup.name}" again; every pickup needs a name of its own.')
        pickups.append(pickup)
    return tuple(pickups)


def _assumed(document: Table, filler: Filler, faults: Faults) -> tuple[Assumption, ...]:
    """Return what is assumed.

    A file that lists its assumptions itself (as a written one does) is believed; only values that had to be
    filled in beyond its list are added.
    """
    if "assumed" not in document:
        return tuple(filler.assumed)
    listed: list[Assumption] = []
    for place, table in enumerate(_tables(document, "assumed", faults)):
        path = f"assumed[{place}]"
        given = read_table(table, ASSUMED_KEYS, path, faults)
        missing = [needed for needed in ("path", "value") if needed not in given]
        for needed in missing:
            faults.add(f"{path}.{needed}", "is missing.")
        if not missing:
            listed.append(make(Assumption, {attr: one.value for attr, one in given.items()}))
    known = {one.path for one in listed}
    return (*listed, *(one for one in filler.assumed if one.path in filler.valued and one.path not in known))
