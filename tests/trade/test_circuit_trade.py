"""What every bench expects of pots, caps and cables: common practice, no source, so directions alone.

The pickup is a full-size pair of 8 kohm, 4.7 H and 120 pF behind 500 kohm volume and tone, 500 pF, 1 Mohm.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from polepiece.circuit import ControlCircuit, Load, PickupCircuit, loaded_response, resonance
from tests.reference.circuit_elements import coil_impedance

HERTZ = np.geomspace(20, 20e3, 400)
USUAL = ControlCircuit(volume_pot=500e3, tone_pot=500e3, tone_capacitor=22e-9)
LEAD = Load(cable_capacitance=500e-12, input_resistance=1e6)


def voice(controls: ControlCircuit = USUAL, load: Load = LEAD, wiring: str = "series") -> np.ndarray:
    impedance = coil_impedance(HERTZ, [4e3, 4e3], [[1.95, -0.4], [-0.4, 1.95]])
    pickup = PickupCircuit(
        impedance=impedance,
        wiring=wiring,  # type: ignore[arg-type]
        coil_capacitance=(240e-12, 240e-12),
        controls=controls,
    )
    gains = loaded_response(HERTZ, pickup, load=load).transfer
    return np.abs(gains[0] - gains[1])


def level_db(response: np.ndarray, hertz: float) -> float:
    """Level against that of the lowest notes."""
    return float(20 * np.log10(np.interp(hertz, HERTZ, response) / response[0]))


def top(response: np.ndarray) -> tuple[float, float]:
    found = resonance(HERTZ, response)
    assert found.frequency is not None
    assert found.height_db is not None
    return found.frequency, found.height_db


def test_a_full_size_pickup_on_a_usual_lead_rings_between_two_and_five_kilohertz() -> None:
    hertz, height_db = top(voice())
    assert 2e3 < hertz < 5e3
    assert 0.0 < height_db < 12.0


def test_a_longer_cable_lowers_the_peak() -> None:
    short, long = (top(voice(load=replace(LEAD, cable_capacitance=pf * 1e-12))) for pf in (300, 900))
    assert long[0] < short[0]


def test_smaller_pots_and_a_clipped_on_resistor_lower_the_peak() -> None:
    usual = top(voice())[1]
    assert top(voice(replace(USUAL, volume_pot=250e3, tone_pot=250e3)))[1] < usual - 1.0
    assert top(voice(replace(USUAL, shunt_resistor=220e3)))[1] < usual - 1.0


def test_tone_down_moves_the_peak_to_the_capacitor_and_takes_the_highs() -> None:
    down = voice(replace(USUAL, tone_setting=0.0))
    assert level_db(down, 3000.0) < -20.0
    # the damped second-order circuit: R, L, C and the volume control beside the input as Rq
    ohms, henries, farads, across = 8e3, 4.7, 22e-9 + 620e-12, 1e6 / 3
    natural = math.sqrt((1 + ohms / across) / (henries * farads)) / (2 * math.pi)
    q = math.sqrt(henries * farads * (1 + ohms / across)) / (ohms * farads + henries / across)
    # 1 %: the coils' capacitance lies coil by coil, and the input beyond the volume control
    assert top(down)[0] == pytest.approx(natural * math.sqrt(1 - 1 / (2 * q**2)), rel=0.01)


def test_tone_at_eight_is_brighter_than_at_five() -> None:
    eight, five = (level_db(voice(replace(USUAL, tone_setting=setting)), 3000.0) for setting in (8.0, 5.0))
    assert five < eight < level_db(voice(), 3000.0)


def test_volume_down_is_darker_and_a_bleed_or_the_tone_after_it_keeps_the_highs() -> None:
    full = level_db(voice(), 3000.0)
    down = replace(USUAL, volume_setting=5.0)
    dark = level_db(voice(down), 3000.0)
    assert dark < full - 3.0
    assert level_db(voice(replace(down, bleed_capacitor=1e-9, bleed_resistor=150e3)), 3000.0) > dark + 3.0
    assert level_db(voice(down, replace(LEAD, cable_capacitance=200e-12)), 3000.0) > dark
    assert level_db(voice(replace(down, tone_tap="after")), 3000.0) > dark


def test_parallel_is_quieter_and_brighter_and_a_split_in_between() -> None:
    series, parallel, split = (voice(wiring=how) for how in ("series", "parallel", "split-screws"))
    assert parallel[0] < 0.6 * series[0]  # about half the voltage
    assert split[0] < 0.6 * series[0]
    assert top(series)[0] < top(split)[0]
    assert top(series)[0] < top(parallel)[0]
