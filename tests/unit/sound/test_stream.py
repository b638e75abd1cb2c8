"""Rendering by blocks against one long transform; bends, strums, touches and the plectrum against their own laws."""

import hashlib
import subprocess
import sys
import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import fft, integrate

from polepiece.errors import InputError
from polepiece.sound import PHRASES, Bend, Note, Phrase, PickupResponse, phrase, stream
from polepiece.sound.performance import performed
from polepiece.strings import FluxRows, PalmMute, Pluck, Spread, modal_amplitudes, string_modes
from tests.reference.gaussian_rows import gaussian_rows
from tests.reference.tuned_strings import tuned_set
from tests.reference.whole_render import flat_response, induced, render

RATE = 48000.0
STRINGS = tuned_set(scale_length=0.6477)


def humbucker(**change):
    good = {
        "positions": np.array([0.146, 0.164]), "curvature": np.full(2, 30.0), "third": np.full(2, 1e4),
        "aperture": np.array([4e-3, 3e-3]), "sideways": np.full(2, -8.0), "sideways_slope": np.full(2, -4e3),
    }  # fmt: skip
    law = FluxRows(**{**good, **change})
    return gaussian_rows(positions=law.positions, slope=np.full(2, 0.1), across=0.01, aperture=law.aperture, flux=law)


def resonant(inductance=4.7):
    frequency = np.geomspace(20.0, 24e3, 240)
    s = 2j * np.pi * frequency
    value = 1.0 / (1.038 + s * (7600.0 * 600e-12 + inductance / 200e3) + s**2 * inductance * 600e-12)
    return PickupResponse(frequency=frequency, value=value)


RECORDS = [humbucker()] * 6


def one(string=6, *, fret=0, onset=0.0, duration=2.0, pluck=None, **rest):
    note = Note(
        string=string, fret=fret, onset=onset, duration=duration, pluck=pluck or Pluck(position=0.05, angle=0.0), **rest
    )
    return Phrase(name="one", notes=(note,), duration=onset + duration)


def test_blocks_equal_one_long_transform():
    # voltage + j omega flux times the response over the whole phrase at once; -90 dB: the response ends at 24 kHz, so
    # its taps never quite end either
    play = phrase("power-chords")
    voltage, flux = induced(play, STRINGS, RECORDS, seed=2, spread=Spread())
    size = fft.next_fast_len(voltage.size + 20000, real=True)
    frequency = fft.rfftfreq(size, 1.0 / RATE)
    value = resonant().at(frequency)
    value[-1] = value[-1].real
    whole = fft.irfft((fft.rfft(voltage, size) + 2j * np.pi * frequency * fft.rfft(flux, size)) * value, size)
    found = render(play, STRINGS, RECORDS, resonant(), seed=2, spread=Spread())
    inside = slice(0, found.size - 600)
    assert np.max(np.abs(found - whole[: found.size])[inside]) < 10 ** (-90 / 20) * np.max(np.abs(found))


def test_one_response_for_all_is_the_same_one_for_each():
    play = phrase("open-chord")
    shared = render(play, STRINGS, RECORDS, resonant(), spread=Spread())
    each = render(play, STRINGS, RECORDS, [resonant()] * 6, spread=Spread())
    assert np.max(np.abs(shared - each)) < 1e-9 * np.max(np.abs(shared))
    with pytest.raises(InputError, match="one a string"):
        stream(play, STRINGS, RECORDS, [resonant()] * 4)


def test_the_first_block_is_short_and_none_is_long():
    sizes = [block.size for block in stream(phrase("bends"), STRINGS, RECORDS, resonant())]
    assert sizes[0] < 0.05 * RATE
    assert max(sizes) < 0.5 * RATE
    assert sum(sizes) == round(phrase("bends").duration * RATE)


