"""The package's nodal analysis and a plain one against Debian's ngspice, an independent circuit simulator.

Tolerance 1e-6 of the largest voltage of a node over the sweep: ngspice writes 15 digits and solves in double
precision; networks with sharp resonances (Q to some thousands) lose a few of them.
"""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from polepiece.circuit import (
    GROUND,
    JACK,
    ControlCircuit,
    Joined,
    Load,
    Net,
    PickupCircuit,
    loaded_response,
    net_of,
    net_responses,
)
from polepiece.circuit import Capacitor as Capacitance
from polepiece.circuit import Resistor as Resistance
from tests.reference.circuit_elements import Capacitor, Impedance, Inductor, Mutual, Resistor, Source
from tests.reference.guitar_network import network_of
from tests.reference.net_as_network import as_network
from tests.reference.nodal import Network, solve
from tests.reference.spice import FOUND, Ladder, netlist, run

pytestmark = pytest.mark.skipif(FOUND is None, reason="ngspice is not installed (Debian: apt-get install ngspice)")
TOLERANCE = 1e-6


def between(random: np.random.Generator, low: float, high: float) -> float:
    return float(10.0 ** random.uniform(math.log10(low), math.log10(high)))


def random_network(random: np.random.Generator) -> Network:
    """Resistors hold every node; more parts join nodes at random; two coils are coupled."""
    nodes = ["0", *(f"n{number}" for number in range(random.integers(3, 8)))]
    elements: list[Resistor | Capacitor | Inductor | Mutual | Source] = [
        Source(name="drive", a=nodes[1], b="0", volts=complex(*random.normal(size=2)))
    ]
    for number, node in enumerate(nodes[2:], start=2):
        other = nodes[random.integers(0, number)]
        elements.append(Resistor(name=f"t{number}", a=other, b=node, resistance=between(random, 10, 1e6)))
    for number in range(random.integers(4, 10)):
        a, b = random.choice(nodes, 2, replace=False)
        kind = random.integers(0, 3)
        if kind == 0:
            elements.append(Resistor(name=f"e{number}", a=a, b=b, resistance=between(random, 10, 1e6)))
        elif kind == 1:
            elements.append(Capacitor(name=f"e{number}", a=a, b=b, capacitance=between(random, 1e-11, 1e-6)))
        else:
            elements.append(Inductor(name=f"e{number}", a=a, b=b, inductance=between(random, 1e-3, 10)))
    coils = [one for one in elements if isinstance(one, Inductor)]
    if len(coils) > 1:
        geometric = math.sqrt(coils[0].inductance * coils[1].inductance)
        mutual = random.uniform(-0.95, 0.95) * geometric
        elements.append(Mutual(first=coils[0].name, second=coils[1].name, inductance=mutual))
    return Network(elements=tuple(elements))


@pytest.mark.parametrize("seed", range(30))
def test_any_network_has_the_voltages_of_ngspice(seed: int, tmp_path: Path) -> None:
    network = random_network(np.random.default_rng(seed))
    frequency, expected = run(netlist(network, {}, {}), network.nodes, tmp_path)

    found = solve(network, frequency)

    assert set(found) == set(expected)
    for node, volts in found.items():
        assert np.max(np.abs(volts - expected[node])) <= TOLERANCE * np.max(np.abs(expected[node])), node


def random_controls(random: np.random.Generator) -> ControlCircuit:
    def perhaps(low: float, high: float) -> float | None:
        return between(random, low, high) if random.random() < 0.5 else None

    tone = random.random() < 0.7
    return ControlCircuit(
        volume_pot=between(random, 2e5, 1e6) if random.random() < 0.8 else None,
        volume_setting=float(random.choice([10.0, random.uniform(0.5, 9.5)])),
        volume_taper="audio" if random.random() < 0.5 else "linear",
        tone_pot=between(random, 2e5, 1e6) if tone else None,
        tone_capacitor=between(random, 1e-8, 1e-7) if tone else None,
        tone_setting=float(random.choice([0.0, 10.0, random.uniform(0, 10)])),
        tone_tap="before" if random.random() < 0.5 else "after",
        bleed_capacitor=perhaps(1e-10, 2e-9),
        bleed_resistor=perhaps(5e4, 3e5),
        bleed_wiring="series" if random.random() < 0.5 else "parallel",
        shunt_resistor=perhaps(1e5, 1e6),
    )


def random_ladders(random: np.random.Generator, coils: int) -> list[Ladder]:
    return [
        Ladder(
            resistance=between(random, 2e3, 9e3),
            inductance=between(random, 0.8, 5),
            cells=tuple((between(random, 1e4, 1e6), between(random, 0.1, 2)) for _ in range(random.integers(0, 3))),
        )
        for _ in range(coils)
    ]


def guitar(random: np.random.Generator) -> tuple[list[list[Ladder]], list[float], list[PickupCircuit]]:
    """One to three pickups: coils as ladders, mutual inductance of each, records to be completed."""
    ladders = [random_ladders(random, random.integers(1, 3)) for _ in range(random.integers(1, 4))]
    mutuals = [-random.uniform(0.05, 0.4) * math.sqrt(pair[0].inductance * pair[-1].inductance) for pair in ladders]
    wirings = ["series", "parallel", "split-screws", "split-slugs", "out-of-phase"]
    blank = [
        PickupCircuit(
            impedance=np.ones((len(pair), len(pair), 1)),
            wiring=str(random.choice(wirings)) if len(pair) == 2 else "series",  # type: ignore[arg-type]
            coil_capacitance=tuple(between(random, 3e-11, 3e-10) for _ in pair),
            capacitance=between(random, 1e-11, 2e-10),
            reverse=bool(random.random() < 0.3),
            off_coil="shorted" if random.random() < 0.5 else "open",
            controls=random_controls(random),
        )
        for pair in ladders
    ]
    return ladders, mutuals, blank


