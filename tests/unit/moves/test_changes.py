"""Changes: what each lever does to the record, which way its sign goes, what is refused, what the job is."""

import re
from dataclasses import asdict, replace
from pathlib import Path

import pytest

from polepiece.errors import InputError
from polepiece.guitar.constructions import SLUGS
from polepiece.guitar.file.guitar_file import parse_guitar
from polepiece.guitar.gaps import string_gaps
from polepiece.guitar.records import Guitar, Pickup
from polepiece.moves.changes import apply, parse_change, parse_changes
from polepiece.moves.levers import LEVERS
from tests.tables import every

TURN = 25.4e-3 / 40  # m, of the default thread: 40 an inch, common practice, no source


def guitar(construction: str = "humbucker", magnet: str = 'charge = "outside"', more: str = "") -> Guitar:
    return parse_guitar(
        f'[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "{construction}"\n{more}\n'
        f'[pickups.magnet]\ngrade = "alnico-5"\n{magnet}\n'
    )


def after(*texts: str, start: Guitar | None = None, **kinds: str) -> Pickup:
    start = start or guitar(**kinds)
    return apply(start, "p", parse_changes(texts)).pickups[0]


def refusal(*texts: str, start: Guitar | None = None) -> str:
    with pytest.raises(InputError) as caught:
        apply(start or guitar(), "p", parse_changes(texts))
    return str(caught.value)


# ---------------------------------------------------------------- signs


@pytest.mark.parametrize("construction", SLUGS)
def test_lower_makes_every_gap_larger_and_raise_smaller(construction):
    before = string_gaps(guitar(construction).pickups[0])
    lower = string_gaps(after("lower=0.3mm", construction=construction))
    higher = string_gaps(after("raise=0.3mm", construction=construction))
    for was, far, near in zip(before, lower, higher):
        assert far - was == pytest.approx(0.3e-3, abs=1e-9)
        assert near - was == pytest.approx(-0.3e-3, abs=1e-9)


@pytest.mark.parametrize(("key", "sign"), [("lower", 1), ("raise", -1)])
@pytest.mark.parametrize("side", ["bass", "treble"])
def test_one_side_moves_and_the_other_stays(key, sign, side):
    was, now = guitar().pickups[0], after(f"{key}_{side}=0,4 mm")
    other = "treble" if side == "bass" else "bass"
    assert getattr(now, f"gap_{side}") - getattr(was, f"gap_{side}") == pytest.approx(sign * 0.4e-3)
    assert getattr(now, f"gap_{other}") == getattr(was, f"gap_{other}")


@pytest.mark.parametrize("construction", ["humbucker", "two-bar-single"])
@pytest.mark.parametrize("words", ["up 0.5 turn", "up 1/2 turns", "anticlockwise 0,5 turn", "Up 0.3175 mm"])
def test_up_is_anticlockwise_and_brings_the_screw_nearer_to_its_own_string(words, construction):
    was, now = guitar(construction).pickups[0], after(f"screw3={words}", construction=construction)
    assert now.poles.screw_raise == (0, 0, pytest.approx(0.5 * TURN), 0, 0, 0)
    moved = [b - a for a, b in zip(string_gaps(was), string_gaps(now))]
    assert moved == pytest.approx([0, 0, -0.3175e-3, 0, 0, 0], abs=1e-12)


def test_down_is_clockwise_and_takes_every_screw_away():
    was, now = guitar().pickups[0], after("screws=clockwise 0.25 turn")
    assert now.poles.screw_raise == pytest.approx((-0.25 * TURN,) * 6)
    assert all(b > a for a, b in zip(string_gaps(was), string_gaps(now)))


def test_body_down_and_screws_up_leaves_the_screws_where_they_are():
    was, now = guitar().pickups[0], after("body_down_screws_up=0.5mm")
    assert now.gap_bass - was.gap_bass == pytest.approx(0.5e-3)
    assert string_gaps(now) == pytest.approx(string_gaps(was), abs=1e-12)


