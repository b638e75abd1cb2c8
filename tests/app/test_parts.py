"""The parts of the page that are plain functions: lengths as typed, moves, the drawing to scale, curves in words."""

import csv
import io
from dataclasses import replace

import numpy as np
import pytest

from polepiece.app.guitar.drawing import scene, share_of_width
from polepiece.app.guitar.levers import covers_of, height_moves, makeable, screw_moves, turns, turns_typed
from polepiece.app.sheet.bench_units import GAP, read
from polepiece.app.widgets.curves import Curve, csv_of, described
from polepiece.app.widgets.digits import span
from polepiece.app.widgets.plain_history import plain
from polepiece.app.widgets.readout import gaps_of
from polepiece.errors import InputError
from polepiece.guitar import Guitar, parse_guitar, read_guitar, write_guitar
from polepiece.guitar.constructions import CONSTRUCTIONS, Construction
from polepiece.moves import apply, parse_changes
from polepiece.shown_number import number, signed
from tests.app.conftest import DEMO, ROOT


@pytest.fixture(scope="module")
def guitar() -> Guitar:
    return read_guitar(DEMO)


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("2.4", 2.4),
        ("2,4", 2.4),
        (" 2.4 mm ", 2.4),
        ("3/32", 2.38125),
        ("5/64 in", 1.984375),
        ('0.09"', 2.286),
        ("2", 2.0),
    ],
)  # fractions are inches of 25.4 mm, the way feeler gauges are marked
def test_lengths_are_read_as_typed(typed: str, expected: float) -> None:
    assert read(typed, GAP) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    "typed", ["", "two", "-2.4", "+2.4", "2.4.1", "1/0", "3/32 mm", "2 cm", "1e3", "nan", "0.08", "7800", "1e9"]
)
def test_what_is_no_length_is_refused(typed: str) -> None:
    with pytest.raises(InputError):
        read(typed, GAP)


def test_a_refused_gap_says_the_range_and_the_slip_and_repeats_no_novel() -> None:
    with pytest.raises(InputError, match=r"1 to 8 mm .* Is it in inches"):
        read("0.08", GAP)
    with pytest.raises(InputError) as refused:
        read("9" * 20_000, GAP)
    assert len(str(refused.value)) < 300


def test_numbers_have_true_minus_signs_and_no_minus_before_zero() -> None:
    assert (number(-2.54), number(-0.04), signed(-0.04), signed(0.06)) == ("−2.5", "0.0", "0.0", "+0.1")
    assert span((0.5, -1.25)) == "−1.2 to +0.5"
    assert span((-0.01, 0.02)) == "within ±0.05"


@pytest.mark.parametrize("wanted", [1.9e-3, 2.6e-3, 3.33e-3])
@pytest.mark.parametrize("side", ["bass", "treble"])
def test_a_height_is_reached_by_its_move(guitar: Guitar, side: str, wanted: float) -> None:
    now = getattr(guitar.pickup("neck"), f"gap_{side}")
    moves = height_moves(side, now, wanted)
    after = apply(guitar, "neck", parse_changes(moves)).pickup("neck")
    assert getattr(after, f"gap_{side}") == pytest.approx(wanted, abs=0.5e-6)  # moves carry thousandths of a mm
    assert all("+" not in one and "=-" not in one for one in moves)  # a word says which way, never a sign


@pytest.mark.parametrize("turn", [-0.5, 0.125, 1.0])
def test_a_screw_is_turned_by_its_move(guitar: Guitar, turn: float) -> None:
    after = apply(guitar, "neck", parse_changes(screw_moves(4, 0.0, turn * 0.635e-3))).pickup("neck")
    assert after.poles.screw_raise[3] == pytest.approx(turn * 0.635e-3, abs=1e-7)
    said = turns(after.poles.screw_raise[3], after.poles.screw_pitch)
    assert said == f"{abs(turn):g} turn {'up' if turn > 0 else 'down'}"


def test_the_drawing_is_to_scale(guitar: Guitar) -> None:
    pickup = guitar.pickup("neck")
    drawn = scene(guitar, "neck", None)
    assert [one["u"] for one in drawn["strings"]] == pytest.approx([25, 15, 5, -5, -15, -25])  # 10 mm apart
    assert [one["d"] for one in drawn["strings"]] == pytest.approx(
        [1e3 * one.diameter for one in guitar.strings], abs=1e-4
    )
    bar = next(one for one in drawn["body"] if "pole" in one)
    assert (bar["w"], bar["h"]) == pytest.approx((1e3 * pickup.magnet.length, 1e3 * pickup.magnet.thickness))
    assert (drawn["bass"], drawn["treble"]) == (2.6, 2.2)
    assert drawn["tops"] == pytest.approx([1e3 * (pickup.poles.screw_top + pickup.poles.head_height)] * 2)


