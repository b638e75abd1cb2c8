"""Limits on what may be lost or gained, and rows that cost a control: what they take away is said or refused."""

from dataclasses import replace
from pathlib import Path

import pytest

from polepiece.guitar import Complaint, read_guitar
from polepiece.planning import answer_of, make_plan, parse_complaints, parse_constraints
from polepiece.planning.answer import worth_saying
from polepiece.planning.candidates import Refusal, enumerate_candidates
from polepiece.planning.cheap_causes import cheap_causes
from polepiece.planning.choice import worth_opening
from polepiece.planning.constraints import Constraints
from polepiece.planning.jobs import jobs_of
from polepiece.planning.rows import Judge, Judged
from tests.unit.planning.double_bench import LEVEL, DoubleBench, guitar

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"


def test_nobody_opens_a_pickup_for_less_pull() -> None:
    """On this double no bar pulls less; one that would is judged by hand."""
    (job,) = jobs_of(guitar(), [Complaint(word="no sustain", pickup="neck")])
    judge = Judge(DoubleBench(), job, Constraints())
    found = enumerate_candidates(job.base, "neck", Constraints()).candidates
    bar = next(one for one in found if one.texts == ("magnet=alnico-3",))
    judged = judge.judge(bar)
    assert isinstance(judged, Judged)
    less = replace(judged.best.score, total=2.0, best="pull", heard=3.0)
    assert not worth_opening(replace(judged, best=replace(judged.best, score=less)))
    assert worth_opening(replace(judged, best=replace(judged.best, score=replace(less, best="level"))))


def test_one_half_of_a_split_pickup_is_ruled_out_first() -> None:
    bass = read_guitar(EXAMPLES / "bass.guitar.toml")
    said = parse_complaints(["middle: the E string is weak"], bass)
    first = cheap_causes(bass, said)[0]
    assert first.cause == "one half of the middle pickup weaker than the other"
    assert "10 %" in first.check
    whole = parse_complaints(["bridge: the E string is weak"], bass)  # a pickup of one coil has no halves
    assert not any("half" in one.cause for one in cheap_causes(bass, whole))


@pytest.mark.parametrize(
    ("limit", "change", "reason"),
    [
        ("only alnico", "magnet=ceramic-8", "no ceramic bar"),
        ("I need the tone control", "tone_pot=none", "keep the tone control"),
        ("no loss of treble", "tone=7", "no less"),
        ("not louder than now", "raise=0.5mm", "no more"),
    ],
)
def test_limits_on_what_is_lost_or_gained_refuse_with_the_reason(limit: str, change: str, reason: str) -> None:
    limits = parse_constraints([limit])
    (job,) = jobs_of(guitar(), [Complaint(word="weak", pickup="neck")])
    found = enumerate_candidates(job.base, "neck", limits)
    refused = [one.reason for one in found.refused if change in one.change]
    judge = Judge(DoubleBench(), job, limits)
    there = [judge.judge(one) for one in found.candidates if one.texts == (change,)]
    refused += [one.reason for one in there if isinstance(one, Refusal)]
    assert refused and all(one.startswith(reason) for one in refused)
    free = enumerate_candidates(job.base, "neck", Constraints())
    judged = [Judge(DoubleBench(), job, Constraints()).judge(one) for one in free.candidates if one.texts == (change,)]
    assert judged and all(isinstance(one, Judged) for one in judged)  # without the limit it is offered


def test_no_pickup_goes_further_from_the_others_than_was_allowed() -> None:
    limits = parse_constraints(["pickups equally loud within 1 dB"], guitar())
    assert limits.balance_within == 1.0
    (job,) = jobs_of(guitar(), [Complaint(word="weak", pickup="bridge")])
    before = {one: DoubleBench().state(guitar(), one).level_db for one in ("neck", "bridge")}
    was = abs(before["bridge"] - before["neck"])
    judge, seen = Judge(DoubleBench(), job, limits), 0
    for one in enumerate_candidates(job.base, "bridge", limits).candidates:
        found = judge.judge(one)
        if one.texts[0].startswith("raise=") and len(one.texts) == 1:
            now = before["bridge"] + judge.score_of(one.act(guitar()), one).moved["level"] - before["neck"]
            assert isinstance(found, Refusal) == (abs(now) > max(1.0, was) + 0.05)
            seen += 1
    assert seen >= 3


def test_a_target_is_the_answer_where_magnets_pull_far_more_than_is_heard() -> None:
    """Poles that stand far too high: the gap that leaves the strings alone is offered although it costs much level."""
    strong = {grade: level + 14.0 for grade, level in LEVEL.items()}  # dB; far beyond what is just heard
    rows = make_plan(guitar(), DoubleBench(level=strong), [Complaint(word="warbling", pickup="neck")], draws=8).rows
    assert rows[0].change and rows[0].change[0].startswith("lower") and rows[0].free


def test_what_is_bought_for_something_hardly_heard_and_makes_something_worse_is_no_advice() -> None:
    found = make_plan(guitar(), DoubleBench(), [Complaint(word="muddy", pickup="neck")], draws=8)
    cable = next(row for row in (*found.rows, *found.rest) if row.change[:1] and row.change[0].startswith("cable="))
    cable = replace(cable, heard="hardly", minutes=1)
    for worse, kept in (((), True), (("presence",), False)):
        rows = worth_saying(replace(found, rows=(replace(cable, worse=worse),), rest=()))
        assert bool(rows) is kept
    none = answer_of(replace(found, rows=(), rest=(), constraints=("leave the neck alone",)))
    assert none.start.startswith("Nothing that the limits allow helps")
