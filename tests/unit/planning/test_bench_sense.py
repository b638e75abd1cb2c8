"""What would shame a bench: rows that spoil another pickup, steps where a target is wanted, bars nobody hears."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from polepiece.bench import QUANTITIES
from polepiece.cli.row_lines import all_lines
from polepiece.guitar import Complaint, Guitar
from polepiece.moves import apply, parse_change
from polepiece.planning import ONLY_FITTED, answer_of, make_plan, parse_constraints
from polepiece.planning.bars import cure_words, one_list
from polepiece.planning.candidates import enumerate_candidates
from polepiece.planning.cheap_causes import cheap_causes
from polepiece.planning.choice import ALMOST, worth_opening
from polepiece.planning.clear_gap import STEP, clear_gap, most_detuned
from polepiece.planning.constraints import Constraints
from polepiece.planning.jobs import jobs_of
from polepiece.planning.record import Plan
from polepiece.planning.said import said_of
from polepiece.planning.work import Work
from polepiece.trade import cures_of
from tests.unit.planning.double_bench import GUITAR, LEVEL, DoubleBench, guitar

STRONG = {grade: level + 8.0 for grade, level in LEVEL.items()}  # dB; magnets that pull a string out of tune
WARBLES = (Complaint(word="warbling", pickup="neck"),)


def planned(*told: tuple[str, str], limits: tuple[str, ...] = (), here: Guitar | None = None, **bench: object) -> Plan:
    whole = here or guitar()
    complaints = [Complaint(word=word, pickup=pickup) for pickup, word in told]
    return make_plan(whole, DoubleBench(**bench), complaints, parse_constraints(limits, whole), draws=8)  # type: ignore[arg-type]


def everything(plan: Plan) -> list[str]:
    return [text for row in (*plan.rows, *plan.rest) for text in row.change]


def test_the_target_gap_is_the_nearest_that_leaves_the_strings_alone() -> None:
    whole, bench = guitar(), DoubleBench(level=STRONG)
    limit = QUANTITIES["shift"].threshold
    assert most_detuned(bench.state(whole, "neck"))[1] > limit
    (move,) = clear_gap(bench, whole, "neck").moves
    change = parse_change(move[0])
    assert most_detuned(bench.state(apply(whole, "neck", [change]), "neck"))[1] <= limit
    nearer = parse_change(f"{change.key}={(change.value - STEP) * 1e3:.1f}mm")
    assert most_detuned(bench.state(apply(whole, "neck", [nearer]), "neck"))[1] > limit


def test_warbling_is_answered_by_a_target_and_by_no_other_step_of_the_height() -> None:
    plan = make_plan(guitar(), DoubleBench(level=STRONG), WARBLES, draws=8)
    heights = [row for row in (*plan.rows, *plan.rest) if row.kind == "height"]
    assert len(heights) == 1
    assert heights[0].rank == 1
    assert "down to" in heights[0].done
    assert "cents" in answer_of(plan).start


def test_where_the_magnets_pull_nothing_out_of_tune_nothing_is_lowered() -> None:
    plan = make_plan(guitar(), DoubleBench(), WARBLES, draws=8)
    assert not any(row.kind == "height" for row in (*plan.rows, *plan.rest))
    assert any("under 3 cents nobody hears it" in one for one in plan.advice)


def test_a_shared_control_may_not_spoil_what_is_complained_of_another_pickup() -> None:
    alone = planned(("bridge", "piercing"))
    assert any(text.startswith("tone=") for text in everything(alone))
    both = planned(("neck", "dull"), ("bridge", "piercing"))
    assert not any(text.startswith("tone=") for text in everything(both))
    assert any("dull (neck) gets worse" in one.reason for one in both.refused)


def test_a_shared_control_says_what_it_does_to_a_pickup_nobody_spoke_of() -> None:
    rows = [row for row in planned(("bridge", "piercing")).rows if any(one.startswith("tone=") for one in row.change)]
    assert rows
    assert all(any("on the neck pickup too" in one for one in row.loses) for row in rows)


def test_a_pickup_that_is_left_alone_does_not_hear_of_it() -> None:
    plan = planned(("bridge", "piercing"), limits=("leave the neck alone",))
    assert not any(text.startswith("tone=7") for text in everything(plan))
    assert any("leave neck alone" in one.reason for one in plan.refused)


def test_a_part_with_the_value_that_is_in_is_not_offered_again() -> None:
    measured = guitar(GUITAR.replace("volume_pot_kohm = 500", "volume_pot_kohm = 500\nvolume_pot_measured_kohm = 470"))
    found = enumerate_candidates(measured, "neck", Constraints()).candidates
    assert any("volume_pot=250k" in one.texts for one in found)
    assert not any("volume_pot=500k" in one.texts for one in found)


def test_bars_to_have_are_heard_and_in_one_order_a_pickup() -> None:
    plan = planned(("neck", "weak"), ("neck", "dull"))
    assert plan.bars_to_have
    assert [one.order for one in plan.bars_to_have] == list(range(1, len(plan.bars_to_have) + 1))
    quiet = planned(("neck", "weak"), level=dict.fromkeys(LEVEL, 0.0), top=dict.fromkeys(LEVEL, 0.0))
    assert quiet.bars_to_have == ()
    assert not any(row.kind == "magnet" for row in quiet.rows)


def test_the_list_of_bars_is_in_the_order_of_the_rows() -> None:
    """A rough-cast bar of the grade that scores more does not push its polished one up: rows go by their own score."""
    job = SimpleNamespace(pickup="p")
    polished, other = (SimpleNamespace(job=job, total=one, rank_total=one) for one in (1.0, 2.0))
    totals = {"alnico-5": 3.0, "alnico-8": 2.0}  # of alnico 5 that of the rough-cast bar
    bars = {"alnico-5": polished, "alnico-8": other}
    assert one_list([(job, bars, totals)]) == [other, polished]  # type: ignore[list-item]
    against = {"alnico-5": 0.5, "alnico-8": -0.1}  # another complaint about the same pickup, which 8 makes worse
    assert one_list([(job, bars, totals), (job, {}, against)]) == [polished]  # type: ignore[list-item]


def test_bars_that_are_not_heard_are_no_advice() -> None:
    """A level of half a decibel helps and is not heard: the bars that benches fit are listed apart, and say so."""
    quiet = {grade: (0.35 if grade == "alnico-5" else 0.0) for grade in LEVEL}
    found = planned(("neck", "weak"), level=quiet, top=dict.fromkeys(LEVEL, 0.0))
    assert [one.grade for one in found.bars_only_fitted] == ["alnico-5"] and not found.bars_advised
    said = " ".join(" ".join(all_lines(found)).split())
    assert "Bars to have" not in said and f"{ONLY_FITTED} 1. alnico-5 (neck)" in said
    loud = planned(("neck", "weak"))
    assert loud.bars_advised and not {one.grade for one in loud.bars_advised} & {
        one.grade for one in loud.bars_only_fitted
    }


def test_what_benches_fit_is_named_where_it_is_not_found() -> None:
    same = {"level": dict.fromkeys(LEVEL, 0.0), "top": dict.fromkeys(LEVEL, 0.0)}
    whole, bench = guitar(), DoubleBench(**same)
    (job,) = jobs_of(whole, [Complaint(word="weak", pickup="neck")])
    work = Work(bench, job, Constraints(), None, None)
    work.run(lambda: None)
    assert 'Benches fit Alnico 5, Alnico 8 or Ceramic 8 against "weak"; computed, ' in cure_words(job, work.judged)
    found = Work(DoubleBench(), job, Constraints(), None, None)
    found.run(lambda: None)
    assert any(worth_opening(one) for one in found.judged if one.candidate.bar == "alnico-8")
    assert cure_words(job, found.judged) == ""


def test_the_bar_that_is_in_is_no_cure() -> None:
    assert "alnico-5" in cures_of("weak", "alnico-2")
    assert "alnico-5" not in cures_of("weak", "alnico-5")


def test_a_bar_beside_a_part_has_to_be_heard_itself() -> None:
    """Alnico 8 takes 0.8 dB off the top here: with a part it is worth more than the part, and still not heard."""
    plan = planned(
        ("bridge", "piercing"), level=dict.fromkeys(LEVEL, 0.0), top=dict.fromkeys(LEVEL, 0.0) | {"alnico-8": -0.8}
    )
    assert any(row.change[0] == "magnet=alnico-8" and len(row.change) > 1 for row in plan.rest)
    assert not any("magnet" in row.kind for row in plan.rows)


@pytest.mark.parametrize("word", ["muddy", "dull", "boomy"])
def test_a_volume_turned_down_is_no_answer_to_what_lacks_top(word: str) -> None:
    assert not any(text.startswith("volume=") for text in everything(planned(("neck", word))))


def test_a_pickup_that_stands_too_close_is_said_first() -> None:
    near = guitar(GUITAR.replace("gap_bass_mm = 2.8", "gap_bass_mm = 1.1"))
    said = cheap_causes(near, [Complaint(word="muddy", pickup="neck")])
    assert "too close, 6th string 1.1 mm from its pole (1.5 is the least)" in said[0].cause
    assert "too close" not in cheap_causes(guitar(), [Complaint(word="muddy", pickup="neck")])[0].cause


def test_strings_go_one_gauge_and_only_from_a_set_that_is_known() -> None:
    sets = {text for text in everything(planned(("neck", "thin"))) if text.startswith("strings=")}
    assert sets <= {"strings=9-42", "strings=11-49"}
    other = replace(guitar(), string_set="own")
    assert not any("strings=" in text for text in everything(planned(("neck", "thin"), here=other)))


def test_the_first_lines_come_before_anything_is_computed() -> None:
    class Slow(DoubleBench):
        def state(self, guitar: Guitar, pickup: str):  # type: ignore[no-untyped-def]
            assert said, "something is said before the first state"
            return super().state(guitar, pickup)

    said: list[str] = []
    make_plan(guitar(), Slow(), [Complaint(word="muddy", pickup="neck")], draws=8, tell=said.append)
    assert said[0].startswith("Rule out first")
    assert any("A bench begins with: neck, muddy" in one for one in said)
    assert "neck pickup" in said[-1]  # the best free move, before parts and pairs


@pytest.mark.parametrize(("pickup", "word"), [("neck", "muddy"), ("bridge", "weak"), ("neck", "boomy")])
def test_the_best_free_move_is_said_before_most_are_computed(pickup: str, word: str) -> None:
    class Counting(DoubleBench):
        states = 0

        def state(self, guitar: Guitar, pickup: str):  # type: ignore[no-untyped-def]
            self.states += 1
            return super().state(guitar, pickup)

    bench, found = Counting(), []
    whole = guitar()
    (job,) = jobs_of(whole, [Complaint(word=word, pickup=pickup)])
    work = Work(bench, job, Constraints(), None, None)
    work.run(lambda: None, lambda line: found.append((bench.states, line)))
    best = [(states, line) for states, line in found if line.startswith("Best free move")]
    assert best[0][0] < 15 < bench.states / 3  # the start, the first moves, a probe, three that were screened
    assert best[0][1].startswith("Best free move so far: ")
    lines = [line.replace(" so far", "") for _, line in found]
    assert len(set(lines)) == len(lines)  # nothing twice: what is said again is better
    free = [one for one in work.judged if one.free and not one.estimated and len(one.candidate.changes) == 1]
    most = max(one.total for one in free)
    done = [said_of(one, work.judge.before, "maybe", {}).done for one in free if one.total > most - ALMOST]
    assert any(best[-1][1].replace(" so far", "").startswith(f"Best free move: {one}:") for one in done)


def test_a_move_that_is_read_off_a_probe_says_so() -> None:
    """Screws are screened before they are computed: half a turn up is what a bench does first against a weak pickup."""
    found: list[str] = []
    make_plan(guitar(), DoubleBench(), [Complaint(word="muddy", pickup="neck")], draws=8, tell=found.append)
    screws = [one for one in found if "screws half a turn" in one and one.startswith("A bench's first move")]
    assert screws
    assert all(one.startswith("A bench's first move, screened: ") for one in screws)


def test_rows_that_are_advice_come_first() -> None:
    plan = planned(("neck", "muddy"), ("bridge", "piercing"))
    shown = [row.rank for row in answer_of(plan, most=20).rows]
    assert shown == list(range(1, len(shown) + 1))


def test_what_benches_fit_is_named_where_another_bar_is_shown() -> None:
    """Computed, Alnico 8 takes most off the top here; benches fit others against that, which are named."""
    bench = DoubleBench(
        level=dict.fromkeys(LEVEL, 0.0), top=dict.fromkeys(LEVEL, 0.0) | {"alnico-8": -2.0, "alnico-2": -1.5}
    )
    (job,) = jobs_of(guitar(), [Complaint(word="piercing", pickup="bridge")])
    work = Work(bench, job, Constraints(), None, None)
    work.run(lambda: None)
    assert "Alnico 2 is heard as well" in cure_words(job, work.judged)


def test_a_bar_that_benches_fit_themselves_is_not_taken_out_without_a_word() -> None:
    """Ceramic 8 against "weak" is already in; computed here, Alnico 8 is louder still."""
    whole = guitar(GUITAR.replace('grade = "alnico-2"', 'grade = "ceramic-8"'))
    (job,) = jobs_of(whole, [Complaint(word="weak", pickup="neck")])
    work = Work(DoubleBench(level=LEVEL | {"alnico-8": 6.0}), job, Constraints(), None, None)
    work.run(lambda: None)
    said = cure_words(job, work.judged)
    assert said == 'Benches fit Ceramic 8, which is in it, against "weak" themselves; computed, Alnico 8 does more.'
