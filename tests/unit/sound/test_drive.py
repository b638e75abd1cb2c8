"""The soft clipper: straight when quiet, bounded when loud, odd, and nearly free of aliases."""

import numpy as np
import pytest
from scipy import signal

from polepiece.errors import InputError
from polepiece.sound import drive

RATE = 48000
TIME = np.arange(RATE) / RATE


def tone(frequency, level):
    return level * np.sin(2 * np.pi * frequency * TIME)


def line(sound, frequency):
    window = signal.windows.hann(sound.size, sym=False)
    return 2.0 * abs(np.sum(window * sound * np.exp(-2j * np.pi * frequency * TIME))) / np.sum(window)


def test_a_quiet_sound_only_meets_gain_and_low_pass():
    # tanh(x) = x - x^3/3: 1e-3 peak after gain leaves 3e-7; Butterworth at a tenth of its corner is flat
    # to 5e-5
    found = line(drive(tone(500.0, 1e-4), RATE, gain_db=20.0, low_pass=5000.0), 500.0)
    assert found == pytest.approx(1e-3, rel=1e-3)
    at_corner = line(drive(tone(5000.0, 1e-4), RATE, gain_db=20.0, low_pass=5000.0), 5000.0)
    assert 20 * np.log10(at_corner / 1e-3) == pytest.approx(-3.01, abs=0.05)


def test_a_loud_sound_becomes_the_square_wave_of_fourier():
    # 4/pi (1, 1/3, 1/5 ...), even ones absent; the low-pass far above
    found = drive(tone(200.0, 1.0), RATE, gain_db=60.0, low_pass=15000.0)
    assert line(found, 200.0) == pytest.approx(4 / np.pi, rel=0.01)
    assert line(found, 600.0) == pytest.approx(4 / np.pi / 3, rel=0.02)
    assert line(found, 400.0) < 1e-4
    assert np.max(np.abs(found)) < 1.3


def test_it_is_odd_and_repeatable():
    sound = np.random.default_rng(1).standard_normal((5000, 2)) * 0.1
    assert np.array_equal(drive(sound, RATE), drive(sound, RATE))
    assert drive(-sound, RATE) == pytest.approx(-drive(sound, RATE), abs=1e-9)
    assert drive(sound, RATE).shape == sound.shape


def test_what_folds_back_lies_under_the_harmonics():
    # 3.1 kHz at 30 dB of gain: the loudest line that is no odd harmonic, against the fundamental
    found = drive(tone(3100.0, 0.2), RATE, gain_db=30.0, low_pass=20000.0)[4800:-4800]
    spectrum = np.abs(np.fft.rfft(found * signal.windows.blackmanharris(found.size)))
    frequency = np.fft.rfftfreq(found.size, 1 / RATE)
    harmonic = np.min(np.abs(frequency[:, None] - 3100.0 * np.arange(1, 8, 2)), axis=1) < 30.0
    assert 20 * np.log10(np.max(spectrum[~harmonic]) / np.max(spectrum)) < -50.0


def test_a_hotter_signal_is_squashed_more():
    def crest(level):
        sound = drive(tone(220.0, level) * np.exp(-3.0 * TIME), RATE, gain_db=30.0)
        return np.max(np.abs(sound)) / np.std(sound)

    assert crest(0.4) < crest(0.1) < crest(0.01)


@pytest.mark.parametrize(
    ("options", "words"),
    [({"gain_db": 200.0}, "gain_db"), ({"low_pass": 30e3}, "low_pass"), ({"low_pass": 5.0}, "low_pass")],
)
def test_settings_out_of_range_are_refused(options, words):
    with pytest.raises(InputError, match=words):
        drive(tone(220.0, 0.1), RATE, **options)


def test_nothing_is_refused():
    with pytest.raises(InputError, match="not empty"):
        drive(np.zeros(0), RATE)
