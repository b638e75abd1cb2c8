"""Pitch glide of hard strokes: the law against an orbit computed step by step, and the rendering against the law."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from polepiece.sound import Note, Phrase
from polepiece.sound.glide import HALF, Glide, read_slowly, stretch
from polepiece.sound.realism import BARE, Realism
from polepiece.sound.voice import mode_motion
from polepiece.strings import LossModel, Pluck, string_modes
from tests.reference.gaussian_rows import gaussian_rows
from tests.reference.tuned_strings import tuned_set
from tests.reference.whole_render import flat_response, render

STRING = tuned_set()[-1]
HARD = Pluck(position=0.11, displacement=2e-3, width=2e-3, angle=0.0)
GLIDING = Realism(noise=False)


def test_a_string_that_circles_has_the_pitch_of_its_mean_stretch():
    # one mode, both planes a quarter period apart: the stretch is constant, so the law is exact but for its first order
    modes, radius = string_modes(STRING, top_frequency=100.0), 2e-3
    amplitude = np.zeros((2, 2, modes.number.size), dtype=complex)
    amplitude[0, 0, 0], amplitude[1, 1, 0] = radius, 1j * radius
    rise, _ = stretch(modes, amplitude, STRING)
    wavenumber, omega = np.pi / STRING.length, 2.0 * np.pi * STRING.pitch
    stiffness = STRING.young_modulus * 0.25 * np.pi * STRING.core_diameter**2

    def step(_, state):  # the string's own tension at every moment
        w, u, v, x = state
        tight = omega**2 * (1.0 + stiffness / STRING.tension * 0.25 * wavenumber**2 * (w * w + u * u))
        return [v, x, -tight * w, -tight * u]

    start = [radius, 0.0, 0.0, radius * omega * (1.0 + rise.sum())]
    went = solve_ivp(step, (0.0, 0.2), start, rtol=1e-10, atol=1e-14)
    turns = np.unwrap(np.arctan2(went.y[1], went.y[0]))[-1]
    # first order in the strain: the square of the rise, 1e-5 of the pitch, is a thousandth of it
    assert turns / (0.2 * omega) - 1.0 == pytest.approx(rise.sum(), rel=5e-3)


def test_a_rendered_low_note_falls_by_what_the_law_says():
    piece = Phrase(name="one", notes=(Note(string=6, onset=0.05, duration=2.9, pluck=HARD),), duration=3.0)
    record = gaussian_rows(positions=[0.15], slope=[0.1], aperture=5e-3)
    loss = LossModel(end_tilt=0.0, neck=())
    sounds = [
        render(piece, tuned_set(), [record] * 6, flat_response(), loss=loss, realism=one) for one in (BARE, GLIDING)
    ]
    modes = string_modes(STRING, loss=loss)
    glide = Glide.of(modes, mode_motion(modes, HARD)[1], STRING)
    assert glide is not None
    time = np.arange(sounds[0].size) / 48e3
    # phase of the fundamental of one against the other: their quotient knows nothing of the beat of partials
    window = np.hanning(9600) / 4800.0
    base = [np.convolve(one * np.exp(-2j * np.pi * STRING.pitch * time), window, mode="same") for one in sounds]
    lead = np.unwrap(np.angle(base[1] / base[0])) / (2.0 * np.pi * STRING.pitch)
    for at in (0.5, 1.0, 2.0, 2.7):
        k = round((0.05 + at) * 48e3)
        said = float(glide.ratio(np.array([at]))[1][0]) - at
        # a window of 0.2 s rounds the bend of the phase: under 20 microseconds of some milliseconds
        assert lead[k] - lead[round(0.2 * 48e3)] == pytest.approx(
            said - float(glide.ratio(np.array([0.15]))[1][0]) + 0.15, abs=5e-5
        )


def test_a_soft_stroke_does_not_glide():
    modes = string_modes(STRING)
    assert Glide.of(modes, mode_motion(modes, Pluck(displacement=0.5e-3))[1], STRING) is None


def test_a_glide_ends_with_the_last_cent_and_its_time_runs_on_smoothly():
    modes = string_modes(STRING)
    glide = Glide.of(modes, mode_motion(modes, HARD)[1], STRING)
    assert glide is not None
    time = np.linspace(0.0, 2.0 * glide.over, 2001)
    ratio, read = glide.ratio(time)
    assert np.all(np.diff(ratio) <= 1e-15)
    assert ratio[-1] == 1.0
    assert ratio[1000] == pytest.approx(1.0, abs=1e-9)  # the end is found to a microsecond
    # trapezes over millisecond steps: 1e-9 s
    assert np.max(np.abs(np.cumsum(0.5 * (ratio[1:] + ratio[:-1]) * np.diff(time)) - read[1:])) < 1e-8


def test_reading_between_samples_is_clean_up_to_ten_kilohertz():
    t = np.arange(6000)
    place = 50.0 + np.arange(5000) * 1.003
    for frequency in (100.0, 3e3, 10e3):
        omega = 2.0 * np.pi * frequency / 48e3
        found = read_slowly(np.sin(omega * t)[None].astype(np.float32), place, gain=np.ones(5000))[0][0]
        assert np.max(np.abs(found - np.sin(omega * place))) < 10.0 ** (-60.0 / 20.0)
    assert HALF < 50
