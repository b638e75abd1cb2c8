"""The fault gate: a dead coil, a stuck split or a sudden change is repaired, never voiced (common practice)."""

from dataclasses import replace

import pytest

from polepiece.guitar.records import Complaint, Guitar, Magnet
from polepiece.planning.cheap_causes import cheap_causes
from polepiece.planning.complaints import parse_complaint, parse_complaints
from polepiece.planning.faults import PHASE
from polepiece.planning.gate import expected_resistance, fault_gate, fault_words
from polepiece.planning.plan import make_plan
from tests.unit.planning.double_bench import GUITAR, DoubleBench, guitar


def with_unit(**values: object) -> Guitar:
    whole = guitar()
    return replace(whole, pickups=(replace(whole.pickups[0], **values), whole.pickups[1]))


def test_a_sound_guitar_passes():
    assert fault_gate(guitar(), parse_complaints(["neck: muddy", "bridge: thin", "weak"])) == ()


@pytest.mark.parametrize(
    ("symptom", "part"),
    [
        ("suddenly thin and humming", "suddenly"),
        ("thin AND humming since Tuesday", "thin and humming"),
        ("hums and is thin", "thin and humming"),
        ("buzz when I let go of the strings", "stops when the strings are touched"),
        ("buzzes", "hum or buzz"),
        ("crackles when I turn the pot", "crackle"),
        ("cuts out", "cuts out"),
        ("squeals at gain", "squeal"),
        ("microphonic", "squeal"),
        ("open coil", "open"),
        ("reads half the resistance", "half"),
        ("out of phase", "phase"),
        ("hollow with both on", "phase"),
        ("split switch stuck", "split"),
        ("cracked bar", "bar"),
        ("a smell of burning", "smell"),
        ("a smell of lavender", "symptom"),
    ],
)
def test_symptom_words_are_faults(symptom, part):
    found = fault_gate(replace(guitar(), symptoms=(symptom,)))
    assert any(part in one.fault for one in found)
    assert all(one.check and one.why for one in found)


@pytest.mark.parametrize("text", ["no hum", "does not hum", "muddy", "no buzz at all", "shop work, hummingbird inlay"])
def test_words_that_point_to_no_fault(text):
    assert fault_words(text) == ()


@pytest.mark.parametrize(
    "text",
    [
        "neck: suddenly dull",
        "neck: thin and humming",
        "hum",
        "bridge: squeals",
        "hollow with both on",
        "cuts out",
        "crackle",
    ],
)
def test_complaints_that_are_faults_stop_the_plan_with_no_swap(text):
    plan = make_plan(guitar(), DoubleBench(), parse_complaint(text))
    assert plan.verdict == "repair-first"
    assert plan.repair_first
    assert plan.bars_to_have == ()
    assert all(row.kind == "flip" for row in plan.rows)


def test_thin_alone_is_voiced_but_the_split_is_looked_at():
    complaints = parse_complaint("neck: thin")
    assert fault_gate(guitar(), complaints) == ()
    assert any("split" in one.cause for one in cheap_causes(guitar(), complaints))


@pytest.mark.parametrize(("halves", "fault"), [((4.0e3, 4.3e3), False), ((4.0e3, 4.6e3), True), ((4.0e3, 0.3e3), True)])
def test_halves_may_differ_by_a_tenth(halves, fault):
    found = fault_gate(with_unit(coil_resistances=halves))
    assert any("two coils disagree" in one.fault for one in found) is fault


@pytest.mark.parametrize(
    ("resistance", "wiring", "fault"),
    [(7.9e3, "series", False), (3.9e3, "series", True), (10e3, "series", False), (3.9e3, "split-screws", False),
     (2.0e3, "parallel", False)],
)  # fmt: skip
def test_half_of_the_resistance_is_a_fault_where_the_whole_is_wired(resistance, wiring, fault):
    found = fault_gate(with_unit(resistance=resistance, wiring=wiring))
    assert any("half" in one.fault for one in found) is fault


