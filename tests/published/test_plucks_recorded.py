"""The pluck measurement on free recordings of electric guitars (CC0, Debian's sonic-pi-samples), where installed.

What is played was read from spectrograms by hand (``verification.recordings``); guitar and pickup are unknown. Pitches,
onsets and decays are checked against plain spectra and band filters of NumPy and SciPy; a known filter of SciPy must be
found again. A sitting is made of one recording repeated at different levels.
"""

import os
from pathlib import Path

import numpy as np
import pytest
from scipy import signal

from polepiece.measure import FileFact, Taken, compare_plucks, find_onsets, note_name, partials_of, pitch_of, plucks_of
from polepiece.sound import read
from verification.recordings import FOLDER, mono

HERE = Path(os.environ.get("POLEPIECE_RECORDINGS", FOLDER))
PLAYED = {  # note and seconds of each pluck that begins inside the recording; the first chord of em9 begins with it
    "guit_e_fifths.flac": [("F#4", 0.0), ("B3", 0.52)],
    "guit_em9.flac": [("F#4", 0.23), ("G4", 0.48), ("D5", 0.75)],
}
HARMONICS = 6  # strokes in guit_harmonics.flac, counted by hand in its spectrogram
LEVELS = (1.0, 0.8, 0.9, 0.7)
FILES = (*PLAYED, "guit_harmonics.flac", "guit_e_slide.flac")
pytestmark = pytest.mark.skipif(
    not all((HERE / name).exists() for name in FILES),
    reason=f"no recordings in {HERE}: install Debian's sonic-pi-samples, or name a folder in POLEPIECE_RECORDINGS",
)


def sound(name: str) -> tuple[np.ndarray, int]:
    samples, rate = mono(read(HERE / name))
    return samples, round(rate)


def take(samples: np.ndarray, rate: int, name: str):
    fact = FileFact(role="", name=name, sha256=name)
    return plucks_of([Taken(samples=samples[:, None], sample_rate=rate, fact=fact)])


