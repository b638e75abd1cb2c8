"""States heard one by one are what an audition makes of the same pair."""

from pathlib import Path

import numpy as np
import pytest

from polepiece.auditioning import audition, driven, hear
from polepiece.bench import Bench
from polepiece.errors import InputError, MeasurementError
from polepiece.guitar import Guitar
from polepiece.moves import apply, parse_changes
from polepiece.sound import Recording, level_states

MOVES = ["magnet=alnico-8", "volume=7"]


@pytest.fixture(scope="module")
def recording() -> Recording:
    noise = np.random.default_rng(5).standard_normal(48_000)
    return Recording(samples=0.1 * noise, sample_rate=48_000, path=Path("take.wav"), subtype="PCM_24", peak=0.45)


@pytest.mark.parametrize("through_drive", [False, True])
def test_two_states_are_the_pair_of_an_audition(guitar: Guitar, bench: Bench, through_drive: bool) -> None:
    changes = parse_changes(MOVES)
    pair = audition(guitar, "neck", changes, phrase="single-notes-low", driven=through_drive, bench=bench)
    made = [
        hear(one, "neck", phrase="single-notes-low", bench=bench) for one in (guitar, apply(guitar, "neck", changes))
    ]
    if through_drive:
        made = [driven(one) for one in made]
    found = level_states([one.loudness_lufs for one in made], [one.peak_dbfs for one in made])
    for sound, gain_db, wanted in zip(made, found.aligned_gain_db, (pair.before, pair.after)):
        assert np.allclose(sound.samples * 10 ** (gain_db / 20), wanted, rtol=0, atol=1e-12)
    assert np.allclose(made[1].samples * 10 ** (found.true_gain_db / 20), pair.after_true_level, rtol=0, atol=1e-12)
    assert found.difference_db[1] == pytest.approx(pair.alignment.level_difference_db, abs=1e-9)


def test_a_recording_is_itself_where_it_was_made_and_revoiced_elsewhere(
    guitar: Guitar, bench: Bench, recording: Recording
) -> None:
    changes = parse_changes(MOVES)
    same = hear(guitar, "neck", recording=recording, made_with=guitar, bench=bench)
    offset = recording.samples.mean(axis=0)  # all that is taken off
    assert np.allclose(same.samples, recording.samples - offset, rtol=0, atol=1e-9)
    there = hear(apply(guitar, "neck", changes), "neck", recording=recording, made_with=guitar, bench=bench)
    pair = audition(guitar, "neck", changes, recording=recording, bench=bench)
    gain = 10 ** ((pair.alignment.aligned_lufs - there.loudness_lufs) / 20)
    assert np.allclose(there.samples * gain, pair.after, rtol=0, atol=1e-9)


def test_a_recording_needs_the_state_it_was_made_in(guitar: Guitar, bench: Bench, recording: Recording) -> None:
    with pytest.raises(InputError, match="made_with"):
        hear(guitar, "neck", recording=recording, bench=bench)


def test_a_state_with_nothing_in_it_is_said_to_be_silent(guitar: Guitar, bench: Bench) -> None:
    with pytest.raises(MeasurementError, match="silent"):
        hear(apply(guitar, "neck", parse_changes(["volume=0"])), "neck", bench=bench)
