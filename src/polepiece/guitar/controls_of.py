"""The controls as one pickup has them: its own volume and tone, or those behind the switch; read and set."""

from dataclasses import replace
from typing import Any

from polepiece.errors import InputError
from polepiece.guitar.controls import Controls
from polepiece.guitar.own_controls import AddedPart, Tone, Volume
from polepiece.guitar.records import Guitar
from polepiece.guitar.switching import template_owners, tone_of, volume_of, volumes_of

OWN = {
    "volume_pot": ("volumes", "pot"), "volume_pot_measured": ("volumes", "pot_measured"),
    "volume_setting": ("volumes", "setting"), "bleed_cap": ("volumes", "bleed_cap"),
    "bleed_resistor": ("volumes", "bleed_resistor"), "tone_pot": ("tones", "pot"),
    "tone_pot_measured": ("tones", "pot_measured"), "tone_setting": ("tones", "setting"), "tone_cap": ("tones", "cap"),
    "tone_tap": ("tones", "tap"), "shunt_resistor": ("parts", "resistor"),
}  # fmt: skip
"""Fields of the controls that a pickup may have for itself: the table and the field there."""
NETLIST = {
    "volume_setting": ("volume", "pot", "setting"), "volume_pot": ("volume", "pot", "resistance"),
    "tone_setting": ("tone", "pot", "setting"), "tone_pot": ("tone", "pot", "resistance"),
    "volume_pot_measured": ("volume", "pot", "resistance"), "tone_pot_measured": ("tone", "pot", "resistance"),
    "tone_cap": ("tone cap", "capacitor", "capacitance"), "bleed_cap": ("bleed", "capacitor", "capacitance"),
    "bleed_resistor": ("bleed resistor", "resistor", "resistance"),
    "shunt_resistor": ("shunt", "resistor", "resistance"),
}  # fmt: skip
"""The same in a netlist: the name that an element must have, its kind, and its field."""
WORDS = {"volumes": "volume", "tones": "tone control"}


def owner_of(guitar: Guitar, attr: str, pickup: str) -> str | None:
    """Return whose control sets ``attr`` of a pickup: its own, or None for the one behind the switch.

    Raises
    ------
    InputError
        When the pickup has no such control.
    """
    if attr not in OWN:
        return None
    table = OWN[attr][0]
    if table == "parts":
        own = any(one.pickup is not None for one in volumes_of(guitar))
        return pickup if own or any(one.pickup == pickup for one in guitar.controls.parts) else None
    owners = [*template_owners(guitar, table), *(one.pickup for one in getattr(guitar.controls, table))]
    shared = [one for one in guitar.controls.tones if pickup in one.shared_with] if table == "tones" else []
    if shared:
        return shared[0].pickup
    if pickup in owners:
        return pickup
    if None in owners:
        return None
    if not owners and table == "volumes":
        return None  # listed without a volume: the value waits for one
    there = ", ".join(f"{one}" for one in owners)
    raise InputError(f"{pickup} has no {WORDS[table]} of its own; there is one of: {there or 'no pickup'}.")


def controls_of(guitar: Guitar, pickup: str) -> Controls:
    """Return the controls with volume, tone and what hangs on them as one pickup has them."""
    controls = guitar.controls
    if not (controls.volumes or controls.tones or controls.parts) and controls.template.startswith("one-volume-one"):
        return controls
    volume = volume_of(guitar, pickup) or volume_of(guitar, None)
    tone = tone_of(guitar, pickup) or tone_of(guitar, None)
    across = [one.resistor for one in controls.parts if one.pickup == pickup and one.place == "across"]
    values: dict[str, Any] = {"tone_pot": None, "shunt_resistor": across[0] if across else controls.shunt_resistor}
    for table, one in (("volumes", volume), ("tones", tone)):
        if one is not None:
            values |= {attr: getattr(one, field) for attr, (where, field) in OWN.items() if where == table}
    return replace(controls, **values)


def with_controls(guitar: Guitar, pickup: str, **values: Any) -> Guitar:
    """Return the guitar with other values in the controls of one pickup, or in those behind the switch.

    Raises
    ------
    InputError
        When the pickup has no such control.
    """
    plain = not (guitar.controls.elements or guitar.controls.volumes or guitar.controls.tones)
    if plain and all(owner_of(guitar, attr, pickup) is None for attr in values):
        return _with(guitar, **values)
    for attr, value in values.items():
        guitar = _set(guitar, pickup, attr, value)
    return guitar


def _set(guitar: Guitar, pickup: str, attr: str, value: Any) -> Guitar:
    controls = guitar.controls
    if controls.elements and attr in OWN:
        return _set_element(guitar, pickup, attr, value)
    owner = owner_of(guitar, attr, pickup)
    table, field = OWN.get(attr, ("", ""))
    entries = list(getattr(controls, table)) if table else []
    if owner is None and not any(one.pickup is None for one in entries if table != "parts"):
        return _with(guitar, **{attr: value})
    if table == "parts":
        return _with(guitar, parts=_across(controls, owner, value))
    if value is None and field in ("bleed_cap", "bleed_resistor") and getattr(controls, attr) is not None:
        entries = [replace(one, pot=None) if one.pot == controls.volume_pot else one for one in volumes_of(guitar)]
        guitar = _with(guitar, **{attr: None})  # each other volume now says what it has of its own
    made: type = Volume if table == "volumes" else Tone
    old = next((one for one in entries if one.pickup == owner), made(pickup=owner))
    if field == "pot":  # none: taken out, the old value stays for the day it is put back
        new = replace(old, fitted=False) if value is None else replace(old, fitted=True, pot=value)
    else:
        new = replace(old, **{field: value})
    return _with(guitar, **{table: (*(one for one in entries if one.pickup != owner), new)})


def _with(guitar: Guitar, **values: Any) -> Guitar:
    return replace(guitar, controls=replace(guitar.controls, **values))


def _across(controls: Controls, owner: str | None, value: float | None) -> tuple[AddedPart, ...]:
    """Return the added parts with another resistor across a pickup, or none."""
    mine = [one for one in controls.parts if one.pickup == owner and one.place == "across"]
    others = [one for one in controls.parts if one not in mine]
    new = replace(mine[0], resistor=value) if mine else AddedPart(pickup=owner, place="across", resistor=value)
    return (*others, *([new] if new.resistor is not None or new.capacitor is not None else []), *mine[1:])


def _set_element(guitar: Guitar, pickup: str, attr: str, value: Any) -> Guitar:
    """Return the guitar with another value in the element of its netlist that is named for it."""
    elements = guitar.controls.elements
    if attr not in NETLIST or value is None:
        raise InputError("a netlist is changed in the guitar file; this move does not reach into it.")
    name, kind, field = NETLIST[attr]
    wanted = (f"{pickup} {name}", name)
    for one in wanted:
        for place, element in enumerate(elements):
            if element.name == one and element.kind == kind:
                new = replace(element, **{field: value})
                changed = (*elements[:place], new, *elements[place + 1 :])
                return replace(guitar, controls=replace(guitar.controls, elements=changed))
    there = ", ".join(one.name for one in elements if one.kind == kind) or "none"
    raise InputError(f'the netlist has no {kind} called "{wanted[0]}" or "{wanted[1]}"; it has: {there}.')
