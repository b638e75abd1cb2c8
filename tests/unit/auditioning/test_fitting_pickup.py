"""A recording that cannot be of the pickup it is said to be of; rendered ones of it pass."""

import numpy as np
import pytest
from scipy import signal

from polepiece.auditioning.fitting_pickup import SLACK_DB, octave_levels, unlike_words
from polepiece.auditioning.playing import SAMPLE_RATE, play
from polepiece.bench import Bench
from polepiece.guitar import Guitar
from polepiece.moves import apply, parse_changes
from polepiece.sound import PHRASES, THIRDS, condition_of

PLAYED = ("bends", "hard-chords", "run", "harmonics")


def said(sound: np.ndarray, guitar: Guitar, bench: Bench) -> str:
    sound = 0.5 * sound / np.max(np.abs(sound)) + 1e-4 * np.random.default_rng(1).standard_normal(sound.size)
    return unlike_words(condition_of(sound, SAMPLE_RATE), guitar, "neck", bench=bench)


def test_rendered_recordings_of_a_pickup_are_like_it(guitar: Guitar, bench: Bench) -> None:
    for k, name in enumerate(PLAYED):
        assert said(play(guitar, "neck", PHRASES[name], seed=k, bench=bench), guitar, bench) == ""


@pytest.fixture(scope="module")
def chord(guitar: Guitar, bench: Bench) -> np.ndarray:
    return play(guitar, "neck", PHRASES["open-chord"], seed=2, bench=bench)


@pytest.mark.parametrize(
    ("tilt_db", "found"), [(0.0, False), (1.5, False), (8.0, True), (-8.0, True), (12.0, True), (-12.0, True)]
)
def test_a_tilt_is_said_from_the_limit_on(
    guitar: Guitar, bench: Bench, chord: np.ndarray, tilt_db: float, found: bool
) -> None:
    """dB an octave above 1 kHz, over three octaves: a piezo lies 12 dB an octave over a loaded coil's fall."""
    frequency = np.fft.rfftfreq(chord.size, 1.0 / SAMPLE_RATE)
    gain = 10.0 ** (tilt_db * np.clip(np.log2(np.maximum(frequency, 1.0) / 1000.0), 0.0, 3.0) / 20.0)
    words = said(np.fft.irfft(np.fft.rfft(chord) * gain, chord.size), guitar, bench)
    assert bool(words) == found
    assert not found or ("more" in words) == (tilt_db > 0.0)
    assert not found or f"limit {SLACK_DB:.0f} dB" in words


def test_a_resonance_that_the_pickup_has_not_is_said(guitar: Guitar, bench: Bench) -> None:
    b, a = signal.iirpeak(3000.0, 3.0, fs=SAMPLE_RATE)
    sound = play(guitar, "neck", PHRASES["single-notes-high"], seed=2, bench=bench)
    assert "from 2.2–4.5 kHz" in said(sound + 6.0 * signal.lfilter(b, a, sound), guitar, bench)


def test_a_tone_control_that_was_forgotten_is_said(guitar: Guitar, bench: Bench) -> None:
    muffled = apply(guitar, "neck", parse_changes(["tone=0"]))
    assert "less" in said(play(muffled, "neck", PHRASES["hard-chords"], bench=bench), guitar, bench)


def test_levels_are_of_octaves_against_what_is_below() -> None:
    flat = np.ones(THIRDS.size)
    assert octave_levels(flat) == pytest.approx([0.0, 0.0, 0.0])
    assert octave_levels(np.where(THIRDS > 4500.0, 10.0, flat)) == pytest.approx([0.0, 0.0, 10.0])
