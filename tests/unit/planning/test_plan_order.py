"""The order of the rows, over every complaint word and every pair of constraints.

Common practice, no source: what costs nothing is tried first, and a move that nobody would hear is no advice. The
numbers are those of the double of the bench; what is held is the order, whatever the numbers are.
"""

from dataclasses import dataclass
from functools import cache
from itertools import combinations

import pytest

from polepiece.planning.candidates import enumerate_candidates
from polepiece.planning.choice import ALMOST, choose, in_order, tier, worth_opening
from polepiece.planning.complaint_words import WORDS
from polepiece.planning.complaints import parse_complaints
from polepiece.planning.constraints import Constraints, parse_constraints, refusal
from polepiece.planning.jobs import jobs_of
from polepiece.planning.plan import make_plan
from polepiece.planning.rows import Judge, Judged, judge_all
from polepiece.planning.words import FEWEST
from tests.unit.planning.double_bench import DoubleBench, guitar

TONE = [word.name for word in WORDS if word.aims and word.kind != "fault"]
FLAGS = ("keep-output", "reversible-only", "do-not-open", "no-solder", "keep-strings", "budget=none", "magnetiser")
LIMITS = [(), *((one,) for one in FLAGS), *combinations(FLAGS, 2)]
KEPT = 1.0  # dB, what keep-output allows


@cache
def everything(word: str) -> tuple[Judged, ...]:
    """Return every candidate for a word, judged, with nothing forbidden."""
    whole, bench = guitar(), DoubleBench()
    (job,) = jobs_of(whole, parse_complaints([f"neck: {word}" if "match" not in word else word], whole))
    limits = Constraints(magnetiser=True)
    judge = Judge(bench, job, limits)
    louder = judge.distance.louder if judge.distance else None
    found = enumerate_candidates(
        job.base, job.pickup, limits, extra=job.first, partner=job.partner, louder=louder
    ).candidates
    return tuple(judge_all(judge, found, lambda: None)[0])


def allowed(word: str, texts: tuple[str, ...]) -> list[Judged]:
    limits = parse_constraints(texts)
    return [
        one
        for one in everything(word)
        if refusal(one.candidate.changes, one.candidate.tasks, limits) is None
        and not (limits.keep_output and one.best.score.moved["level"] < -KEPT)
    ]


@pytest.mark.parametrize("word", TONE)
def test_flip_answers_no_complaint_about_tone(word):
    """Rows are taken from these; with a magnetiser and nothing forbidden."""
    changed = {change.key for one in everything(word) for change in one.candidate.changes}
    assert "charge" in changed
    assert "flip" not in changed


def free(one: Judged) -> bool:
    return one.free and one.reversible


@pytest.mark.parametrize("word", TONE)
def test_the_order_holds_for_every_pair_of_constraints(word):
    seen = 0
    for texts in LIMITS:
        judged = allowed(word, texts)
        rows = choose(judged, 6, lambda one: one)
        seen += len(rows)
        assert all(one.total > 0.0 for one in rows)
        hints = [one for one in rows if free(one) and one.heard < ALMOST]
        assert not hints or len(rows) < FEWEST, "a useless free move stays hidden"
        rows = [one for one in rows if one not in hints]
        heard_and_free = [place for place, one in enumerate(rows) if free(one) and one.useful]
        paid = [place for place, one in enumerate(rows) if not free(one)]
        if heard_and_free and paid:
            assert max(heard_and_free) < min(paid), "no paid row stands above a free one that is heard"
        if any(free(one) and one.useful for one in judged):
            assert free(rows[0]) and rows[0].useful, "rank 1 is free unless nothing free reaches the threshold"
            assert [free(one) for one in rows] == sorted((free(one) for one in rows), reverse=True)
        little = [place for place, one in enumerate(rows) if free(one) and not one.useful]
        bought = [place for place, one in enumerate(rows) if one.effort in (1, 2) and one.useful]
        dear = [place for place, one in enumerate(rows) if one.effort > 2 and one.useful]
        if not heard_and_free and little:
            assert not bought or max(bought) < min(little), "a part that is heard stands first where nothing free is"
            assert not dear or max(little) < min(dear), "no control goes before the free move that goes half the way"
        gone = [place for place, one in enumerate(rows) if one.candidate.takes_out]
        assert not gone or not bought or max(bought) < min(gone), "what costs nobody a control comes first"
        assert all(one.best.score.better for one in rows if one.candidate.swap), "no bar that helps nothing"
    advice = [one for one in everything(word) if one.total > 0.0 and (not one.candidate.swap or worth_opening(one))]
    assert seen or not any(one.useful or one.effort == 0 for one in advice), (
        "where nothing makes it better by what one would name, a hint of the direction that costs nothing"
    )


@pytest.mark.parametrize("texts", [("do-not-open", "no-solder", "keep-strings", "budget=none"), ("reversible-only",)])
def test_every_row_of_a_plan_of_free_moves_is_free(texts):
    found = make_plan(guitar(), DoubleBench(), parse_complaints(["neck: boomy"], guitar()), parse_constraints(texts))
    assert found.rows[0].free
    if "budget=none" in texts:
        assert all(row.free or row.cost == "none" for row in found.rows)
    assert found.rows[-1].change == ()


@dataclass(frozen=True, kw_only=True)
class _Aims:
    weights: dict[str, float]


@dataclass(frozen=True, kw_only=True)
class _Job:
    name: str = "muddy"
    weighted: bool = True

    @property
    def aims(self) -> _Aims:
        return _Aims(weights={"wound": -1.0} if self.weighted else {})


@dataclass(frozen=True, kw_only=True)
class _Row:
    """What `tier` reads of a row."""

    effort: int
    heard: float
    rank_total: float = 1.0
    job: _Job = _Job()

    @property
    def useful(self) -> bool:
        return self.rank_total > 0.0 and self.heard >= 1.0


@pytest.mark.parametrize(("free_helps", "order"), [(True, "abcde"), (False, "cbde")])
def test_tiers_as_they_are_written_down(free_helps, order):
    rows = {
        "a": _Row(effort=0, heard=1.0), "b": _Row(effort=0, heard=0.5, rank_total=9.0), "c": _Row(effort=1, heard=1.0),
        "d": _Row(effort=4, heard=3.0, rank_total=9.0), "e": _Row(effort=1, heard=0.9, rank_total=9.0),
    }  # fmt: skip
    assert "".join(sorted((k for k in rows if k in order), key=lambda k: tier(rows[k], free_helps=free_helps))) == order
    assert "".join(in_order([k for k in "edcba" if k in order], lambda k: rows[k])) == order


def test_a_free_row_for_another_complaint_does_not_count():
    """The threshold is asked of each complaint: what helps the bridge does not excuse a small move on the neck."""
    neck, bridge = _Job(name="muddy"), _Job(name="piercing")
    rows = [
        _Row(effort=0, heard=0.6, job=neck),
        _Row(effort=2, heard=2.0, job=neck),
        _Row(effort=0, heard=2.0, job=bridge),
    ]
    assert [(one.job.name, one.effort) for one in in_order(rows, lambda one: one)] == [
        ("piercing", 0), ("muddy", 2), ("muddy", 0),
    ]  # fmt: skip


def test_a_trial_for_the_hands_stands_before_what_costs():
    feel = _Row(effort=0, heard=0.0, rank_total=0.0, job=_Job(name="sterile", weighted=False))
    part = _Row(effort=1, heard=2.0)
    assert in_order([part, feel], lambda one: one) == [feel, part]
