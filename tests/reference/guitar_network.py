"""The circuit of a guitar as a plain network, for the general nodal analysis and for other programs."""

from collections.abc import Sequence
from typing import assert_never

from polepiece.circuit.parts import ControlCircuit, Load, PickupCircuit
from tests.reference.circuit_elements import GROUND, Capacitor, Element, Impedance, Mutual, Resistor, Source
from tests.reference.nodal import Network

OUTPUT = "out"


def network_of(
    pickups: PickupCircuit | Sequence[PickupCircuit],
    *,
    master: ControlCircuit | None = None,
    load: Load | None = None,
) -> Network:
    """Network of the pickups that are on, their controls, the master controls and the load.

    Parameters
    ----------
    pickups, master, load
        As for `loaded_response`.

    Returns
    -------
    Network
        Sources ``p0.emf0``, ``p0.emf1``, ``p1.emf0`` ... are the EMF of the coils in the order of
        `loaded_response`; node "out" is the jack, with cable and amplifier input on it.
    """
    on = (pickups,) if isinstance(pickups, PickupCircuit) else tuple(pickups)
    elements: list[Element] = []
    joint = OUTPUT if master is None else "joint"
    for number, one in enumerate(on):
        name = f"p{number}"
        elements += _pickup(name, one, hot=f"{name}.hot")
        if one.capacitance:
            elements.append(Capacitor(name=f"{name}.winding", a=f"{name}.hot", b=GROUND, capacitance=one.capacitance))
        elements += _controls(name, one.controls, start=f"{name}.hot", end=joint)
    if master is not None:
        elements += _controls("master", master, start=joint, end=OUTPUT)
    plug = load or Load()
    elements.append(
        Capacitor(name="cable", a=OUTPUT, b=GROUND, capacitance=plug.cable_capacitance + plug.input_capacitance)
    )
    if plug.input_resistance is not None:
        elements.append(Resistor(name="input", a=OUTPUT, b=GROUND, resistance=plug.input_resistance))
    return Network(elements=tuple(elements))


def _pickup(name: str, pickup: PickupCircuit, *, hot: str) -> list[Element]:
    """Coils with their EMF between ``hot`` and ground, joined as the wiring says."""
    ends = _ends(name, pickup, hot)
    elements: list[Element] = []
    for coil, (high, low) in enumerate(ends):
        inner = f"{name}.inner{coil}"
        value = pickup.impedance[coil, coil]
        elements.append(Source(name=f"{name}.emf{coil}", a=inner, b=low))
        elements.append(Impedance(name=f"{name}.coil{coil}", a=inner, b=high, impedance=value))
        if pickup.coil_capacitance:
            farads = pickup.coil_capacitance[coil]
            elements.append(Capacitor(name=f"{name}.c{coil}", a=high, b=low, capacitance=farads))
    if pickup.coils == 2:
        elements.append(Mutual(first=f"{name}.coil0", second=f"{name}.coil1", impedance=pickup.impedance[0, 1]))
    return elements


def _ends(name: str, pickup: PickupCircuit, hot: str) -> list[tuple[str, str]]:
    """Nodes (high, low) of each coil: an EMF raises high above low."""
    middle, loose = f"{name}.middle", f"{name}.loose"
    idle = (GROUND, GROUND) if pickup.off_coil == "shorted" else (loose, GROUND)
    match pickup.wiring:
        case "series":
            upright = [(hot, middle), (GROUND, middle)] if pickup.coils == 2 else [(hot, GROUND)]
        case "out-of-phase":
            upright = [(hot, middle), (middle, GROUND)]
        case "parallel":
            upright = [(hot, GROUND), (GROUND, hot)]
        case "split-slugs":
            upright = [(hot, GROUND), idle]
        case "split-screws":
            upright = [idle, (GROUND, hot)]
        case _:
            assert_never(pickup.wiring)
    if not pickup.reverse:
        return upright
    swap = {hot: GROUND, GROUND: hot}  # the idle coil of a split turns over with it, which changes nothing
    return [(swap.get(high, high), swap.get(low, low)) for high, low in upright]


def _controls(name: str, controls: ControlCircuit, *, start: str, end: str) -> list[Element]:
    """Shunt, tone, volume and treble bleed between ``start`` and ``end``."""
    elements: list[Element] = []
    if controls.shunt_resistor is not None:
        elements.append(Resistor(name=f"{name}.shunt", a=start, b=GROUND, resistance=controls.shunt_resistor))
    parts = controls.volume_parts
    if parts is None:
        elements.append(Resistor(name=f"{name}.wire", a=start, b=end, resistance=0.0))
    else:
        elements.append(Resistor(name=f"{name}.above", a=start, b=end, resistance=parts[0]))
        elements.append(Resistor(name=f"{name}.below", a=end, b=GROUND, resistance=parts[1]))
        elements += _bleed(name, controls, start, end)
    if controls.tone_capacitor is not None and controls.tone_resistance is not None:
        tap = start if controls.tone_tap == "before" else end
        wiper = f"{name}.tone"
        elements.append(Resistor(name=f"{name}.track", a=tap, b=wiper, resistance=controls.tone_resistance))
        elements.append(Capacitor(name=f"{name}.cap", a=wiper, b=GROUND, capacitance=controls.tone_capacitor))
    return elements


def _bleed(name: str, controls: ControlCircuit, start: str, end: str) -> list[Element]:
    farads, ohms = controls.bleed_capacitor, controls.bleed_resistor
    elements: list[Element] = []
    between = start
    if farads is not None and ohms is not None and controls.bleed_wiring == "series":
        between = f"{name}.bleed"
        elements.append(Resistor(name=f"{name}.bleed_r", a=start, b=between, resistance=ohms))
    elif ohms is not None:
        elements.append(Resistor(name=f"{name}.bleed_r", a=start, b=end, resistance=ohms))
    if farads is not None:
        elements.append(Capacitor(name=f"{name}.bleed_c", a=between, b=end, capacitance=farads))
    return elements
