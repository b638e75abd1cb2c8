"""Scoring: direction, threshold, overshoot and side effects, on states made by hand."""

from dataclasses import replace

import pytest

from polepiece.bench.quantities import differences, threshold_of, unevenness_db
from polepiece.bench.state import State
from polepiece.planning.complaint_words import WORDS
from polepiece.planning.complaints import word_of
from polepiece.planning.scoring import Aims, aims_of, heard_word, score
from tests.unit.planning.double_bench import DoubleBench, guitar

BEFORE: State = DoubleBench().state(guitar(), "neck")


def moved(**values: float) -> State:
    """Return the state before with bands, level or wound strings moved by so many dB."""
    bands = {k: v + values.get(k, 0.0) for k, v in BEFORE.bands_db.items()}
    assert BEFORE.wound_minus_plain_db is not None
    return replace(
        BEFORE,
        bands_db=bands,
        level_db=BEFORE.level_db + values.get("level", 0.0),
        wound_minus_plain_db=BEFORE.wound_minus_plain_db + values.get("wound", 0.0),
    )


def judged(word: str, strength: int = 2, **values: float):
    return score(aims_of([(word_of(word), strength)]), BEFORE, moved(**values))


def test_no_change_scores_exactly_nothing():
    for word in WORDS:
        found = score(aims_of([(word, 2)]), BEFORE, BEFORE)
        assert found.total == 0.0
        assert found.better == found.worse == ()
        assert heard_word(found) == "no"


@pytest.mark.parametrize(
    ("word", "better", "worse"),
    [
        ("muddy", {"wound": -1.0}, {"wound": 1.0}),
        ("muddy", {"highs": 1.0}, {"lows": 1.0}),
        ("boomy", {"wound": -1.0}, {"lows": 1.0}),
        ("piercing", {"presence": -1.0}, {"presence": 1.0}),
        ("harsh", {"presence": -1.0}, {"lows": -1.0}),
        ("thin", {"lows": 1.0}, {"wound": -1.0}),
        ("dull", {"presence": 1.0}, {"highs": -1.0}),
        ("nasal", {"mids": -1.0}, {"mids": 1.0}),
        ("scooped", {"mids": 1.0}, {"mids": -1.0}),
        ("weak", {"level": 1.0}, {"level": -1.0}),
        ("too hot", {"level": -1.0}, {"level": 1.0}),
        ("loose", {"wound": -1.0}, {"wound": 1.0}),
    ],
)
def test_the_trades_directions(word, better, worse):
    """Directions of the words are common practice, no source."""
    assert judged(word, **better).total > 0.0
    assert judged(word, **worse).total < 0.0


def test_loudness_alone_cures_no_tone():
    for word in ("muddy", "piercing", "harsh", "thin", "dull", "nasal"):
        for level in (-3.0, 3.0):
            assert judged(word, level=level).heard == 0.0 or judged(word, level=level).best not in ("level",)
            assert heard_word(judged(word, level=level)) == "no", word


def test_more_than_is_wanted_counts_against():
    totals = [judged("dull", 2, presence=p).total for p in (1.0, 2.0, 3.0, 8.0)]
    assert totals[0] < totals[1]
    assert totals[3] < totals[2]


def test_a_stronger_complaint_wants_more():
    small, large = (judged("dull", s, presence=3.0, highs=3.0).total for s in (1, 3))
    assert large > small


def test_contradicting_complaints_cancel():
    aims = aims_of([(word_of("weak"), 2), (replace(word_of("too hot"), aims={"level": -1.0}), 2)])
    assert aims.weights == {}


@pytest.mark.parametrize(
    ("change", "heard"), [(0.5, "no"), (0.99, "no"), (1.0, "maybe"), (1.9, "maybe"), (2.0, "yes"), (4.0, "yes")]
)
def test_heard_from_one_threshold_and_surely_from_two(change, heard):
    """About 1 dB in a band side by side, 2-3 dB the next day: common practice, no source."""
    assert heard_word(judged("dull", presence=change)) == heard


def test_an_interval_that_reaches_no_change_makes_it_a_maybe():
    found = judged("dull", presence=2.5)
    assert heard_word(found, {"bands_db.presence": (1.0, 4.0)}) == "yes"
    assert heard_word(found, {"bands_db.presence": (-0.5, 5.0)}) == "maybe"


def test_side_effects_count_against_and_are_named():
    clean, louder = judged("dull", presence=1.0), judged("dull", presence=1.0, level=3.0)
    assert louder.total < clean.total
    assert "level" in louder.worse
    assert "level" not in clean.worse


def test_resonance_is_heard_by_the_published_rule():
    """0.079 F/sqrt(Q) (Gagne and Zurek, resonances of 300-2000 Hz): 3.95 % at Q 4, 39.5 Hz at 1 kHz."""
    assert threshold_of("resonance", replace(BEFORE, resonance_q=4.0)) == pytest.approx(3.95, abs=1e-9)
    assert threshold_of("resonance", replace(BEFORE, resonance_q=None)) == pytest.approx(7.9)


def test_a_tilt_is_not_unevenness_and_one_string_is():
    tilt = replace(BEFORE, string_balance_db=tuple(0.5 * k for k in range(6)))
    assert unevenness_db(tilt) == pytest.approx(0.0, abs=1e-12)
    out = replace(BEFORE, string_balance_db=(0, 0, 2, 0, 0, 0))
    assert unevenness_db(out) > 0.5


def test_differences_know_what_a_state_does_not_have():
    bare = replace(BEFORE, wound_minus_plain_db=None, resonance_hz=None)
    found = differences(bare, bare)
    assert "wound" not in found
    assert "resonance" not in found
    assert score(Aims(weights={"wound": -1.0}), bare, bare).total == 0.0
