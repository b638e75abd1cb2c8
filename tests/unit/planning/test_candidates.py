"""Candidates and constraints: hundreds of levers, and each constraint obeyed or refused with the reason."""

from dataclasses import replace

import pytest

from polepiece.errors import InputError
from polepiece.guitar.constructions import CONSTRUCTIONS
from polepiece.guitar.gaps import safe_gaps, string_gaps
from polepiece.guitar.records import Guitar
from polepiece.planning.candidates import Enumeration, enumerate_candidates
from polepiece.planning.constraints import Constraints, parse_constraints
from tests.unit.planning.double_bench import GUITAR, guitar

RODS = GUITAR.replace('construction = "humbucker"', 'construction = "rod-single"', 1).replace(
    "gap_bass_mm = 2.8\ngap_treble_mm = 2.4", "gap_bass_mm = 3.3\ngap_treble_mm = 2.6"
)


def found(*texts: str, whole: Guitar | None = None, pickup: str = "neck") -> Enumeration:
    return enumerate_candidates(whole or guitar(), pickup, parse_constraints(texts))


def kinds(enumeration: Enumeration) -> set[str]:
    return {task.kind for one in enumeration.candidates for task in one.tasks}


@pytest.mark.parametrize("pickup", ["neck", "bridge"])
def test_a_usual_two_humbucker_guitar_has_hundreds_of_candidates(pickup):
    many = found(pickup=pickup)
    assert len(many.candidates) >= 400
    assert len({one.texts for one in many.candidates}) == len(many.candidates)
    assert kinds(many) >= {
        "height", "screws", "magnet", "cover", "wiring", "orientation", "settings", "cable", "shunt", "pots",
        "capacitor", "bleed", "strings",
    }  # fmt: skip


def test_no_gap_under_the_safe_minimum_is_ever_planned():
    whole = guitar()
    close = replace(whole, pickups=tuple(replace(p, gap_bass=1.7e-3, gap_treble=1.6e-3) for p in whole.pickups))
    for one in found(whole=close).candidates:
        unit = one.act(close).pickup("neck")
        assert all(gap >= safe - 1e-9 for gap, safe in zip(string_gaps(unit), safe_gaps(unit))), one.texts
    assert any("nothing is planned" in one.reason for one in found(whole=close).refused)


def test_a_tilt_is_one_move_both_ways_and_offered_once():
    texts = {one.texts for one in found().candidates}
    assert {("tilt=treble up 0.3mm",), ("tilt=bass up 0.3mm",), ("tilt=bass up 0.5mm",)} <= texts
    assert ("lower_bass=0.3mm", "raise_treble=0.3mm") not in texts
    assert ("lower_bass=0.5mm", "raise_treble=0.3mm") in texts


def test_flip_is_no_lever_of_tone():
    assert "flip" not in kinds(found())


@pytest.mark.parametrize("one", CONSTRUCTIONS, ids=[one.slug for one in CONSTRUCTIONS])
def test_a_cover_is_planned_where_such_a_pickup_takes_one(one):
    whole = guitar(GUITAR.replace('construction = "humbucker"', f'construction = "{one.slug}"', 1).replace(
        "gap_bass_mm = 2.8\ngap_treble_mm = 2.4", "gap_bass_mm = 4.0\ngap_treble_mm = 4.0", 1))  # fmt: skip
    tried = {task.texts[0] for task in found(whole=whole).candidates if task.texts[0].startswith("cover=")}
    assert tried == ({"cover=nickel-silver", "cover=brass"} if one.takes_metal_cover else set())


def test_rods_are_never_swapped_nor_turned_and_the_reason_is_said():
    rods = found("magnetiser", whole=guitar(RODS))
    assert not any(one.bar for one in rods.candidates)
    assert kinds(rods).isdisjoint({"magnet", "finish", "flip", "screws", "orientation"})
    assert any("new or rewound pickup" in one.reason for one in rods.refused)