def test_one_looks_from_the_bridge_whichever_way_the_screws_face(guitar: Guitar) -> None:
    """x to the bridge, y to the thin string, z up: looking along -x from the bridge, +y is on the right."""
    neck, bridge = (scene(guitar, name, None) for name in ("neck", "bridge"))  # screws to the neck, to the bridge
    for seen in (neck, bridge):
        assert "from the bridge" in seen["words"]
        assert seen["strings"][0]["u"] > 0 > seen["strings"][-1]["u"]
    assert (neck["far"], bridge["far"]) == (True, False)
    assert "its screws are on the far side" in neck["words"] and "far side" not in bridge["words"]
    pickup = replace(guitar.pickup("neck"), construction="two-screw-rows")
    rows = scene(replace(guitar, pickups=(pickup, *guitar.pickups[1:])), "neck", None)
    assert "its first screws are on the far side" in rows["words"]


def test_fields_stand_under_what_they_move(guitar: Guitar) -> None:
    seen = scene(guitar, "neck", None)
    places = [share_of_width(seen, one["u"]) for one in seen["screws"]]
    assert places == sorted(places, reverse=True)  # screw 1 under string 1, on the right
    assert places[0] + places[5] == pytest.approx(1.0)  # the middle of the poles is that of the view


@pytest.mark.parametrize(
    ("typed", "count"),
    [("0.25", 0.25), ("+1/8", 0.125), ("-1 1/4", -1.25), ("½ down", -0.5), ("−1", -1.0), ("0,5 turn", 0.5)],
)
def test_turns_are_read_as_they_are_said(typed: str, count: float) -> None:
    assert turns_typed(typed) == count


@pytest.mark.parametrize("typed", ["", "tight", "1/0", "12", "1.5 mm"])
def test_what_is_no_number_of_turns_is_refused(typed: str) -> None:
    with pytest.raises(InputError, match="turns"):
        turns_typed(typed)


def test_a_bar_turned_end_for_end_shows_its_other_pole(guitar: Guitar) -> None:
    flipped = apply(guitar, "neck", parse_changes(["flip=yes"]))
    poles = [next(one["pole"] for one in scene(g, "neck", None)["body"] if "pole" in one) for g in (guitar, flipped)]
    assert poles == ["N", "S"]  # north of an unturned bar is at +x, away from its screws, which face the neck here


@pytest.mark.parametrize("construction", ["humbucker", "rod-single", "bar-single", "two-bar-single"])
def test_every_construction_is_drawn(construction: str) -> None:
    text = f"""name = "an invented one"
[[pickups]]
name = "middle"
position = "middle"
construction = "{construction}"
resistance_kohm = 7
[pickups.magnet]
grade = "alnico-5"
"""
    guitar = parse_guitar(text)
    drawn = scene(guitar, "middle", None)
    assert len(drawn["screws"]) == (6 if construction in ("humbucker", "two-bar-single") else 0)
    assert any("pole" in one for one in drawn["body"])
    assert any(one["kind"] == "coil" for one in drawn["body"])
    assert np.isfinite([drawn["low"], drawn["half"], *drawn["tops"]]).all()


def test_a_raised_screw_is_nearer_to_its_own_string_alone(guitar: Guitar) -> None:
    after = apply(guitar, "neck", parse_changes(["screw2=up 1 turn"]))
    before, now = (gaps_of(one.pickup("neck"), 6) for one in (guitar, after))
    assert np.subtract(before, now) == pytest.approx([0, 0.635e-3, 0, 0, 0, 0])  # 40 threads an inch
    assert before[0] == pytest.approx(guitar.pickup("neck").gap_treble, abs=1e-12)  # rounding
    assert before[-1] == pytest.approx(guitar.pickup("neck").gap_bass)


PICKUP = '[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "{}"\ngap_bass_mm = {}\ngap_treble_mm = {}\n'


