"""Loudness and peaks against ITU-R BS.1770 and the synthetic cases of EBU Tech 3341.

Sources: BS.1770 (0 dBFS 997 Hz in one front channel reads -3.01 LKFS; read second-hand in two places); EBU
Tech
3341 table of test cases, tolerance +-0.1 LU for loudness and +0.2/-0.4 dB for true peak (read second-hand).
The cases that need authentic programmes or momentary and short-term meters are left out.
"""

import numpy as np
import pytest

from polepiece.sound import k_weighting_power, peak_dbfs
from polepiece.sound.loudness import integrated_loudness

RATE = 48000


def sine(frequency, level_db, seconds, *, rate=RATE, phase=0.0):
    time = np.arange(round(seconds * rate)) / rate
    return 10 ** (level_db / 20) * np.sin(2 * np.pi * frequency * time + phase)


def stereo(steps):
    left = np.concatenate([sine(1000.0, level, seconds) for level, seconds in steps])
    return np.stack([left, left], axis=1)


def test_full_scale_997_hz_in_one_channel():
    # printed -3.01; the filters printed in the recommendation give -3.0103
    assert integrated_loudness(sine(997.0, 0.0, 5.0), RATE) == pytest.approx(-3.01, abs=0.005)


def test_full_scale_997_hz_in_both_channels():
    one = sine(997.0, 0.0, 5.0)
    assert integrated_loudness(np.stack([one, one], axis=1), RATE) == pytest.approx(0.0, abs=0.005)


@pytest.mark.parametrize("rate", [44100, 88200, 96000, 192000])
def test_other_sample_rates_agree_within_the_meters_tolerance(rate):
    assert integrated_loudness(sine(997.0, 0.0, 5.0, rate=rate), rate) == pytest.approx(-3.01, abs=0.1)


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        ([(-23.0, 20.0)], -23.0),
        ([(-33.0, 20.0)], -33.0),
        ([(-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0)], -23.0),
        ([(-72.0, 10.0), (-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0), (-72.0, 10.0)], -23.0),
        ([(-26.0, 20.0), (-20.0, 20.1), (-26.0, 20.0)], -23.0),
    ],
    ids=["case 1", "case 2", "case 3", "case 4", "case 5"],
)
def test_tech_3341_stereo_cases(steps, expected):
    assert integrated_loudness(stereo(steps), RATE) == pytest.approx(expected, abs=0.1)


def test_tech_3341_case_6_five_channels():
    channels = [sine(1000.0, level, 20.0) for level in (-28.0, -28.0, -24.0, -30.0, -30.0)]
    assert integrated_loudness(np.stack(channels, axis=1), RATE) == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize(
    ("divisor", "scale", "degrees", "expected"),
    [
        (4, 0.50, 0.0, -6.0),
        (4, 0.50, 45.0, -6.0),
        (6, 0.50, 60.0, -6.0),
        (8, 0.50, 67.5, -6.0),
        (4, 1.41, 45.0, 3.0),
    ],
    ids=["case 15", "case 16", "case 17", "case 18", "case 19"],
)
def test_tech_3341_true_peak_cases(divisor, scale, degrees, expected):
    tone = scale * sine(RATE / divisor, 0.0, 1.0, phase=np.radians(degrees))
    ramp = np.minimum(1.0, np.minimum(np.arange(tone.size), np.arange(tone.size)[::-1]) / 2400.0)
    error = peak_dbfs(tone * ramp, RATE) - expected
    assert -0.4 <= error <= 0.2


def test_the_power_response_is_that_of_the_printed_filters():
    # BS.1770-4, annex 1, tables 1 and 2 (48 kHz; from memory, printed to 14 digits); 0.005 dB: ours are built from the
    # analogue prototype
    stages = (
        ((1.53512485958697, -2.69169618940638, 1.19839281085285), (1.0, -1.69065929318241, 0.73248077421585)),
        ((1.0, -2.0, 1.0), (1.0, -1.99004745483398, 0.99007225036621)),
    )
    frequency = np.geomspace(20.0, 20e3, 40)
    turn = np.exp(-2j * np.pi * frequency / 48e3)
    printed = np.ones(frequency.size)
    for over, under in stages:
        value = np.polynomial.polynomial.polyval(turn, over) / np.polynomial.polynomial.polyval(turn, under)
        printed = printed * np.abs(value) ** 2
    assert 10.0 * np.log10(k_weighting_power(frequency) / printed) == pytest.approx(np.zeros(40), abs=0.005)


def test_the_power_response_is_what_the_meter_gives_a_tone():
    # a sine of full scale has half the power of full scale; the offset of the recommendation is -0.691 dB
    for frequency in (60.0, 400.0, 3000.0, 9000.0):
        expected = -0.691 - 3.0103 + 10.0 * np.log10(float(k_weighting_power(frequency)))
        assert integrated_loudness(sine(frequency, 0.0, 5.0), RATE) == pytest.approx(expected, abs=0.01)
