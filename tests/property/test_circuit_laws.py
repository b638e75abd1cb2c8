"""Laws that hold for every passive circuit, on generated examples."""

import math
from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from polepiece.circuit import ControlCircuit, Load, PickupCircuit, loaded_response
from polepiece.circuit.parts import track_share
from tests.reference.circuit_elements import Capacitor, Inductor, Mutual, Resistor, Source, coil_impedance
from tests.reference.nodal import Network, port_impedance, solve, transfers

HERTZ = np.geomspace(20, 20e3, 40)
ROUNDING = 1e-9  # relative: networks whose values span ten decades lose digits of the sixteen

decades = lambda low, high: st.floats(math.log10(low), math.log10(high)).map(lambda x: 10.0**x)  # noqa: E731
settings_of_a_knob = st.floats(0.0, 10.0)


@st.composite
def controls(draw: st.DrawFn) -> ControlCircuit:
    tone = draw(st.booleans())
    return ControlCircuit(
        volume_pot=draw(st.none() | decades(1e5, 1e6)),
        volume_setting=draw(settings_of_a_knob),
        volume_taper=draw(st.sampled_from(["audio", "linear"])),
        tone_pot=draw(decades(1e5, 1e6)) if tone else None,
        tone_capacitor=draw(decades(1e-9, 1e-7)) if tone else None,
        tone_setting=draw(settings_of_a_knob),
        tone_tap=draw(st.sampled_from(["before", "after"])),
        bleed_capacitor=draw(st.none() | decades(1e-10, 2e-9)),
        bleed_resistor=draw(st.none() | decades(1e4, 1e6)),
        bleed_wiring=draw(st.sampled_from(["series", "parallel"])),
        shunt_resistor=draw(st.none() | decades(1e4, 1e7)),
    )


@st.composite
def pickups(draw: st.DrawFn) -> PickupCircuit:
    first, second = draw(decades(0.5, 5)), draw(decades(0.5, 5))
    mutual = draw(st.floats(-0.9, 0.9)) * math.sqrt(first * second)
    ohms = [draw(decades(1e3, 2e4)), draw(decades(1e3, 2e4))]
    return PickupCircuit(
        impedance=coil_impedance(HERTZ, ohms, [[first, mutual], [mutual, second]]),
        wiring=draw(st.sampled_from(["series", "parallel", "split-screws", "split-slugs", "out-of-phase"])),
        coil_capacitance=(draw(decades(1e-11, 5e-10)), draw(decades(1e-11, 5e-10))),
        capacitance=draw(decades(1e-11, 5e-10)),
        off_coil=draw(st.sampled_from(["shorted", "open"])),
        controls=draw(controls()),
    )


loads = st.builds(
    Load,
    cable_capacitance=decades(5e-11, 2e-9),
    input_resistance=st.none() | decades(1e5, 1e7),
    input_capacitance=st.just(0.0) | decades(1e-11, 2e-10),
)


@given(st.lists(pickups(), min_size=1, max_size=3), st.none() | controls(), loads)
def test_a_passive_circuit_never_gives_power(on: list, master: ControlCircuit | None, load: Load) -> None:
    impedance = loaded_response(HERTZ, on, master=master, load=load).output_impedance
    assert np.all(impedance.real >= -ROUNDING * np.abs(impedance))


@given(st.lists(pickups(), min_size=1, max_size=3), st.none() | controls(), loads)
def test_no_more_power_reaches_the_amplifier_than_the_coils_can_give(
    on: list, master: ControlCircuit | None, load: Load
) -> None:
    # One coil of EMF e and resistance R has e^2 / (4 R) to give; the input takes |H e|^2 / R_in of it.
    taken_by = replace(load, input_resistance=load.input_resistance or 1e6)
    gains = loaded_response(HERTZ, on, master=master, load=taken_by).transfers
    for pickup, gain in zip(on, gains, strict=True):
        for coil in range(pickup.coils):
            ohms = pickup.impedance[coil, coil].real
            taken = np.abs(gain[coil]) ** 2 / taken_by.input_resistance
            assert np.all(taken <= (1.0 + ROUNDING) / (4.0 * ohms))


@given(pickups(), loads)
def test_volume_at_nothing_is_silence(pickup: PickupCircuit, load: Load) -> None:
    down = replace(pickup.controls, volume_pot=pickup.controls.volume_pot or 500e3, volume_setting=0.0)
    gains = loaded_response(HERTZ, replace(pickup, controls=down), load=load).transfer
    assert np.all(gains == 0.0)


@given(pickups(), loads)
def test_an_endless_shunt_is_no_shunt(pickup: PickupCircuit, load: Load) -> None:
    without, endless = (
        loaded_response(
            HERTZ, replace(pickup, controls=replace(pickup.controls, shunt_resistor=ohms)), load=load
        ).transfer
        for ohms in (None, math.inf)
    )
    assert np.array_equal(without, endless)


