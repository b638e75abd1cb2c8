"""The sounds of a change say what the numbers of the change say."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from polepiece.auditioning import audition
from polepiece.auditioning.playing import play, voice
from polepiece.bench import Bench
from polepiece.errors import InputError, MeasurementError
from polepiece.guitar import Guitar, read_guitar
from polepiece.moves import apply, parse_changes
from polepiece.moves.lever_acts import rewire
from polepiece.sound import Note, Phrase, Recording
from polepiece.sound.loudness import integrated_loudness

DEMO = Path(__file__).parents[3] / "examples" / "demo.guitar.toml"


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return read_guitar(DEMO)


@pytest.fixture(scope="module")
def bench(guitar: Guitar) -> Bench:
    return Bench()


def changed(guitar: Guitar, *texts: str) -> Guitar:
    return apply(guitar, "neck", parse_changes(texts))


def wired(guitar: Guitar, wiring: str) -> Guitar:
    """The neck pickup wired otherwise, without asking whether its lead allows it."""
    unit = replace(guitar.pickup("neck"), lead="four-conductor")
    return rewire(replace(guitar, pickups=(unit, *guitar.pickups[1:])), 0, wiring)


@pytest.mark.parametrize("wiring", ["series", "parallel", "split-slugs", "split-screws", "out-of-phase"])
def test_a_recording_is_given_the_curve_that_is_shown(guitar: Guitar, bench: Bench, wiring: str) -> None:
    there = wired(guitar, wiring)
    shown = bench.state(there, "neck").response_db
    assert 20.0 * np.log10(np.abs(voice(there, "neck", bench=bench).response.value)) == pytest.approx(shown, abs=1e-9)


@pytest.mark.parametrize("grade", ["alnico-3", "alnico-5", "ceramic-8"])
def test_a_swap_sounds_as_much_louder_as_it_is(guitar: Guitar, bench: Bench, grade: str) -> None:
    """Loudness weighs other strings and partials than the level, and pull makes planes beat: 0.5 dB."""
    changes = parse_changes([f"magnet={grade}"])
    heard = audition(guitar, "neck", changes, bench=bench)
    expected = bench.level(changed(guitar, f"magnet={grade}"), "neck") - bench.level(guitar, "neck")
    assert heard.clean_level_difference_db == pytest.approx(expected, abs=0.5)


def test_no_change_is_the_same_sound(guitar: Guitar, bench: Bench) -> None:
    heard = audition(guitar, "neck", (), bench=bench, phrase="arpeggio")
    assert np.array_equal(heard.before, heard.after)
    assert np.array_equal(heard.before, heard.after_true_level)
    assert heard.alignment.level_difference_db == 0.0


def test_the_same_seed_is_the_same_hand(guitar: Guitar, bench: Bench) -> None:
    piece = Phrase(name="one", notes=(Note(string=2, onset=0.0, duration=0.5),), duration=0.5)
    first, again, other = (play(guitar, "neck", piece, seed=seed, bench=bench) for seed in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_both_are_equally_loud_and_read_only(guitar: Guitar, bench: Bench) -> None:
    heard = audition(guitar, "neck", parse_changes(["lower=1mm"]), bench=bench)
    before, after, true = (
        integrated_loudness(one, heard.sample_rate) for one in (heard.before, heard.after, heard.after_true_level)
    )
    assert before == pytest.approx(after, abs=1e-6)
    assert true - before == pytest.approx(heard.alignment.level_difference_db, abs=1e-6)
    assert not heard.after.flags.writeable


def recording(seconds: float = 2.0, rate: int = 48000) -> Recording:
    samples = 0.05 * np.random.default_rng(5).standard_normal(round(seconds * rate))
    samples.flags.writeable = False
    return Recording(
        samples=samples, sample_rate=rate, path=Path("mine.wav"), subtype="PCM_24", peak=float(np.abs(samples).max())
    )


def test_a_recording_gets_the_ratio_of_the_responses(guitar: Guitar, bench: Bench) -> None:
    """Over the bins of white noise the mean ratio is the ratio of the two responses, level included."""
    changes = parse_changes(["tone=3", "lower=0.5mm"])
    heard = audition(guitar, "neck", changes, recording=recording(8.0), bench=bench)
    gain = heard.alignment.common_gain
    spectra = [
        np.abs(np.fft.rfft(one)) ** 2
        for one in (heard.before / heard.alignment.gain_before, heard.after_true_level / gain)
    ]
    f = np.fft.rfftfreq(heard.before.size, 1.0 / heard.sample_rate)
    old, new = (voice(one, "neck", bench=bench).response for one in (guitar, changed(guitar, "tone=3", "lower=0.5mm")))
    for low, high in ((100.0, 200.0), (900.0, 1100.0), (2500.0, 3500.0)):
        inside = (f >= low) & (f < high)
        found = 10.0 * np.log10(spectra[1][inside].sum() / spectra[0][inside].sum())
        ratio = np.abs(new.at(f[inside])) ** 2 / np.abs(old.at(f[inside])) ** 2
        wanted = 10.0 * np.log10((spectra[0][inside] * ratio).sum() / spectra[0][inside].sum())
        assert found == pytest.approx(wanted, abs=0.1)  # dB; the filter's ringing is cut at the end


def test_drive_squeezes_the_difference(guitar: Guitar, bench: Bench) -> None:
    heard = audition(guitar, "neck", parse_changes(["lower=1mm"]), bench=bench, driven=True)
    assert heard.clean_level_difference_db < heard.alignment.level_difference_db < 0.0


def test_driven_is_the_driven_chain_and_both_sides_go_through_it(guitar: Guitar, bench: Bench) -> None:
    changes = parse_changes(["lower=1mm"])
    one = audition(guitar, "neck", changes, bench=bench, driven=True)
    other = audition(guitar, "neck", changes, bench=bench, chain="driven")
    assert np.array_equal(one.after, other.after)
    assert (one.chain, one.loudspeaker, one.driven) == ("driven", "closed-box", True)
    plain = audition(guitar, "neck", changes, bench=bench)
    assert (plain.chain, plain.loudspeaker, plain.driven) == ("", "", False)
    with pytest.raises(InputError, match="one of them"):
        audition(guitar, "neck", changes, bench=bench, driven=True, chain="edge")


def test_a_hotter_recording_saturates_more(guitar: Guitar, bench: Bench) -> None:
    def squeezed(volts: float) -> float:
        heard = audition(
            guitar, "neck", parse_changes(["lower=1mm"]), recording=recording(), bench=bench, chain="driven",
            full_scale=volts,
        )  # fmt: skip
        return heard.alignment.level_difference_db / heard.clean_level_difference_db

    assert squeezed(4.0) < 0.5 * squeezed(0.02)
    with pytest.raises(InputError, match="mV"):
        audition(guitar, "neck", (), recording=recording(), bench=bench, chain="driven", full_scale=800.0)


def test_what_cannot_be_heard_is_refused(guitar: Guitar, bench: Bench) -> None:
    with pytest.raises(InputError, match="no phrase"):
        audition(guitar, "neck", (), phrase="riff", bench=bench)
    with pytest.raises(MeasurementError, match=r"0\.4 s"):
        audition(guitar, "neck", (), recording=recording(0.2), bench=bench)
    mute = replace(guitar, strings=(replace(guitar.strings[0], pitch=None), *guitar.strings[1:]))
    with pytest.raises(InputError, match="no pitch"):
        audition(mute, "neck", (), bench=bench)


def test_motion_across_the_strings_is_odd_in_y(guitar: Guitar, bench: Bench) -> None:
    """By the mirror symmetry of the poles: the sign is; the sizes differ with gauge and gap."""
    switched = bench.switched(guitar, guitar.pickup("neck"))
    across = np.array([switched.sensing(k).across.sum(axis=1) @ switched.senses[0] for k in range(6)])
    assert np.all(across * across[::-1] < 0.0)
