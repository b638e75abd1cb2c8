"""[controls] of a guitar file with its tables of volumes, tones, added parts, positions and elements."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, replace
from decimal import Decimal
from typing import Any

from polepiece.errors import InputError
from polepiece.guitar.assumption import defaults_of
from polepiece.guitar.checks import number_refused, printed
from polepiece.guitar.controls import CABLE_PER_METRE, Controls
from polepiece.guitar.file.layout import CONTROL_KEYS, CONTROL_TABLES
from polepiece.guitar.file.tables import Filler, Table, Values, make, read_table
from polepiece.guitar.file.values import Faults, Given
from polepiece.guitar.netlist import element_faults, pickups_in
from polepiece.guitar.parameter import NEEDED
from polepiece.guitar.pulled_knobs import knobs_of, wirings_of
from polepiece.guitar.records import Guitar, Pickup
from polepiece.guitar.switch_position import PHASE, Joined, SwitchPosition, coils_of
from polepiece.guitar.switching import (
    PLACES,
    as_place,
    layout_of,
    position_named,
    positions_of,
    template_fault,
    template_owners,
    volumes_of,
)


def read_controls(table: Table, faults: Faults, filler: Filler) -> Controls:
    """Read [controls]; a cable may be given by length and capacitance a metre."""
    given = read_table(table, CONTROL_KEYS, "controls", faults, leave=tuple(CONTROL_TABLES))
    _cable(given, faults, filler)
    keys = tuple(key for key in CONTROL_KEYS if not key.attr.startswith("_"))
    lists: dict[str, Any] = {name: _list(table, name, faults) for name in CONTROL_TABLES}
    controls: Controls = make(Controls, filler.fill(keys, given, defaults_of(keys), "controls."), **lists)
    return replace(controls, selector=as_place(controls.selector))


def _cable(given: Values, faults: Faults, filler: Filler) -> None:
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


def _list(table: Table, name: str, faults: Faults) -> tuple[Any, ...]:
    """Read one list of tables inside [controls]; entries with a fault are left out."""
    record, keys = CONTROL_TABLES[name]
    raw = table.get(name, [])
    if not isinstance(raw, list) or not all(isinstance(one, Mapping) for one in raw):
        faults.add(f"controls.{name}", f"is {printed(raw)}; it must be a list of tables, [[controls.{name}]].")
        return ()
    found = []
    for place, one in enumerate(raw):
        path, before = f"controls.{name}[{place}]", len(faults.found)
        given = read_table(one, keys, path, faults)
        needed = {field.name for field in fields(record) if field.default is NEEDED}
        for key in keys:
            if key.attr in needed - set(given) and key.name not in one:
                faults.add(f"{path}.{key.name}", f"is missing: {key.meaning}.")
        if len(faults.found) == before:
            found.append(make(record, {attr: value.value for attr, value in given.items()}))
    return tuple(found)


# ---------------------------------------------------------------- with the pickups


def check_controls(guitar: Guitar, typed: Table, faults: Faults) -> Guitar:
    """Note what does not fit the pickups; return the guitar with the pickups of a netlist's positions filled in.

    ``typed`` is the [controls] table, as it was typed.
    """
    before = len(faults.found)
    _check_owners(guitar, faults)
    _check_positions(guitar, faults)
    _check_knobs(guitar, faults)
    if guitar.controls.elements and not guitar.controls.positions:
        faults.add(
            "controls.elements", 'needs positions: [[controls.positions]] name = "...", one for each of the switch.'
        )
    elif wrong := template_fault(guitar):
        faults.add("controls.template", wrong)
    if guitar.controls.elements:
        names = [one.name for one in guitar.controls.positions]
        for fault in element_faults(guitar.controls.elements, guitar.pickups, names, guitar.controls.push_pull):
            faults.add(f"controls.{fault.partition(' ')[0]}", fault.partition(" ")[2])
    if len(faults.found) > before:
        return guitar
    if guitar.controls.elements:
        guitar = _heard(guitar, faults)
        _check_pulled_contacts(guitar, faults)
    for path, said in _named(guitar, typed):
        if said not in PLACES:
            try:
                position_named(guitar, said)
            except InputError as fault:
                faults.add(path, f'is "{said}": {fault}')
    return guitar


def _named(guitar: Guitar, typed: Table) -> list[tuple[str, str]]:
    """Return every place in the file that names a position, and the name."""
    said = [(f"complaints[{n}].position", one.position) for n, one in enumerate(guitar.complaints) if one.position]
    return [*([("controls.selector", guitar.controls.selector)] if "selector" in typed else []), *said]


def _check_owners(guitar: Guitar, faults: Faults) -> None:
    """Every control belongs to a pickup that is there, once, and to one that the template gives such a control."""
    names = [one.name for one in guitar.pickups]
    controls = guitar.controls
    for table, entries in (("volumes", controls.volumes), ("tones", controls.tones), ("parts", controls.parts)):
        owners = [one.pickup for one in entries]
        for place, owner in enumerate(owners):
            path = f"controls.{table}[{place}]"
            if owner is not None and owner not in names:
                faults.add(f"{path}.pickup", f'is "{owner}"; this guitar has: {", ".join(names)}.')
            elif table != "parts" and owner in owners[:place]:
                faults.add(path, f"is one more for {owner or 'all pickups'}; keep one of them.")
            elif table != "parts" and layout_of(controls.template) is not None:
                allowed = template_owners(guitar, table)
                if owner not in allowed:
                    whose = ", ".join(one or "all (pickup left out)" for one in allowed) or "none"
                    faults.add(
                        f"{path}.pickup", f"is {owner or 'left out'}; the template {controls.template} has {table} of: "
                        f'{whose}. Otherwise write template = "as-listed".'
                    )  # fmt: skip
    for fault in _shared_faults(guitar):
        faults.add(*fault)
    for place, one in enumerate(controls.parts):
        if one.resistor is None and one.capacitor is None:
            faults.add(f"controls.parts[{place}]", "has neither a resistor nor a capacitor; give one of them.")
        if one.place == "in-line" and any(
            (two.place, two.pickup) == (one.place, one.pickup) for two in controls.parts[:place]
        ):
            faults.add(f"controls.parts[{place}]", "is one more in line there; give both in one table.")


def _shared_faults(guitar: Guitar) -> Iterator[tuple[str, str]]:
    """Yield (path, what is wrong) of tone pots that several pickups share."""
    controls, names = guitar.controls, [one.name for one in guitar.pickups]
    layout, seen = layout_of(controls.template), [one.pickup for one in controls.tones]
    shared = [(place, one) for place, one in enumerate(controls.tones) if one.shared_with]
    for place, one in shared:
        path = f"controls.tones[{place}].shared_with"
        if one.pickup is None:
            yield path, "needs pickup, the first of those that share it."
        for name in one.shared_with:
            if name not in names:
                yield path, f'names "{name}"; this guitar has: {", ".join(names)}.'
            elif name in seen:
                yield path, f"names {name}, which has a tone control already; keep one of them."
            seen.append(name)
        if own := [one for one in volumes_of(guitar) if one.pickup is not None]:
            yield (
                path,
                (
                    f"is said where {own[0].pickup} has a volume of its own: that does not say what the pot hangs on; "
                    "next best: [[controls.elements]], part by part."
                ),
            )
    if shared and layout is not None and len(controls.tones) > layout.tones:
        yield (
            "controls.tones",
            (
                f"has {len(controls.tones)} tones; the template {controls.template} has {layout.tones}. A shared pot "
                "is one."
            ),
        )


def _check_positions(guitar: Guitar, faults: Faults) -> None:
    names = [one.name for one in guitar.pickups]
    seen: list[str] = []
    for place, one in enumerate(guitar.controls.positions):
        path = f"controls.positions[{place}]"
        if one.name.lower() in seen:
            faults.add(f"{path}.name", f'is "{one.name}" again; every position needs a name of its own.')
        seen.append(one.name.lower())
        for pickup in one.on:
            if pickup not in names:
                faults.add(f"{path}.on", f'names "{pickup}"; this guitar has: {", ".join(names)}.')
        if len(set(one.on)) < len(one.on):
            faults.add(f"{path}.on", "names a pickup twice.")
        if not one.on and not guitar.controls.elements:
            faults.add(f"{path}.on", f'is missing: the pickups that are on, such as on = ["{names[0]}"].')
        if one.series and len(one.on) < 2 and not guitar.controls.elements:
            faults.add(f"{path}.how", f'is "{one.how}"; that needs two pickups in on.')
        joined: set[str] = set()
        for number, said in enumerate(one.coils):
            _check_coils(f"{path}.coils[{number}]", said, guitar.pickups, one, joined, faults)


def _check_knobs(guitar: Guitar, faults: Faults) -> None:
    """Every knob is of a pickup that can be joined so, and once; what several do is said of knobs that there are."""
    seen: list[tuple[str, frozenset[Joined]]] = []
    single = set()
    for place, said in enumerate(guitar.controls.push_pull):
        path = f"controls.push_pull[{place}]"
        try:
            knobs = knobs_of(said)
        except InputError as fault:
            one_coil = _one_coil(said, guitar.pickups)
            faults.add(path, f'is "{said}"; {one_coil}' if one_coil else str(fault))
            continue
        for wiring in wirings_of(knobs) or (PHASE,):
            if wrong := _cannot(said, knobs.pickup, wiring, guitar.pickups):
                faults.add(path, wrong)
                break
        if (knobs.pickup, frozenset(knobs.pulled)) in seen:
            faults.add(path, f'is "{said}", which is said already; keep one of them.')
        seen.append((knobs.pickup, frozenset(knobs.pulled)))
        single |= {(knobs.pickup, knobs.pulled[0])} if knobs.one else set()
    wrong_there = {one.partition(" ")[0] for one in faults.found}
    for place, said in enumerate(guitar.controls.push_pull):
        if f"controls.push_pull[{place}]" in wrong_there:
            continue
        knobs = knobs_of(said)
        for one in knobs.pulled:
            if (knobs.pickup, one) not in single:
                faults.add(
                    f"controls.push_pull[{place}]",
                    f'is "{said}", but no knob does "{knobs.pickup}: {one}"; list that knob by itself too.',
                )


def _check_coils(
    path: str, said: str, pickups: Sequence[Pickup], position: SwitchPosition, joined: set[str], faults: Faults
) -> None:
    """Check one entry of a position's coils; ``joined`` gathers the pickups whose coils it has joined so far."""
    try:
        name, wiring = coils_of(said)
    except InputError as fault:
        faults.add(path, str(fault))
        return
    if wrong := _cannot(said, name, wiring, pickups):
        faults.add(path, wrong)
    elif position.on and name not in position.on:
        faults.add(path, f"is of {name}, which is not on in {position.name}.")
    elif wiring != PHASE and name in joined:
        faults.add(path, f'is "{said}", and the coils of {name} are joined another way there already; keep one.')
    if wiring != PHASE:
        joined.add(name)


