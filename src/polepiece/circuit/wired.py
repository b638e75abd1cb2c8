"""How pickups that are on are joined, in parallel or in series, with their controls: the parts of a net."""

from collections.abc import Sequence
from typing import Literal, assert_never

from polepiece.circuit.net import GROUND, JACK, Capacitor, Coils, Net, Part, Resistor, joint, pot
from polepiece.circuit.parts import ControlCircuit, PickupCircuit

Joined = Literal["parallel", "series"]


def net_of(
    pickups: Sequence[PickupCircuit], *, master: ControlCircuit | None = None, joined: Joined = "parallel"
) -> Net:
    """Return the net of pickups that are on, each behind its own controls, and the master controls after them.

    In parallel the outputs of their controls are joined. In series the pickups stand on one another, the first at the
    top, and its own controls follow; those of the others are out of the circuit (common practice, no source).
    """
    start = JACK if master is None else "switch"
    parts: list[Part] = []
    match joined:
        case "parallel":
            for number, one in enumerate(pickups):
                name = f"pickup {number + 1}"
                parts += pickup_parts(name, one, hot=name)
                parts += control_parts(name, one.controls, start=name, end=start)
        case "series":
            for number, one in enumerate(pickups):
                name, below = f"pickup {number + 1}", f"pickup {number + 2}"
                parts += pickup_parts(name, one, hot=name, cold=GROUND if one is pickups[-1] else below)
            parts += control_parts("pickup 1", pickups[0].controls, start="pickup 1", end=start)
        case _:
            assert_never(joined)
    if master is not None:
        parts += control_parts("master", master, start=start, end=JACK)
    return Net(parts=tuple(parts))


def pickup_parts(name: str, pickup: PickupCircuit, *, hot: str, cold: str = GROUND) -> list[Part]:
    """Return a pickup between its two leads: its coils as they are wired, and what capacitance they have."""
    ends = coil_ends(name, pickup, hot, cold)
    parts: list[Part] = [Coils(name=name, ends=tuple(ends), impedance=pickup.impedance)]
    parts += [
        Capacitor(name=f"{name}, coil {coil + 1}", a=a, b=b, value=farad)
        for coil, ((a, b), farad) in enumerate(zip(ends, pickup.coil_capacitance))
    ]
    return [*parts, Capacitor(name=f"{name}, leads", a=hot, b=cold, value=pickup.capacitance)]


def coil_ends(name: str, pickup: PickupCircuit, hot: str, cold: str) -> list[tuple[str, str]]:
    """Return the nodes of each coil; an EMF raises the first of a pair above the second."""
    middle = f"{name}, between its coils"
    off = (cold, cold) if pickup.off_coil == "shorted" else (f"{name}, loose", cold)
    match pickup.wiring:
        case "series":
            upright = [(hot, middle), (cold, middle)] if pickup.coils == 2 else [(hot, cold)]
        case "out-of-phase":
            upright = [(hot, middle), (middle, cold)]
        case "parallel":
            upright = [(hot, cold), (cold, hot)]
        case "parallel-out-of-phase":
            upright = [(hot, cold), (hot, cold)]
        case "split-slugs":
            upright = [(hot, cold), off]
        case "split-screws":
            upright = [off, (cold, hot)]
        case _:
            assert_never(pickup.wiring)
    if not pickup.reverse:
        return upright
    turned = {hot: cold, cold: hot}
    return [(turned.get(a, a), turned.get(b, b)) for a, b in upright]


def control_parts(name: str, controls: ControlCircuit, *, start: str, end: str) -> list[Part]:
    """Return what lies in line and across, tone, volume and treble bleed between ``start`` and ``end``."""
    parts, first = _in_line(name, controls, start)
    if controls.shunt_resistor is not None:
        parts.append(Resistor(name=f"{name}, across", a=first, b=GROUND, value=controls.shunt_resistor))
    if controls.shunt_capacitor is not None:
        parts.append(Capacitor(name=f"{name}, cap across", a=first, b=GROUND, value=controls.shunt_capacitor))
    track = controls.volume_parts
    if track is None:
        parts.append(joint(first, end))
    else:
        top, wiper = (first, end) if controls.volume_wiring == "usual" else (end, first)
        above, below = track
        parts += pot(f"{name}, volume", top=top, wiper=wiper, bottom=GROUND, above=above, below=below)
        parts += _bleed(name, controls, first, end)
    if controls.tone_capacitor is not None and controls.tone_resistance is not None:
        tap, wiper = (first if controls.tone_tap == "before" else end), f"{name}, tone"
        parts.append(Resistor(name=wiper, a=tap, b=wiper, value=controls.tone_resistance))
        parts.append(Capacitor(name=f"{wiper} cap", a=wiper, b=GROUND, value=controls.tone_capacitor))
    return parts


def _in_line(name: str, controls: ControlCircuit, start: str) -> tuple[list[Part], str]:
    """Return the resistor and capacitor in line, side by side, and the node behind them."""
    ohm, farad = controls.line_resistor, controls.line_capacitor
    if ohm is None and farad is None:
        return [], start
    behind = f"{name}, behind what is in line"
    parts: list[Part] = [] if ohm is None else [Resistor(name=f"{name}, in line", a=start, b=behind, value=ohm)]
    if farad is not None:
        parts.append(Capacitor(name=f"{name}, cap in line", a=start, b=behind, value=farad))
    return parts, behind


def _bleed(name: str, controls: ControlCircuit, start: str, end: str) -> list[Part]:
    farad, ohm = controls.bleed_capacitor, controls.bleed_resistor
    in_series = farad is not None and ohm is not None and controls.bleed_wiring == "series"
    between = f"{name}, bleed" if in_series else end
    parts: list[Part] = []
    if ohm is not None:
        parts.append(Resistor(name=f"{name}, bleed resistor", a=start, b=between, value=ohm))
    if farad is not None:
        parts.append(
            Capacitor(name=f"{name}, bleed cap", a=between if in_series else start, b=end, value=farad)
        )  # fmt: skip
    return parts
