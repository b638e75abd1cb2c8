"""General nodal analysis: hand-solved circuits, and networks without an answer."""

import math

import numpy as np
import pytest

from polepiece.errors import InputError
from tests.reference.circuit_elements import Capacitor, Impedance, Inductor, Mutual, Resistor, Source
from tests.reference.nodal import Network, port_impedance, solve, transfers

HERTZ = np.geomspace(10, 20e3, 7)
JW = 2j * np.pi * HERTZ
# Rounding of a solve of a few unknowns in double precision, with three digits to spare.
ROUNDING = 1e-12


def drive(node: str = "in") -> Source:
    return Source(name="drive", a=node, b="0")


def resistor(name: str, a: str, b: str, ohms: float) -> Resistor:
    return Resistor(name=name, a=a, b=b, resistance=ohms)


def test_a_divider_divides() -> None:
    network = Network(elements=(drive(), resistor("r1", "in", "out", 3e3), resistor("r2", "out", "0", 1e3)))
    np.testing.assert_allclose(solve(network, HERTZ)["out"], 0.25, rtol=ROUNDING)
    np.testing.assert_allclose(port_impedance(network, HERTZ, "out"), 750.0, rtol=ROUNDING)
    np.testing.assert_allclose(port_impedance(network, HERTZ, "in", to="out"), 750.0, rtol=ROUNDING)


def test_a_transformer_reflects_its_load() -> None:
    # coupled coils: Z = jwL1 - (jwM)^2 / (jwL2 + R), any text on coupled circuits
    elements = (
        Inductor(name="l1", a="in", b="0", inductance=2.0),
        Inductor(name="l2", a="far", b="0", inductance=3.0),
        Mutual(first="l1", second="l2", inductance=-1.1),
        resistor("r", "far", "0", 4e3),
    )
    expected = JW * 2.0 - (JW * -1.1) ** 2 / (JW * 3.0 + 4e3)
    np.testing.assert_allclose(port_impedance(Network(elements=elements), HERTZ, "in"), expected, rtol=ROUNDING)
    gain = transfers(Network(elements=(drive(), *elements)), HERTZ, "far")[0]
    # a positive mutual would carry the voltage over upright; this one turns it round
    np.testing.assert_allclose(gain, (-1.1 / 2.0) * 4e3 / (4e3 + JW * (3.0 - 1.1**2 / 2.0)), rtol=ROUNDING)


def test_impedances_given_as_numbers_equal_the_parts() -> None:
    parts = Network(
        elements=(
            drive(),
            Inductor(name="l", a="in", b="out", inductance=2.0),
            Inductor(name="m", a="out", b="0", inductance=1.0),
            Mutual(first="l", second="m", inductance=0.7),
            Capacitor(name="c", a="out", b="0", capacitance=1e-9),
        )
    )
    numbers = Network(
        elements=(
            drive(),
            Impedance(name="l", a="in", b="out", impedance=JW * 2.0),
            Impedance(name="m", a="out", b="0", impedance=JW * 1.0),
            Mutual(first="l", second="m", impedance=JW * 0.7),
            Capacitor(name="c", a="out", b="0", capacitance=1e-9),
        )
    )
    np.testing.assert_allclose(solve(parts, HERTZ)["out"], solve(numbers, HERTZ)["out"], rtol=ROUNDING)


def test_sources_superpose_and_count_their_volts() -> None:
    elements = (
        Source(name="first", a="p", b="0", volts=2.0 - 1.0j),
        Source(name="second", a="q", b="p", volts=-0.5),
        resistor("r", "q", "out", 1e3),
        Capacitor(name="c", a="out", b="0", capacitance=1e-8),
    )
    network = Network(elements=elements)
    gains = transfers(network, HERTZ, "out")
    assert gains.shape == (2, HERTZ.size)
    both = (2.0 - 1.0j) * gains[0] - 0.5 * gains[1]
    np.testing.assert_allclose(solve(network, HERTZ)["out"], both, rtol=ROUNDING)


def test_an_endless_resistor_parts_and_a_zero_one_joins() -> None:
    network = Network(
        elements=(
            drive(),
            resistor("wire", "in", "out", 0.0),
            resistor("open", "out", "0", math.inf),
            resistor("r", "out", "0", 1e3),
        )
    )
    np.testing.assert_allclose(solve(network, HERTZ)["out"], 1.0, rtol=ROUNDING)


def test_direct_current_passes_coils_and_not_capacitors() -> None:
    network = Network(
        elements=(
            drive(),
            Inductor(name="l", a="in", b="out", inductance=2.0),
            resistor("r", "out", "0", 1e3),
            Capacitor(name="c", a="in", b="out", capacitance=1e-9),
        )
    )
    np.testing.assert_allclose(solve(network, [0.0])["out"], 1.0, rtol=ROUNDING)


@pytest.mark.parametrize(
    ("elements", "hertz", "words"),
    [
        ((drive(), resistor("r", "lost", "loose", 1e3)), 100.0, "node lost, loose floats"),
        ((drive(), resistor("r", "lost", "in", math.inf)), 100.0, "node lost floats"),
        (
            (drive(), Capacitor(name="c", a="in", b="lost", capacitance=1e-9)),
            0.0,
            "node lost floats.*At 0 Hz",
        ),
        ((drive(), Source(name="rival", a="in", b="0")), 100.0, "branch drive, branch rival"),
        ((drive(), resistor("wire", "in", "0", 0.0)), 100.0, "branch drive, branch wire"),
        ((resistor("r", "a", "b", 1.0),), 100.0, "no element touches ground"),
        ((drive(), resistor("drive", "in", "0", 1.0)), 100.0, "share the name drive"),
        ((drive(), Mutual(first="l", second="m", inductance=1.0)), 100.0, "no inductor or impedance 'l'"),
        (
            (drive(), Impedance(name="z", a="in", b="0", impedance=np.ones(3))),
            100.0,
            "3 values for 1",
        ),
        ((drive(),), -1.0, "0 Hz or more"),
        ((drive(),), math.nan, "0 Hz or more"),
    ],
)
def test_a_network_without_an_answer_is_refused_by_name(elements: tuple, hertz: float, words: str) -> None:
    with pytest.raises(InputError, match=words):
        solve(Network(elements=elements), [hertz])


def test_a_secondary_held_by_its_coupling_alone_floats() -> None:
    elements = (
        drive(),
        Inductor(name="l1", a="in", b="0", inductance=2.0),
        Inductor(name="l2", a="far", b="away", inductance=3.0),
        Mutual(first="l1", second="l2", inductance=1.0),
        resistor("r", "far", "away", 1e3),
    )
    with pytest.raises(InputError, match="node far, away floats"):
        solve(Network(elements=elements), HERTZ)


def test_a_node_that_is_not_there_is_refused() -> None:
    network = Network(elements=(drive(), resistor("r", "in", "0", 1e3)))
    with pytest.raises(InputError, match="no node 'jack'; the nodes are in"):
        transfers(network, HERTZ, "jack")
