"""One spectrum: a rendered stroke of small amplitude is the sum of its stated lines, partial by partial."""

import numpy as np
import pytest

from polepiece.errors import InputError
from polepiece.sound import MagnetPull, Note, Phrase, PickupResponse, StringResponses
from polepiece.sound.transfer import responses_at
from polepiece.strings import PalmMute, Pluck, StringSensing, string_modes
from tests.reference.random_pickup import pickup
from tests.reference.stroke_lines import stroke_lines
from tests.reference.tuned_strings import tuned_set
from tests.reference.whole_render import render

RATE = 48000.0
STRINGS = tuned_set()
SMALL = 1e-7  # m: the curved part of a plausible law is 90 dB under the straight one, 50 dB under the weakest partials


def amplitudes(sound, frequency, *, first=4800, count=24000):
    """Amplitude at each frequency through a Hann window over half a second."""
    window = np.hanning(count)
    time = (np.arange(count) + first) / RATE
    piece = sound[first : first + count] * window
    return 2.0 * np.abs(np.exp(-2j * np.pi * np.outer(frequency, time)) @ piece) / window.sum()


@pytest.mark.parametrize("degrees", [0.0, 50.0, -50.0, 90.0])
@pytest.mark.parametrize(
    ("channels", "string", "fret", "pulled"),
    [(1, 6, 0, False), (2, 1, 0, True), (4, 3, 7, True), (2, 6, 5, False), (4, 4, 0, True)],
)
def test_each_partial_of_a_small_stroke_is_as_loud_as_its_line(degrees, channels, string, fret, pulled):
    rng = np.random.default_rng(channels + 10 * string + round(degrees) % 97)
    record, responses = pickup(rng, channels, groups=1 + (channels == 4))
    pluck = Pluck(position=0.09, angle=np.radians(degrees), displacement=SMALL, width=2e-3)
    pull = MagnetPull(force_gradient=[1.5, 0.8], position=[0.05, 0.16]) if pulled else None
    note = Note(string=string, fret=fret, onset=0.0, duration=1.0, pluck=pluck)
    sound = render(
        Phrase(name="one", notes=(note,), duration=1.0), STRINGS, [record] * 6, [responses] * 6, pulls=[pull] * 6
    )
    modes = string_modes(
        STRINGS[string - 1].fretted(fret), force_gradient=0.0 if pull is None else pull.force_gradient,
        gradient_position=None if pull is None else pull.position,
    )  # fmt: skip
    lines = stroke_lines(modes, pluck, record, lambda f: responses_at(responses.linear, f))
    time = np.arange(round(0.7 * RATE)) / RATE
    said = np.zeros(time.size)
    for s, v in zip(lines.exponent.ravel(), lines.voltage.ravel(), strict=True):
        said += (v * np.exp(s * time)).real
    expected, found = (amplitudes(one, lines.frequency) for one in (said, sound))
    loud = expected > 0.01 * np.max(expected)  # 40 dB
    assert loud.sum() >= 5
    assert np.max(np.abs(20.0 * np.log10(found[loud] / expected[loud]))) < 0.05


def test_the_energy_of_a_line_is_the_integral_of_its_square():
    # 1 %: fast terms at twice the frequency and beats between partials are left out, over 1 s
    rng = np.random.default_rng(4)
    record, responses = pickup(rng, 2)
    modes = string_modes(STRINGS[0])
    lines = stroke_lines(modes, Pluck(), record, lambda f: responses_at(responses.linear, f))
    time = np.arange(round(1.2 * RATE)) / RATE
    for n in (0, 2, 6):
        wave = sum((lines.voltage[j, n] * np.exp(lines.exponent[j, n] * time)).real for j in (0, 1))
        expected = np.sum(wave[round(0.2 * RATE) :] ** 2) / RATE
        assert lines.energy(0.2, 1.2)[n] == pytest.approx(expected, rel=0.01)


def test_responses_of_their_own_add_up_channel_by_channel():
    # four coils one by one, each with its own response, are the four together
    rng = np.random.default_rng(8)
    record, responses = pickup(rng, 4)
    note = Note(string=5, onset=0.1, duration=0.6, pluck=Pluck(), mute=PalmMute())
    play = Phrase(name="one", notes=(note,), duration=0.8)
    cut = [slice(c, c + 1) for c in range(4)]
    alone = [
        StringSensing(distance=record.distance[c], towards=record.towards[c], across=record.across[c]) for c in cut
    ]
    straight = StringSensing(distance=record.distance, towards=record.towards, across=record.across)
    whole = render(play, STRINGS, [straight] * 6, [responses] * 6)
    parts = [render(play, STRINGS, [one] * 6, responses.linear[c]) for c, one in enumerate(alone)]
    # 32 bits, each relative to its own loudest mode
    assert np.max(np.abs(whole - sum(parts))) < 1e-5 * np.max(np.abs(whole))
    assert np.max(np.abs(whole - sum(parts[:3]))) > 0.01 * np.max(np.abs(whole))


def test_equal_responses_make_one_filter_and_the_same_sound():
    rng = np.random.default_rng(9)
    record, responses = pickup(rng, 2)
    first = responses.linear[0]
    again = PickupResponse(frequency=first.frequency.copy(), value=first.value.copy())
    play = Phrase(name="one", notes=(Note(string=2, onset=0.1, duration=0.5),), duration=0.7)
    one = render(play, STRINGS, [record] * 6, first)
    two = render(play, STRINGS, [record] * 6, [StringResponses(linear=(first, again), curved=(again,))] * 6)
    assert np.array_equal(one, two)


def test_the_curved_flux_of_each_pickup_goes_its_own_way():
    rng = np.random.default_rng(10)
    record, responses = pickup(rng, 2, groups=2)
    play = Phrase(name="one", notes=(Note(string=2, onset=0.1, duration=0.5),), duration=0.7)
    swapped = StringResponses(linear=responses.linear, curved=responses.curved[::-1])
    sounds = [render(play, STRINGS, [record] * 6, [one] * 6) for one in (responses, swapped)]
    assert np.max(np.abs(sounds[0] - sounds[1])) > 1e-4 * np.max(np.abs(sounds[0]))


def test_responses_that_do_not_fit_are_refused():
    rng = np.random.default_rng(11)
    record, responses = pickup(rng, 2)
    play = Phrase(name="one", notes=(Note(string=2, onset=0.1, duration=0.5),), duration=0.7)
    with pytest.raises(InputError, match="1 linear responses for 2 channels"):
        render(play, STRINGS, [record] * 6, [StringResponses(linear=responses.linear[:1])] * 6)
    with pytest.raises(InputError, match="curved flux of 1 pickups"):
        render(play, STRINGS, [record] * 6, [StringResponses(linear=responses.linear)] * 6)