def test_memory_does_not_grow_with_the_phrase():
    def peak(times):
        notes = tuple(Note(string=1 + k % 6, fret=k % 5, onset=0.05 + 0.5 * k, duration=3.0) for k in range(8 * times))
        long = Phrase(name="long", notes=notes, duration=4.0 * times + 0.1)
        tracemalloc.start()
        for _ in stream(long, STRINGS, RECORDS, resonant(), sample_rate=24e3):
            pass
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return most

    # a float64 sample of one string is 8 bytes: 40 s would be 46 MB more for six strings in two arrays
    assert peak(12) < peak(3) + 4e6


def test_the_same_seed_gives_the_same_bytes_in_another_process():
    program = (
        f"import hashlib, sys; sys.path.insert(0, {str(Path(__file__).parent)!r})\n"
        "from test_stream import *\n"
        "sound = render(phrase('bends'), STRINGS, RECORDS, resonant(), seed=5, spread=Spread())\n"
        "print(hashlib.sha256(sound.tobytes()).hexdigest())"
    )
    found = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout.strip()
    sound = render(phrase("bends"), STRINGS, RECORDS, resonant(), seed=5, spread=Spread())
    assert found == hashlib.sha256(sound.tobytes()).hexdigest()


@pytest.mark.parametrize("name", sorted(PHRASES))
def test_no_phrase_has_a_mean_or_a_click_at_its_ends(name):
    # a coil gives no direct voltage: the flux ends where it began (silence); -66 dB is what 12 ms of fade leave
    sound = render(phrase(name), STRINGS, RECORDS, resonant(), spread=Spread())
    assert abs(np.mean(sound)) < 10 ** (-66 / 20) * np.std(sound)
    assert abs(sound[0]) < 1e-4 * np.max(np.abs(sound))
    assert abs(sound[-1]) < 1e-4 * np.max(np.abs(sound))


def test_the_pull_of_the_plectrum_is_as_much_flux_as_the_string_gives_back():
    voltage, flux = induced(one(onset=0.1, duration=1.0), STRINGS, RECORDS)
    before = round(0.1 * RATE)
    assert np.all(voltage[: before - 481] == 0.0)
    drawn = np.sum(voltage[:before]) / RATE
    still = modal_amplitudes(string_modes(STRINGS[5]).number, length=0.6477, pluck=Pluck(position=0.05, angle=0.0))[0]
    modes, linkage, curved = string_modes(STRINGS[5]), 0.0, 0.0
    for place, aperture in zip((0.146, 0.164), (4e-3, 3e-3), strict=True):
        wave = modes.number * np.pi / 0.6477
        w = float(np.sum(still * np.sin(wave * place) * np.exp(-0.5 * (wave * aperture) ** 2)))
        linkage += 0.1 * w
        curved += 30.0 * w**2 / 2.0 + 1e4 * w**3 / 6.0
    assert drawn == pytest.approx(linkage, rel=1e-4)
    # 1 %: at this rate the curved law takes the modes under 8 kHz
    assert flux[before] == pytest.approx(curved, rel=0.01)
    assert abs(flux[before - 481]) < 1e-9 * curved
    assert abs(flux[-1]) < 1e-3 * curved  # the string is at rest again


def pitch_at(sound, expected, start, length=0.3):
    """Frequency of the line near ``expected``: phase advance between two Hann-windowed lock-ins."""
    count = round(length * RATE)
    first = round(start * RATE)
    hop = round(0.01 * RATE)
    turn = np.exp(-2j * np.pi * expected * np.arange(sound.size) / RATE)
    window = np.hanning(count)
    a, b = (np.sum(window * (sound * turn)[k : k + count]) for k in (first, first + hop))
    return expected + float(np.angle(b / a)) * RATE / (2.0 * np.pi * hop)


@pytest.mark.parametrize("semitones", [2.0, -1.0, 0.0])
def test_a_bend_arrives_where_it_is_said_to(semitones):
    # 1 cent: a tuner shows 5
    bend = Bend(points=((0.1, 0.0), (0.3, semitones)))
    sound = render(
        one(3, fret=7, bend=bend), STRINGS, [humbucker(curvature=np.zeros(2), third=np.zeros(2))] * 6, flat_response()
    )
    fretted = STRINGS[2].fretted(7)
    expected = fretted.pitch * np.sqrt(1.0 + fretted.inharmonicity) * 2.0 ** (semitones / 12.0)
    assert abs(1200.0 * np.log2(pitch_at(sound, expected, 0.6) / expected)) < 1.0


