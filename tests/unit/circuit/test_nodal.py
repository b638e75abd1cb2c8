"""The nodal analysis of a net: against the chain of closed forms, against another nodal analysis, and by hand."""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.circuit import (
    GROUND,
    JACK,
    Capacitor,
    Coils,
    ControlCircuit,
    Inductor,
    Load,
    Net,
    PickupCircuit,
    Resistor,
    joint,
    loaded_response,
    net_of,
    net_responses,
    pot,
    solve_net,
    stacked,
)
from polepiece.errors import InputError
from tests.reference.circuit_elements import coil_impedance
from tests.reference.closed_form import closed_form

HERTZ = np.geomspace(20, 20e3, 80)
JW = 2j * np.pi * HERTZ
AGREES = 1e-9  # of the largest value: two orders of the same arithmetic in double precision leave about 1e-14
LOAD = Load(cable_capacitance=470e-12, input_resistance=1e6, input_capacitance=40e-12)
CONTROLS = ControlCircuit(volume_pot=480e3, tone_pot=510e3, tone_capacitor=22e-9)


def humbucker(scale: float = 1.0, **changes: object) -> PickupCircuit:
    z = scale * coil_impedance(HERTZ, [3900.0, 4100.0], [[2.0, -0.4], [-0.4, 2.4]])
    return PickupCircuit(
        **{"impedance": z, "coil_capacitance": (9e-11, 1.2e-10), "capacitance": 4e-11, **changes}  # type: ignore[arg-type]
    )


def one_coil(name: str = "coil", a: str = JACK, b: str = GROUND, ohm: float = 6e3, henry: float = 2.5) -> Coils:
    return Coils(name=name, ends=((a, b),), impedance=coil_impedance(HERTZ, ohm, henry))


@pytest.mark.parametrize("wiring", ["series", "parallel", "split-screws", "split-slugs", "out-of-phase"])
@pytest.mark.parametrize("volume", [0.0, 4.0, 10.0])
@pytest.mark.parametrize("tap", ["before", "after"])
def test_the_nodal_analysis_equals_the_chain_of_closed_forms(wiring: str, volume: float, tap: str) -> None:
    controls = replace(
        CONTROLS, volume_setting=volume, tone_setting=volume, tone_tap=tap, bleed_capacitor=1e-9, bleed_resistor=150e3,
        bleed_wiring="series", shunt_resistor=470e3,
    )  # fmt: skip
    own = [humbucker(wiring=wiring, controls=controls), humbucker(1.3, reverse=True, controls=CONTROLS)]
    for on in (own[:1], own):
        for master in (None, controls):
            found, wanted = (make(HERTZ, on, master=master, load=LOAD) for make in (loaded_response, closed_form))
            for one, other in zip(
                (*found.transfers, found.output_impedance), (*wanted.transfers, wanted.output_impedance)
            ):
                assert np.max(np.abs(one - other)) <= AGREES * np.max(np.abs(other))


def test_draws_are_solved_together_as_each_by_itself() -> None:
    scales = (0.9, 1.0, 1.2)
    nets = [
        net_of([humbucker(s)], master=replace(CONTROLS, volume_pot=s * 5e5, volume_setting=7.0)) for s in scales
    ]  # fmt: skip
    loads = [replace(LOAD, cable_capacitance=s * 470e-12) for s in scales]
    together = net_responses(HERTZ, nets, loads)
    for one, net, load in zip(together, nets, loads):
        (alone,) = net_responses(HERTZ, [net], [load])
        np.testing.assert_allclose(one.transfers[0], alone.transfers[0], rtol=1e-12)  # the same sums, once more
        np.testing.assert_allclose(one.output_impedance, alone.output_impedance, rtol=1e-12)
    assert not np.allclose(together[0].transfers[0], together[2].transfers[0])


def test_a_divider_by_hand() -> None:
    """Kirchhoff: a coil of 6 kohm and 2.5 H over a pot at half its track, and nothing else."""
    z = 6e3 + JW * 2.5
    net = Net(parts=(one_coil(a="hot"), *pot("volume", top="hot", wiper=JACK, bottom=GROUND, above=200e3, below=300e3)))
    found = solve_net(net, HERTZ)
    np.testing.assert_allclose(found.transfers[0][0], 300e3 / (500e3 + z), rtol=1e-12)
    np.testing.assert_allclose(found.impedance, 300e3 * (200e3 + z) / (500e3 + z), rtol=1e-12)


