"""Loaded response: signs of the wirings, limits, and what several pickups do to each other.

Equality with the nodal analysis and with ngspice is in test_ngspice.py; here are cases solved by hand, and
the nodal analysis where ngspice is not needed.
"""

from dataclasses import replace

import numpy as np
import pytest

from polepiece.circuit import ControlCircuit, Load, PickupCircuit, loaded_response
from polepiece.errors import InputError
from tests.reference.circuit_elements import coil_impedance
from tests.reference.guitar_network import network_of
from tests.reference.nodal import port_impedance, transfers

HERTZ = np.geomspace(20, 20e3, 60)
JW = 2j * np.pi * HERTZ
ROUNDING = 1e-11  # closed form against a hand formula: a few dozen operations in double precision
LOAD = Load(cable_capacitance=500e-12, input_resistance=1e6, input_capacitance=100e-12)
R1, R2, L1, L2, M = 3900.0, 4000.0, 2.0, 2.5, -0.38


def humbucker(**changes: object) -> PickupCircuit:
    impedance = coil_impedance(HERTZ, [R1, R2], [[L1, M], [M, L2]])
    return PickupCircuit(**{"impedance": impedance, **changes})  # type: ignore[arg-type]


def single(ohms: float = 6000.0, henries: float = 2.5, **changes: object) -> PickupCircuit:
    return PickupCircuit(impedance=coil_impedance(HERTZ, ohms, henries), **changes)  # type: ignore[arg-type]


def bare(pickup: PickupCircuit) -> np.ndarray:
    return loaded_response(HERTZ, pickup).output_impedance


def test_series_adds_the_coils_and_twice_a_negative_mutual() -> None:
    np.testing.assert_allclose(bare(humbucker()), R1 + R2 + JW * (L1 + L2 - 2 * M), rtol=ROUNDING)
    np.testing.assert_allclose(bare(humbucker(wiring="out-of-phase")), R1 + R2 + JW * (L1 + L2 + 2 * M), rtol=ROUNDING)


def test_parallel_of_equal_coils_is_a_quarter_of_series() -> None:
    impedance = coil_impedance(HERTZ, [R1, R1], [[L1, M], [M, L1]])
    series, parallel = (PickupCircuit(impedance=impedance, wiring=how) for how in ("series", "parallel"))
    np.testing.assert_allclose(bare(parallel), bare(series) / 4.0, rtol=ROUNDING)
    np.testing.assert_allclose(
        loaded_response(HERTZ, parallel).transfer,
        loaded_response(HERTZ, series).transfer / 2.0,
        rtol=ROUNDING,
    )


def test_a_split_keeps_the_coil_that_it_names() -> None:
    screws = loaded_response(HERTZ, humbucker(wiring="split-screws", off_coil="open"))
    slugs = loaded_response(HERTZ, humbucker(wiring="split-slugs", off_coil="open"))
    np.testing.assert_allclose(screws.output_impedance, R2 + JW * L2, rtol=ROUNDING)
    np.testing.assert_allclose(slugs.output_impedance, R1 + JW * L1, rtol=ROUNDING)
    assert np.all(screws.transfer[0] == 0.0)
    assert np.all(slugs.transfer[1] == 0.0)


def test_a_shorted_coil_takes_a_little_inductance_from_its_neighbour() -> None:
    z = JW * M
    expected = R2 + JW * L2 - z**2 / (R1 + JW * L1)
    np.testing.assert_allclose(bare(humbucker(wiring="split-screws")), expected, rtol=ROUNDING)


@pytest.mark.parametrize(
    ("wiring", "signs"),
    [
        ("series", (1, -1)),
        ("parallel", (0.5, -0.5)),
        ("split-screws", (0, -1)),
        ("split-slugs", (1, 0)),
        ("out-of-phase", (1, 1)),
    ],
)
def test_a_split_coil_keeps_its_sign(wiring: str, signs: tuple[float, float]) -> None:
    impedance = coil_impedance(HERTZ, [R1, R1], [[L1, 0.0], [0.0, L1]])
    pickup = PickupCircuit(impedance=impedance, wiring=wiring)  # type: ignore[arg-type]
    for turned, sign in ((pickup, 1.0), (replace(pickup, reverse=True), -1.0)):
        gains = loaded_response(HERTZ, turned).transfer
        np.testing.assert_allclose(gains, np.outer(signs, np.full(HERTZ.size, sign)), atol=ROUNDING)


def test_hum_cancels_in_series_and_strings_cancel_out_of_phase() -> None:
    # A hum-bucking pair: hum gives both coils the same EMF; the string gives opposite ones (poles N and S).
    impedance = coil_impedance(HERTZ, [R1, R1], [[L1, M], [M, L1]])
    series, against = (
        loaded_response(HERTZ, PickupCircuit(impedance=impedance, wiring=how), load=LOAD).transfer
        for how in ("series", "out-of-phase")
    )
    np.testing.assert_allclose(series[0] + series[1], 0.0, atol=ROUNDING)
    np.testing.assert_allclose(against[0] - against[1], 0.0, atol=ROUNDING)


def test_capacitance_across_both_coils_equals_half_across_the_pickup_when_they_are_alike() -> None:
    impedance = coil_impedance(HERTZ, [R1, R1], [[L1, M], [M, L1]])
    coil_by_coil = PickupCircuit(impedance=impedance, coil_capacitance=(240e-12, 240e-12))
    across = PickupCircuit(impedance=impedance, capacitance=120e-12)
    np.testing.assert_allclose(bare(coil_by_coil), bare(across), rtol=ROUNDING)