@pytest.mark.parametrize(
    ("texts", "kept_out", "word"),
    [
        (("do not open",), lambda task: task.opens_pickup, "do not open"),
        (("no solder",), lambda task: task.solder, "no solder"),
        (("reversible only", "magnetiser"), lambda task: not task.reversible, "reversible only"),
        (("keep-strings",), lambda task: task.kind == "strings", "keep the strings"),
        (("budget=none",), lambda task: task.cost not in ("none", "none, or one cover"), "budget none"),
    ],
)
def test_a_constraint_is_obeyed_or_refused_with_the_reason(texts, kept_out, word):
    free, limited = found("magnetiser"), found(*texts)
    assert any(kept_out(task) for one in free.candidates for task in one.tasks)
    owned = [one for one in limited.candidates if word != "budget none" or not _takes_out(one)]
    assert not any(kept_out(task) for one in owned for task in one.tasks)
    assert any(one.reason.startswith(word) for one in limited.refused)


def _takes_out(candidate) -> bool:
    return any(change.value is None for change in candidate.changes)


def test_only_owned_bars_are_offered():
    some = found("owned=alnico-3, alnico-5")
    assert {one.bar for one in some.candidates if one.bar} == {"alnico-3", "alnico-5"}
    assert any("owned" in one.reason for one in some.refused)


def test_owned_bars_cost_nothing():
    free = found("owned=alnico-3", "budget=none")
    assert any(one.bar == "alnico-3" for one in free.candidates)


def test_recharging_needs_a_magnetiser_and_is_never_reversible():
    assert "charge" not in kinds(found())
    charged = [one for one in found("magnetiser").candidates if any(d.kind == "charge" for d in one.tasks)]
    assert charged
    assert not any(all(task.reversible for task in one.tasks) for one in charged)


def test_a_bar_charged_in_place_cannot_come_back_whole():
    whole = guitar()
    neck = replace(whole.pickups[0], magnet=replace(whole.pickups[0].magnet, charge="in-place"))
    inside = replace(whole, pickups=(neck, whole.pickups[1]))
    assert any(one.bar for one in found("reversible only").candidates)  # it was charged outside
    assert not any(one.bar for one in found("reversible only", whole=inside).candidates)


def test_a_budget_in_money_needs_prices_and_adds_them_up():
    assert parse_constraints(["budget=20 EUR"]).budget == parse_constraints(["budget=20,0"]).budget == 20.0
    unknown = found("budget=20")
    assert not any(one.bar for one in unknown.candidates)
    assert any("no price is known" in one.reason for one in unknown.refused)
    priced = found("budget=20", "price-bar=8", "price-cable=15", "price-pot=12,5")
    texts = {one.texts for one in priced.candidates}
    assert ("magnet=alnico-3",) in texts
    assert ("magnet=alnico-3", "cable=300pF") not in texts  # 8 + 15
    assert ("magnet=alnico-3", "volume_pot=250k") not in texts  # 8 + 12.5
    assert any(" cost 2" in one.reason for one in priced.refused)


def test_a_mismatch_moves_the_louder_down_and_never_the_bridge_alone():
    both = enumerate_candidates(guitar(), "neck", Constraints(), partner="bridge", louder="neck")
    pairs = [one for one in both.candidates if one.also]
    assert pairs
    for one in pairs:
        assert one.texts[0].startswith("lower=")
        assert one.also is not None
        assert one.also[0] == "bridge"
        assert one.also[1][0].text.startswith("raise=")
    assert all(one.pickup == "neck" for one in both.candidates)


@pytest.mark.parametrize(
    "text", ["paint it black", "owned=alnico-77", "budget=cheap", "price-bar=a lot", "kepe-outprtt"]
)
def test_a_constraint_that_is_not_understood_is_refused(text):
    with pytest.raises(InputError):
        parse_constraints([text])


def test_constraints_are_read_in_any_spelling():
    read = parse_constraints(
        ["Keep Output", "don't open", "no_solder", "budget=12,50", "owned=alnico-5 rough-cast".replace(" ", "-")]
    )
    assert read.keep_output
    assert read.do_not_open
    assert read.no_solder
    assert read.budget == 12.5
    assert read.owned == ("alnico-5-rough-cast",)
