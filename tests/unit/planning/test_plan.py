"""The plan as a bench reads it, on a double of the bench with explicit numbers."""

import json
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

from polepiece.errors import InputError
from polepiece.guitar.records import Guitar
from polepiece.planning.candidates import enumerate_candidates
from polepiece.planning.complaint_words import WORDS
from polepiece.planning.complaints import parse_complaint, parse_complaints
from polepiece.planning.constraints import Constraints, parse_constraints
from polepiece.planning.plan import Plan, make_plan, plan_json
from tests.unit.planning.double_bench import GUITAR, LEVEL, DoubleBench, guitar
from tests.unit.planning.test_candidates import RODS

TONE = [word.name for word in WORDS if word.aims and word.kind != "fault"]


def plan(
    *complaints: str,
    limits: tuple[str, ...] = (),
    whole: Guitar | None = None,
    bench: DoubleBench | None = None,
    **more,
) -> Plan:
    """Return a plan; a plain one is made once, and is frozen (`test_same_question_same_plan` makes two)."""
    if whole is None and bench is None and not more:
        return plain(complaints, limits)
    return made(complaints, limits, whole or guitar(), bench or DoubleBench(), **more)


def made(complaints: tuple[str, ...], limits: tuple[str, ...], whole: Guitar, bench: DoubleBench, **more) -> Plan:
    return make_plan(whole, bench, parse_complaints(complaints, whole), parse_constraints(limits), **more)


@lru_cache(maxsize=128)
def plain(complaints: tuple[str, ...], limits: tuple[str, ...]) -> Plan:
    return made(complaints, limits, guitar(), DoubleBench())


@pytest.mark.parametrize("word", TONE)
def test_every_word_gets_a_plan_with_do_nothing_in_it(word):
    found = plan(f"neck: {word}")
    assert found.verdict == "plan"
    nothing = word in ("nasal", "warbling")  # on this double nothing is heard against the one, nor pulls the other
    assert 2 - nothing <= len(found.rows) <= 7
    assert [row.rank for row in found.rows] == list(range(1, len(found.rows) + 1))
    assert next(row for row in found.rows if not row.change).kind == "none"
    assert all(row.score > 0.0 for row in found.rows if row.change)
    assert found.considered >= 400
    assert found.advice


@pytest.mark.parametrize("word", ["muddy", "boomy", "piercing", "thin", "weak", "too hot", "G jumps out", "warbling"])
def test_rank_one_is_free_unless_nothing_free_moves_the_complaint(word):
    found = plan(f"neck: {word}")
    free_and_heard = [
        r for r in (*found.rows, *found.rest) if r.free and r.reversible and r.likely_heard != "no" and r.change
    ]
    first = found.rows[0]
    assert (first.free and first.reversible) if free_and_heard else True
    efforts = [row.free and row.reversible for row in found.rows if row.change and row.likely_heard != "no"]
    assert efforts == sorted(efforts, reverse=True), "free and reversible moves come first"


def test_rows_are_of_different_kinds():
    found = plan("neck: muddy")
    assert len({row.change for row in found.rows}) == len(found.rows)
    keys = [tuple(sorted(text.partition("=")[0] for text in row.change)) for row in found.rows if not row.then]
    lowered = [k for k in keys if k and all(one.startswith(("lower", "raise")) for one in k)]
    assert len(lowered) <= 2


def test_muddy_lowers_the_bass_side_first():
    """Common practice: bass side down before anything else."""
    first = plan("neck: muddy").rows[0]
    assert any("lower_bass" in text or "raise_treble" in text for text in first.change)
    assert "wound against plain strings" in first.why


def test_bars_to_have_are_different_grades_in_order():
    for word in ("muddy", "piercing", "boomy", "weak"):
        bars = plan(f"bridge: {word}").bars_to_have
        assert [bar.order for bar in bars] == list(range(1, len(bars) + 1))
        assert len({bar.grade.removesuffix("-rough-cast") for bar in bars}) == len(bars)
        assert len(bars) <= 5
        assert all(bar.score > 0 and bar.why for bar in bars)


def test_a_louder_bar_helps_mud_only_if_lowered_to_match():
    hotter = DoubleBench(level={**LEVEL, "alnico-5": 3.0}, top={**dict.fromkeys(LEVEL, 0.0), "alnico-5": 1.5})
    rows = plan("neck: muddy", bench=hotter, limits=("owned=alnico-5",))
    row = next(r for r in (*rows.rows, *rows.rest) if r.change == ("magnet=alnico-5",))
    assert row.use == "re-set"
    assert row.then is not None
    assert row.then.startswith("lower=")
    assert row.effect["level_db"] > 2.5
    assert row.effect_at_old_level is not None
    assert abs(row.effect_at_old_level["level_db"]) < 0.2  # the height screw is set in steps of 0.05 mm


