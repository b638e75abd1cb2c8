"""Noise of the plectrum and strings that ring along: against sums and equations of motion done the slow way."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from polepiece.errors import InputError
from polepiece.sound import Note, Phrase
from polepiece.sound.contact_noise import Scrape
from polepiece.sound.realism import BARE, LIVELY, Realism
from polepiece.sound.sympathetic import BRIDGE, SympatheticVoice
from polepiece.sound.voice import NoteVoice, StringBank
from polepiece.strings import LossModel, Pluck, string_modes
from tests.reference.gaussian_rows import gaussian_rows
from tests.reference.tuned_strings import tuned_set
from tests.reference.whole_render import flat_response, render

RATE = 48e3
STRINGS = tuned_set()
RECORD = gaussian_rows(positions=[0.15], slope=[0.1], aperture=5e-3)
PLAIN = LossModel(end_tilt=0.0, neck=())


def test_noise_is_what_all_its_impulses_leave_before_and_after_the_release():
    string = STRINGS[-1]
    bank = StringBank.of(string_modes(string, top_frequency=8e3, loss=PLAIN), sample_rate=RATE, straight=True)
    pluck = Pluck(position=0.11, displacement=1e-3, width=2e-3, angle=0.0)
    scrape = Scrape.of(pluck, string, count=480, sample_rate=RATE, generator=np.random.default_rng(1))
    voices = [NoteVoice(bank, RECORD, pluck, count=2000, pull=480, noise=noise) for noise in (None, (scrape, string))]
    silent, noisy = (one.segment(-480, 1480)[0][0] for one in voices)
    n, modes = bank.modes.number, bank.modes
    s = -modes.decay[0] + 2j * np.pi * modes.frequency[0]
    kick = 2.0 * np.sin(n * np.pi * pluck.position / string.length) / (string.unit_mass * string.length)
    kick = kick * np.sinc(n * pluck.width / (2.0 * string.length))
    taken = RECORD.mode_shapes(n, string.length)[0][0]
    slowly = np.zeros(480)
    for k, force in enumerate(scrape.force):  # each impulse in the middle of its sample
        time = (np.arange(k, 480) + 0.5 - k) / RATE
        volts = (taken * kick * -1j / (2.0 * np.pi * modes.frequency[0]) * s) @ np.exp(np.outer(s, time))
        slowly[k:] += force / RATE * volts.real
    scale = np.max(np.abs(slowly))
    # sums in 32 bits, modes dropped at -100 dB
    assert np.max(np.abs((noisy - silent)[:480] - slowly)) < 1e-4 * scale
    left = scrape.left(bank.linear).reshape(2, -1)[0]
    after = (taken * kick * -1j / (2.0 * np.pi * modes.frequency[0]) * s * left) @ np.exp(
        np.outer(s, np.arange(1000) / RATE)
    )
    exact = sum(
        f / RATE * np.exp(s * (480 - k - 0.5) / RATE) for k, f in enumerate(scrape.force)
    )  # what the string holds at the release
    assert left == pytest.approx(exact, rel=1e-4, abs=1e-5 * np.max(np.abs(exact)))
    assert np.max(np.abs((noisy - silent)[480:] - after.real)) < 1e-4 * scale


def test_noise_is_the_same_hand_for_every_pickup_and_none_when_it_is_off():
    piece = Phrase(name="one", notes=(Note(string=6, fret=3, onset=0.1, duration=0.4),), duration=0.6)
    loud = gaussian_rows(positions=[0.15], slope=[0.2], aperture=5e-3)
    one, two, off = (
        render(piece, STRINGS, [record] * 6, flat_response(), seed=4, realism=how)
        for record, how in ((RECORD, LIVELY), (loud, LIVELY), (RECORD, BARE))
    )
    assert two == pytest.approx(2.0 * one, rel=1e-5, abs=1e-7 * np.max(np.abs(two)))
    assert np.max(np.abs(one - off)[4320:4800]) > 1e-4 * np.max(np.abs(off))


def test_a_string_at_rest_moves_as_its_equation_says():
    low, high = STRINGS[5], STRINGS[1]  # the third partial of E2 lies 0.3 Hz from B3
    modes = [string_modes(one, top_frequency=700.0, loss=PLAIN) for one in (low, high)]
    amplitude = np.zeros(modes[0].number.size)
    amplitude[2] = 1e-3
    voice = SympatheticVoice.of(
        (low, modes[0], amplitude), (high, modes[1]), RECORD, stop=48000, free_until=96000, sample_rate=RATE,
        loss=PLAIN, channels=np.array([0]),
    )  # fmt: skip
    assert voice is not None
    s = -modes[0].decay[0][2] + 2j * np.pi * modes[0].frequency[0][2]
    give = BRIDGE * float(PLAIN.ends(np.array([247.0]))[0][0]) * low.tension * 3.0 * np.pi / low.length * 1e-3 / s
    drive = 2.0 * high.tension * np.pi / (high.unit_mass * high.length**2)
    omega, sigma = 2.0 * np.pi * modes[1].frequency[0][0], modes[1].decay[0][0]

    def motion(t, y):
        end = (give * np.exp(s * t)).real if t <= 1.0 else 0.0
        return [y[1], drive * end - 2.0 * sigma * y[1] - (omega**2 + sigma**2) * y[0]]

    time = np.arange(0.0, 1.5, 1e-3)
    went = solve_ivp(motion, (0.0, 1.5), [0.0, 0.0], t_eval=time, rtol=1e-8, atol=1e-14, max_step=1e-3)
    taken = RECORD.mode_shapes(np.array([1.0]), high.length)[0][0, 0]
    found = np.concatenate([voice.segment(48 * k, 1)[0] for k in range(time.size)])
    # the start of the free motion is taken at rest but for the far pole: its share is the beat over twice the pitch
    assert np.max(np.abs(found - taken * went.y[1])) < 0.02 * np.max(np.abs(found))


def test_switches_are_named_and_a_wrong_one_lists_them():
    assert Realism(sympathetic=True).without("all") == BARE
    assert LIVELY.without("glide").noise
    with pytest.raises(InputError, match="glide, noise, sympathetic"):
        LIVELY.without("reverb")


def test_no_line_of_a_ringing_string_ends_before_it_is_silent() -> None:
    """Two seconds behind a note of 0.5 s, against all of its lines summed: where a line was let go of 20 dB under the
    loudest, this was 0.1, a click."""
    low, high = STRINGS[5], STRINGS[1]
    modes = [string_modes(one, top_frequency=4e3, loss=PLAIN) for one in (low, high)]
    amplitude = 1e-3 / modes[0].number ** 2
    stop, end = round(0.5 * RATE), round(2.5 * RATE)
    voice = SympatheticVoice.of(
        (low, modes[0], amplitude), (high, modes[1]), RECORD, stop=stop, free_until=end, sample_rate=RATE, loss=PLAIN,
        channels=np.zeros(1, dtype=int),
    )  # fmt: skip
    assert voice is not None
    time = np.arange(0, end - stop - round(0.3 * RATE)) / RATE
    whole = (voice._behind.weight @ np.exp(np.outer(voice._behind.bank.exponent, time))).real
    found = np.concatenate([voice.segment(stop + k, 4800) for k in range(0, time.size - 4799, 4800)], axis=1)
    assert np.max(np.abs(found - whole[:, : found.shape[1]])) < 2e-4 * np.max(np.abs(whole))  # 1e-4 a line
