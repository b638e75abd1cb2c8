"""Planes coupled by the ends, the neck's resonance and the palm, against plain integration and their own laws."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import expm

from polepiece.errors import InputError
from polepiece.sound.voice import mode_motion
from polepiece.strings import LossModel, PalmMute, Pluck, string_modes
from polepiece.strings.losses import NeckResonance
from polepiece.strings.modes import stiff_partials
from tests.reference.tuned_strings import decay_time, tuned_set

STRINGS = tuned_set(scale_length=0.6477)


def pair_matrix(string, loss, n, *, gradient=0.0, place=0.16):
    """Damping and frequencies of one partial's two planes, written down anew."""
    alone = LossModel(end_tilt=0.0, neck=loss.neck, end_conductance_vertical=0.0, end_conductance_horizontal=0.0)
    bare = string_modes(
        string, loss=LossModel(end_tilt=0.0, neck=(), end_conductance_vertical=0.0, end_conductance_horizontal=0.0),
        force_gradient=gradient, gradient_position=place,
    )  # fmt: skip
    omega = 2.0 * np.pi * bare.frequency[:, n - 1]
    c, s = np.cos(loss.end_tilt), np.sin(loss.end_tilt)
    turn = np.array([[c, -s], [s, c]])
    ends = turn @ np.diag([loss.end_conductance_vertical, loss.end_conductance_horizontal]) @ turn.T
    ends[0, 0] += alone.ends(bare.frequency[1, n - 1])[0]
    damping = np.diag(bare.decay[:, n - 1]) + 2.0 * string.pitch * string.wave_impedance * ends
    return damping, omega


@pytest.mark.parametrize("gradient", [0.0, 0.3, 4.0])
@pytest.mark.parametrize(("number", "n"), [(1, 1), (3, 1), (6, 2), (6, 7)])
def test_coupled_planes_move_as_the_pair_of_equations_says(number, n, gradient):
    # d/dt (a, b) = (j Omega - D)(a, b) by the matrix exponential, no eigenvector of ours; 1e-9 is rounding
    string, loss = STRINGS[number - 1], LossModel(end_tilt=0.5, end_conductance_vertical=4e-3)
    modes = string_modes(string, loss=loss, force_gradient=gradient, gradient_position=0.16)
    pluck = Pluck(position=0.05, angle=0.7)
    exponent, amplitude = mode_motion(modes, pluck)
    damping, omega = pair_matrix(string, loss, n, gradient=gradient)
    still = mode_motion(string_modes(string, loss=LossModel(end_tilt=0.0)), pluck)[1].real.sum(axis=1)[:, n - 1]
    start = still - 1j * (damping @ still) / omega
    for time in (0.0, 0.3, 1.7):
        expected = expm((1j * np.diag(omega) - damping) * time) @ start
        found = (amplitude[:, :, n - 1] * np.exp(exponent[:, n - 1] * time)).sum(axis=1)
        assert found == pytest.approx(expected, rel=1e-7, abs=1e-9 * np.abs(still).max())


def test_without_a_tilt_the_planes_do_not_know_each_other():
    modes = string_modes(STRINGS[3], loss=LossModel(end_tilt=0.0))
    assert not np.any(modes.turned)
    upright = mode_motion(modes, Pluck(angle=0.0))[1]
    assert np.all(upright[1] == 0.0)


def test_a_tilt_turns_an_upright_stroke_out_of_its_plane():
    modes = string_modes(STRINGS[0], loss=LossModel(end_tilt=0.5, end_conductance_vertical=5e-3))
    exponent, amplitude = mode_motion(modes, Pluck(angle=0.0))

    def sideways(time):
        return abs((amplitude[1, :, 0] * np.exp(exponent[:, 0] * time)).sum())

    assert sideways(0.0) < 1e-2 * sideways(1.0)  # from rest in one plane
    assert sideways(1.0) > 1e-2 * abs(amplitude[0, :, 0].sum())


@settings(max_examples=40, deadline=None)
@given(tilt=st.floats(-1.5, 1.5), up=st.floats(0.0, 0.02), side=st.floats(0.0, 0.02), gradient=st.floats(0.0, 8.0))
def test_no_end_feeds_a_string(tilt, up, side, gradient):
    # the law of a passive end: no mode grows, whatever its axes
    loss = LossModel(end_tilt=tilt, end_conductance_vertical=up, end_conductance_horizontal=side)
    for string in (STRINGS[0], STRINGS[5]):
        assert np.all(string_modes(string, loss=loss, force_gradient=gradient, gradient_position=0.16).decay > 0.0)