def test_a_weaker_bar_that_keeps_the_output_is_raised():
    rows = plan(
        "neck: piercing",
        limits=("keep-output",),
        bench=DoubleBench(top={**dict.fromkeys(LEVEL, 0.0), "alnico-3": -3.0}),
    )
    row = next(r for r in (*rows.rows, *rows.rest) if r.change == ("magnet=alnico-3",))
    assert row.then is not None
    assert row.then.startswith("raise=")


def test_keep_output_is_obeyed_by_every_row():
    found = plan("neck: muddy", "bridge: piercing", limits=("keep-output",))
    for row in (*found.rows, *found.rest):
        level = row.effect_at_old_level if row.use == "re-set" else row.effect
        assert level is not None
        assert level.get("level_db", 0.0) >= -1.0, row.change
    assert any(one.reason.startswith("keep the output") for one in found.refused)


def test_rods_get_heights_and_parts_but_no_bar():
    found = plan("neck: weak", whole=guitar(RODS))
    assert found.bars_to_have == ()
    assert not any(text.startswith("magnet") for row in (*found.rows, *found.rest) for text in row.change)
    assert any("new or rewound pickup" in one.reason for one in found.refused)


@pytest.mark.parametrize("word", TONE)
def test_flip_is_never_a_row_of_a_plan(word):
    """With a magnetiser there are more candidates: `test_plan_order` looks through all of them."""
    found = plan(f"neck: {word}")
    assert not any("flip" in text for row in (*found.rows, *found.rest) for text in row.change)


def test_irreversible_rows_say_so():
    found = plan("neck: weak", limits=("magnetiser",))
    charged = [r for r in (*found.rows, *found.rest) if any(t.startswith("charge=") for t in r.change)]
    assert charged
    assert not any(row.reversible for row in charged)


def test_intervals_are_made_for_shown_rows_only():
    bench = DoubleBench()
    found = plan("neck: muddy", bench=bench)
    assert all(row.interval for row in found.rows if row.change)
    assert not any(row.interval for row in found.rest)
    assert bench.intervals <= 2 * len(found.rows)


def test_two_complaints_share_the_rows():
    found = plan("neck: muddy", "bridge: piercing")
    assert {row.pickup for row in found.rows if row.change} == {"neck", "bridge"}
    assert len(found.rows) <= 7


def test_two_words_of_one_pickup_are_one_job():
    found = plan("neck: muddy", "neck: weak")
    assert {row.complaint for row in found.rows} == {"muddy, weak"}


def test_a_mismatch_moves_both_pickups_the_right_way():
    found = plan("neck and bridge do not match")
    first = found.rows[0]
    assert first.decides == "apart"
    pairs = [row for row in (*found.rows, *found.rest) if row.also]
    assert pairs
    one = guitar(GUITAR.split('[[pickups]]\nname = "bridge"')[0])
    with pytest.raises(InputError, match="one pickup"):
        plan("neck and bridge do not match", whole=one)


def test_split_and_volume_complaints_are_judged_in_their_setting():
    split = plan("neck: split too thin")
    assert split.rows[0].score > 0
    assert "one coil" in split.rows[0].why
    assert not any("wiring=series" in row.change for row in (*split.rows, *split.rest))
    down = plan("dark when volume is down")
    assert any(t.startswith(("bleed=", "cable=")) for row in down.rows for t in row.change)
    assert not any(t.startswith("volume=") for row in (*down.rows, *down.rest) for t in row.change)


def test_feel_is_not_computed_and_no_swap_is_sold_for_it():
    found = plan("neck: sterile")
    assert found.bars_to_have == ()
    assert {row.kind for row in found.rows} <= {"height", "none"}
    assert any("not computed" in one for one in found.advice)
    assert all("Not computed" in row.why for row in found.rows if row.change)


def test_an_assumed_value_that_decides_is_named_with_what_settles_it():
    open_charge = guitar(GUITAR.replace('charge = "outside"\n', "", 1))
    found = plan("neck: weak", whole=open_charge)
    row = next(r for r in (*found.rows, *found.rest) if r.change == ("magnet=alnico-8",))
    assert row.hangs_on == "pickups[0].magnet.charge"
    assert row.settle
    assert not row.reversible  # it may have been charged in place


