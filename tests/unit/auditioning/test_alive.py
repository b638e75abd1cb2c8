"""Pitch glide, noise of the hand and strings that ring along are no part of a difference between two states."""

import numpy as np
import pytest

from polepiece.auditioning.playing import SAMPLE_RATE, play, predicted
from polepiece.bench import Bench
from polepiece.guitar import Guitar
from polepiece.moves import apply, parse_changes
from polepiece.sound import BARE, LIVELY, PHRASES, Realism, loudness_as_given
from tests.reference.third_octave_levels import third_octave_levels_db

CASES = (
    ("open-chord", "tone=4"), ("power-chords", "cable=900pF"), ("bends", "magnet=alnico-2"),
    ("muted-riff", "lower=0.8mm"), ("hard-chords", "magnet=ceramic-8"),
)  # fmt: skip


@pytest.mark.parametrize(("phrase", "change"), CASES)
def test_what_is_alive_in_a_rendering_is_in_both_states_alike(
    guitar: Guitar, bench: Bench, phrase: str, change: str
) -> None:
    """Third octaves within 40 dB of the loudest: 0.2 dB; loudness: 0.2 LU; the limits of rendered less predicted."""
    after = apply(guitar, "neck", parse_changes([change]))
    seed = len(phrase)
    level, loud = [], []
    for realism in (BARE, LIVELY, Realism(sympathetic=True)):
        pair = [play(one, "neck", PHRASES[phrase], seed=seed, bench=bench, realism=realism) for one in (guitar, after)]
        level.append([third_octave_levels_db(one, SAMPLE_RATE)[1] for one in pair])
        loud.append([loudness_as_given(one, SAMPLE_RATE, "it") for one in pair])
    heard = level[0][0] > level[0][0].max() - 40.0
    moved = [after_ - before for before, after_ in level]
    for one, other in zip(moved[1:], loud[1:]):
        assert np.max(np.abs(one - moved[0])[heard]) < 0.2
        assert abs((other[1] - other[0]) - (loud[0][1] - loud[0][0])) < 0.2
    assert np.max(np.abs(level[1][0] - level[0][0])[heard]) > 0.01  # it is there, in each of them
    said = [predicted(one, "neck", PHRASES[phrase], seed=seed, bench=bench) for one in (guitar, after)]
    expected = said[1].loudness_lufs - said[0].loudness_lufs
    assert abs((loud[1][1] - loud[1][0]) - expected) < 0.5  # a change of gap or magnet changes the curved law as well
