"""Limits on what may be lost or gained, and rows that cost a control: what they take away is said or refused."""

from dataclasses import replace
from pathlib import Path

import pytest

from polepiece.errors import InputError
from polepiece.guitar import Complaint, read_guitar
from polepiece.planning import make_plan, parse_complaints, parse_constraints
from polepiece.planning.candidates import Refusal, enumerate_candidates
from polepiece.planning.choice import worth_opening
from polepiece.planning.constraints import Constraints
from polepiece.planning.gate import cheap_causes
from polepiece.planning.jobs import jobs_of
from polepiece.planning.rows import Judge, Judged
from tests.unit.planning.double_bench import DoubleBench, guitar

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


def test_a_free_move_that_goes_half_the_way_stands_before_a_control_that_is_taken_out() -> None:
    """Lowering does a little for the top here; without its tone pot the guitar has plenty more of it."""
    rows = make_plan(guitar(), DoubleBench(), [Complaint(word="dull", pickup="neck")], draws=8).rows
    gone = [place for place, row in enumerate(rows) if row.change == ("tone_pot=none",)]
    free = [place for place, row in enumerate(rows) if row.change and row.free]
    bought = [place for place, row in enumerate(rows) if row.cost != "none" and not row.kind.startswith("magnet")]
    assert gone and (free or bought)
    assert max([*free, *bought]) < min(gone)


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
        ("pickups within 1 dB of each other", "", ""),
    ],
)
def test_limits_on_what_is_lost_or_gained_refuse_with_the_reason(limit: str, change: str, reason: str) -> None:
    if not change:
        with pytest.raises(InputError):
            parse_constraints([limit])
        return
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
