"""Numbers on a sound: Parseval, the exact mid-bands of IEC 61260-1, and sounds whose answer is known."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from polepiece.errors import InputError, MeasurementError
from polepiece.sound import (
    RESPONSE_BANDS,
    attack_to_sustain_db,
    band_words,
    banded,
    bands_in_a_row,
    power_spectrum,
    spectral_centroid,
    strongest_stroke,
    third_octaves,
)
from tests.reference.third_octave_levels import third_octave_levels_db

RATE = 48000
TIME = np.arange(RATE) / RATE


@settings(max_examples=30, deadline=None)
@given(count=st.integers(2, 700), seed=st.integers(0, 1000))
def test_the_powers_add_up_to_the_mean_square(count, seed):
    sound = np.random.default_rng(seed).standard_normal(count)
    assert np.sum(power_spectrum(sound, RATE)[1]) == pytest.approx(np.mean(sound**2))


def test_mid_bands_are_those_of_the_standard():
    # IEC 61260-1: nominal 31.5, 1000 and 16000 Hz are exactly 31.6228, 1000 and 15848.9
    found = third_octaves()
    assert found.size == 30
    for exact in (31.6228, 1000.0, 15848.9):
        assert np.min(np.abs(found / exact - 1.0)) < 4e-6  # half a unit of the last printed digit


def test_a_tone_lies_in_its_own_third_octave_with_its_own_level():
    sound = 0.1 * np.sin(2 * np.pi * 1000.0 * TIME)
    middle, level = third_octave_levels_db(sound, RATE)
    assert middle[np.argmax(level)] == pytest.approx(1000.0)
    assert np.max(level) == pytest.approx(20 * np.log10(0.1) - 3.0103, abs=0.01)


def test_white_noise_rises_one_db_a_third_of_an_octave():
    # equal power a hertz: 10 log10(10^0.1) = 1 dB a band; bands of 700 to 7000 bins scatter by 0.2 dB
    sound = np.random.default_rng(2).standard_normal(60 * RATE)
    middle, level = third_octave_levels_db(sound, RATE)
    wide = middle > 500.0
    slope = np.polyfit(np.log10(middle[wide]), level[wide], 1)[0]
    assert slope == pytest.approx(10.0, abs=0.1)


def test_centre_of_two_tones():
    sound = np.sin(2 * np.pi * 100.0 * TIME) + 0.5 * np.sin(2 * np.pi * 3000.0 * TIME)
    assert spectral_centroid(sound, RATE) == pytest.approx((100.0 + 0.25 * 3000.0) / 1.25, rel=1e-6)


def test_attack_against_sustain_of_an_exponential():
    # mean squares of exp(-2 s t) over 0-0.1 s and 0.1-0.5 s by hand
    rate = 6.0
    sound = np.exp(-rate * TIME) * np.sin(2 * np.pi * 1000.0 * TIME)

    def mean(a, b):
        return (np.exp(-2 * rate * a) - np.exp(-2 * rate * b)) / (2 * rate * (b - a))

    expected = 10 * np.log10(mean(0.0, 0.1) / mean(0.1, 0.5))
    assert attack_to_sustain_db(sound, RATE) == pytest.approx(expected, abs=0.01)


def test_sounds_without_an_answer_are_refused():
    with pytest.raises(MeasurementError, match="no centre"):
        spectral_centroid(np.zeros(100), RATE)
    with pytest.raises(MeasurementError, match=r"at least 0\.3 s"):
        attack_to_sustain_db(np.ones(1000), RATE)
    with pytest.raises(MeasurementError, match="silent"):
        attack_to_sustain_db(np.zeros(RATE), RATE)
    with pytest.raises(InputError, match="samples have shape"):
        power_spectrum(np.zeros(1), RATE)


def test_the_band_of_an_attack_keeps_the_lows_and_its_edges_are_half_power():
    # a Butterworth band-pass is 3 dB down at both edges, whatever its order
    for frequency, wanted, within in ((89.1, -3.01, 0.05), (158.0, 0.0, 0.05), (281.8, -3.01, 0.05)):
        found = banded(np.sin(2 * np.pi * frequency * TIME), RATE, RESPONSE_BANDS["lows"])[RATE // 2 :]
        assert 20 * np.log10(np.sqrt(2) * np.std(found)) == pytest.approx(wanted, abs=within)
    top = banded(np.sin(2 * np.pi * 2000.0 * TIME), RATE, RESPONSE_BANDS["lows"])[RATE // 2 :]
    assert 20 * np.log10(np.std(top)) < -50.0
    with pytest.raises(InputError, match="must rise"):
        banded(TIME, RATE, (300.0, 200.0))


def test_the_strongest_stroke_is_the_loud_one_of_three():
    rate, sound = RATE, np.zeros(3 * RATE)
    for onset, level in ((0.3, 0.4), (1.2, 1.0), (2.0, 0.6)):
        first = round(onset * rate)
        time = np.arange(sound.size - first) / rate
        sound[first:] += level * np.exp(-4.0 * time) * np.sin(2 * np.pi * 150.0 * time)
    assert strongest_stroke(sound, rate) == pytest.approx(1.2, abs=0.01)  # hops of 5 ms
    assert strongest_stroke(np.roll(sound, -round(1.2 * rate)), rate) == 0.0  # a sound may begin with its stroke
    with pytest.raises(MeasurementError, match="nowhere"):
        strongest_stroke(np.zeros(rate), rate)
    with pytest.raises(MeasurementError, match=r"0\.5 s"):
        strongest_stroke(np.ones(1000), rate)


def test_bands_in_words_are_their_edges():
    assert [band_words(band) for band in RESPONSE_BANDS] == ["89-282 Hz", "282-1122 Hz", "1122-2818 Hz", "2818-5623 Hz"]
    assert band_words("mids", dash="–", kilo=True) == "282–1122 Hz"  # begins under 1 kHz
    assert band_words("highs", dash="–", kilo=True) == "1.1–2.8 kHz"
    assert bands_in_a_row() == "lows 89 to 282 Hz, mids to 1122 Hz, highs to 2818 Hz, presence to 5623 Hz"