@every(
    (words, treble, construction)
    for construction in SLUGS
    for words, treble in (
        ("treble up 0.3mm", -0.3e-3), ("bass down 0,3 mm", -0.3e-3), ("0.3mm treble up", -0.3e-3),
        ("bass up 0.3mm", +0.3e-3), ("Treble Down 0.3 mm", +0.3e-3), ("0.3 mm bass up", +0.3e-3),
    )
)  # fmt: skip
def test_a_tilt_brings_the_named_side_nearer_and_the_other_away_by_as_much(words, treble, construction):
    roomy = guitar(construction, more="gap_bass_mm = 4\ngap_treble_mm = 4")
    was, now = roomy.pickups[0], after(f"tilt={words}", start=roomy)
    assert now.gap_treble - was.gap_treble == pytest.approx(treble, abs=1e-9)
    assert now.gap_bass - was.gap_bass == pytest.approx(-treble, abs=1e-9)
    moved = [b - a for a, b in zip(string_gaps(was), string_gaps(now))]
    last = len(moved) - 1
    line = [treble * (1 - 2 * k / last) for k in range(last + 1)]
    assert moved == pytest.approx(line, abs=1e-9), "a line across the strings"


def test_a_tilt_stops_at_the_safe_gap_of_the_side_that_comes_up():
    assert "string 1 of p would be" in refusal("tilt=treble up 2mm")
    assert "string 5 of p would be" in refusal("tilt=bass up 2mm")  # the first, counted from string 1


@pytest.mark.parametrize(("more", "pitch"), [("", 25.4e-3 / 40), ("[pickups.screws]\nscrew_pitch_mm = 0.5\n", 0.5e-3)])
def test_a_screw_turns_by_the_pitch_of_its_own_thread(more: str, pitch: float):
    start = parse_guitar('[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "humbucker"\n' + more)
    assert start.pickups[0].poles.screw_pitch == pytest.approx(pitch)
    assert any(one.path.endswith("screws.screw_pitch") for one in start.assumed) == (not more)
    assert after("screw3=up 0.5 turn", start=start).poles.screw_raise[2] == pytest.approx(0.5 * pitch)
    assert after("screw3=up 0.3mm", start=start).poles.screw_raise[2] == pytest.approx(0.3e-3)  # mm stay mm
    half = parse_change("screw3=up 0.5 turn").describe(start, "p").to
    assert "+0.50 turn" in half
    words = parse_change("screw3=up 0.3mm").describe(start, "p").to
    assert f"{0.3e-3 / pitch:+.2f} turn" in words
    assert f"would be {2.2e-3 / pitch:.3g} turns up" in refusal("screw3=up 2.2mm", start=start)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "height=+0.5mm",
            "height=+0.5mm reads both ways; write lower=0.5mm (further from the strings) or raise=0.5mm (nearer).",
        ),
        (
            "gap_treble=2mm",
            "write lower_treble=0.5mm (further from the strings) or raise_treble=0.5mm (nearer).",
        ),
        (
            "lower=-0.5mm",
            "carries a sign, which reads both ways; write lower=0.5mm (further from the strings) or raise=0.5mm",
        ),
        ("raise_bass=+1mm", "write lower_bass=1mm (further from the strings) or raise_bass=1mm (nearer)."),
        (
            "screw3=-1turn",
            "does not say which way; write screw3=up 0.5 turn (anticlockwise, nearer to its string) or screw3=down",
        ),
        ("screw3=0.5 turn", "does not say which way"),
        (
            "tilt=0.5mm",
            "does not say which way; write tilt=treble up 0.3mm (treble side nearer to the strings, bass side further "
            "by as much) or tilt=bass up 0.3mm (the reverse).",
        ),
        ("tilt=+0.5mm", "does not say which way"),
        ("tilt=treble 0.5mm", "does not say which way"),
        ("tilt=treble up -0.5mm", "carries a sign beside treble up; leave it out."),
        ("screw3=up -1 turn", "needs a number above 0"),
    ],
)
def test_what_reads_both_ways_is_refused_with_the_two_forms(text, words):
    with pytest.raises(InputError) as caught:
        parse_change(text)
    assert words in str(caught.value)


# ---------------------------------------------------------------- magnets


@pytest.mark.parametrize("charge", ['"in-place"', '"outside"', '"unknown"', "0.7"])
def test_every_bar_that_is_swapped_in_is_charged_outside(charge):
    magnet = after("magnet=alnico-3", magnet=f"charge = {charge}").magnet
    assert (magnet.grade, magnet.charge, magnet.finish) == ("alnico-3", "outside", "polished")


def test_recharged_after_assembly_when_it_says_so_in_any_order():
    for texts in (("magnet=alnico-3", "charge=in-place"), ("charge=in-place", "magnet=alnico-3")):
        magnet = after(*texts).magnet
        assert (magnet.grade, magnet.charge) == ("alnico-3", "in-place")