def test_turns_that_are_known_set_the_expected_resistance():
    hot = replace(guitar(), assumed=())
    pickup = hot.pickups[0]
    coils = tuple(replace(coil, turns=5500.0, wire_awg=44) for coil in pickup.coils)
    known = replace(pickup, coils=coils)
    whole = expected_resistance(known)
    assert whole > 12e3
    for share, fault in ((1.0, False), (0.5, True)):
        read = replace(hot, pickups=(replace(known, resistance=share * whole), hot.pickups[1]))
        assert bool(fault_gate(read)) is fault
    high = replace(hot, pickups=(replace(known, resistance=1.9 * whole), hot.pickups[1]))
    assert "far too high" in fault_gate(high)[0].fault


def test_a_coil_on_the_plate_is_a_fault_and_not_knowing_is_none():
    assert "base plate" in fault_gate(with_unit(coil_to_plate_open=False))[0].fault
    assert fault_gate(with_unit(coil_to_plate_open=True)) == ()
    assert fault_gate(with_unit(coil_to_plate_open=None)) == ()


def test_whole_and_halves_must_add_up():
    assert "add up" in fault_gate(with_unit(coil_resistances=(4e3, 4e3), resistance=6.5e3))[0].fault


@pytest.mark.parametrize(
    ("gauss", "part"),
    [
        ((210, 220, 215, 208, 212, 90), "weaker"),
        ((210, 220, -215, 208, 212, 209), "both ways"),
        ((210, 220, 215, 208, 212, 190), ""),
    ],
)
def test_gauss_at_the_poles_tells_a_broken_bar(gauss, part):
    magnet = Magnet(grade="alnico-2", charge="outside", measured_gauss=gauss)
    found = fault_gate(with_unit(magnet=magnet))
    assert (part in found[0].fault) if part else found == ()


def test_a_knob_that_exchanges_leads_is_looked_at_before_a_meter() -> None:
    knob = guitar(GUITAR.replace("cable_pf = 500", 'cable_pf = 500\npush_pull = ["neck: phase"]'))
    (found,) = fault_gate(knob, [Complaint(word="hollow with both on")])
    assert found.check.startswith("in which position it is hollow: both (neck phase) ") and "tap test" in found.check
    (plain,) = fault_gate(guitar(), [Complaint(word="hollow with both on")])
    assert plain.check.startswith("tap test")


def test_phase_is_cured_by_a_flip_leads_or_not_at_all():
    told = parse_complaint("hollow with both on")
    plan = make_plan(guitar(), DoubleBench(), told)
    assert plan.rows[0].change == ("flip=yes",)
    four = with_unit(lead="four-conductor")
    plan = make_plan(four, DoubleBench(), told)
    assert [row.pickup for row in plan.rows] == ["bridge"]
    assert "leads" in plan.refused[0].reason
    assert any(one.fault == PHASE and "leads" in one.cure for one in plan.repair_first)


def test_another_fault_beside_phase_leaves_no_row():
    told = parse_complaints(["hollow with both on", "hum"])
    assert make_plan(guitar(), DoubleBench(), told).rows == ()


def test_cheap_causes_follow_the_words_and_the_guitar():
    dull = parse_complaint("bridge: dull")
    old = replace(guitar(), string_age="six months")
    assert any("string age" in one.cause for one in cheap_causes(old, dull))
    new = replace(guitar(), string_age="new", assumed=())
    assert not any("string age" in one.cause for one in cheap_causes(new, dull))
    coiled = replace(new, controls=replace(new.controls, cable_capacitance=1.2e-9))
    assert any("long or coiled" in one.cause for one in cheap_causes(coiled, dull))
    turned = replace(new, controls=replace(new.controls, tone_setting=6.0))
    assert any("tone 6" in one.cause for one in cheap_causes(turned, dull))