def _one_coil(said: str, pickups: Sequence[Pickup]) -> str:
    """Say that the pickup before the colon has one coil, where it has: then only its leads can be exchanged."""
    name = said.partition(":")[0].strip()
    built = next((one.built for one in pickups if one.name == name), None)
    if built is None or len(built.coils) > 1:
        return ""
    return f'{name} is a {built.words} with one coil. To exchange its leads write "{name}: phase".'


def _cannot(said: str, name: str, wiring: Joined, pickups: Sequence[Pickup]) -> str:
    """Say why a pickup cannot be joined so; nothing where it can."""
    there = {one.name: one for one in pickups}
    if name not in there:
        return f'is of "{name}"; this guitar has: {", ".join(there)}.'
    built = there[name].built
    if wiring == PHASE or (wiring == "parallel-out-of-phase" and {"parallel", "out-of-phase"} <= set(built.wirings)):
        return ""
    if wiring not in built.wirings and (one_coil := _one_coil(said, pickups)):
        return f'is "{said}"; {one_coil}'
    if wiring not in built.wirings:
        return f'is "{said}"; {name} is a {built.words}, whose coils can be: {", ".join(built.wirings)}.'
    if there[name].lead == "two-conductor" and wiring not in ("series", there[name].wiring):
        return f'is "{said}"; {name} has a two-conductor lead, which leaves its coils in series.'
    return ""