def test_what_a_row_costs_is_words_unless_prices_are_given():
    plain = plan("neck: weak")
    row = next(r for r in plain.rows + plain.rest if r.change == ("magnet=alnico-8",))
    assert row.cost == "bar"
    priced = plan("neck: weak", limits=("price-bar=9",))
    row = next(r for r in priced.rows + priced.rest if r.change == ("magnet=alnico-8",))
    assert row.cost == "bar: 9 (your prices)"
    assert row.minutes >= 45


def test_the_bars_size_is_checked_and_ferrite_warned_of():
    found = plan("neck: dull")
    row = next(r for r in found.rows + found.rest if r.change == ("magnet=ceramic-8",))
    assert "12.7" in row.fit
    assert "thicker" in row.fit


def test_progress_ends_at_all():
    seen = []
    plan("neck: muddy", progress=lambda done, total: seen.append((done, total)))
    assert seen[-1][0] == seen[-1][1]
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)


def test_json_is_plain_and_strict():
    found = plan("neck: muddy", limits=("no solder",))
    body = plan_json(found, everything=True)
    text = json.dumps(body, allow_nan=False)
    back = json.loads(text)
    row = back["rows"][0]
    fixture_keys = {
        "rank", "change", "kind", "pickup", "direction", "to", "free", "reversible", "effect", "interval",
        "effect_at_old_level", "better", "worse", "strings", "likely_heard", "threshold_db", "threshold_source", "fit",
        "minutes", "cost", "way_back", "risk", "why", "hangs_on", "settle",
    }  # fmt: skip
    assert fixture_keys <= set(row)
    assert set(row["effect"]["bands_db"]) == {"lows", "mids", "highs", "presence"}
    assert len(row["effect"]["string_balance_db"]) == 6
    assert back["verdict"] == "plan"
    assert back["rest"]
    assert back["constraints"] == ["no solder"]
    json.dumps(plan_json(plan("hum")), allow_nan=False)


def test_a_plan_needs_a_complaint_and_takes_those_of_the_file():
    with pytest.raises(InputError, match="no complaint"):
        make_plan(guitar(), DoubleBench())
    told = replace(guitar(), complaints=parse_complaint("neck: boomy"))
    assert make_plan(told, DoubleBench()).complaints[0].word == "boomy"
    with pytest.raises(InputError, match="2 to 20"):
        plan("neck: muddy", shown=1)


def test_same_question_same_plan():
    again = made(("neck: muddy",), (), guitar(), DoubleBench())
    assert again is not plan("neck: muddy")
    assert plan_json(plan("neck: muddy")) == plan_json(again)


def test_fewer_rows_may_be_asked_for():
    assert len(plan("neck: muddy", shown=4).rows) == 4


def test_every_row_can_be_made_on_the_guitar():
    whole = guitar()
    offered = {one.texts for one in enumerate_candidates(whole, "neck", Constraints()).candidates}
    found = plan("neck: muddy")
    assert {row.change for row in found.rows if row.change} <= offered


def test_a_row_has_the_shape_that_others_script_against():
    """Keys of the stored object stay; more may be added."""
    fixture = json.loads((Path(__file__).parents[2] / "fixtures" / "json" / "plan.json").read_text(encoding="utf-8"))
    body = json.loads(json.dumps(plan_json(plan("neck: weak"))))  # a bar is heard there
    envelope = {"schema", "version", "constants", "seed", "assumed"}  # the command adds these
    assert set(fixture) - envelope <= set(body)
    assert set(fixture["rows"][0]) <= set(body["rows"][0])
    assert set(fixture["rows"][0]["effect"]) <= set(body["rows"][0]["effect"])
    assert set(fixture["refused"][0]) <= set(body["refused"][0])
    assert set(fixture["bars_to_have"][0]) <= set(body["bars_to_have"][0])


def test_no_screw_is_spoken_of_where_there_is_none() -> None:
    """A weak string is cured by its screw; of rods the same word brings heights alone, and no refusal of a screw."""
    for text, screws in ((GUITAR, True), (RODS, False)):
        whole = guitar(text)
        told: list[str] = []
        found = made(("the low E is weak on the neck",), (), whole, DoubleBench(), tell=told.append)
        said = " ".join((*told, *found.advice, *(" ".join(one.change) for one in found.refused)))
        assert ("screw" in said) is screws


def test_a_move_that_two_complaints_ask_for_stands_once():
    """Of one pickup, heard in the same way: both complaints have their own rows, and both asked for the screws."""
    found = plan("the neck is boomy and the E6 is too loud", "neck louder than bridge")
    told = [(row.pickup, row.change, row.also, row.then) for row in found.rows if row.change]
    assert len(told) == len(set(told)) >= 4
    assert not set(told) & {(row.pickup, row.change, row.also, row.then) for row in found.rest}