def test_a_bend_that_goes_nowhere_changes_nothing():
    # reading between samples: -90 dB
    straight = render(one(2, fret=5), STRINGS, RECORDS, resonant())
    bent = render(one(2, fret=5, bend=Bend(points=((0.1, 0.0),))), STRINGS, RECORDS, resonant())
    assert np.max(np.abs(straight - bent)) < 10 ** (-90 / 20) * np.max(np.abs(straight))


def test_a_bend_keeps_the_flux():
    # the voltage is the derivative of a flux read along a bent axis, so its integral is the flux at the bent time
    bend = Bend(points=((0.0, 0.0), (0.4, 2.0)))
    record = humbucker(curvature=np.zeros(2), third=np.zeros(2), sideways=np.zeros(2), sideways_slope=np.zeros(2))
    plain, _ = induced(one(4, duration=1.2), STRINGS, [record] * 6)
    bent, _ = induced(one(4, duration=1.2, bend=bend), STRINGS, [record] * 6)
    time = np.arange(round(0.9 * RATE)) / RATE
    flux, other = (integrate.cumulative_simpson(v, dx=1.0 / RATE, initial=0.0) for v in (plain, bent))
    expected = np.interp(bend.ratio(time)[1], np.arange(flux.size) / RATE, flux)
    # 1 %: the sums over samples and the straight lines between them, for partials up to some kHz
    assert np.max(np.abs(other[: time.size] - expected)) < 0.01 * np.max(np.abs(flux))


def test_the_bent_time_is_the_integral_of_the_ratio():
    bend = Bend(points=((0.1, 0.0), (0.4, 2.0), (0.5, 2.0), (0.9, -1.0)))
    time = np.linspace(0.0, 1.5, 3001)
    ratio, read = bend.ratio(time)
    for k in (150, 600, 900, 1500, 3000):
        steps = [0.1, 0.4, 0.5, 0.9]
        found = integrate.quad(lambda t: float(bend.ratio(t)[0]), 0.0, time[k], points=steps, limit=200)[0]
        assert read[k] == pytest.approx(found, rel=1e-8, abs=1e-12)
    assert ratio[0] == 1.0
    assert ratio[-1] == pytest.approx(2.0 ** (-1.0 / 12.0))
    assert bend.highest == pytest.approx(2.0 ** (1.0 / 6.0))


@pytest.mark.parametrize(
    ("points", "words"), [((), "must rise"), (((0.2, 0.0), (0.1, 1.0)), "must rise"), (((0.0, 200.0),), "cents")]
)
def test_a_bend_that_cannot_be_is_refused(points, words):
    with pytest.raises(InputError, match=words):
        Bend(points=points)


def test_a_palm_shortens_and_darkens():
    open_ = render(one(6, duration=1.0), STRINGS, RECORDS, resonant())
    muted = render(one(6, duration=1.0, mute=PalmMute()), STRINGS, RECORDS, resonant())
    late = slice(round(0.5 * RATE), round(0.9 * RATE))
    assert np.std(muted[late]) < 0.3 * np.std(open_[late])
    band = np.abs(np.fft.rfft(np.stack([open_, muted])[:, : round(0.3 * RATE)])) ** 2
    frequency = np.fft.rfftfreq(round(0.3 * RATE), 1.0 / RATE)
    share = [float(one_[frequency > 1000.0].sum() / one_.sum()) for one_ in band]
    assert share[1] < 0.5 * share[0]


