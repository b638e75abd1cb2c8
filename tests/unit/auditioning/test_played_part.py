"""The part that a trial plays: read as it is typed, cut without a click, and loudness matched over it alone."""

import io

import numpy as np
import pytest
import soundfile

from polepiece.auditioning import PlayedPart, behind_sides, part_in
from polepiece.errors import InputError
from polepiece.measure import BlindTrial, TrialPlan
from polepiece.sound import loudness_as_given

RATE = 48_000


@pytest.mark.parametrize("words", ["1.5-4", "1,5 – 4 s", "1.5 to 4", "1½..4"])
def test_a_part_is_read(words: str) -> None:
    assert part_in(words) == PlayedPart(begin=1.5, end=4.0)


@pytest.mark.parametrize(("words", "said"), [("4-1.5", "1 s or more"), ("2", "such as 1.5-4"), ("a-b", "the part"),
                                             ("1-1.5", "1 s or more"), ("-3", "such as")])  # fmt: skip
def test_slips_are_named(words: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        part_in(words)


def test_nothing_is_the_whole() -> None:
    assert part_in("  ") is None


def test_a_part_behind_the_end_is_refused() -> None:
    with pytest.raises(InputError, match=r"over after 2\.0 s"):
        PlayedPart(begin=0.5, end=3.0).cut(np.ones(2 * RATE), RATE)


def test_what_is_played_is_equally_loud_over_that_part() -> None:
    """Two noises, one dies quickly: matched over the whole they are 3 dB apart or more in the last two seconds."""
    rng, t = np.random.default_rng(0), np.arange(5 * RATE) / RATE
    one, other = 0.05 * rng.standard_normal((2, t.size))
    other = other * np.exp(-t)
    part = PlayedPart(begin=3.0, end=5.0)
    trial = BlindTrial(plan=TrialPlan(), seed=1, date="2026-11-30")
    apart = []
    for cut in (False, True):
        sounds = [part.cut(each, RATE) for each in (one, other)] if cut else [one, other]
        play = behind_sides(sounds[0], sounds[1], RATE, matched=True, rng=rng)
        heard = [soundfile.read(io.BytesIO(play(trial, slot)))[0] for slot in "AB"]
        last = heard if cut else [part.cut(each, RATE) for each in heard]
        apart.append(abs(float(np.subtract(*(loudness_as_given(each, RATE, "one") for each in last)))))
        assert max(abs(each[0]) for each in heard) < 0.1 or not cut
    assert apart[0] > 3.0 and apart[1] <= 0.1  # dB