def _check_pulled_contacts(guitar: Guitar, faults: Faults) -> None:
    """A contact that names a position with its knobs pulled names one that there is."""
    there = [one.name for one in positions_of(guitar)]
    for place, element in enumerate(guitar.controls.elements):
        for said in element.closed:
            if " (" in said and said not in there:
                path = f"controls.elements[{place}].closed"
                faults.add(path, f'is "{said}"; the positions are: {"; ".join(there)}.')


def _heard(guitar: Guitar, faults: Faults) -> Guitar:
    """Fill in which pickups reach the jack in every position of a netlist; what is said otherwise is a fault."""
    filled = []
    for place, one in enumerate(positions_of(guitar)[: len(guitar.controls.positions)]):
        path = f"controls.positions[{place}]"
        try:
            found = pickups_in(guitar.controls.elements, one, guitar.pickups)
        except InputError as fault:
            faults.add(path, f'("{one.name}"): {fault}')
            continue
        if one.on and set(one.on) != set(found):
            faults.add(
                f"{path}.on", f"names {', '.join(one.on)}, but in the netlist {', '.join(found)} reach the jack."
            )
        filled.append(replace(one, on=one.on or found))
    if len(filled) < len(guitar.controls.positions):
        return guitar
    return replace(guitar, controls=replace(guitar.controls, positions=tuple(filled)))
