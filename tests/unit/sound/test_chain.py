"""The chain: straight when quiet, bounded whatever comes in, free of aliases and of direct current, block by block."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal

from polepiece.errors import InputError
from polepiece.sound import SETTINGS, Chain, ChainSetting, chained, through_chain
from polepiece.sound.loudspeaker import ImpulseResponse
from tests.reference.near import assert_near

RATE = 48000
TIME = np.arange(RATE) / RATE
PLAIN = ChainSetting(name="plain", gain_db=0.0, high_pass=10.0, shelf_frequency=1500.0, shelf_db=0.0, bias=0.0)
CEILING = 10.0 ** (-1.0 / 20.0)


def tone(frequency, level=1.0, rate=RATE):
    return level * np.sin(2 * np.pi * frequency * np.arange(rate) / rate)


def line(sound, frequency, rate=RATE):
    """Amplitude of one line, by a Hann window over the settled half (whole periods at whole hertz)."""
    settled = sound[rate // 2 :]
    window = signal.windows.hann(settled.size, sym=False)
    turning = np.exp(-2j * np.pi * frequency * np.arange(settled.size) / rate)
    return 2.0 * abs(np.sum(window * settled * turning)) / np.sum(window)


@pytest.mark.parametrize("name", SETTINGS)
@pytest.mark.parametrize("frequency", [4831.0, 5123.0])
def test_what_folds_back_of_a_hard_tone_lies_under_minus_80_db(name, frequency):
    # 1 V is more than a hard strum gives (0.8 V); up to 0.41 of the rate, below which nothing may fold back.
    # Neither tone divides the high rate: all aliases lie off the harmonics.
    found = through_chain(tone(frequency), RATE, name, loudspeaker="none")[RATE // 8 : -RATE // 8]
    spectrum = np.abs(np.fft.rfft(found * signal.windows.blackmanharris(found.size)))
    at = np.fft.rfftfreq(found.size, 1.0 / RATE)
    alias = (np.min(np.abs(at[:, None] - frequency * np.arange(5)), axis=1) > 20.0) & (at < 0.41 * RATE)
    assert 20.0 * np.log10(np.max(spectrum[alias]) / np.max(spectrum)) < -80.0


def test_bare_saturation_at_the_rate_itself_would_fail_that_test():
    # shows that the test above can fail: the same curve without oversampling
    found = (20.0 * tone(4831.0)) / np.sqrt(1.0 + (20.0 * tone(4831.0)) ** 2)
    spectrum = np.abs(np.fft.rfft(found * signal.windows.blackmanharris(RATE)))
    at = np.fft.rfftfreq(RATE, 1.0 / RATE)
    alias = (np.min(np.abs(at[:, None] - 4831.0 * np.arange(5)), axis=1) > 20.0) & (at < 0.41 * RATE)
    assert 20.0 * np.log10(np.max(spectrum[alias]) / np.max(spectrum)) > -40.0


@pytest.mark.parametrize(("rate", "factor"), [(44100, 8), (48000, 8), (88200, 4), (96000, 4), (192000, 4)])
def test_a_quiet_sound_only_meets_gain_and_high_pass(rate, factor):
    # third harmonic of f at 1 mV: x^3/2, 1e-7 of it. 0.07 dB: the mean over one step is cos(pi f / high rate), -0.066
    # dB at 15 kHz of 384 kHz, -0.077 of 352.8 kHz; the two high-passes take 0.017 dB at 200 Hz
    assert Chain(PLAIN, sample_rate=rate).factor == factor
    gain = [
        line(through_chain(tone(f, 1e-3, rate), rate, PLAIN, loudspeaker="none"), f, rate) for f in (200.0, 1e3, 15e3)
    ]
    assert 20.0 * np.log10(np.array(gain) / gain[1]) == pytest.approx(0.0, abs=0.08)


def test_it_is_in_time_with_what_came_in():
    # symmetric filters: what is left is half a sample of the high rate (the mean over one step), 1/16 of a sample
    sound = np.zeros(4000)
    sound[1000] = 1e-3
    found = through_chain(sound, RATE, PLAIN, loudspeaker="none")
    assert np.argmax(np.abs(found)) == 1000
    moment = np.arange(990, 1011)
    assert np.sum(moment * found[moment] ** 2) / np.sum(found[moment] ** 2) == pytest.approx(1000.0, abs=0.1)


def test_a_loud_sound_becomes_the_square_wave_of_fourier():
    # 1, 1/3, 1/5; at 100 V before a gain of 26 dB the rise takes 1e-4 of a period
    odd = ChainSetting(name="hot", gain_db=40.0, high_pass=10.0, shelf_frequency=1500.0, shelf_db=0.0, bias=0.0)
    found = through_chain(tone(400.0, 100.0), RATE, odd, loudspeaker="none")
    first = line(found, 400.0)
    assert line(found, 1200.0) / first == pytest.approx(1 / 3, rel=1e-3)
    assert line(found, 2000.0) / first == pytest.approx(1 / 5, rel=1e-3)
    assert line(found, 800.0) / first < 1e-6


def test_harmonics_of_a_small_tone_are_those_of_the_curve():
    # f(b + x) = f(b) + f' x + f'' x^2/2 + ...: second harmonic f''/(4 f') x, f''/f' = -3 b/(1 + b^2)
    level, bias = 0.02, 0.3
    bent = ChainSetting(name="bent", gain_db=0.0, high_pass=10.0, shelf_frequency=1500.0, shelf_db=0.0, bias=bias)
    found = through_chain(tone(500.0, level), RATE, bent, loudspeaker="none")
    assert line(found, 1000.0) / line(found, 500.0) == pytest.approx(3 * bias / (1 + bias**2) * level / 4, rel=0.01)


@pytest.mark.parametrize("name", SETTINGS)
@pytest.mark.parametrize("loudspeaker", ["closed-box", "none"])
def test_no_direct_current(name, loudspeaker):
    # a steady tone after half a second: e^(-2 pi 8 0.5) of the blocker's start is left, -218 dB
    found = through_chain(tone(200.0, 0.5), RATE, name, loudspeaker=loudspeaker)[RATE // 2 :]
    assert abs(np.mean(found)) < 1e-6 * np.std(found)


def response(seed=0, count=400):
    rng = np.random.default_rng(seed)
    return ImpulseResponse(
        samples=rng.standard_normal(count) * np.exp(-np.arange(count) / 60.0), sample_rate=44100.0, name="mine.wav"
    )


@settings(max_examples=20, deadline=None)
@given(
    seed=st.integers(0, 1000), level=st.floats(1e-3, 1e3), name=st.sampled_from(sorted(SETTINGS)),
    kind=st.sampled_from(["noise", "square", "step", "clicks"]), speaker=st.sampled_from(["closed-box", "none", "own"]),
)  # fmt: skip
def test_nothing_passes_the_ceiling(seed, level, name, kind, speaker):
    rng = np.random.default_rng(seed)
    sound = {
        "noise": rng.standard_normal(6000), "square": np.sign(np.sin(np.arange(6000) * rng.uniform(0.005, 2.0))),
        "step": np.r_[np.zeros(3000), np.ones(3000)], "clicks": rng.standard_normal(6000) * (rng.random(6000) < 0.01),
    }[kind]  # fmt: skip
    own = response(seed) if speaker == "own" else speaker
    assert np.max(np.abs(through_chain(level * sound, RATE, name, loudspeaker=own))) <= CEILING


def test_the_worst_input_reaches_most_of_the_ceiling():
    # the bound is not slack: the sign of the reversed response, driven to a square, adds all taps up
    spike = np.zeros(8000)
    spike[4000] = 1e-3
    taps = through_chain(spike, RATE, PLAIN)[4000:]
    worst = 1e6 * np.sign(taps[::-1])
    assert np.max(np.abs(through_chain(worst, RATE, PLAIN))) > 0.8 * CEILING


@pytest.mark.parametrize("speaker", ["closed-box", "none", "own"])
@pytest.mark.parametrize("rate", [44100, 96000])
def test_blocks_of_any_length_are_the_whole(speaker, rate):
    own = response() if speaker == "own" else speaker
    sound = 0.3 * np.random.default_rng(3).standard_normal((30001, 2))
    whole = through_chain(sound, rate, "driven", loudspeaker=own)
    cuts = [sound[a:b] for a, b in zip([0, 1, 7, 9000, 9001, 20000], [1, 7, 9000, 9001, 20000, 30001])]
    chain = Chain("driven", sample_rate=rate, channels=2, loudspeaker=own)
    pieces = np.concatenate(list(chained(cuts, chain)))
    assert pieces.shape == sound.shape
    assert_near(pieces, whole, 1e-12)


def test_it_is_repeatable_and_channels_are_alike():
    sound = 0.2 * np.random.default_rng(1).standard_normal(20000)
    first = through_chain(sound, RATE, "driven")
    assert np.array_equal(first, through_chain(sound, RATE, "driven"))
    both = through_chain(np.stack([sound, sound], axis=1), RATE, "driven")
    assert np.array_equal(both[:, 0], both[:, 1])
    assert both[:, 0] == pytest.approx(first, abs=1e-12)


def test_settings_saturate_in_their_order():
    def crest(name):
        sound = through_chain(tone(220.0, 0.4) * np.exp(-3.0 * TIME), RATE, name, loudspeaker="none")
        return np.max(np.abs(sound)) / np.std(sound)

    assert crest("driven") < crest("edge") < crest("clean")


def test_clean_is_clean():
    # total harmonic distortion of 0.5 V, more than single notes give: under 1 % (ours: what "clean" promises)
    found = through_chain(tone(220.0, 0.5), RATE, "clean", loudspeaker="none")
    harmonics = [line(found, 220.0 * n) for n in range(1, 9)]
    assert np.linalg.norm(harmonics[1:]) / harmonics[0] < 0.01


@pytest.mark.parametrize(
    ("given_", "words"),
    [
        ({"setting": "loud"}, "clean, edge, driven"),
        ({"sample_rate": 48.0}, "kHz"),
        ({"loudspeaker": "open"}, "closed-box and none"),
        ({"samples": np.zeros(0)}, "not empty"),
        ({"samples": np.array([0.0, np.nan])}, "NaN"),
    ],
)
def test_what_cannot_work_is_refused(given_, words):
    arguments = {"samples": tone(220.0), "sample_rate": RATE, "setting": "clean", **given_}
    speaker = {"loudspeaker": arguments["loudspeaker"]} if "loudspeaker" in arguments else {}
    with pytest.raises(InputError, match=words):
        through_chain(arguments["samples"], arguments["sample_rate"], arguments["setting"], **speaker)


@pytest.mark.parametrize("change", [{"gain_db": 200.0}, {"bias": 0.9}, {"high_pass": 0.0}, {"shelf_db": np.nan}])
def test_a_setting_out_of_range_is_refused(change):
    fields = {"name": "x", "gain_db": 0.0, "high_pass": 50.0, "shelf_frequency": 1e3, "shelf_db": 0.0, "bias": 0.0}
    with pytest.raises(InputError, match=next(iter(change))):
        ChainSetting(**{**fields, **change})