def sitting(name: str) -> tuple[np.ndarray, int]:
    """The recording four times at other levels, silence between."""
    samples, rate = sound(name)
    gap = np.zeros(rate // 2)
    return np.concatenate([gap, *(part for level in LEVELS for part in (level * samples, gap))]), rate


def heard_notes(name: str) -> list[tuple[float, float]]:
    samples, rate = sound(name)
    onsets = find_onsets(samples, rate)
    ends = [*onsets[1:], samples.size / rate]
    found = [(t, pitch_of(samples, rate, t, end, low=75.0, high=1400.0)) for t, end in zip(onsets, ends)]
    assert all(pitch is not None for _, pitch in found)
    return [(float(t), float(pitch or 0.0)) for t, pitch in found]


@pytest.mark.parametrize("name", PLAYED)
def test_onsets_and_notes(name):
    found = heard_notes(name)
    assert [note_name(pitch) for _, pitch in found] == [note for note, _ in PLAYED[name]]
    assert all(abs(t - said) < 0.03 for (t, _), (_, said) in zip(found, PLAYED[name]))  # read to two decimals


def test_strokes_of_harmonics_are_counted_and_a_slide_has_none():
    samples, rate = sound("guit_harmonics.flac")
    assert find_onsets(samples, rate).size == HARMONICS
    samples, rate = sound("guit_e_slide.flac")
    assert find_onsets(samples, rate).size == 0  # it swells; what swells is no pluck


@pytest.mark.parametrize("name", PLAYED)
def test_a_note_begins_at_its_onset_by_a_narrow_band(name):
    """Level of the note's own frequency (0.1 s either side of the onset) rises by 6 dB at least."""
    samples, rate = sound(name)
    for t, pitch in heard_notes(name):
        if t < 0.1:
            continue
        size = round(0.1 * rate)
        wave = np.hanning(size) * np.exp(-2j * np.pi * pitch * np.arange(size) / rate)
        at = round(t * rate)
        before, after = (abs(np.vdot(wave, samples[k : k + size])) for k in (at - size, at + round(0.02 * rate)))
        assert 20.0 * np.log10(after / before) > 6.0


@pytest.mark.parametrize("name", PLAYED)
def test_pitches_are_peaks_of_a_plain_spectrum(name):
    """Highest bin of NumPy's zero-padded spectrum within 3 % of the pitch; 0.2 s of sound place it within 20 cents."""
    samples, rate = sound(name)
    found = heard_notes(name)
    ends = [*(t for t, _ in found[1:]), found[-1][0] + 0.5]
    for (t, pitch), end in zip(found, ends):
        piece = samples[round((t + 0.03) * rate) : round(end * rate)]
        power = np.abs(np.fft.rfft(piece * np.hanning(piece.size), 1 << 19)) ** 2
        step = rate / (1 << 19)
        low, high = (round(pitch * k / step) for k in (0.97, 1.03))
        peak = (low + int(np.argmax(power[low:high]))) * step
        assert abs(1200.0 * np.log2(pitch / peak)) < 20.0


def test_decay_of_a_partial_is_that_of_a_band_filter():
    """Fundamental of the last note of the fifths: T60 against a line through SciPy's 4th-order band, 50 ms levels."""
    samples, rate = sound("guit_e_fifths.flac")
    t, pitch = heard_notes("guit_e_fifths.flac")[-1]
    part = samples[round(t * rate) : round((t + 3.5) * rate)]
    first = partials_of(part, rate, pitch)[0]
    assert first.t60 is not None
    band = signal.sosfiltfilt(signal.butter(4, (0.9 * pitch, 1.1 * pitch), "bandpass", fs=rate, output="sos"), part)
    step = round(0.05 * rate)
    level = 10.0 * np.log10(np.mean(band[: band.size // step * step].reshape(-1, step) ** 2, axis=1))[2:-4]
    slope = np.polyfit(0.05 * np.arange(level.size), level, 1)[0]
    assert first.t60 == pytest.approx(-60.0 / slope, rel=0.25)  # beats and an echo lie on it; spans differ a little
    assert 1.0 < first.t60 < 20.0


@pytest.mark.parametrize("name", ["guit_e_fifths.flac", "guit_em9.flac"])
def test_a_recording_against_itself_is_zero(name):
    samples, rate = sitting(name)
    one = take(samples, rate, "a.wav")
    assert len(one.plucks) >= len(LEVELS)
    found = compare_plucks(one, one)
    assert all(estimate.value == 0.0 for estimate in found.estimates)


FILTERS = {
    "low-pass": lambda rate: signal.butter(2, 2500.0, fs=rate, output="sos"),
    "high-pass": lambda rate: signal.butter(1, 400.0, "high", fs=rate, output="sos"),
    "peak": lambda rate: signal.tf2sos(*_peak(rate)),
}


def _peak(rate: float):
    """A resonance 6 dB high at 3 kHz, Q 1.5: one plus a band-pass."""
    b, a = signal.iirpeak(3e3, 1.5, fs=rate)
    return a + (10.0 ** (6.0 / 20.0) - 1.0) * b, a


@pytest.mark.parametrize("kind", FILTERS)
def test_a_known_filter_is_found_within_half_a_decibel(kind):
    """Every third octave that has a partial and stands out of the noise.

    Truth is the filter's power response (SciPy) over the whole sitting's spectrum (NumPy) in the same third octave.
    """
    samples, rate = sitting("guit_e_fifths.flac")
    sections = FILTERS[kind](rate)
    found = compare_plucks(take(samples, rate, "a.wav"), take(signal.sosfilt(sections, samples), rate, "b.wav"))
    hertz = np.fft.rfftfreq(samples.size, 1.0 / rate)
    power = np.abs(np.fft.rfft(samples)) ** 2
    _, response = signal.sosfreqz(sections, worN=hertz, fs=rate)
    checked = 0
    for one in found.estimates:
        kind_of, _, nominal = one.name.partition(".")
        if kind_of == "third_octave_db":
            middle = 1000.0 * 10.0 ** (round(10.0 * np.log10(float(nominal) / 1000.0)) / 10.0)
            inside = (hertz >= middle * 10.0**-0.05) & (hertz < middle * 10.0**0.05)
            share = np.sum(power[inside] * np.abs(response[inside]) ** 2) / np.sum(power[inside])
            assert one.value == pytest.approx(10.0 * np.log10(share), abs=0.5), one.name
            checked += 1
    assert checked >= 12