def test_a_strum_is_one_movement_of_the_hand():
    chord = phrase("open-chord")
    played = [performed(chord, seed=seed, spread=Spread()) for seed in range(40)]
    first = [[note for note in notes if note.onset < 0.5] for notes in played]
    assert all(len(one_) == 6 for one_ in first)
    level = np.array([[20.0 * np.log10(note.pluck.displacement) for note in one_] for one_ in first])
    # from stroke to stroke 0.8 dB, from string to string inside one 0.3 of that
    assert np.std(level.mean(axis=1)) > 1.5 * np.mean(np.std(level, axis=1))
    order = [[note.string for note in one_] for one_ in first]
    assert sum(one_ == [6, 5, 4, 3, 2, 1] for one_ in order) > 30  # a hand does not leap back and forth
    assert performed(chord, seed=3, spread=Spread()) == played[3]


def test_what_is_written_is_played_when_nothing_spreads():
    chord = phrase("open-chord")
    assert [note.onset for note in performed(chord, seed=9, spread=None)] == sorted(note.onset for note in chord.notes)


def test_the_touch_of_the_finger_is_modest():
    play = phrase("single-notes-high")
    notes = performed(play, seed=0, spread=Spread(), strings=STRINGS)
    plain = performed(play, seed=0, spread=Spread())
    touches = [note for note in notes if note not in plain]
    assert 4 <= len(touches) <= len(play.notes)
    bare = [replace(note) for note in touches]
    alone = Phrase(name="touches", notes=tuple(bare), duration=play.duration)
    level = np.max(np.abs(render(alone, STRINGS, RECORDS, resonant())))
    whole = np.max(np.abs(render(play, STRINGS, RECORDS, resonant(), spread=Spread())))
    assert -55.0 < 20.0 * np.log10(level / whole) < -25.0


def test_a_plectrum_that_lets_go_slowly_takes_off_the_top_as_a_ramp_of_force_does():
    # oscillator under a force that falls evenly over tau, by quadrature of its response
    tau, frequency = 0.2e-3, np.array([100.0, 1000.0, 3000.0, 4900.0])
    quick = modal_amplitudes(np.ones(4), length=0.6477, pluck=Pluck(angle=0.0))[0]
    slow = modal_amplitudes(np.ones(4), length=0.6477, pluck=Pluck(angle=0.0, release=tau), frequency=frequency)[0]
    for k, f in enumerate(frequency):
        real = integrate.quad(lambda t, f=f: np.cos(2.0 * np.pi * f * t) / tau, -tau / 2.0, tau / 2.0)[0]
        assert slow[k] / quick[k] == pytest.approx(real, rel=1e-9)
    with pytest.raises(InputError, match="frequencies"):
        modal_amplitudes([1.0], length=0.6477, pluck=Pluck(release=tau))


def test_motion_across_alone_makes_the_second_harmonic_of_its_law():
    # u = a cos(wt): d2 u^2/2 has the amplitude d2 a^2/4 at 2 w
    record = humbucker(
        curvature=np.zeros(2), third=np.zeros(2), sideways=np.array([-8.0, 0.0]), sideways_slope=np.zeros(2)
    )
    pluck = Pluck(position=0.3, angle=np.pi / 2.0)
    _, flux = induced(one(6, pluck=pluck, duration=1.0), STRINGS, [record] * 6)
    modes = string_modes(STRINGS[5])
    shape = modal_amplitudes(modes.number, length=0.6477, pluck=pluck)[1] * np.sin(
        modes.number * np.pi * 0.146 / 0.6477
    )
    shape = shape * np.exp(-0.5 * (modes.number * np.pi / 0.6477 * 4e-3) ** 2)
    time = np.arange(2000) / RATE
    u = (np.exp(-np.outer(time, modes.decay[1])) * np.cos(np.outer(time, 2.0 * np.pi * modes.frequency[1]))) @ shape
    expected = -8.0 * (u**2 - u[0] ** 2) / 2.0  # no time for the plectrum's pull: the flux begins at nothing
    # 2 %: coupling turns a little of the motion upright, modes over 8 kHz are left out
    assert np.max(np.abs(flux[:2000] - expected)) < 0.02 * np.max(np.abs(expected))
