"""Recordings that are clipped, driven, offset or quiet; clean ones pass without a word."""

import os
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from polepiece.arrays import FloatArray
from polepiece.errors import MeasurementError
from polepiece.sound import Condition, condition_of, condition_of_blocks, read, settled
from polepiece.sound.condition import SINE_SHARE
from tests.reference.plucked import RATE, clipped, driven, plucks, resampled, taken

COUNT = 12
FREE = Path(os.environ.get("POLEPIECE_RECORDINGS", "/usr/share/sonic-pi/samples"))


@pytest.fixture(scope="module")
def sounds() -> list[FloatArray]:
    return [plucks(np.random.default_rng([9, k]), seconds=1.5) for k in range(COUNT)]


def found(samples: FloatArray) -> Condition:
    return condition_of(samples, RATE)


def recorded(sound: FloatArray, k: int, *, peak: float = 1.0) -> FloatArray:
    return taken(np.random.default_rng([8, k]), sound, peak=peak, bits=16 if k % 2 else 24)


def test_clean_plucks_pass_without_a_word(sounds: list[FloatArray]) -> None:
    """Also at full scale, and 30 dB under it; 40 drawn sounds at other seeds: no false alarm."""
    for k, sound in enumerate(sounds):
        for peak in (1.0 - 2.0**-15, 0.5, 0.03):
            assert found(recorded(sound, k, peak=peak)).words == ()


@pytest.mark.parametrize(("over_db", "least"), [(0.5, 0.6), (1.0, 0.8), (3.0, 1.0), (6.0, 1.0)])
def test_clipping_is_recognised(sounds: list[FloatArray], over_db: float, least: float) -> None:
    """40 drawn sounds: 53 % at 0.25 dB, 80 % at 0.5, 95 % at 1, all from 3 on; less: tops of one or two samples."""
    hit = [found(recorded(clipped(sound, over_db), k)) for k, sound in enumerate(sounds)]
    assert np.mean([one.clipped_dbfs is not None for one in hit]) >= least


@pytest.mark.parametrize("gain", [0.684, 0.2])
def test_clipping_is_recognised_after_a_gain(sounds: list[FloatArray], gain: float) -> None:
    for sound in sounds:
        cut = np.rint(2.0**15 * gain * clipped(sound, 3.0)) / 2.0**15
        one = found(cut)
        assert one.clipped_dbfs == pytest.approx(20.0 * np.log10(gain), abs=0.05)
        true = float(np.mean(np.abs(cut) >= np.abs(cut).max() - 1.01 * 2.0**-15))
        assert 0.3 * true < one.clipped_share <= 1.5 * true  # tops of one and two samples are not counted


def test_clipping_is_recognised_in_part_after_another_sample_rate(sounds: list[FloatArray]) -> None:
    """40 drawn sounds: 55 % at 3 dB; filters round short tops away, and nothing is said then."""
    hit = [found(0.8 * resampled(clipped(sound, 3.0))) for sound in sounds]
    assert np.mean([one.clipped_dbfs is not None for one in hit]) >= 0.3
    clean = [found(0.8 * resampled(sound)) for sound in sounds]
    assert all(one.words == () for one in clean)


def test_hard_drive_looks_driven_and_says_so(sounds: list[FloatArray]) -> None:
    """tanh of 30: 82 % of 40; of 10: 47 % as driven, all as flat tops."""
    hard = [found(recorded(driven(sound, 10.0), k, peak=0.5)) for k, sound in enumerate(sounds)]
    assert np.mean([one.driven for one in hard]) >= 0.2
    assert all(one.words for one in hard)
    said = next(one.words for one in hard if one.driven)
    assert any("Looks driven" in line and "driven less than this cannot be told" in line for line in said)


def test_a_sine_is_the_limit() -> None:
    """Closed form: 2 acos(0.9) / pi of a sine's samples lie above 0.9 of its top; a sine is not called driven."""
    time = np.arange(2 * RATE) / RATE
    sine = found(0.5 * np.sin(2.0 * np.pi * 220.0 * time))
    assert sine.top_share == pytest.approx(SINE_SHARE, rel=0.02)  # 11 periods of 218 samples
    assert sine.crest_db == pytest.approx(3.01, abs=0.02)
    assert not sine.driven and sine.clipped_dbfs is None


def test_an_offset_is_said_and_taken_away(sounds: list[FloatArray]) -> None:
    sound = 0.4 * sounds[0] - 0.4 * sounds[0].mean()
    one = found(sound + 0.01)
    assert one.offset == pytest.approx((0.01,), abs=1e-9)
    assert one.moved and any("+0.0100 of full scale" in line for line in one.words)
    assert settled(sound + 0.01, one).mean() == pytest.approx(0.0, abs=1e-12)
    small = found(sound + 1e-5)
    assert not small.moved and settled(sound + 1e-5, small).mean() == pytest.approx(1e-5, rel=1e-6)


def test_a_quiet_recording_is_said(sounds: list[FloatArray]) -> None:
    assert any("Quiet" in line for line in found(0.005 * sounds[0]).words)


def test_a_recording_of_which_nothing_is_left_is_refused(sounds: list[FloatArray]) -> None:
    with pytest.raises(MeasurementError, match="nothing left that could be re-voiced"):
        for k, sound in enumerate(sounds):  # at this drive half of some and more of others stands in flat tops
            found(recorded(driven(sound, 30.0), k, peak=0.5))


def test_blocks_tell_what_the_whole_tells(sounds: list[FloatArray]) -> None:
    """A top that lies across the border of two blocks counts once."""
    whole = np.stack([clipped(sounds[1], 3.0), 0.5 * sounds[2]], axis=1)
    one = condition_of(whole, RATE)
    cut = [0, 4999, 5003, 5004, 30000, 30100, len(whole)]
    many = condition_of_blocks(lambda: (whole[a:b] for a, b in pairwise(cut)), RATE, name="")
    assert one.clipped_dbfs is not None
    assert many.clipped_share == pytest.approx(one.clipped_share, rel=1e-12)
    assert many.top_share == pytest.approx(one.top_share, rel=1e-12)
    assert many.offset == pytest.approx(one.offset, rel=1e-9)


@pytest.mark.parametrize("name", ["guit_e_fifths", "guit_em9", "guit_e_slide", "guit_harmonics"])
def test_free_recordings_pass_without_a_word(name: str) -> None:
    path = FREE / f"{name}.flac"
    if not path.exists():
        pytest.skip(f"no recordings in {FREE}: install Debian's sonic-pi-samples")
    take = read(path)
    assert condition_of(take.samples, take.sample_rate).words == ()


def test_channels_that_cancel_are_said_and_one_is_judged() -> None:
    """A balanced cable plugged in as two channels: mixed to one nothing is left, alone it is clean."""
    rng = np.random.default_rng(3)
    one = 0.2 * np.cumsum(rng.standard_normal(96_000) * 0.02) * np.exp(-np.arange(96_000) / 30_000)
    found = condition_of(np.stack([one + 0.01, -one + 0.01], axis=1), 48_000)
    assert found.turned_over and any(said.startswith("Turned over") for said in found.words)
    alone = condition_of(one + 0.01, 48_000)
    assert not alone.turned_over
    assert found.spectrum is not None and alone.spectrum is not None
    assert np.allclose(found.spectrum.third_octaves, alone.spectrum.third_octaves, rtol=1e-6)
    assert not condition_of(np.stack([one, 0.5 * one], axis=1), 48_000).turned_over
