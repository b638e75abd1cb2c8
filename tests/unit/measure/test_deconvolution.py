"""Farina's method on signals whose answer is known in closed form."""

import math
from itertools import pairwise

import numpy as np
import pytest

from polepiece.errors import InputError, MeasurementError
from polepiece.measure import (
    SweepSignal,
    deconvolve,
    excitation,
    inverse_filter,
    one_sweep,
    ratio_of,
    responses_of,
    sweep_for,
)

RATE = 48000
SIGNAL = sweep_for(RATE, duration=3.0)


def test_a_sweep_is_at_each_frequency_when_the_equation_says() -> None:
    """Farina 2000: the phase is 2 pi f1 L (exp(t/L) - 1), so the frequency is f1 exp(t/L)."""
    wave = one_sweep(SIGNAL)
    growth = SIGNAL.duration / math.log(SIGNAL.high / SIGNAL.low)
    crossings = np.flatnonzero((wave[:-1] < 0.0) & (wave[1:] >= 0.0)) / RATE
    for start, stop in pairwise(crossings[:201]):
        middle = 0.5 * (start + stop)
        if middle < 0.2:
            continue  # the frequency moves by more than a percent within a period
        expected = SIGNAL.low * math.exp(middle / growth)
        # a sample either way of a period, and the growth within it
        assert 1.0 / (stop - start) == pytest.approx(expected, rel=2.5 * expected / RATE + 0.01)


def test_a_sweep_deconvolved_is_an_impulse_of_one() -> None:
    """Flat within the band but for the Fresnel ripple of a sweep that begins at once: it falls with f from its ends."""
    wave = one_sweep(SIGNAL)
    padded = np.zeros((1, 3 * len(wave)))
    padded[0, 1000 : 1000 + len(wave)] = wave
    response = deconvolve(padded, inverse_filter(SIGNAL))[0]
    assert int(np.argmax(np.abs(response))) == 1000
    spectrum = np.fft.rfft(response)
    hertz = np.fft.rfftfreq(len(response), 1.0 / RATE)
    for low, high, ripple in ((30.0, 20e3, 0.05), (100.0, 20e3, 0.03), (1e3, 1e4, 0.01)):
        band = (hertz > low) & (hertz < high)
        assert np.max(np.abs(np.abs(spectrum[band]) - 1.0)) < ripple


def test_a_filter_is_found_as_its_closed_form() -> None:
    """A one-pole low pass y[n] = a y[n-1] + (1 - a) x[n] has H = (1 - a) / (1 - a exp(-jw))."""
    from scipy.signal import lfilter

    a = 0.9
    played = excitation(SIGNAL)
    heard = lfilter([1.0 - a], [1.0, -a], played)
    found = ratio_of(np.stack([played, heard], axis=1), SIGNAL, sample_rate=RATE)
    expected = (1.0 - a) / (1.0 - a * np.exp(-2j * np.pi * found.frequency / RATE))
    # 1e-4, the share that `METHOD` states for window and smoothing
    assert np.max(np.abs(1.0 / found.ratio / expected - 1.0)) < 1e-4


def test_harmonics_arrive_before_the_response_by_growth_times_log_of_the_order() -> None:
    """Farina 2000: order n lies L ln n before the linear response."""
    played = excitation(SIGNAL)
    made = responses_of(np.array([played + 0.3 * played**2 / 0.25, played]), SIGNAL, sample_rate=RATE, where="x")
    start = made.starts[0]
    early = round(SIGNAL.growth * math.log(2.0) * RATE)
    near = np.abs(made.responses[0, start - early - 200 : start - early + 200])
    assert abs(int(np.argmax(near)) - 200) <= 3
    assert near.max() > 20.0 * np.abs(made.responses[1, start - early - 200 : start - early + 200]).max()


def repeated(stretch: float) -> np.ndarray:
    """The excitation, played by a clock that is slow by ``stretch``."""
    size = round(SIGNAL.length * stretch * RATE)
    out = np.zeros(size)
    sweep = one_sweep(SIGNAL, stretch=stretch)
    for k in range(SIGNAL.repeats):
        begin = round((SIGNAL.silence + k * SIGNAL.period) * stretch * RATE)
        out[begin : begin + len(sweep)] = sweep[: size - begin]
    return out


@pytest.mark.parametrize("drift", [-80e-6, 0.0, 35e-6])
def test_the_drift_of_the_clock_is_found(drift: float) -> None:
    out = repeated(1.0 + drift)
    made = responses_of(np.array([out, out]), SIGNAL, sample_rate=RATE, where="x")
    # half a sample over two periods: the sweeps above begin on whole samples
    assert made.drift == pytest.approx(drift, abs=0.75 / (2.0 * SIGNAL.period * RATE))
    assert len(made.starts) == 3


def rows(*parts: np.ndarray) -> np.ndarray:
    return np.array([np.concatenate(parts)] * 2)


def test_faults_of_a_recording_are_explained() -> None:
    played = excitation(SIGNAL)
    random = np.random.default_rng(3)
    noise = 0.01 * random.standard_normal(len(played))

    def words(samples: np.ndarray, rate: int = RATE, signal: SweepSignal = SIGNAL) -> str:
        with pytest.raises(MeasurementError) as caught:
            responses_of(samples, signal, sample_rate=rate, where="take.wav")
        assert str(caught.value).startswith("take.wav: ")
        return str(caught.value)

    assert "no sweep was found" in words(rows(noise))
    long_noise = 1e-3 * random.standard_normal(28 * RATE)  # longer than the longest sweep that is looked for
    assert "no sweep was found" in words(rows(long_noise), signal=sweep_for(RATE))
    assert "lasts 2.0 s; two sweeps take" in words(rows(played[: 2 * RATE]))
    only_one = rows(np.concatenate([played[: round(4.1 * RATE)], noise[: 5 * RATE] * 0.01]))
    assert "1 whole sweep of 3" in words(only_one)
    assert "the sweep is on the second channel only" in words(np.array([noise, played]))
    for rate_of_player in (44100, 96000):
        slow = repeated(RATE / rate_of_player)
        assert "another sample rate" in words(rows(np.concatenate([slow, noise[: 3 * RATE] * 0.01])))
    assert "the recording is at 44100 Hz" in words(rows(played), rate=44100)
    longer = excitation(sweep_for(RATE, duration=3.0, silence=1.003))
    assert "parts in a million" in words(rows(longer))


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"level_db": 0.0}, "level_db is 0 dBFS"),
        ({"level_db": 12.0}, "levels are negative"),
        ({"repeats": 1}, "One sweep has no bounds"),
        ({"high": 60e3}, "a sweep ends below"),
        ({"sample_rate": 96}, "96 kHz is 96000 here"),
        ({"duration": 0.1}, "duration is 0.1 s"),
    ],
)
def test_a_sweep_that_cannot_serve_is_refused(values: dict[str, float], words: str) -> None:
    with pytest.raises(InputError, match=words):
        SweepSignal(**values)  # type: ignore[arg-type]


def test_the_excitation_has_its_level_and_is_silent_between() -> None:
    signal = sweep_for(96000, duration=2.0, level_db=-18.0)
    wave = excitation(signal)
    assert np.max(np.abs(wave)) == pytest.approx(10.0 ** (-18.0 / 20.0), rel=1e-3)  # peak of a dense sine
    assert len(wave) == round((1.0 + 3 * 3.0) * 96000)
    assert not wave[:96000].any()
    assert not wave[3 * 96000 : 4 * 96000].any()