@pytest.mark.parametrize(
    ("charge", "comes_out"),
    [('"in-place"', "outside"), ('"unknown"', "outside"), ('"outside"', "outside"), ("0.7", 0.7)],
)
def test_a_flip_passes_through_air(charge, comes_out):
    magnet = after("flip=yes", magnet=f"charge = {charge}").magnet
    assert (magnet.flipped, magnet.charge, magnet.grade) == (True, comes_out, "alnico-5")


@pytest.mark.parametrize("text", ["magnet=alnico-3", "flip=yes", "finish=rough-cast"])
@pytest.mark.parametrize(
    ("charge", "back"), [('"in-place"', False), ('"unknown"', False), ('"outside"', True), ("0.7", True)]
)
def test_taking_out_a_bar_charged_in_place_is_not_reversible(text, charge, back):
    task = parse_change(text).describe(guitar(magnet=f"charge = {charge}"), "p")
    assert task.reversible is back
    assert ("weaker" in task.way_back) is not back


def test_recharging_is_never_reversible():
    task = parse_change("charge=80%").describe(guitar(), "p")
    assert (task.reversible, task.way_back, task.kind) == (False, "none", "charge")


def test_a_rough_cast_bar_by_grade_or_by_finish():
    by_grade, by_finish = after("magnet=alnico-5-rough-cast").magnet, after("finish=rough-cast").magnet
    assert by_grade == by_finish
    assert "ferrite" in refusal("magnet=ceramic-8", "finish=rough-cast")


def test_old_gauss_readings_go_with_the_old_bar():
    start = guitar(magnet="measured_gauss = [300, 300, 300, 300, 300, 300]")
    assert start.pickups[0].magnet.measured_gauss == (300.0,) * 6
    assert after("magnet=alnico-2", start=start).magnet.measured_gauss == ()
    assert after("lower=0.5mm", start=start).magnet.measured_gauss == (300.0,) * 6


def test_own_constants_go_with_the_old_bar():
    start = parse_guitar(
        '[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "humbucker"\n'
        "[pickups.magnet]\npure_recoil = true\n"
        "remanence_t = 1.28\ncoercivity_ka_per_m = 50.9\n"
        "energy_product_kj_per_m3 = 43.8\nrecoil_permeability = 3.7\n"
    )
    magnet = after("magnet=alnico-8", start=start).magnet
    assert (magnet.grade, magnet.constants, magnet.pure_recoil) == ("alnico-8", None, False)


def test_rods_keep_their_grade_unless_it_is_only_computed():
    rods = guitar("rod-single")
    assert "cannot have its grade changed" in refusal("magnet=alnico-2", start=rods)
    assert "new or rewound pickup" in refusal("finish=rough-cast", start=rods)
    changed = apply(rods, "p", parse_changes(["magnet=alnico-2"]), allow_rods=True)
    assert changed.pickups[0].magnet.grade == "alnico-2"
    assert "rods cannot be turned" in refusal("flip=yes", start=rods)
    assert after("charge=in-place", start=rods).magnet.charge == "in-place"


def test_two_bars_are_swapped_together():
    task = parse_change("magnet=alnico-3").describe(guitar("two-bar-single"), "p")
    assert task.cost == "two bars" and "like poles to the screws" in task.risk


def test_a_known_new_bar_is_no_longer_assumed():
    start = guitar(magnet="")
    changed = apply(start, "p", parse_changes(["magnet=alnico-3"]))
    paths = {one.path for one in changed.assumed}
    assert "pickups[0].magnet.charge" in {one.path for one in start.assumed} - paths
    assert "pickups[0].magnet.bar_length" in paths


# ---------------------------------------------------------------- the other levers

CONTROLS = {
    "volume_pot=250k": ("volume_pot", 250e3),
    "volume_pot=0,5 M": ("volume_pot", 500e3),
    "tone_pot=250k": ("tone_pot", 250e3),
    "tone_pot=none": ("tone_pot", None),
    "tone=7": ("tone_setting", 7.0),
    "volume=9": ("volume_setting", 9.0),
    "tone_cap=10n": ("tone_cap", 10e-9),
    "tone_cap=0.022uF": ("tone_cap", 22e-9),
    "tone_tap=after": ("tone_tap", "after"),
    "bleed=150p": ("bleed_cap", 150e-12),
    "bleed=none": ("bleed_cap", None),
    "bleed_resistor=150k": ("bleed_resistor", 150e3),
    "cable=300pF": ("cable_capacitance", 300e-12),
    "input=1M": ("input_resistance", 1e6),
    "shunt=220k": ("shunt_resistor", 220e3),
    "selector=both": ("selector", "both"),
}