def test_two_volumes_in_the_middle_by_hand() -> None:
    """Thevenin and Kirchhoff: both wipers joined; the usual way one at 3 takes the other one down with it, and wired
    the other way round far less."""
    z, whole, low = 6e3 + JW * 2.5, 500e3, 100e3

    def both(wired: str) -> tuple[np.ndarray, np.ndarray]:
        def side(name: str, below: float) -> list[object]:
            ends = {"top": name, "wiper": JACK} if wired == "usual" else {"top": JACK, "wiper": name}
            return [
                one_coil(name, a=name),
                *pot(f"{name} volume", **ends, bottom=GROUND, above=whole - below, below=below),
            ]

        found = solve_net(Net(parts=(*side("one", whole), *side("two", low))), HERTZ)  # type: ignore[arg-type]
        return found.transfers[0][0], found.transfers[1][0]

    full = 1.0 / (z + 0.0) + 1.0 / whole  # admittance of the first at 10: its track lies across it
    branch = (whole - low) + z  # the second, turned down: through the upper part of its track
    joint_admittance = full + 1.0 / branch + 1.0 / low
    first, second = both("usual")
    np.testing.assert_allclose(first, (1.0 / z) / joint_admittance, rtol=1e-12)
    np.testing.assert_allclose(second, (1.0 / branch) / joint_admittance, rtol=1e-12)
    at_wiper = z * low / (z + low)  # the second, the other way round: shunted by the lower part, then the upper in line
    apart = full + 1.0 / (at_wiper + whole - low)
    first, second = both("independent")
    np.testing.assert_allclose(first, (1.0 / z) / apart, rtol=1e-12)
    np.testing.assert_allclose(second, low / (z + low) / (at_wiper + whole - low) / apart, rtol=1e-12)


def test_one_volume_at_nothing_silences_both_unless_wired_the_other_way_round() -> None:
    off = replace(CONTROLS, volume_setting=0.0)
    usual = loaded_response(HERTZ, [humbucker(controls=CONTROLS), humbucker(controls=off)], load=LOAD)
    assert all(np.all(one == 0.0) for one in usual.transfers)
    other = replace(off, volume_wiring="independent")
    apart = loaded_response(HERTZ, [humbucker(controls=CONTROLS), humbucker(controls=other)], load=LOAD)
    alone = loaded_response(
        HERTZ, humbucker(controls=replace(CONTROLS, shunt_resistor=480e3, tone_tap="before")), load=LOAD
    )
    assert np.all(apart.transfers[1] == 0.0)  # shorted at its wiper
    tone = loaded_response(HERTZ, humbucker(controls=CONTROLS), master=ControlCircuit(shunt_resistor=480e3), load=LOAD)
    np.testing.assert_allclose(apart.transfers[0], tone.transfers[0], rtol=1e-12)  # its whole track still loads
    np.testing.assert_allclose(alone.transfers[0], tone.transfers[0], rtol=1e-9)


def test_two_pickups_in_series_add_their_volts_and_impedances() -> None:
    pair = [humbucker(1.0, coil_capacitance=(), capacitance=0.0), humbucker(1.4, coil_capacitance=(), capacitance=0.0)]
    found = loaded_response(HERTZ, pair, joined="series")
    each = [loaded_response(HERTZ, one) for one in pair]
    np.testing.assert_allclose(found.output_impedance, sum(one.output_impedance for one in each), rtol=1e-12)
    for one, alone in zip(found.transfers, each):
        np.testing.assert_allclose(one, alone.transfers[0], rtol=1e-12)


def test_a_capacitor_in_line_by_hand() -> None:
    controls = ControlCircuit(volume_pot=500e3, line_capacitor=2e-9)
    z = 6e3 + JW * 2.5
    found = loaded_response(
        HERTZ, PickupCircuit(impedance=coil_impedance(HERTZ, 6e3, 2.5), controls=controls)
    )  # fmt: skip
    np.testing.assert_allclose(found.transfer[0], 500e3 / (500e3 + z + 1 / (JW * 2e-9)), rtol=1e-12)


def test_inductors_without_loss_are_solved_with_pivoting() -> None:
    """A coil into an inductor and a capacitor to ground that resonate exactly at one of the frequencies."""
    farad = 1.0 / (JW[40].imag ** 2 * 0.5)
    net = Net(
        parts=(
            one_coil(a="hot"), Resistor(name="r", a="hot", b=JACK, value=1e5),
            Inductor(name="l", a=JACK, b="between", value=0.5), Capacitor(name="c", a="between", b=GROUND, value=farad),
        )
    )  # fmt: skip
    found = solve_net(net, HERTZ)
    trap = JW * 0.5 + 1.0 / (JW * farad)
    np.testing.assert_allclose(found.transfers[0][0], trap / (trap + 1e5 + 6e3 + JW * 2.5), rtol=1e-9, atol=1e-12)


