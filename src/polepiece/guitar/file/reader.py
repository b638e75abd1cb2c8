"""From the tables of a guitar file to the records: what was given, what is assumed, every fault."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from polepiece.guitar.assumption import Assumption, defaults_of
from polepiece.guitar.checks import number_refused, printed
from polepiece.guitar.controls import CABLE_PER_METRE
from polepiece.guitar.file.layout import ASSUMED_KEYS, COMPLAINT_KEYS, CONTROL_KEYS, GUITAR_KEYS
from polepiece.guitar.file.measured import read_measured
from polepiece.guitar.file.pickup import read_pickup
from polepiece.guitar.file.strings import read_strings
from polepiece.guitar.file.tables import Filler, Table, make, read_table
from polepiece.guitar.file.values import Faults, Given
from polepiece.guitar.records import Complaint, Controls, Guitar, Pickup


def read_controls(table: Table, faults: Faults, filler: Filler) -> Controls:
    """Read [controls]; a cable may be given by length and capacitance a metre."""
    given = read_table(table, CONTROL_KEYS, "controls", faults)
    length, per_metre = given.get("_cable_length"), given.get("_cable_per_metre")
    if length is not None:
        if "cable_capacitance" in given:
            faults.add(length.path, f"is given beside {given['cable_capacitance'].path}; keep one of them.")
        if per_metre is None:
            (default,) = defaults_of([CABLE_PER_METRE]).values()
            filler.assume(default, f"controls.{CABLE_PER_METRE.name}", CABLE_PER_METRE)
            per_metre = Given(CABLE_PER_METRE.in_si(default.value), "")
        total = round(length.value * per_metre.value, 18)
        cable = next(one for one in CONTROL_KEYS if one.attr == "cable_capacitance")
        if refused := number_refused(Decimal(f"{total * 1e12:.4g}"), cable, cable.unit):
            allowed = refused.partition("; ")[2].partition(".")[0]
            faults.add(length.path, f"makes {total * 1e12:.4g} pF of cable; {allowed}. Are these feet?")
        else:
            given["cable_capacitance"] = Given(total, length.path)
    elif per_metre is not None:
        faults.add(per_metre.path, "needs cable_m, the length; if it is the whole cable, write cable_pf.")
    keys = tuple(key for key in CONTROL_KEYS if not key.attr.startswith("_"))
    return make(Controls, filler.fill(keys, given, defaults_of(keys), "controls."))  # type: ignore[no-any-return]


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
        complaints.append(make(Complaint, {attr: one.value for attr, one in given.items()}))
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
    pickups = _read_pickups(document, faults, filler)
    controls = document.get("controls", {})
    if not isinstance(controls, Mapping):
        faults.add("controls", f"is {printed(controls)}; it must be a table, [controls].")
        controls = {}
    top = filler.fill(GUITAR_KEYS, given, defaults_of(GUITAR_KEYS), "")
    parts: dict[str, Any] = {
        "pickups": pickups,
        "controls": read_controls(controls, faults, filler),
        "strings": read_strings(_tables(document, "strings", faults), top, given, faults, filler),
        "complaints": read_complaints(
            _tables(document, "complaints", faults), tuple(one.name for one in pickups), faults
        ),
        "assumed": _assumed(document, filler, faults),
        "measured": read_measured(_tables(document, "measured", faults), pickups, faults),
    }
    if faults.found:
        return None
    guitar: Guitar = make(Guitar, top, **parts)
    return guitar


def _read_pickups(document: Table, faults: Faults, filler: Filler) -> tuple[Pickup, ...]:
    """Read every [[pickups]] table; at least one, no two of a name."""
    tables = _tables(document, "pickups", faults)
    if not tables:
        faults.add("pickups", "is missing; a guitar needs a [[pickups]] table with name, position, construction.")
    pickups: list[Pickup] = []
    for place, table in enumerate(tables):
        path = f"pickups[{place}]"
        pickup = read_pickup(table, path, faults, filler)
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