@pytest.mark.parametrize("text", CONTROLS)
def test_a_control_lever_sets_its_value_and_nothing_else(text):
    start, (attr, value) = guitar(), CONTROLS[text]
    changed = apply(start, "p", parse_changes([text]))
    assert changed.controls == replace(start.controls, **{attr: value})
    assert changed.pickups == start.pickups


def test_a_new_pot_has_not_been_measured():
    start = guitar()
    start = replace(start, controls=replace(start.controls, volume_pot_measured=430e3))
    assert apply(start, "p", parse_changes(["volume_pot=250k"])).controls.volume_pot_measured is None


def test_cover_on_and_off():
    assert after("cover=on").cover is not None and after("cover=on").cover.material == "nickel-silver"
    assert after("cover=brass").cover.material == "brass"
    assert after("cover=off", more='cover = "brass"').cover is None
    assert after("cover=on", more='cover = "brass"').cover.material == "brass"


def test_wiring():
    assert after("wiring=split-screws").wiring == "split-screws"
    assert "one coil" in refusal("wiring=parallel", start=guitar("rod-single"))
    two = guitar(more='lead = "two-conductor"')
    assert "braid and cover live" in refusal("wiring=out-of-phase", start=two)
    assert parse_change("wiring=parallel").describe(two, "p").opens_pickup
    assert not parse_change("wiring=parallel").describe(guitar(), "p").opens_pickup


def test_the_pickup_turned_round():
    assert after("screws_face=bridge").screws_face == "bridge"
    assert "alike both ways" in refusal("screws_face=bridge", start=guitar("rod-single"))


def test_strings():
    changed = apply(guitar(), "p", parse_changes(["strings=11-49"]))
    assert (changed.string_set, changed.string_age) == ("11-49", "new")
    assert changed.strings[0].diameter == pytest.approx(0.011 * 0.0254)
    assert changed.strings[0].pitch == guitar().strings[0].pitch
    wrapped = apply(guitar(), "p", parse_changes(["string_wrap=pure-nickel"]))
    assert [one.wrap for one in wrapped.strings] == ["none"] * 3 + ["pure-nickel"] * 3


# ---------------------------------------------------------------- limits


def test_nothing_is_planned_that_touches_the_strings():
    assert "string 1 of p would be 1.3 mm from its pole; under 1.5 mm" in refusal("raise=1mm")
    assert "under 2 mm" in refusal("raise_treble=0.6mm", start=guitar("rod-single"))
    assert "under 2.5 mm" in refusal("raise_bass=0.8mm", start=guitar("rod-single"))
    assert "from its pole; under 1.5 mm" in refusal("screw1=up 1.5 turn")


def test_the_limit_is_that_of_the_outcome_not_of_a_step():
    assert after("screws=up 2 turn", "lower=1mm").poles.screw_raise == pytest.approx((2 * TURN,) * 6)


def test_a_pickup_that_sits_too_high_may_still_come_down():
    high = guitar(more="gap_treble_mm = 1.0")
    assert after("lower=0.2mm", start=high).gap_treble == pytest.approx(1.2e-3)
    assert "nothing is planned" in refusal("raise=0.1mm", start=high)


def test_screws_stay_in_their_thread_and_over_their_seat():
    far = guitar(more="gap_treble_mm = 5\ngap_bass_mm = 5")
    assert after("screws=up 3 turn", start=far).poles.screw_raise[0] == pytest.approx(3 * TURN)
    assert "3.25 turns up; its thread holds for about 3" in refusal("screws=up 3.25 turn", start=far)
    assert "its head sits on the bobbin" in refusal("screw2=down 2 turn")
    assert "there is no screw 7" in refusal("screw7=up 0.25 turn")
    assert "has no pole screws" in refusal("screw1=up 0.25 turn", start=guitar("rod-single"))


def test_the_largest_gap():
    assert "at most 8 mm" in refusal("lower=5mm", start=guitar(more="gap_bass_mm = 4"))


# ---------------------------------------------------------------- reading