def test_an_inductor_and_capacitor_in_line_join_their_ends_where_they_resonate() -> None:
    """Without pivoting little of the answer is left at that frequency: the node between them, the first to go as it has
    the fewest neighbours, has next to no admittance (none at all would be noticed). A short is what it must be."""
    farad = (1.0 + 1e-13) / (JW[40].imag ** 2 * 0.5)

    def net(*between: object) -> Net:
        mesh = [("hot", JACK), ("hot", "x"), ("far", JACK), ("far", "x"), ("x", JACK), ("x", GROUND), ("far", GROUND)]
        resistors = [Resistor(name=f"{a} {b}", a=a, b=b, value=1e5) for a, b in mesh]
        return Net(parts=(one_coil(a="hot"), *resistors, *between))  # type: ignore[arg-type]

    trap = (
        Inductor(name="l", a="hot", b="between", value=0.5), Capacitor(name="c", a="between", b="far", value=farad),
    )  # fmt: skip
    found, joined = solve_net(net(*trap), HERTZ), solve_net(net(joint("hot", "far")), HERTZ)
    assert found.transfers[0][0, 40] == pytest.approx(joined.transfers[0][0, 40], rel=1e-9)  # 1e-13 of wL is left
    assert found.impedance[40] == pytest.approx(joined.impedance[40], rel=1e-9)
    assert abs(found.transfers[0][0, 60] / joined.transfers[0][0, 60] - 1.0) > 0.01


def test_a_coil_shorted_at_a_node_of_its_own_takes_of_its_neighbour_by_flux() -> None:
    z = coil_impedance(HERTZ, [4e3, 4e3], [[2.0, -0.5], [-0.5, 2.2]])
    stub = Resistor(name="stub", a="loop", b=JACK, value=1e4)  # carries nothing
    net = Net(parts=(Coils(name="p", ends=((JACK, GROUND), ("loop", "loop")), impedance=z), stub))
    found = solve_net(net, HERTZ)
    np.testing.assert_allclose(found.impedance, z[0, 0] - z[0, 1] ** 2 / z[1, 1], rtol=1e-12)  # Kirchhoff
    np.testing.assert_allclose(found.transfers[0][1], -z[0, 1] / z[1, 1], rtol=1e-12)


def test_what_hangs_on_nothing_carries_no_current() -> None:
    apart = Net(parts=(one_coil(), Coils(name="off", ends=(("a", "b"),), impedance=coil_impedance(HERTZ, 5e3, 2.0)),
                       Resistor(name="stub", a=JACK, b="nowhere", value=1e3)))  # fmt: skip
    found = solve_net(apart, HERTZ)
    assert np.all(found.transfers[1] == 0.0)
    np.testing.assert_allclose(found.impedance, 6e3 + JW * 2.5, rtol=1e-12)


def test_a_jack_that_nothing_reaches_is_refused_and_one_at_ground_is_silent() -> None:
    with pytest.raises(InputError, match="no pickup reaches the jack"):
        solve_net(Net(parts=(one_coil(a="hot"),)), HERTZ)
    silent = solve_net(Net(parts=(one_coil(), joint(JACK, GROUND))), HERTZ)
    assert np.all(silent.transfers[0] == 0.0)
    assert np.all(silent.impedance == 0.0)
    with pytest.raises(InputError, match=r"(?s)no single answer.*At 0 Hz a capacitor holds no node"):
        solve_net(
            Net(parts=(Coils(name="c", ends=(("hot", GROUND),), impedance=np.full((1, 1, 1), 5e3 + 0j)),
                       Capacitor(name="line", a="hot", b=JACK, value=1e-9))), np.zeros(1)
        )  # fmt: skip


def test_values_below_nothing_and_nets_that_differ_are_refused() -> None:
    with pytest.raises(InputError, match=r"resistor r is -1\.0; it must be 0 or more"):
        Resistor(name="r", a="a", b="b", value=-1.0)
    one, other = (Net(parts=(Resistor(name="r", a=JACK, b=GROUND, value=v),)) for v in (0.0, 5.0))
    with pytest.raises(InputError, match="joined or parted in others"):
        stacked([one, other])
