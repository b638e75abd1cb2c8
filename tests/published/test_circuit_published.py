"""Circuits of textbooks, and the second-order pickup circuit.

Each figure carries its source and the status it had for us: read, or derived (computed by us from a formula
that was read).
"""

import math

import numpy as np
import pytest

from polepiece.circuit import Load, PickupCircuit, loaded_response, resonance
from tests.reference.circuit_elements import Capacitor, Impedance, Inductor, Resistor, Source, coil_impedance
from tests.reference.nodal import Network, port_impedance, transfers


def tuned_circuit(ohms: float, henries: float, farads: float) -> Network:
    """Coil with its resistance, and a capacitor across."""
    return Network(
        elements=(
            Resistor(name="r", a="top", b="mid", resistance=ohms),
            Inductor(name="l", a="mid", b="0", inductance=henries),
            Capacitor(name="c", a="top", b="0", capacitance=farads),
        )
    )


def test_parallel_resonance_of_a_coil_with_resistance() -> None:
    """J. Bird, Electrical Circuit Theory and Technology, problem 16.09 (inputs and formula read): R 60 ohm,
    L 0.20 H, C 20 uF, 20 V: f_r = 63.66 Hz, dynamic resistance 166.7 ohm, 0.12 A, Q = 1.33.
    Tolerances: half a unit of the last digit printed (0.0067 for the truncated Q).
    """
    hertz = np.linspace(60, 67, 7001)
    impedance = port_impedance(tuned_circuit(60.0, 0.20, 20e-6), hertz, "top")
    at = int(np.argmin(np.abs(impedance.imag)))  # resonance there: current in phase with voltage
    assert hertz[at] == pytest.approx(63.66, abs=0.006)  # 0.005 and one step of the grid
    assert impedance[at].real == pytest.approx(166.7, abs=0.05)
    assert 20.0 / abs(impedance[at]) == pytest.approx(0.12, abs=0.005)
    coil = port_impedance(Network(elements=tuned_circuit(60.0, 0.20, 20e-6).elements[:2]), hertz[at : at + 1], "top")[0]
    assert coil.imag / coil.real == pytest.approx(1.33, abs=0.0067)


@pytest.mark.parametrize(("hertz", "ohms", "tolerance"), [(60.0, 531.0, 0.5), (10e3, 190.0, 0.5)])
def test_series_impedance(hertz: float, ohms: float, tolerance: float) -> None:
    """OpenStax College Physics, example 23.12 (read): R 40 ohm, L 3.00 mH, C 5.00 uF. Printed to 1 ohm."""
    network = Network(
        elements=(
            Resistor(name="r", a="in", b="a", resistance=40.0),
            Inductor(name="l", a="a", b="b", inductance=3.00e-3),
            Capacitor(name="c", a="b", b="0", capacitance=5.00e-6),
        )
    )
    assert abs(port_impedance(network, [hertz], "in")[0]) == pytest.approx(ohms, abs=tolerance)


def test_frequency_of_resonance() -> None:
    """OpenStax College Physics, example 23.13 (read): L 3.00 mH, C 5.00 uF: 1.30 kHz (three digits)."""
    hertz = np.geomspace(500, 3000, 400)
    found = resonance(hertz, port_impedance(tuned_circuit(0.01, 3.00e-3, 5.00e-6), hertz, "top"))
    assert found.frequency == pytest.approx(1300.0, abs=5.0)


def test_quality_from_a_bandwidth() -> None:
    """J. Bird, problem 29.07 (read): C 10.61 nF, bandwidth 500 Hz at 150 kHz: Q = 300.
    The coil that gives this bandwidth, R = 2 pi 500 L, is put in; the finder must read 300 off the curve.
    Tolerance 0.1 %: linear interpolation between 20 Hz steps on a width of 500 Hz.
    """
    farads, width, centre = 10.61e-9, 500.0, 150e3
    henries = 1.0 / ((2 * math.pi * centre) ** 2 * farads)
    network = Network(
        elements=(
            Source(name="drive", a="in", b="0"),
            Inductor(name="l", a="in", b="a", inductance=henries),
            Capacitor(name="c", a="a", b="out", capacitance=farads),
            Resistor(name="r", a="out", b="0", resistance=2 * math.pi * width * henries),
        )
    )
    hertz = np.arange(145e3, 155e3, 20.0)
    found = resonance(hertz, transfers(network, hertz, "out")[0])
    assert found.frequency == pytest.approx(centre, rel=1e-4)
    assert found.quality == pytest.approx(300.0, rel=1e-3)


def pickup_response(hertz: np.ndarray, ohms: float, henries: float, farads: float, across: float) -> np.ndarray:
    pickup = PickupCircuit(impedance=coil_impedance(hertz, ohms, henries))
    return loaded_response(hertz, pickup, load=Load(cable_capacitance=farads, input_resistance=across)).transfer[0]