@given(pickups(), loads)
def test_a_shunt_never_makes_the_lowest_notes_louder(pickup: PickupCircuit, load: Load) -> None:
    # At 0 Hz the circuit is resistors alone: a divider, which any shunt can only lower.
    still = replace(pickup, impedance=pickup.impedance[:, :, :1].real.astype(complex))
    quiet, loud = (
        np.abs(
            loaded_response(
                [0.0], replace(still, controls=replace(still.controls, shunt_resistor=ohms)), load=load
            ).transfer
        )
        for ohms in (100e3, None)
    )
    assert np.all(quiet <= loud * (1.0 + ROUNDING))
    assert np.all(loud <= 1.0 + ROUNDING)


@given(pickups(), loads)
def test_equal_circuits_have_no_difference(pickup: PickupCircuit, load: Load) -> None:
    first, second = (
        loaded_response(HERTZ, pickup, load=load),
        loaded_response(HERTZ, replace(pickup), load=load),
    )
    assert np.array_equal(first.transfer, second.transfer)


@given(settings_of_a_knob, settings_of_a_knob, st.sampled_from(["audio", "linear"]))
def test_more_knob_is_never_less_track(low: float, high: float, taper: str) -> None:
    low, high = sorted((low, high))
    assert track_share(low, taper) <= track_share(high, taper)  # type: ignore[arg-type]


@st.composite
def networks(draw: st.DrawFn) -> Network:
    """Passive networks of two ports, "a" and "b"; resistors hold every node."""
    nodes = ["0", "a", "b", "c", "d"]
    elements: list = [
        Resistor(
            name=f"t{node}",
            a=draw(st.sampled_from(nodes[:number])),
            b=node,
            resistance=draw(decades(10, 1e6)),
        )
        for number, node in enumerate(nodes)
        if number
    ]
    for number in range(draw(st.integers(2, 7))):
        a, b = draw(st.permutations(nodes))[:2]
        kind = draw(st.sampled_from("RCL"))
        if kind == "R":
            elements.append(Resistor(name=f"e{number}", a=a, b=b, resistance=draw(decades(10, 1e6))))
        elif kind == "C":
            elements.append(Capacitor(name=f"e{number}", a=a, b=b, capacitance=draw(decades(1e-11, 1e-6))))
        else:
            elements.append(Inductor(name=f"e{number}", a=a, b=b, inductance=draw(decades(1e-3, 10))))
    coils = [one for one in elements if isinstance(one, Inductor)]
    if len(coils) > 1:
        factor = draw(st.floats(-0.95, 0.95))
        mutual = factor * math.sqrt(coils[0].inductance * coils[1].inductance)
        elements.append(Mutual(first=coils[0].name, second=coils[1].name, inductance=mutual))
    return Network(elements=tuple(elements))


@given(networks())
def test_any_passive_port_takes_power(network: Network) -> None:
    for port in ("a", "b"):
        impedance = port_impedance(network, HERTZ, port)
        assert np.all(impedance.real >= -ROUNDING * np.abs(impedance))


@given(networks())
def test_a_passive_network_is_reciprocal(network: Network) -> None:
    """The current through a joint at b, per volt at a, is that through a joint at a, per volt at b."""

    def short_circuit_current(driven: str, joined: str) -> np.ndarray:
        probe = Resistor(name="probe", a=joined, b="probe end", resistance=1.0)
        close = Source(name="close", a="probe end", b="0", volts=0.0)
        push = Source(name="push", a="push end", b="0")
        feed = Resistor(name="feed", a="push end", b=driven, resistance=1.0)
        volts = solve(Network(elements=(*network.elements, push, feed, probe, close)), HERTZ)
        return volts[joined]  # amperes through the probe of 1 ohm

    there, back = short_circuit_current("a", "b"), short_circuit_current("b", "a")
    np.testing.assert_allclose(there, back, rtol=1e-6, atol=1e-12)  # amperes; of 1 A that the push could drive


@given(networks(), st.complex_numbers(max_magnitude=10), st.complex_numbers(max_magnitude=10))
def test_voltages_superpose(network: Network, first: complex, second: complex) -> None:
    def driven(one: complex, two: complex) -> Network:
        sources = (
            Source(name="one", a="s", b="0", volts=one),
            Resistor(name="rs", a="s", b="a", resistance=1e3),
            Source(name="two", a="t", b="0", volts=two),
            Resistor(name="rt", a="t", b="b", resistance=1e3),
        )
        return Network(elements=(*network.elements, *sources))

    gains = transfers(driven(1.0, 1.0), HERTZ, "c")
    np.testing.assert_allclose(
        solve(driven(first, second), HERTZ)["c"], first * gains[0] + second * gains[1], rtol=1e-6, atol=1e-9
    )
