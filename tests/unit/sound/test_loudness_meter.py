"""Loudness in passing is the loudness of the whole, however the sound is cut."""

import numpy as np
import pytest

from polepiece.errors import MeasurementError
from polepiece.sound import LoudnessMeter, loudness_as_given, peak_dbfs


def metered(sound, rate, cuts):
    columns = sound.reshape(sound.shape[0], -1)
    meter = LoudnessMeter(rate, columns.shape[1])
    for first, last in zip([0, *cuts], [*cuts, sound.shape[0]]):
        meter.add(columns[first:last])
    meter.finish()
    return meter


@pytest.mark.parametrize("rate", [44100, 48000, 96000, 192000])
@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("count", [1.0, 2.3456, 3.049])
def test_it_reads_what_the_whole_reads(rate, channels, count):
    # the same figures as the library's meter on the whole sound; its round-off only
    rng = np.random.default_rng(4)
    frames = round(count * rate)
    sound = 0.2 * rng.standard_normal((frames, channels)) * np.exp(-np.arange(frames) / rate)[:, None]
    sound = sound if channels == 2 else sound[:, 0]
    meter = metered(sound, rate, [1, 2, 4799, 4801, frames // 2])
    assert meter.loudness("x") == pytest.approx(loudness_as_given(sound, rate, "x"), abs=1e-6)
    assert meter.peak_dbfs == pytest.approx(peak_dbfs(sound, rate), abs=1e-6)


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        ([(-23.0, 20.0)], -23.0),
        ([(-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0)], -23.0),
        ([(-72.0, 10.0), (-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0), (-72.0, 10.0)], -23.0),
        ([(-26.0, 20.0), (-20.0, 20.1), (-26.0, 20.0)], -23.0),
    ],
)
def test_tech_3341_stereo_cases(steps, expected):
    # EBU Tech 3341, cases 1, 3, 4, 5: +-0.1 LU (read second-hand). The absolute gate is read at full-scale peak
    # here, so -72 dBFS beside -23 is gated by the relative gate: the same answer.
    rate = 48000
    one = np.concatenate(
        [10 ** (db / 20) * np.sin(2 * np.pi * 1000.0 * np.arange(round(s * rate)) / rate) for db, s in steps]
    )
    meter = metered(np.stack([one, one], axis=1), rate, list(range(100_000, one.size, 100_000)))
    assert meter.loudness("x") == pytest.approx(expected, abs=0.1)


def test_silence_and_shortness_are_named():
    with pytest.raises(MeasurementError, match=r"'after'.*silent"):
        metered(np.zeros(48000), 48000, []).loudness("after")
    with pytest.raises(MeasurementError, match=r"'after'.*0\.4 s"):
        metered(0.1 * np.ones(9600), 48000, []).loudness("after")
