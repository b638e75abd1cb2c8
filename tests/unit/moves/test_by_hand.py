"""Moves in the words of hands: side, way, turns, gaps before and after, values as they are marked."""

import re

import pytest

from polepiece.moves import LEVERS, apply, hand_words, parse_changes
from polepiece.moves.by_hand import marked_farad, marked_ohm, string_words
from tests.tables import every
from tests.unit.planning.double_bench import GUITAR, guitar

TWO_ROWS = GUITAR.replace("humbucker", "two-screw-rows", 1)


def said(*changes: str, pickup: str = "neck", text: str = GUITAR):
    before, parsed = guitar(text), parse_changes(changes)
    return hand_words(before, apply(before, pickup, parsed), pickup, parsed)


@pytest.mark.parametrize(
    ("change", "short", "full"),
    [
        ("lower_bass=0.8mm", "neck pickup, bass side down 0.8 mm",
         "bass side of the neck pickup down 0.8 mm (6th string pressed at the last fret: 2.8 -> 3.6 mm)"),
        ("raise_treble=0.3mm", "neck pickup, treble side up 0.3 mm",
         "treble side of the neck pickup up 0.3 mm (1st string pressed at the last fret: 2.4 -> 2.1 mm)"),
        ("lower=0.5mm", "neck pickup down 0.5 mm",
         "neck pickup down 0.5 mm (6th string pressed at the last fret: 2.8 -> 3.3, 1st 2.4 -> 2.9 mm)"),
        ("tilt=treble up 0.5mm", "neck pickup, bass side down 0.5 mm, treble side up 0.5 mm",
         "bass side of the neck pickup down 0.5 mm, treble side up 0.5 mm (6th string pressed at the last fret: "
         "2.8 -> 3.3, 1st 2.4 -> 1.9 mm)"),
        ("screws=up 0.5 turn", "neck pickup, all screws half a turn up, anticlockwise", None),
        ("screw3=down 0.25 turn", "neck pickup, screw of the 3rd string a quarter turn down, clockwise", None),
        ("magnet=alnico-3", "neck pickup opened, bar of Alnico 3 instead of Alnico 2", None),
        ("cable=300pF", "shorter cable, 300 pF instead of 500 pF (all pickups)", None),
        ("volume_pot=1M", "volume pot 1M instead of 500k (all pickups)", None),
        ("tone_cap=10nF", "tone capacitor 10 nF (103) instead of 22 nF (223) (all pickups)", None),
        ("tone_pot=none", "tone pot taken out of the circuit (all pickups)", None),
        ("bleed=150pF", "treble bleed 150 pF (151) across the volume pot (all pickups)", None),
        ("tone=8", "tone at 8 instead of 10 (all pickups)", None),
        ("wiring=split-screws", "neck pickup split, the screw coil stays on", None),
    ],
)  # fmt: skip
def test_one_change(change: str, short: str, full: str | None) -> None:
    found = said(change)
    assert found.short == short
    if full is not None:
        assert found.full == full


def test_screws_that_turn_alike_are_one_movement() -> None:
    assert said("screw5=down 1 turn", "screw6=down 1 turn").short == (
        "neck pickup, screws of the 5th and 6th string one turn down, clockwise"
    )
    assert said("screw5=down 1 turn", "screw6=up 1 turn").short.count("screw of the") == 2


def test_the_gap_in_words_is_that_of_the_record() -> None:
    found = said("screw3=down 0.5 turn")
    assert "3rd string pressed at the last fret: 2.56 -> 2.88 mm" in found.full  # 0.5 x 0.635 mm further away


def test_what_moves_several_is_marked_once_and_the_pickup_named_once() -> None:
    assert said("cable=300pF", "volume_pot=1M").short.count("(all pickups)") == 1
    assert said("lower_bass=0.5mm", "raise_treble=0.3mm").full.count("neck pickup") == 1


def test_what_is_done_on_the_other_pickup_is_named() -> None:
    before = guitar()
    here, there = parse_changes(["lower=0.3mm"]), parse_changes(["raise=0.2mm"])
    after = apply(apply(before, "neck", here), "bridge", there)
    found = hand_words(before, after, "neck", here, also=("bridge", there))
    assert found.short == "neck pickup down 0.3 mm, bridge pickup up 0.2 mm"
    assert found.full.count("pressed at the last fret") == 2


def test_a_pickups_own_control_is_said_to_be_its_own() -> None:
    own = GUITAR.replace("cable_pf = 500", 'cable_pf = 500\ntemplate = "two-volumes-two-tones"')
    assert said("volume=8", text=own).short == "neck pickup, volume at 8 instead of 10"


def test_what_a_player_loses() -> None:
    assert said("tone_pot=none").loses == ("no tone control any more",)
    assert said("tone_pot=250k").loses == ()
    assert said("strings=12-54").loses == ("action and intonation to redo",)


@every(key for key in LEVERS if not re.search(r"screw([7-9]|1\d)$", key))
def test_every_lever_says_what_a_hand_does(key: str) -> None:
    two_rows = key.startswith(("neck_", "bridge_"))
    before, changes = guitar(TWO_ROWS if two_rows else GUITAR), parse_changes([LEVERS[key].example])
    words = hand_words(before, apply(before, "neck", changes), "neck", changes).short
    assert "=" not in words
    assert "None" not in words
    assert "_" not in words


def test_marks_on_parts() -> None:
    assert [marked_ohm(one) for one in (250e3, 1e6, 470.0)] == ["250k", "1M", "470"]
    assert [marked_farad(one) for one in (22e-9, 4.7e-9, 680e-12, 1e-9)] == [
        "22 nF (223)", "4.7 nF (472)", "680 pF (681)", "1 nF (102)",
    ]  # fmt: skip
    assert [string_words(one) for one in (1, 2, 3, 4, 11, 12)] == ["1st", "2nd", "3rd", "4th", "11th", "12th"]
