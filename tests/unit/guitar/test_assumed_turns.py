"""Turns that nobody counted: listed as they are computed with, whichever reading they follow from."""

import pytest

from polepiece.guitar import parse_guitar, write_guitar
from polepiece.guitar.windings import wound_turns

ROD = '[[pickups]]\nname = "neck"\nposition = "neck"\nconstruction = "rod-single"\n'


def turns_line(text):
    guitar = parse_guitar(text)
    assert parse_guitar(write_guitar(guitar)) == guitar
    return next(one for one in guitar.assumed if one.path == "pickups[0].coil.turns"), guitar.pickups[0]


@pytest.mark.parametrize("more", ["", "[pickups.coil]\nwire_awg = 43\n"])
def test_turns_that_follow_from_a_resistance_are_listed_as_used(more):
    line, pickup = turns_line(f"{ROD}resistance_kohm = 6.1\n{more}")
    (turns,) = wound_turns(pickup)

    assert line.value == f"{turns:.0f}, from the resistance"
    assert line.low < turns < line.high
    assert line.value.partition(",")[0] != "8000"
    assert "ohmmeter" not in line.settle.partition(" beside ")[0]


def test_a_gauge_that_is_known_leaves_less_of_the_turns_open():
    unknown, _ = turns_line(f"{ROD}resistance_kohm = 6.1\n")
    known, _ = turns_line(f"{ROD}resistance_kohm = 6.1\n[pickups.coil]\nwire_awg = 42\n")

    assert unknown.low <= known.low < known.high <= unknown.high
    assert known.high - known.low < unknown.high - unknown.low


def test_without_a_resistance_turns_are_those_that_such_coils_have():
    line, _ = turns_line(ROD)

    assert (line.value, line.low, line.high) == ("8000", 7300.0, 8600.0)