def test_partials_stay_on_the_stiff_string_where_nothing_pulls_or_couples():
    # within 1 cent; here exactly (Fletcher 1964)
    for string in STRINGS:
        modes = string_modes(string, loss=LossModel(end_tilt=0.0))
        expected = stiff_partials(modes.number, fundamental=string.pitch, inharmonicity=string.inharmonicity)
        assert modes.frequency == pytest.approx(np.stack([expected, expected]), rel=1e-12)


def test_coupling_moves_no_partial_by_a_cent():
    # 2 f0 Zc G is 2 s^-1 at most: 0.3 Hz/1 kHz; ends are resistive
    for string in STRINGS:
        both = [string_modes(string, loss=LossModel(end_tilt=tilt)).frequency for tilt in (0.0, 0.6)]
        assert np.max(np.abs(1200.0 * np.log2(both[1] / both[0]))) < 0.1


def test_the_neck_makes_a_dead_spot_where_one_was_found():
    # Fleischer, ASA/EAA/DAGA 1999: on one solid body the decay is uncommonly short at the 4th fret of the D string and
    # otherwise falls steadily with the fret; the conductance at selected frets is typically under 0.018 s/kg
    # (Pate, Le Carrou, Fabre 2014)
    string = STRINGS[3]
    times = [decay_time(string_modes(string.fretted(fret)))[0, 0] for fret in range(13)]
    assert int(np.argmin(times[:9])) == 4
    assert times[4] < 0.5 * min(times[2], times[6])
    smooth = [decay_time(string_modes(string.fretted(fret), loss=LossModel(neck=())))[0, 0] for fret in range(13)]
    assert np.all(np.diff(smooth) < 0.0)
    assert 0.002 < LossModel().neck[0].at(string.fretted(4).pitch, string.fretted(4).stop) < 0.018


def test_the_necks_conductance_is_never_negative_and_ends_at_the_heel():
    one = NeckResonance(frequency=200.0, conductance=0.05, quality=30.0)
    frequency = np.geomspace(20.0, 20e3, 300)
    assert np.all(one.at(frequency) >= 0.0)
    assert one.at(200.0) == pytest.approx(0.05)
    assert one.at(200.0, stop=0.3) == 0.0
    # half of the height half a bandwidth beside it: definition of Q
    assert one.at(200.0 * (np.sqrt(1.0 + 1.0 / 3600.0) + 1.0 / 60.0)) == pytest.approx(0.025, rel=1e-6)
    with pytest.raises(InputError, match="not negative"):
        NeckResonance(frequency=200.0, conductance=-1.0, quality=30.0)


def test_a_palm_is_a_dashpot_on_a_string_of_beads():
    # beads and springs with one dashpot, eigenvalues of the whole system; first order in R: 1 %
    string, count, resistance = STRINGS[2], 400, 0.02
    step = string.length / (count + 1)
    place = round(0.03 / step)
    mass, spring = string.unit_mass * step, string.tension / step
    stiff = (2.0 * np.eye(count) - np.eye(count, k=1) - np.eye(count, k=-1)) * spring / mass
    drag = np.zeros((count, count))
    drag[place - 1, place - 1] = resistance / mass
    system = np.block([[np.zeros((count, count)), np.eye(count)], [-stiff, -drag]])
    poles = np.linalg.eigvals(system)
    poles = poles[poles.imag > 0.0]
    poles = poles[np.argsort(poles.imag)][:5]
    mute = PalmMute(position=place * step, width=0.0, resistance=resistance)
    found = mute.loss(np.arange(1.0, 6.0), length=string.length, unit_mass=string.unit_mass)
    assert found == pytest.approx(-poles.real, rel=0.01)


def test_a_wide_palm_is_the_mean_of_narrow_ones():
    n, width = np.arange(1.0, 60.0), 0.02
    wide = PalmMute(position=0.02, width=width, resistance=0.1).loss(n, length=0.6477, unit_mass=1e-3)
    places = 0.02 + (np.arange(2000) + 0.5) / 2000 * width - width / 2.0
    narrow = [PalmMute(position=p, width=0.0, resistance=0.1).loss(n, length=0.6477, unit_mass=1e-3) for p in places]
    assert wide == pytest.approx(np.mean(narrow, axis=0), rel=1e-5)


def test_the_default_palm_gives_the_thud_it_promises():
    # its own docstring
    times = decay_time(string_modes(STRINGS[5], mute=PalmMute()))[0]
    assert 0.3 < times[2] < 0.5
    assert np.all(np.diff(times[:8]) < 0.0)


@pytest.mark.parametrize("bad", [{"position": 12.0}, {"width": 15.0}, {"resistance": -1.0}])
def test_a_palm_in_the_wrong_unit_is_refused(bad):
    with pytest.raises(InputError):
        PalmMute(**bad)
    with pytest.raises(InputError, match="degrees"):
        LossModel(end_tilt=12.0)
