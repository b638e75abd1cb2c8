"""Two takes of one's own: aligned by their first strokes, cut alike, their strokes compared, faults said."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from polepiece.auditioning import own_takes
from polepiece.auditioning.same_notes import first_of_both
from polepiece.errors import InputError, PolepieceError
from polepiece.sound import Recording, equal_loudness_gains, loudness_as_given

RATE = 48_000


def take(
    name: str, *, wait: float, strokes: int = 4, rate: int = RATE, power: float = 1.0, seed: int = 0, late: float = 0.0,
    tail: float = 1.0,
) -> Recording:  # fmt: skip
    """Plucked tones half a second apart, ``wait`` s into a take with hiss; ``late`` s are added at every stroke."""
    rng = np.random.default_rng(seed)
    sound = 1e-5 * rng.standard_normal(round((wait + 0.5 * strokes + tail) * rate))
    t = np.arange(round(0.48 * rate)) / rate
    for k in range(strokes):
        f = 110.0 * 2.0 ** (k / 12.0)
        tone = sum(np.sin(2 * np.pi * f * n * t + n) * np.exp(-(3 + n) * t) / n**power for n in range(1, 25))
        at = round((wait + 0.5 * k + late * k) * rate)
        sound[at : at + t.size] += 0.05 * (np.asarray(tone) * (1.0 - t / t[-1]))[: sound.size - at]
    return Recording(
        samples=sound, sample_rate=rate, path=Path(name), subtype="PCM_24", peak=float(np.abs(sound).max())
    )


def test_first_strokes_fall_together() -> None:
    """One take begins 0.4 s later and is duller: after it both begin within 2 ms (a tenth of what is heard apart)."""
    found = own_takes([take("a.wav", wait=0.3), take("b.wav", wait=0.7, power=2.0, seed=1)])
    first, other = found.sounds
    assert len(first) == len(other)
    begins = [int(np.argmax(np.abs(one) > 0.2 * np.abs(one[: RATE // 4]).max())) for one in found.sounds]
    assert abs(begins[0] - begins[1]) < 0.002 * RATE
    assert found.strokes == (4, 4) and found.apart_s < 0.01
    assert found.words[0].startswith("4 strokes each, at most ")


@pytest.mark.parametrize("seed", range(4))
def test_takes_that_begin_with_their_stroke_are_aligned_by_it(seed: int) -> None:
    """Nothing or next to it before the first stroke of one take: rates, waits and offsets drawn; 2 ms are promised."""
    rng = np.random.default_rng(seed)
    rates = [int(rng.choice([44_100, 48_000, 96_000])) for _ in range(2)]
    at_once = take("a.wav", wait=float(rng.choice([0.0, 0.001, 0.005])), rate=rates[0], seed=seed)
    other = take("b.wav", wait=float(rng.uniform(0.02, 1.0)), rate=rates[1], power=1.5, seed=seed + 9)
    found = own_takes([at_once, other] if seed % 2 else [other, at_once])
    assert found.strokes == (4, 4) and found.apart_s < 0.01
    assert apart(found.sounds) < 0.002 * found.sample_rate


def apart(sounds: "tuple[np.ndarray, ...]") -> int:  # type: ignore[type-arg]
    """Samples by which one sound has to be moved to be most like the other."""
    first, other = (np.fft.rfft(one, 2 * len(one)) for one in sounds)
    alike = np.abs(np.fft.irfft(first * np.conj(other)))
    return int(min(alike.argmax(), len(alike) - alike.argmax()))


@pytest.mark.parametrize("late", [1, 3, 5])
def test_strokes_pulse_together(late: int) -> None:
    """A low note pulses every 9 ms: an instant that is a pulse late is found out. A pulse is 1 ms wide: half of it."""
    sounds = [take(n, wait=0.3 + 0.0007 * late * k, power=1.0 + 0.5 * k, seed=late + k) for k, n in enumerate("ab")]
    assert apart(own_takes(sounds).sounds) <= 0.0005 * RATE


def test_a_stroke_before_the_first_of_both_is_left_out() -> None:
    """A pick that touches a string early in one take: aligned by the notes, and said."""
    early, plain = take("a.wav", wait=1.2), take("b.wav", wait=0.3, seed=1)
    touched = np.array(early.samples)
    touched[RATE // 2 : RATE // 2 + 8000] += 0.3 * np.asarray(plain.samples)[round(0.3 * RATE) :][:8000]
    found = own_takes([replace(early, samples=touched), plain])
    assert found.strokes == (4, 4) and apart(found.sounds) < 0.002 * RATE
    assert "a.wav: begins with a stroke that the other take does not have, left out." in found.words


def notes(begins: "np.ndarray", pitches: "np.ndarray") -> "np.ndarray":  # type: ignore[type-arg]
    """Plucked tones at ``begins`` (s), so many semitones over A2, each stopped by the next."""
    sound = np.zeros(round((float(begins[-1]) + 1.0) * RATE))
    for begin, end, pitch in zip(begins, [*begins[1:], begins[-1] + 0.6], pitches):
        t = np.arange(round((end - begin) * RATE)) / RATE
        at = round(begin * RATE)
        for n in range(1, 9):
            sound[at : at + t.size] += np.sin(2 * np.pi * 110.0 * 2.0 ** (pitch / 12.0) * n * t) * np.exp(-3 * t) / n
    return sound


@pytest.mark.parametrize("early", [0.0, 0.03])
def test_quick_notes_are_not_taken_for_their_neighbours(early: float) -> None:
    """Notes 0.11 s apart, nearer than what falls together; one take has lost some, and begins a little early."""
    first = np.cumsum([0, 1, 1, 2, 1, 1, 1, 3, 1, 2, 1, 1]) * 0.11
    pitches = np.random.default_rng(0).integers(0, 24, first.size)
    kept = [0, 1, 2, 4, 5, 7, 8, 10]
    other = first[kept] + 0.7
    other[0] -= early
    sounds = notes(first, pitches), notes(other, pitches[kept])
    assert first_of_both([first, other], sounds, RATE) == (0, 0)
    assert first_of_both([first, other[1:]], sounds, RATE) == (1, 0)
    assert first_of_both([other[1:], first], sounds[::-1], RATE) == (0, 1)
    assert first_of_both([first[:1], other[:1]], sounds, RATE) == (0, 0)


@pytest.mark.parametrize("seed", range(6))
def test_even_notes_are_told_by_their_pitch_where_strokes_were_not_found(seed: int) -> None:
    """Eight even notes; of each take two strokes are not found, so that more fall together a note or two beside."""
    drawn = np.random.default_rng(seed)
    begins, pitches = 0.4 * np.arange(8.0), drawn.integers(0, 24, 8)
    kept = [np.sort(drawn.permutation(8)[:6]) for _ in range(2)]
    if seed == 0:  # six of each fall together, but the third note upon the first
        kept = [np.arange(6), np.arange(2, 8)]
    i, j = first_of_both([begins[one] + 0.5 * k for k, one in enumerate(kept)],
                         [notes(begins + 0.5 * k, pitches) for k in range(2)], RATE)  # fmt: skip
    assert kept[0][i] == kept[1][j]


def test_levels_are_equal_after_aligning() -> None:
    found = own_takes([take("a.wav", wait=0.3), take("b.wav", wait=0.7, power=2.0, seed=1)])
    gains = equal_loudness_gains(found.sounds, RATE)
    loud = [loudness_as_given(s * 10 ** (g / 20), RATE, "one") for s, g in zip(found.sounds, gains)]
    assert abs(loud[0] - loud[1]) <= 0.1


def test_a_take_of_other_notes_is_said() -> None:
    found = own_takes([take("a.wav", wait=0.3), take("b.wav", wait=0.3, strokes=2, tail=2.0)])
    assert "a.wav has 4 strokes, b.wav 2; 2 fall together" in found.words[0]
    found = own_takes([take("a.wav", wait=0.3), take("b.wav", wait=0.3, late=0.08)])
    assert "Are they the same notes?" in found.words[0]


def test_rates_are_brought_to_the_lower() -> None:
    found = own_takes([take("a.wav", wait=0.3, rate=96_000), take("b.wav", wait=0.5, rate=44_100)])
    assert found.sample_rate == 44_100 and len(found.sounds[0]) == len(found.sounds[1])
    assert "brought from 96000 to 44100 Hz" in found.words[1]
    assert found.strokes == (4, 4)


def test_faults_of_a_take_are_said_and_its_offset_goes() -> None:
    one = take("a.wav", wait=0.3)
    moved = Recording(
        samples=np.asarray(one.samples) + 0.02, sample_rate=RATE, path=Path("b.wav"), subtype="FLOAT", peak=1.0
    )
    found = own_takes([one, moved])
    assert any(said.startswith("b.wav: Offset") for said in found.words)
    assert abs(float(found.sounds[1].mean())) < 1e-3


def test_cuts_do_not_click() -> None:
    found = own_takes([take("a.wav", wait=0.3, tail=0.0), take("b.wav", wait=0.5, tail=0.0)])
    for one in found.sounds:
        assert max(abs(one[0]), abs(one[-1])) < 1e-4 * np.abs(one).max()


def test_channels_that_cancel_are_named() -> None:
    one = take("a.wav", wait=0.3)
    both = Recording(
        samples=np.stack([one.samples, -np.asarray(one.samples)], axis=1), sample_rate=RATE, path=Path("b.wav"),
        subtype="PCM_24", peak=one.peak,
    )  # fmt: skip
    with pytest.raises(InputError, match="cancel each other"):
        own_takes([one, both])


@pytest.mark.parametrize("what", ["silent", "short", "hum"])
def test_what_holds_no_stroke_is_refused(what: str) -> None:
    t = np.arange(2 * RATE) / RATE
    sound = {"silent": np.zeros(t.size), "short": np.asarray(take("s", wait=0.1, strokes=1, tail=0.0).samples),
             "hum": 0.01 * np.sin(2 * np.pi * 50 * t)}[what]  # fmt: skip
    bad = Recording(samples=sound, sample_rate=RATE, path=Path("bad.wav"), subtype="FLOAT", peak=1.0)
    with pytest.raises((InputError, PolepieceError)):
        own_takes([take("a.wav", wait=0.3), bad])
