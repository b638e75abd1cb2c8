"""A netlist of the guitar file as a net, and what is wrong with one."""

import difflib
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import assert_never

import numpy as np

from polepiece.circuit import (
    GROUND,
    JACK,
    Capacitor,
    Coils,
    Inductor,
    Net,
    Part,
    PickupCircuit,
    Resistor,
    heard_pickups,
    joint,
    pickup_parts,
    pot,
    track_share,
)
from polepiece.errors import InputError
from polepiece.guitar.net_element import VALUES, NetElement, PartKind
from polepiece.guitar.parameter import parameters_of
from polepiece.guitar.records import Pickup
from polepiece.guitar.switch_position import SwitchPosition

NOT = "not "
Factor = Callable[[NetElement], float]
KEYS = {one.field: one.name for one in parameters_of(NetElement)}


def element_net(
    elements: Sequence[NetElement], position: SwitchPosition, pickups: Mapping[str, PickupCircuit],
    factor: Factor = lambda _: 1.0,
) -> Net:  # fmt: skip
    """Return the net that a netlist is in one position.

    Parameters
    ----------
    elements : sequence of NetElement
    position : SwitchPosition
        Its contacts that name it are closed, all others open.
    pickups : mapping
        The circuit of each pickup, by name, as it is wired in the position.
    factor : callable
        Of the value of a pot's track, a resistor, a capacitor or an inductor: the draw of its tolerance.
    """
    parts: list[Part] = []
    for one in elements:
        parts += _parts(one, position, factor)
    for name, circuit in pickups.items():
        own = [one for one in elements if one.kind == "pickup" and one.pickup == name]
        parts += [
            part for one in own if one.coil == "all" for part in pickup_parts(name, circuit, hot=one.a, cold=one.b)
        ]
        if each := [one for one in own if one.coil != "all"]:
            parts += _coil_by_coil(name, each, circuit)
    return Net(parts=tuple(parts))


def _parts(one: NetElement, position: SwitchPosition, factor: Factor) -> list[Part]:
    match one.kind:
        case "resistor":
            return [Resistor(name=one.name, a=one.a, b=one.b, value=(one.resistance or 0.0) * factor(one))]
        case "capacitor":
            return [Capacitor(name=one.name, a=one.a, b=one.b, value=(one.capacitance or 0.0) * factor(one))]
        case "inductor":
            return [Inductor(name=one.name, a=one.a, b=one.b, value=(one.inductance or 0.0) * factor(one))]
        case "pot":
            share, whole = track_share(one.setting, one.taper), (one.resistance or 0.0) * factor(one)
            return pot(
                one.name, top=one.a, wiper=one.wiper, bottom=one.b, above=whole * (1.0 - share), below=whole * share
            )
        case "switch":
            return [joint(one.a, one.b)] if is_closed(one, position) else []
        case "pickup":
            return []
        case _:
            assert_never(one.kind)


def is_closed(one: NetElement, position: SwitchPosition) -> bool:
    """Tell whether a contact is closed: it names the position, with or without its pulled knobs, or such a knob."""
    if {position.name, position.base} & set(one.closed) - {""}:
        return True
    pulled = {_plain(knob) for knob in position.pulled}
    for said in map(_plain, one.closed):
        if said in pulled or (said.startswith(NOT) and said.removeprefix(NOT) not in pulled):
            return True
    return False


def _plain(knob: str) -> str:
    return " ".join(knob.lower().replace(":", ": ").split())


def follows_knobs(elements: Sequence[NetElement], knobs: Sequence[str]) -> bool:
    """Tell whether a contact of the netlist names a knob: then contacts say what the knobs do."""
    said = {_plain(knob) for knob in knobs}
    return any(_plain(one).removeprefix(NOT) in said for element in elements for one in element.closed)


def _coil_by_coil(name: str, each: Sequence[NetElement], circuit: PickupCircuit) -> list[Part]:
    """Return the coils of a pickup at nodes of their own; one that is no element of the net is open."""
    ends = [(f"{name}, loose {coil}", f"{name}, loose end {coil}") for coil in range(circuit.coils)]
    for one in each:
        coil = 0 if one.coil == "slugs" else 1
        upright = (one.a, one.b) if coil == 0 else (one.b, one.a)  # the second coil is turned over, as in series
        ends[coil] = (upright[1], upright[0]) if circuit.reverse else upright
    parts: list[Part] = [Coils(name=name, ends=tuple(ends), impedance=circuit.impedance)]
    return parts + [
        Capacitor(name=f"{name}, coil {coil + 1}", a=a, b=b, value=farad)
        for coil, ((a, b), farad) in enumerate(zip(ends, circuit.coil_capacitance))
    ]