def with_frequencies(pickup: PickupCircuit, pair: list[Ladder], mutual: float, hertz: np.ndarray) -> PickupCircuit:
    impedance = np.empty((len(pair), len(pair), hertz.size), dtype=complex)
    impedance[:] = 2j * np.pi * hertz * mutual
    for number, ladder in enumerate(pair):
        impedance[number, number] = ladder.impedance(hertz)
    return replace(pickup, impedance=impedance)


@pytest.mark.parametrize("seed", range(40))
def test_any_guitar_answers_as_ngspice_and_as_the_nodal_analysis(seed: int, tmp_path: Path) -> None:
    random = np.random.default_rng(1000 + seed)
    ladders, mutuals, blank = guitar(random)
    master = random_controls(random) if random.random() < 0.5 else None
    load = Load(cable_capacitance=between(random, 1e-10, 1.2e-9), input_resistance=between(random, 1e5, 5e6))

    def circuit(hertz: np.ndarray) -> tuple[list[PickupCircuit], Network]:
        pickups = [with_frequencies(*each, hertz) for each in zip(blank, ladders, mutuals, strict=True)]
        network = network_of(pickups, master=master, load=load)
        driven = (replace(one, volts=drive[one.name]) if isinstance(one, Source) else one for one in network.elements)
        return pickups, Network(elements=tuple(driven))

    drive = {
        f"p{pickup}.emf{coil}": complex(*random.normal(size=2))
        for pickup, pair in enumerate(ladders)
        for coil in range(len(pair))
    }
    _, draft = circuit(np.ones(1))
    coils = {
        one.name: ladders[int(one.name[1])][int(one.name[-1])] for one in draft.elements if isinstance(one, Impedance)
    }
    pairs = {(one.first, one.second): mutuals[int(one.first[1])] for one in draft.elements if isinstance(one, Mutual)}
    hertz, expected = run(netlist(draft, coils, pairs), draft.nodes, tmp_path)
    pickups, network = circuit(hertz)

    gains = np.concatenate(loaded_response(hertz, pickups, master=master, load=load).transfers)
    closed = np.array(list(drive.values())) @ gains
    nodal = solve(network, hertz)["out"]

    assert list(drive) == list(network.sources)
    largest = np.max(np.abs(expected["out"]))
    assert np.max(np.abs(nodal - expected["out"])) <= TOLERANCE * largest
    assert np.max(np.abs(closed - expected["out"])) <= TOLERANCE * largest
    # 1e-9: the same equations in another order, well conditioned (R in every coil)
    assert np.max(np.abs(closed - nodal)) <= 1e-9 * largest


@pytest.mark.parametrize("seed", range(12))
def test_volumes_the_other_way_round_series_and_parts_in_line_answer_as_ngspice(seed: int, tmp_path: Path) -> None:
    """The net itself goes to ngspice, with the load beside it: what the package solves of it is judged."""
    random = np.random.default_rng(2000 + seed)
    ladders, mutuals, blank = guitar(random)
    own = [
        replace(
            one, controls=replace(
                one.controls, volume_pot=between(random, 2e5, 1e6), volume_wiring="independent",
                line_capacitor=between(random, 1e-9, 1e-7), line_resistor=between(random, 1e3, 1e5),
            ),
        )
        for one in blank
    ]  # fmt: skip
    joined: Joined = "series" if seed % 2 else "parallel"
    load = Load(cable_capacitance=between(random, 1e-10, 1.2e-9), input_resistance=between(random, 1e5, 5e6))

    def circuit(hertz: np.ndarray) -> Net:
        pickups = [with_frequencies(*each, hertz) for each in zip(own, ladders, mutuals, strict=True)]
        return net_of(pickups, master=ControlCircuit(shunt_resistor=4e5), joined=joined)

    plug = (
        Resistance(name="input", a=JACK, b=GROUND, value=load.input_resistance),
        Capacitance(name="cable", a=JACK, b=GROUND, value=load.cable_capacitance),
    )
    draft = as_network(Net(parts=(*circuit(np.ones(1)).parts, *plug)))
    drive = {name: complex(*random.normal(size=2)) for name in draft.sources}
    driven = Network(
        elements=tuple(
            replace(one, volts=drive[one.name]) if isinstance(one, Source) else one for one in draft.elements
        )
    )  # fmt: skip
    place = {f"pickup_{number + 1}": number for number in range(len(ladders))}
    coils = {
        one.name: ladders[place[one.name.partition(".")[0]]][int(one.name[-1])]
        for one in draft.elements if isinstance(one, Impedance)
    }  # fmt: skip
    pairs = {
        (one.first, one.second): mutuals[place[one.first.partition(".")[0]]]
        for one in draft.elements if isinstance(one, Mutual)
    }  # fmt: skip
    hertz, expected = run(netlist(driven, coils, pairs), driven.nodes, tmp_path)

    (found,) = net_responses(hertz, [circuit(hertz)], [load])
    volts = np.array(list(drive.values())) @ np.concatenate(found.transfers)
    assert np.max(np.abs(volts - expected[JACK])) <= TOLERANCE * np.max(np.abs(expected[JACK]))
