"""Records of the circuit: what they refuse, and what a knob setting means."""

import math

import numpy as np
import pytest

from polepiece.circuit import ControlCircuit, Load, PickupCircuit
from polepiece.circuit.parts import track_share
from polepiece.errors import InputError
from tests.reference.circuit_elements import Capacitor, Mutual, Resistor, coil_impedance

HERTZ = np.array([100.0, 1000.0])


def test_an_audio_track_has_fifteen_per_cent_at_mid_rotation() -> None:
    # source: trade practice, 15 % (10 % and 20 % parts exist); exact by construction, so rounding only
    assert track_share(5.0) == pytest.approx(0.15, rel=1e-12)
    assert track_share(5.0, mid_share=0.10) == pytest.approx(0.10, rel=1e-12)
    assert track_share(5.0, mid_share=0.5) == 0.5


@pytest.mark.parametrize("taper", ["audio", "linear"])
def test_a_track_rises_from_nothing_to_the_whole(taper: str) -> None:
    shares = [track_share(setting, taper) for setting in np.linspace(0, 10, 41)]  # type: ignore[arg-type]
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert np.all(np.diff(shares) > 0.0)


def test_both_parts_of_the_volume_track_make_the_whole() -> None:
    parts = ControlCircuit(volume_pot=480e3, volume_setting=5.0).volume_parts
    assert parts == pytest.approx((0.85 * 480e3, 0.15 * 480e3))
    assert ControlCircuit().volume_parts is None


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"volume_pot": 500.0}, "500 kohm is 500e3"),
        ({"volume_pot": 500e3, "volume_setting": 11.0}, "0 to 10"),
        ({"volume_pot": 500e3, "volume_setting": -0.1}, "0 to 10"),
        ({"volume_pot": 500e3, "volume_taper": "A"}, "audio, linear"),
        ({"tone_pot": 500e3}, "both tone_pot and tone_capacitor"),
        ({"tone_capacitor": 22e-9}, "both tone_pot and tone_capacitor"),
        ({"tone_pot": 500e3, "tone_capacitor": 22.0}, "22 nF is 22e-9"),
        ({"tone_pot": 500e3, "tone_capacitor": -1e-9}, "0 or more"),
        ({"shunt_resistor": 0.0}, "positive"),
        ({"bleed_resistor": 0.0}, "positive"),
        ({"bleed_resistor": math.inf}, "leave it out"),
        ({"bleed_wiring": "both"}, "series, parallel"),
        ({"tone_tap": "jack"}, "before, after"),
        ({"volume_pot": 500e3, "mid_share": 15.0}, "0.15, not 15"),
        ({"volume_pot": math.nan}, "1e3 and 1e8"),
    ],
)
def test_controls_refuse_and_say_the_likely_slip(values: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        ControlCircuit(**values)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"cable_capacitance": 500.0}, "500 pF is 500e-12"),
        ({"cable_capacitance": -1e-12}, "0 or more"),
        ({"input_resistance": 0.0}, "positive"),
    ],
)
def test_a_load_refuses_and_says_the_likely_slip(values: dict[str, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        Load(**values)


def pair(**changes: object) -> PickupCircuit:
    impedance = coil_impedance(HERTZ, [3900.0, 4000.0], [[2.0, -0.4], [-0.4, 2.5]])
    return PickupCircuit(**{"impedance": impedance, **changes})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"impedance": np.ones((3, 3, 2))}, r"\(1, 1, f\) or \(2, 2, f\)"),
        ({"impedance": np.ones((2, 2))}, "frequency last"),
        ({"impedance": np.full((1, 1, 2), np.nan)}, "not finite"),
        ({"impedance": -np.ones((1, 1, 2))}, "negative resistance"),
        ({"impedance": np.arange(8.0).reshape(2, 2, 2)}, "not symmetric"),
        ({"impedance": np.ones((1, 1, 2)), "wiring": "parallel"}, "one coil"),
        ({"impedance": np.zeros((2, 2, 2)), "wiring": "parallel"}, "no impedance at all"),
        ({"wiring": "split"}, "split-screws, split-slugs"),
        ({"off_coil": "grounded"}, "shorted, open"),
        ({"coil_capacitance": (1e-10,)}, "1 values for 2 coils"),
        ({"capacitance": 120.0}, "120 pF is 120e-12"),
        ({"coil_capacitance": (-1e-10, 1e-10)}, "0 or more"),
    ],
)
def test_a_pickup_refuses(changes: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        pair(**changes)


def test_a_pickup_keeps_its_own_read_only_copy() -> None:
    impedance = np.ones((1, 1, 2), dtype=complex)
    pickup = PickupCircuit(impedance=impedance)
    impedance[:] = 7.0
    assert np.all(pickup.impedance == 1.0)
    with pytest.raises(ValueError, match="read-only"):
        pickup.impedance[:] = 7.0


def test_elements_refuse() -> None:
    with pytest.raises(InputError, match="0 or more"):
        Resistor(name="r", a="1", b="0", resistance=-1.0)
    with pytest.raises(InputError, match="infinite"):
        Capacitor(name="c", a="1", b="0", capacitance=math.inf)
    with pytest.raises(InputError, match="one of the two"):
        Mutual(first="a", second="b")


def test_the_impedance_matrix_has_resistances_on_its_diagonal_alone() -> None:
    found = coil_impedance(HERTZ, [3900.0, 4000.0], [[2.0, -0.4], [-0.4, 2.5]])
    omega = 2 * np.pi * HERTZ
    assert found.shape == (2, 2, 2)
    np.testing.assert_allclose(found[0, 0], 3900 + 2.0j * omega)
    np.testing.assert_allclose(found[1, 0], -0.4j * omega)
    by_frequency = coil_impedance(HERTZ, found.real, found.imag / omega)
    np.testing.assert_allclose(by_frequency, found)


@pytest.mark.parametrize(("resistance", "inductance"), [([1.0, 2.0, 3.0], np.eye(2)), (1.0, np.ones((1, 1, 3)))])
def test_the_impedance_matrix_refuses_shapes_that_do_not_fit(resistance: object, inductance: object) -> None:
    with pytest.raises(InputError):
        coil_impedance(HERTZ, resistance, inductance)  # type: ignore[arg-type]