@pytest.mark.parametrize("one", CONSTRUCTIONS, ids=[one.slug for one in CONSTRUCTIONS])
def test_only_covers_that_go_on_are_offered(one: Construction) -> None:
    bare = PICKUP + 'magnet.grade = "alnico-5"\n'
    far, near = (parse_guitar(bare.format(one.slug, gap, gap)) for gap in (3.5, 1.2))
    offered = covers_of(far, "p")
    assert next(iter(offered)) == "off"
    assert (len(offered) > 1) == one.takes_metal_cover
    for guitar, metals in ((far, offered), (near, covers_of(near, "p"))):
        for metal in list(metals)[1:]:
            covered = apply(guitar, "p", parse_changes([f"cover={metal}"]))
            assert parse_guitar(write_guitar(covered)) == covered  # no string in it, no coil through it
    worn = parse_guitar(bare.format(one.slug, 5.0, 5.0) + 'cover = "brass"\n')
    assert set(covers_of(worn, "p")) >= {"off", "brass"}, "what is on can be taken off"


def test_a_lever_offers_what_it_would_do(guitar: Guitar) -> None:
    words = {"polished": "polished", "rough-cast": "rough cast"}
    ferrite = apply(guitar, "neck", parse_changes(["magnet=ceramic-8"]))
    assert set(makeable(guitar, "neck", "finish", words, "polished")) == set(words)
    assert set(makeable(ferrite, "neck", "finish", words, "polished")) == {"polished"}  # ferrite is pressed and ground


def test_gaps_of_strings_follow_the_arch_and_the_number_of_strings(guitar: Guitar) -> None:
    pickup = guitar.pickup("neck")
    flat = gaps_of(replace(pickup, fingerboard_radius=None), 6)
    arched = gaps_of(replace(pickup, fingerboard_radius=12 * 25.4e-3), 6)
    assert (arched[0], arched[5]) == pytest.approx((flat[0], flat[5]), abs=1e-12)  # rounding
    assert arched[2] - flat[2] > 0.5e-3  # a radius of 12 in stands about 1 mm out of the middle of a row of 50 mm
    seven = gaps_of(replace(pickup, fingerboard_radius=None), 7)
    assert seven[3] == pytest.approx(0.5 * (flat[2] + flat[3]), abs=1e-12)


def test_a_curve_is_told_in_words_and_as_csv() -> None:
    f = np.geomspace(10.0, 40e3, 200)
    level = -10.0 + 6.0 * np.exp(-(np.log(f / 3000.0) ** 2))
    curve = Curve(name="now", look="now", frequency=f, level_db=level)
    assert described(curve).startswith("now: highest at 3 kHz with −4.0 dB")
    apart = replace(curve, level_db=0.1 - 4.0 * np.exp(-(np.log(f / 3000.0) ** 2)))
    assert described(apart, 80.0, apart=True).startswith("now: furthest from 0 at 3 kHz with −3.9 dB")
    assert described(replace(curve, level_db=0.0 * f), 80.0, apart=True) == "now: 0.0 dB throughout."
    bass = replace(curve, level_db=-np.log(f))
    assert described(bass, 80.0).startswith("now: highest at 0.08")  # nothing is said of what is not drawn
    rows = list(csv.reader(io.StringIO(csv_of([curve, replace(curve, name="before, old")]))))
    assert rows[0] == ["frequency_hz", "now (dB)", "before, old (dB)"]
    assert np.array([float(row[1]) for row in rows[1:]]) == pytest.approx(
        level, abs=0.0006
    )  # three decimals are written


def test_the_style_sheet_has_both_themes_for_every_colour() -> None:
    sheet = (ROOT / "src/polepiece/app/static/polepiece.css").read_text(encoding="utf-8")
    light, dark = (sheet.partition(start)[2].partition("}")[0] for start in (":root,.body--light{", ".body--dark{"))
    names = [{word.strip().partition(":")[0] for word in block.split(";") if "--" in word} for block in (light, dark)]
    assert names[0] == names[1]
    assert {"--c-now", "--c-stock", "--ink", "--paper"} <= names[0]


@pytest.mark.parametrize(
    ("said", "plain_words"),
    [
        ("state 4 recorded: neck: lower_treble=0.2mm", "neck: treble side down 0.2 mm"),
        ("state 12 undone: back to state 3 (neck: magnet=alnico-3)", "undone: as after “neck: bar of Alnico 3”"),
        ("gone on from state 7: chosen of two continuations", "another continuation: chosen of two continuations"),
        ("part 9 into the drawer: pot, 500 kohm", "into the drawer: pot, 500 kΩ"),
        ("prediction 11 kept for state 4: every grade in neck", "computed: every grade in neck"),
        ("sound kept: take one (0123456789ab)", "sound kept: take one"),
    ],
)
def test_history_is_told_without_its_numbers(said: str, plain_words: str) -> None:
    assert plain(said) == plain_words
