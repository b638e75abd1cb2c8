"""Alignment: equal loudness, no clipping, the true difference kept in view."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from polepiece.errors import InputError, MeasurementError
from polepiece.sound import align, peak_dbfs
from polepiece.sound.loudness import integrated_loudness

RATE = 48000
RNG = np.random.default_rng(4)
NOISE = RNG.standard_normal(3 * RATE) * 0.05
PLUCK = np.sin(2 * np.pi * 220.0 * np.arange(3 * RATE) / RATE) * np.exp(-3.0 * np.arange(3 * RATE) / RATE)


@settings(max_examples=15, deadline=None)
@given(gain_db=st.floats(-30.0, 30.0))
def test_a_pure_gain_is_found_and_taken_away(gain_db):
    found = align(NOISE, NOISE * 10 ** (gain_db / 20), RATE)
    assert found.level_difference_db == pytest.approx(gain_db, abs=1e-9)
    assert found.alignment_gain_db == pytest.approx(-gain_db, abs=1e-9)
    assert found.gain_after / found.gain_before == pytest.approx(10 ** (-gain_db / 20))


def test_the_aligned_pair_has_one_loudness_and_the_wanted_one():
    after = PLUCK * 0.3
    found = align(NOISE, after, RATE)
    assert found.lowered_db == 0.0 and found.note == ""
    for sound, gain in ((NOISE, found.gain_before), (after, found.gain_after)):
        # 0.1 LU, the tolerance of a meter: the absolute gate cuts a decaying tail at another place
        assert integrated_loudness(sound * gain, RATE) == pytest.approx(found.aligned_lufs, abs=0.1)
    assert found.aligned_lufs == -23.0


def test_an_alignment_that_would_clip_lowers_both_and_says_so():
    click = np.zeros(3 * RATE)
    click[RATE :: RATE // 2] = 1.0  # loud peaks, little energy
    click += 1e-3 * RNG.standard_normal(click.size)
    found = align(NOISE, click, RATE)
    assert found.lowered_db > 3.0
    assert f"{found.lowered_db:.1f} dB quieter" in found.note
    assert found.aligned_lufs == pytest.approx(-23.0 - found.lowered_db)
    assert peak_dbfs(click * found.gain_after, RATE) <= -1.0 + 1e-6
    assert found.gain_after / found.gain_before == pytest.approx(10 ** (-found.level_difference_db / 20))


def test_true_levels_do_not_clip_either():
    found = align(PLUCK * 0.01, PLUCK * 0.01 * 30.0, RATE)
    assert peak_dbfs(PLUCK * 0.3 * found.common_gain, RATE) <= -1.0 + 1e-6
    assert found.level_difference_db == pytest.approx(20 * np.log10(30.0))


def test_volts_may_come_in_any_size():
    one, other = align(NOISE, PLUCK, RATE), align(NOISE * 40.0, PLUCK * 40.0, RATE)
    assert other.level_difference_db == pytest.approx(one.level_difference_db, abs=1e-9)


@pytest.mark.parametrize(
    ("sound", "words"),
    [
        (np.zeros(RATE), "silent"),
        (np.full(RATE, 1e-7) * NOISE[:RATE], "silent"),
        (NOISE[: int(0.39 * RATE)], "needs at least 0.4 s"),
        (np.where(np.arange(RATE) == 5, np.nan, NOISE[:RATE]), "NaN"),
    ],
)
def test_a_loudness_without_a_number_is_refused(sound, words):
    with pytest.raises(MeasurementError, match=words):
        integrated_loudness(sound, RATE)
    with pytest.raises(MeasurementError, match=words):
        align(NOISE, sound, RATE)


def test_the_refusal_names_the_signal():
    with pytest.raises(MeasurementError, match="'after'"):
        align(NOISE, np.zeros(RATE), RATE)
    with pytest.raises(InputError, match="not empty"):
        integrated_loudness(np.zeros(0), RATE)


def test_silence_has_no_peak():
    assert peak_dbfs(np.zeros(100), RATE) == -np.inf