# ---------------------------------------------------------------- what is wrong


def element_faults(
    elements: Sequence[NetElement], pickups: Sequence[Pickup], names: Sequence[str], knobs: Sequence[str] = ()
) -> Iterator[str]:  # fmt: skip
    """Yield what is wrong with a netlist, each beginning with its key: "elements[2].wiper is missing ...".

    Parameters
    ----------
    elements : sequence of NetElement
    pickups : sequence of Pickup
    names : sequence of str
        Of the positions.
    knobs : sequence of str
        That are pulled.
    """
    known = {_plain(one) for one in knobs}
    seen: set[str] = set()
    for place, one in enumerate(elements):
        path = f"elements[{place}]"
        if one.name in seen:
            yield f'{path}.name is "{one.name}" again; every element needs a name of its own.'
        seen.add(one.name)
        for field in _missing(one.kind, one):
            yield f"{path}.{KEYS[field]} is missing; {'an' if one.kind == 'inductor' else 'a'} {one.kind} needs it."
        if one.a == one.b:
            yield f'{path}.b is "{one.b}", as a is: both ends at one node do nothing.'
        for position in one.closed:
            base, pulled, _ = position.partition(" (")  # which knobs is checked when it is known which pickups are on
            if (base if knobs and pulled else position) not in names and _plain(position).removeprefix(
                NOT
            ) not in known:
                pull = f"; the knobs: {'; '.join(knobs)}" if knobs else ""
                yield f'{path}.closed is "{position}"; the positions are: {"; ".join(names)}{pull}.'
        if one.kind == "pickup":
            yield from _pickup_faults(path, one, pickups)
    yield from _loose(elements)


def _missing(kind: PartKind, one: NetElement) -> list[str]:
    return [field for field in VALUES[kind] if getattr(one, field) in (None, "", ())]


def _pickup_faults(path: str, one: NetElement, pickups: Sequence[Pickup]) -> Iterator[str]:
    here = {pickup.name: pickup for pickup in pickups}
    if one.pickup and one.pickup not in here:
        yield f'{path}.pickup is "{one.pickup}"; this guitar has: {", ".join(here)}.'
    elif one.coil != "all" and len(here[one.pickup].coils) < 2:
        yield f'{path}.coil is "{one.coil}"; {one.pickup} has one coil. Leave it out.'


def _loose(elements: Sequence[NetElement]) -> Iterator[str]:
    """Yield nodes with one connection, and what the ends of the net are not joined to."""
    nodes = Counter(node for one in elements for node in {one.a, one.b, one.wiper} if node)
    for node, count in nodes.items():
        if count == 1 and node not in (GROUND, JACK):
            (owner,) = [one.name for one in elements if node in (one.a, one.b, one.wiper)]
            near = difflib.get_close_matches(node, [other for other in nodes if other != node], n=1, cutoff=0.8)
            slip = f' Is "{near[0]}" meant?' if near else ""
            yield f'elements: node "{node}" has one connection, to {owner}; nothing flows there.{slip}'
    for end in (GROUND, JACK):
        if end not in nodes:
            yield f'elements: no element touches "{end}"; one node of the net is to be called so.'


def stand_in(pickup: Pickup) -> PickupCircuit:
    """Return a pickup of one ohm a coil, for questions that its impedance does not answer."""
    ohms = np.eye(len(pickup.coils), dtype=np.complex128)[:, :, None]
    return PickupCircuit(impedance=ohms, wiring=pickup.wiring, reverse=pickup.wound == "reverse")


def pickups_in(
    elements: Sequence[NetElement], position: SwitchPosition, pickups: Sequence[Pickup]
) -> tuple[str, ...]:  # fmt: skip
    """Return the pickups that reach the jack in a position of a netlist.

    Raises
    ------
    InputError
        When none does, or the net floats.
    """
    still = {one.name: stand_in(one) for one in pickups}
    used = {one.pickup for one in elements if one.kind == "pickup"}
    net = element_net(elements, position, {name: still[name] for name in still if name in used})
    found = heard_pickups(net)
    if not found:
        raise InputError("no pickup reaches the jack, or the jack is at ground.")
    return tuple(one.name for one in pickups if one.name in found)