def test_volume_at_nothing_is_silence_and_at_ten_is_its_track_across() -> None:
    silent = single(controls=ControlCircuit(volume_pot=500e3, volume_setting=0.0, bleed_capacitor=1e-9))
    full = single(controls=ControlCircuit(volume_pot=500e3, bleed_capacitor=1e-9))
    shunted = single(controls=ControlCircuit(shunt_resistor=500e3))
    assert np.all(loaded_response(HERTZ, silent, load=LOAD).transfer == 0.0)
    np.testing.assert_allclose(
        loaded_response(HERTZ, full, load=LOAD).transfer,
        loaded_response(HERTZ, shunted, load=LOAD).transfer,
        rtol=ROUNDING,
    )


def test_tone_at_nothing_is_its_capacitor_across() -> None:
    toned = single(controls=ControlCircuit(tone_pot=250e3, tone_setting=0.0, tone_capacitor=5e-9))
    loaded = loaded_response(HERTZ, single(), load=Load(cable_capacitance=5e-9))
    np.testing.assert_allclose(loaded_response(HERTZ, toned).transfer, loaded.transfer, rtol=ROUNDING)


def test_two_equal_pickups_share_their_voices_in_halves() -> None:
    one, two = loaded_response(HERTZ, [single(), single()]).transfers
    np.testing.assert_allclose(one, 0.5, rtol=ROUNDING)
    np.testing.assert_allclose(two, 0.5, rtol=ROUNDING)


def test_one_volume_at_nothing_silences_all_pickups() -> None:
    off = ControlCircuit(volume_pot=500e3, volume_setting=0.0)
    on = ControlCircuit(volume_pot=500e3)
    bare_track = ControlCircuit(volume_pot=None)  # a third pickup without a volume of its own
    for controls in ([off, on], [off, off], [bare_track, off, off]):
        found = loaded_response(HERTZ, [single(controls=one) for one in controls], load=LOAD)
        assert all(np.all(gains == 0.0) for gains in found.transfers)
        assert np.all(found.output_impedance == 0.0)


def test_a_master_volume_equals_the_pickups_own_when_one_is_on() -> None:
    controls = ControlCircuit(volume_pot=500e3, volume_setting=6.0, tone_pot=500e3, tone_capacitor=22e-9)
    np.testing.assert_allclose(
        loaded_response(HERTZ, single(controls=controls), load=LOAD).transfer,
        loaded_response(HERTZ, single(), master=controls, load=LOAD).transfer,
        rtol=ROUNDING,
    )


@pytest.mark.parametrize("setting", [0.0, 3.0, 10.0])
@pytest.mark.parametrize("wiring", ["series", "parallel", "split-screws", "split-slugs", "out-of-phase"])
def test_the_closed_form_equals_the_nodal_analysis(wiring: str, setting: float) -> None:
    controls = ControlCircuit(
        volume_pot=500e3,
        volume_setting=setting,
        tone_pot=480e3,
        tone_setting=setting,
        tone_capacitor=22e-9,
        tone_tap="after",
        bleed_capacitor=1e-9,
        bleed_resistor=130e3,
        bleed_wiring="series",
    )
    pickups = [
        humbucker(wiring=wiring, coil_capacitance=(2e-10, 1e-10), controls=controls),
        single(capacitance=1e-10, reverse=True, controls=replace(controls, volume_setting=8.0)),
    ]
    for on in (pickups[:1], pickups):
        found = loaded_response(HERTZ, on, master=ControlCircuit(shunt_resistor=1e6), load=LOAD)
        network = network_of(on, master=ControlCircuit(shunt_resistor=1e6), load=LOAD)
        gains = np.concatenate(found.transfers)
        expected = transfers(network, HERTZ, "out")
        # 1e-9 of the largest gain: two orders of the same arithmetic; at volume 0 both are silent
        assert np.max(np.abs(gains - expected)) <= 1e-9 * max(1e-3, np.max(np.abs(expected)))
        open_jack = network_of(on, master=ControlCircuit(shunt_resistor=1e6))
        expected = port_impedance(open_jack, HERTZ, "out")
        assert np.max(np.abs(found.output_impedance - expected)) <= 1e-9 * max(1.0, np.max(np.abs(expected)))


def test_a_pickup_at_zero_hertz_is_its_resistance() -> None:
    pickup = PickupCircuit(impedance=coil_impedance([0.0], 7600.0, 4.7), capacitance=1e-10)
    found = loaded_response([0.0], pickup, load=Load(cable_capacitance=5e-10, input_resistance=1e6))
    assert found.output_impedance[0] == pytest.approx(7600.0)
    assert found.transfer[0, 0] == pytest.approx(1e6 / 1007600.0)


def test_what_cannot_be_answered_is_refused() -> None:
    with pytest.raises(InputError, match="no pickup is on"):
        loaded_response(HERTZ, [])
    with pytest.raises(InputError, match=r"pickups\[1\].impedance has 60 values"):
        loaded_response(HERTZ[:2], [PickupCircuit(impedance=np.ones((1, 1, 2))), single()])
    with pytest.raises(InputError, match="0 Hz or more"):
        loaded_response([-1.0], PickupCircuit(impedance=np.ones((1, 1, 1))))
    with pytest.raises(InputError, match="without any impedance"):
        loaded_response([0.0], [PickupCircuit(impedance=np.zeros((1, 1, 1)))] * 2)
    with pytest.raises(InputError, match="choose one of"):
        _ = loaded_response(HERTZ, [single(), single()]).transfer
