"""Multimeter and LCR meter."""

import math

import numpy as np
import pytest

from polepiece.errors import InputError, MeasurementError
from polepiece.materials import copper_factor
from polepiece.measure import (
    LUMPED,
    MeterReading,
    direct_resistance,
    fit_meter,
    lumped_impedance,
    lumped_inductance,
)


def test_copper_follows_iec_60028() -> None:
    """0.00393 per kelvin at 20 degC (IEC 60028); the bench's rule of thumb is 0.4 % a degree."""
    assert copper_factor(20.0) == pytest.approx(1.0)
    assert copper_factor(30.0) == pytest.approx(1.0393, abs=1e-6)


def test_a_cold_reading_is_carried_to_20_degrees() -> None:
    found = direct_resistance(7620.0, temperature=14.0)
    assert found.at_20.value == pytest.approx(7620.0 / (1.0 - 6.0 * 0.00393), rel=1e-9)
    assert found.at_20.high - found.at_20.low > found.read.high - found.read.low  # the thermometer adds
    assert found.read.high - found.read.value == pytest.approx(0.9 * 76.2, rel=1e-2)  # 90 % of 1 % limits


def test_leads_are_taken_off_and_a_change_is_said() -> None:
    found = direct_resistance(8000.5, leads=0.5, expected=7700.0)
    assert found.read.value == pytest.approx(8000.0)
    assert any("more than 2 %" in note for note in found.notes)
    assert not direct_resistance(7800.0, expected=7700.0).notes


@pytest.mark.parametrize(
    ("ohms", "words"), [(7.8, "7.8 kohm is 7.8k here"), (0.4, "A short"), (2e6, "open coil"), (math.inf, "open coil")]
)
def test_readings_that_are_no_pickup(ohms: float, words: str) -> None:
    with pytest.raises(MeasurementError, match=words):
        direct_resistance(ohms)


def test_a_reading_at_the_jack_is_questioned() -> None:
    assert any("at the jack" in note for note in direct_resistance(600.0).notes)
    with pytest.raises(InputError, match="68 degF is 20 degC"):
        direct_resistance(7800.0, temperature=68.0)


def readings(values: np.ndarray, frequencies: tuple[float, ...]) -> list[MeterReading]:
    """What an ideal meter in series mode shows of the model."""
    z = lumped_impedance(np.array(frequencies), values)
    return [
        MeterReading(frequency=f, inductance=x.imag / (2 * np.pi * f), quality=x.imag / x.real, accuracy=0.005)
        for f, x in zip(frequencies, z)
    ]


def test_three_readings_give_inductance_and_leave_the_rest_untold() -> None:
    values = np.array([one.usual for one in LUMPED])
    values[1] = 5.2
    found = fit_meter(readings(values, (120.0, 1e3, 10e3)), resistance=(8e3, 40.0))
    for hertz, name in ((120.0, "inductance_120_hz"), (1e3, "inductance_1000_hz")):
        true = lumped_inductance(np.array([hertz]), values).real[0]
        assert found[name].low <= true <= found[name].high
        assert found[name].value == pytest.approx(true, rel=0.03)
    assert not found["loss_tangent"].told
    assert any("Not told" in line for line in found.untold)


def test_one_reading_at_120_hz_says_nothing_of_the_capacitance() -> None:
    values = np.array([one.usual for one in LUMPED])
    found = fit_meter(readings(values, (120.0,)), resistance=(8e3, 40.0))
    assert found["inductance_120_hz"].told
    assert not found["capacitance"].told
    assert not found["resonance"].told


@pytest.mark.parametrize(
    ("given", "error", "words"),
    [
        ([(120.0, 4.5, None)], InputError, "no Q"),
        ([(120.0, 4.5, 0.4), (120.0, 4.6, 0.4)], InputError, "same test frequency"),
        ([], InputError, "one to six"),
        ([(120.0, 4.5, 5.0)], MeasurementError, "parallel mode"),
    ],
)
def test_readings_that_do_not_serve(given: list[tuple], error: type[Exception], words: str) -> None:
    with pytest.raises(error, match=words):
        fit_meter([MeterReading(frequency=f, inductance=h, quality=q) for f, h, q in given], resistance=(7.8e3, 40.0))


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"frequency": 120.0, "inductance": 4500.0}, "4500 mH is 4.5 H"),
        ({"frequency": 1.0, "inductance": 4.5}, "test frequency is 1 Hz"),
        ({"frequency": 120.0, "inductance": 4.5, "quality": 300.0}, "Is it D"),
    ],
)
def test_slips_of_the_unit(values: dict[str, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        MeterReading(**values)


def test_what_a_meter_hardly_tells_is_not_said_to_be_below_nothing() -> None:
    """One reading: its resonance lay between 984 and 16527 Hz, its impedance there between -189 and 1299 kohm."""
    found = fit_meter([MeterReading(frequency=120.0, inductance=4.41, quality=0.41)], resistance=(7.8e3, 40.0))
    for one in (*found.parameters, *found.derived):
        assert 0.0 < one.low <= one.value <= one.high
    assert not found["peak_impedance"].told