@pytest.mark.parametrize(
    ("parts", "figures", "last_digit_db"),
    [
        ((7.6e3, 4.7, 200e3), (3053.0, 1.928, 2841.0, 6.0), 0.05),
        ((5.8e3, 2.8, 111e3), (3983.0, 1.465, 3488.0, 3.85), 0.005),
    ],
)
def test_second_order_pickup_circuit(parts: tuple, figures: tuple, last_digit_db: float) -> None:
    """Zollner, Physics of the electric guitar, 5.5.4 (read): H = 1 / (1 + R/Rq + s (RC + L/Rq) + s^2 L C).
    The figures for 600 pF are derived from it. Tolerances: half a unit of the last digit, plus 1 Hz and
    0.01 dB for the grid of the peak finder (400 values over three decades).
    """
    ohms, henries, across = parts
    natural, q, peak, height_db = figures
    hertz = np.geomspace(20, 20e3, 400)
    s = 2j * np.pi * hertz
    found = pickup_response(hertz, ohms, henries, 600e-12, across)
    formula = 1 / (1 + ohms / across + s * (ohms * 600e-12 + henries / across) + s**2 * henries * 600e-12)
    np.testing.assert_allclose(found, formula, rtol=1e-12)  # the same rational function

    top = resonance(hertz, found)
    assert top.frequency == pytest.approx(peak, abs=1.5)
    assert top.height_db == pytest.approx(height_db, abs=last_digit_db + 0.01)

    # natural frequency: where H, counted from its plateau, is purely imaginary; there its size is Q
    fine = np.linspace(natural - 20, natural + 20, 40001)
    turned = pickup_response(fine, ohms, henries, 600e-12, across) * (1 + ohms / across)
    at = int(np.argmin(np.abs(turned.real)))
    assert fine[at] == pytest.approx(natural, abs=0.5)
    assert abs(turned[at]) == pytest.approx(q, abs=0.0005)


@pytest.mark.parametrize(("henries", "peak"), [(4.7, 2997.0), (2.8, 3883.0)])
def test_resonance_of_coil_and_cable_without_loss(henries: float, peak: float) -> None:
    """1 / (2 pi sqrt(L C)) at 600 pF (derived), 1 ohm for hardly any loss; half a unit, 1 Hz for the grid."""
    hertz = np.geomspace(2000, 5000, 4000)
    found = resonance(hertz, pickup_response(hertz, 1.0, henries, 600e-12, 1e12))
    assert found.frequency == pytest.approx(peak, abs=1.5)


def test_one_per_cent_of_inductance_is_half_a_per_cent_of_frequency() -> None:
    """Derived from 1 / (2 pi sqrt(L C)): exactly (1.01)^-1/2; 0.01 % for the grid."""
    hertz = np.geomspace(1000, 8000, 4000)
    first, second = (
        resonance(hertz, pickup_response(hertz, 7.6e3, henries, 600e-12, 1e12)).frequency
        for henries in (4.7, 4.7 * 1.01)
    )
    assert first is not None
    assert second == pytest.approx(first * 1.01**-0.5, rel=1e-4)


def test_equal_coils_in_series_keep_their_own_resonance_and_fall_with_a_cable() -> None:
    """Paiva, equation 54 (read as quoted): n equal coils: L and R times n, C over n, so the self-resonance
    stays; with a cable of far more capacitance it falls by about sqrt(n). 5 %: the coil's own 60 pF beside
    the cable's 1 nF is what "about" leaves out (3 % by 1 / sqrt(L C)).
    """
    hertz = np.geomspace(500, 30e3, 4000)
    one = PickupCircuit(impedance=coil_impedance(hertz, 4e3, 2.5), coil_capacitance=(60e-12,))
    two = PickupCircuit(
        impedance=coil_impedance(hertz, [4e3, 4e3], [[2.5, 0.0], [0.0, 2.5]]),
        coil_capacitance=(60e-12, 60e-12),
    )
    tops = []
    for load in (Load(), Load(cable_capacitance=1e-9)):
        single = loaded_response(hertz, one, load=load).transfer[0]
        pair = loaded_response(hertz, two, load=load).transfer
        tops.append((resonance(hertz, single).frequency, resonance(hertz, pair[0] - pair[1]).frequency))
    (alone, alone_pair), (cabled, cabled_pair) = tops
    assert alone is not None
    assert cabled is not None
    assert alone_pair == pytest.approx(alone, rel=1e-6)
    assert cabled_pair == pytest.approx(cabled / math.sqrt(2), rel=0.05)


def test_an_impedance_of_numbers_serves_as_a_coil() -> None:
    """The example of Bird again, with the coil as a list of impedances: the same 166.7 ohm."""
    hertz = np.array([63.66198])
    coil = Impedance(name="z", a="top", b="0", impedance=60.0 + 2j * np.pi * hertz * 0.20)
    network = Network(elements=(coil, Capacitor(name="c", a="top", b="0", capacitance=20e-6)))
    assert port_impedance(network, hertz, "top")[0].real == pytest.approx(166.7, abs=0.05)
