"""The made-up loudspeaker against its analogue prototype, and impulse responses of the person's own."""

import numpy as np
import pytest
import soundfile
from scipy import signal

from polepiece.errors import InputError, MeasurementError
from polepiece.sound import read_impulse_response, through_chain
from polepiece.sound.loudspeaker import ImpulseResponse, closed_box
from tests.reference.near import assert_near

RATES = [44100, 48000, 96000, 192000]


def prototype(frequency):
    """The three analogue parts, from their written constants."""
    s = 1j * frequency
    box = s**2 / (s**2 + s * 110.0 * np.sqrt(2.0) + 110.0**2)
    hump = (s**2 + s * 2500.0 * 10.0 ** (6.0 / 20.0) + 2500.0**2) / (s**2 + s * 2500.0 + 2500.0**2)
    b, a = signal.butter(4, 5000.0, analog=True)
    return np.abs(box * hump * np.polyval(b, s) / np.polyval(a, s))


@pytest.mark.parametrize("rate", RATES)
def test_the_filter_is_the_prototype(rate):
    # bilinear transform: exact at each corner, up to 0.3 dB between them below 5 kHz at 44.1 kHz
    frequency = np.geomspace(20.0, 5000.0, 60)
    _, found = signal.sosfreqz(closed_box(rate), frequency, fs=rate)
    assert 20.0 * np.log10(np.abs(found) / prototype(frequency)) == pytest.approx(0.0, abs=0.3)


@pytest.mark.parametrize("rate", RATES)
def test_general_properties_of_the_kind(rate):
    # -3 dB at 110 to 117 Hz in closed boxes (see the module); broad hump between 2 and 4 kHz; little above 5 kHz
    at = np.array([110.0, 400.0, 2500.0, 10e3, 0.0])
    level = 20.0 * np.log10(np.maximum(np.abs(signal.sosfreqz(closed_box(rate), at, fs=rate)[1]), 1e-12))
    assert level[0] == pytest.approx(-3.0, abs=0.1)
    assert 4.0 < level[2] - level[1] < 8.0
    assert level[3] - level[2] < -25.0
    assert level[4] < -200.0  # nothing at 0 Hz


def taps(rate=48000, seconds=0.05):
    n = np.arange(round(seconds * rate))
    return np.sin(2 * np.pi * 300.0 * n / rate) * np.exp(-n / (0.008 * rate))


@pytest.mark.parametrize("rate", [44100, 48000, 96000])
@pytest.mark.parametrize("other", [44100, 48000, 192000])
def test_another_rate_has_the_same_response(rate, other):
    # a response that begins with its loudest sample, and one that begins softly; 0.02 dB: pass band of the resampler
    sharp = signal.sosfilt(closed_box(rate), np.r_[1.0, np.zeros(9999)])
    for samples in (sharp, np.r_[1.0, np.zeros(999)], taps(rate)):
        mine = ImpulseResponse(samples=samples, sample_rate=rate, name="mine.wav")
        frequency = np.geomspace(100.0, 15e3, 40)
        was = np.abs(signal.freqz(mine.samples, 1.0, frequency, fs=rate)[1])
        other_taps, late = mine.at_rate(other)
        found = np.abs(signal.freqz(other_taps, 1.0, frequency, fs=other)[1])
        assert np.max(np.abs(found - was)) < 2e-3 * np.max(was)
        assert late == 0 or rate != other


def test_a_resampled_response_makes_no_delay():
    spike = ImpulseResponse(samples=np.r_[1.0, np.zeros(999)], sample_rate=96000, name="spike.wav")
    sound = np.zeros(6000)
    sound[3000] = 1e-3
    found = through_chain(sound, 48000, "clean", loudspeaker=spike)
    assert found.shape == sound.shape
    assert np.argmax(np.abs(found)) == 3000


def test_the_recording_meets_exactly_the_impulse_response():
    # a quiet sound through the straight part of the clean chain: its own loudspeaker against none, convolved by hand
    mine = ImpulseResponse(samples=taps(), sample_rate=48000, name="mine.wav")
    sound = 1e-3 * np.random.default_rng(2).standard_normal(9000) * (np.arange(9000) > 500)  # nothing rings before 0
    bare = through_chain(sound, 48000, "clean", loudspeaker="none")
    found = through_chain(sound, 48000, "clean", loudspeaker=mine)
    wanted = np.convolve(bare, mine.samples)[:9000]
    scale = np.dot(found, wanted) / np.dot(wanted, wanted)
    assert_near(found, scale * wanted, 1e-9 * np.max(np.abs(found)) + 1e-15)


def test_a_file_is_read_and_two_like_channels_count_as_one(tmp_path):
    soundfile.write(tmp_path / "one.wav", 0.5 * taps(), 48000, subtype="FLOAT")
    soundfile.write(tmp_path / "two.wav", 0.5 * np.stack([taps(), taps()], axis=1), 48000, subtype="FLOAT")
    one, two = read_impulse_response(tmp_path / "one.wav"), read_impulse_response(tmp_path / "two.wav")
    assert np.array_equal(one.samples, two.samples)
    assert (one.sample_rate, one.name) == (48000, str(tmp_path / "one.wav"))


@pytest.mark.parametrize(
    ("samples", "rate", "words"),
    [
        (np.stack([taps(), 0.5 * taps()], axis=1), 48000, "2 unlike channels"),
        (0.1 * np.ones(48000 * 3), 48000, "Is it a recording"),
        (0.1 * np.ones(20), 48000, "1 ms to 2 s"),
        (np.r_[0.1, np.nan, np.zeros(2000)], 48000, "NaN"),
        (np.zeros(2400), 48000, "silent"),
        (0.1 * np.ones(2400), 22050, "cannot be a loudspeaker's impulse response: .*sample rate"),
    ],
)
def test_a_file_that_is_no_impulse_response_is_refused_with_its_name(tmp_path, samples, rate, words):
    path = tmp_path / "box.wav"
    sound = samples if samples.ndim == 2 or not np.any(samples) else samples * np.linspace(1.0, 0.2, samples.shape[0])
    soundfile.write(path, sound, rate, subtype="FLOAT")
    with pytest.raises((InputError, MeasurementError), match=words) as caught:
        read_impulse_response(path)
    assert "box.wav" in str(caught.value)


def test_no_such_file(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_impulse_response(tmp_path / "nothing.wav")