WRONG = {
    "lower": "'lower' is not key=value; write for example lower=0.5mm or magnet=alnico-3.",
    "lower=": "'lower=' is not key=value; write for example lower=0.5mm or magnet=alnico-3.",
    "lower=0.5": "lower=0.5 has no length unit; write for example lower=0.5mm.",
    "lower=0.5kg": "lower=0.5kg has no length unit; write for example lower=0.5mm.",
    "lower=9mm": "lower=9mm is 9 mm; moves lie above 0 and up to 5 mm.",
    "lower=0mm": "lower=0mm is 0 mm; moves lie above 0 and up to 5 mm.",
    "lower=1e999mm": "lower=1e999mm is not understood: it is beyond anything that can be measured.",
    "lower=some": "lower=some is not understood: 'some' is not one number with a unit.",
    "tilt=treble up 0.5": "tilt=treble up 0.5 has no length unit; write for example tilt=treble up 0.5mm.",
    "tilt=bass up 9mm": "tilt=bass up 9mm is 9 mm; moves lie above 0 and up to 5 mm.",
    "volume_pot=250": "volume_pot=250 has no unit; write for example volume_pot=250kohm.",
    "volume_pot=250n": "volume_pot=250n: 'n' is not a unit it can have.",
    "volume_pot=5k": "volume_pot is 5 kohm; pots lie between 50 and 2000 kohm.",
    "tone=70": "tone is 70; knobs lie between 0 and 10. If that is per cent, write 7.",
    "volume=11": "volume is 11; knobs lie between 0 and 10. Knobs go from 0 to 10: write 10 for fully up.",
    "magnet=5": "magnet=5: grades are written with their family: alnico-5 (or ceramic-5, ceramic-8).",
    "magnet=unknown": "magnet=unknown: name the grade of the bar that goes in.",
    "charge=2": "charge=2 is neither in-place nor outside nor a fraction above 0 and up to 1.",
    "cover=maybe": "cover=maybe is not one of on, off, nickel-silver, brass, steel.",
    "magnt=alnico-3": "magnt=alnico-3: there is no lever 'magnt'; the nearest is magnet=alnico-3.",
    "strings=10": 'strings is "10"; sets are 9-42, 10-46, 11-49, 12-54, of other than six strings '
        "40-100, 45-100, 45-105, 50-105, 45-130, 9-54, 10-56, 10-59, 10-62, 10-74, 9-65. "
        "Other strings are said gauge by gauge, "
        "string 1 first: 10 13 17 26 36 46 (in a file one [[strings]] table each). "
    "A set is named by its first and last string; did you mean 10-46?",
}  # fmt: skip


@pytest.mark.parametrize("text", WRONG)
def test_a_slip_in_a_change_is_named(text):
    with pytest.raises(InputError) as caught:
        parse_change(text)
    assert str(caught.value) == WRONG[text]


def test_all_faults_of_several_changes_at_once():
    with pytest.raises(InputError) as caught:
        parse_changes(["lower=0.5", "magnet=5", "lower_bass=1mm", "lower_bass=2mm"])
    lines = str(caught.value).splitlines()
    assert len(lines) == 3 and lines[2] == "lower_bass=2mm: lower_bass is moved twice; say it once."


@every(LEVERS)
def test_every_lever_has_an_example_that_works_and_a_job(key):
    lever = LEVERS[key]
    change = parse_change(lever.example)
    assert change.key == key and change.kind == lever.kind
    number = re.search(r"\d+$", key)
    if number and int(number[0]) > 6:
        return
    whole = guitar(construction="two-screw-rows") if key.startswith(("neck_", "bridge_")) else guitar()
    task = change.describe(whole, "p")
    assert task.direction and task.to and task.way_back and task.minutes > 0
    assert not (task.free and (task.solder or task.opens_pickup or task.cost != "none"))
    assert all(value is not None for value in asdict(task).values())


def test_no_change_is_no_difference():
    assert apply(guitar(), "p", []) == guitar()


def test_every_lever_stands_in_the_list_of_moves():
    page = (Path(__file__).parents[3] / "docs" / "reference" / "changes.md").read_text(encoding="utf-8")
    keys = [key for key in LEVERS if not re.search(r"screw\d+$", key)]
    assert [key for key in keys if f"`{key}`" not in page] == []
    for text in re.findall(r"\| `(\w+=[^`]+)` \|", page):
        assert parse_change(text).text == text
