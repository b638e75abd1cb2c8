"""From the controls of a guitar and a position of its switches to the circuit between coils and amplifier."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from polepiece.arrays import FloatArray
from polepiece.circuit import (
    ControlCircuit,
    Load,
    LoadedResponse,
    Net,
    PickupCircuit,
    net_of,
    net_responses,
    topology_of,
)
from polepiece.guitar import (
    NOMINAL,
    Draw,
    Guitar,
    SwitchPosition,
    Tone,
    Volume,
    element_net,
    key_of,
    tone_of,
    volume_of,
    volumes_of,
)
from polepiece.pickup.grid import GRID

CABLE = key_of("controls.cable_capacitance")
POT = (0.8, 1.2)
"""90 % of the pots, against what is marked (common practice, no source)."""
TOLERANCES = {"pot": POT, "resistor": (0.95, 1.05), "capacitor": (0.9, 1.1), "inductor": (0.9, 1.1)}
"""90 % of the parts of a netlist, against what the file says: usual classes of parts (common practice, no source)."""

NOTHING = ControlCircuit()


def control_circuit(guitar: Guitar, owner: str | None = None, draw: Draw = NOMINAL) -> ControlCircuit:
    """Return volume, tone and what hangs on them of one pickup, or with None those behind the switch.

    Where each pickup has a volume of its own the resistor clipped "across the pickup" is across each of them, else it
    is behind the switch. Spreads of the pots are an assumption.
    """
    controls = guitar.controls
    volume, tone = volume_of(guitar, owner), tone_of(guitar, owner)
    own = any(one.pickup is not None for one in volumes_of(guitar))
    if owner is not None and volume is None and tone is None and not controls.parts:
        return NOTHING
    here = volume is not None and owner is not None if own else owner is None
    shunt = [controls.shunt_resistor] if here else []
    across = [one for one in controls.parts if one.pickup == owner and one.place == "across"]
    in_line = next((one for one in controls.parts if one.pickup == owner and one.place == "in-line"), None)
    farads = [one.capacitor for one in across if one.capacitor]
    return ControlCircuit(
        **({} if volume is None else _volume(volume, draw)), **({} if tone is None else _tone(tone, draw)),
        bleed_wiring=controls.bleed_wiring, shunt_resistor=_side_by_side([*shunt, *(one.resistor for one in across)]),
        shunt_capacitor=sum(farads) if farads else None,
        line_resistor=None if in_line is None else in_line.resistor,
        line_capacitor=None if in_line is None else in_line.capacitor,
    )  # fmt: skip


def _side_by_side(ohms: Sequence[float | None]) -> float | None:
    """Return the resistance of resistors side by side; None of none. Kirchhoff."""
    there = [one for one in ohms if one is not None]
    return there[0] if len(there) == 1 else 1.0 / sum(1.0 / one for one in there) if there else None


def _volume(volume: Volume, draw: Draw) -> dict[str, Any]:
    return {
        "volume_pot": volume.pot_measured or _drawn(volume.pot, "volume pot", volume.pickup, draw),
        "volume_setting": volume.setting, "bleed_capacitor": volume.bleed_cap, "bleed_resistor": volume.bleed_resistor,
        "volume_wiring": volume.wired,
    }  # fmt: skip


def _tone(tone: Tone, draw: Draw) -> dict[str, Any]:
    return {
        "tone_pot": tone.pot_measured or _drawn(tone.pot, "tone pot", tone.pickup, draw),
        "tone_setting": tone.setting, "tone_capacitor": tone.cap, "tone_tap": tone.tap,
    }  # fmt: skip


def _drawn(ohm: float | None, words: str, owner: str | None, draw: Draw) -> float:
    assert ohm is not None
    return ohm * draw.factor(words if owner is None else f"{words} {owner}", *POT)


def circuit_load(guitar: Guitar, draw: Draw = NOMINAL) -> Load:
    """Return cable and amplifier input. The spread of a cable is an assumption."""
    c = guitar.controls
    assumed = any(a.path == CABLE for a in guitar.assumed)
    cable = c.cable_capacitance * (draw.factor("cable", 0.6, 1.8) if assumed else draw.factor("cable", 0.95, 1.05))
    return Load(cable_capacitance=cable, input_resistance=c.input_resistance, input_capacitance=c.input_capacitance)


def in_position(pickup: str, circuit: PickupCircuit, position: SwitchPosition) -> PickupCircuit:
    """Return a pickup as the position has it: its coils joined otherwise, its leads exchanged."""
    wiring = position.wirings.get(pickup, circuit.wiring)
    turned = pickup in position.turned
    if wiring == circuit.wiring and not turned:
        return circuit
    return replace(circuit, wiring=wiring, reverse=circuit.reverse != turned)


def position_net(
    guitar: Guitar, position: SwitchPosition, circuits: Mapping[str, PickupCircuit], draw: Draw = NOMINAL
) -> Net:
    """Return the net up to the jack in one position.

    Parameters
    ----------
    guitar : Guitar
    position : SwitchPosition
    circuits : mapping
        Of every pickup that is on, by name, without controls and as it is wired by itself.
    draw : Draw
        Of the pots.
    """
    on = {name: in_position(name, circuits[name], position) for name in position.on}
    if guitar.controls.elements:
        return element_net(
            guitar.controls.elements, position, on,
            lambda one: draw.factor(f"{one.kind} {one.name}", *TOLERANCES[one.kind]),
        )  # fmt: skip
    behind, shared = {}, set()
    for name, one in on.items():
        controls, tone = control_circuit(guitar, name, draw), tone_of(guitar, name)
        if tone is not None and tone.shared_with:  # one pot, however many of its pickups are on
            controls = replace(controls, tone_pot=None, tone_capacitor=None) if tone.pickup in shared else controls
            shared.add(tone.pickup)
        behind[name] = replace(one, controls=controls)
    return net_of(
        list(behind.values()), master=control_circuit(guitar, None, draw),
        joined="series" if position.series else "parallel",
    )  # fmt: skip


def position_responses(
    guitar: Guitar, position: SwitchPosition, circuits: Sequence[Mapping[str, PickupCircuit]],
    draws: Sequence[Draw] = (NOMINAL,), frequency: FloatArray = GRID,
) -> list[LoadedResponse]:  # fmt: skip
    """Return the response of every draw in one position; transfers in the order of the names of the first mapping."""
    nets = [position_net(guitar, position, one, draw) for one, draw in zip(circuits, draws, strict=True)]
    found = net_responses(frequency, nets, [circuit_load(guitar, draw) for draw in draws])
    order = [position.on.index(name) for name in circuits[0]]
    if list(order) == list(range(len(order))):
        return found
    return [replace(one, transfers=tuple(one.transfers[at] for at in order)) for one in found]


def guitar_responses(
    guitars: Sequence[Guitar], position: SwitchPosition, circuits: Mapping[str, PickupCircuit],
    frequency: FloatArray = GRID,
) -> list[LoadedResponse]:  # fmt: skip
    """Return the response of every guitar in one position; the same pickups, controls of its own each.

    Those of one topology are solved together. Transfers come in the order of the names of ``circuits``.
    """
    nets = [position_net(one, position, circuits) for one in guitars]
    alike: dict[object, list[int]] = {}
    for at, net in enumerate(nets):
        alike.setdefault(topology_of(net), []).append(at)
    order = [position.on.index(name) for name in circuits]
    out: dict[int, LoadedResponse] = {}
    for places in alike.values():
        found = net_responses(frequency, [nets[at] for at in places], [circuit_load(guitars[at]) for at in places])
        for at, one in zip(places, found):
            out[at] = replace(one, transfers=tuple(one.transfers[k] for k in order))
    return [out[at] for at in range(len(guitars))]
