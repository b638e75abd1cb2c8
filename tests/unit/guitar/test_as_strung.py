"""A pickup is made for the strings over it, and a switch has the positions that are said of it."""

import pytest

from polepiece.guitar import (
    Entered,
    Guitar,
    Slot,
    answers_of,
    cautions,
    construction_of,
    entered,
    parse_guitar,
    pickup_answers,
    wiring_words,
    write_guitar,
)
from polepiece.guitar.file.questions import described
from polepiece.guitar.switching import positions_of

TWO = (
    Slot(answers={"position": "neck", "construction": "two-screw-rows"}),
    Slot(answers={"position": "bridge", "construction": "rod-single"}),
)


def built(**answers: str) -> Guitar:
    found = entered({"name": "x"} | answers, TWO)
    assert found.guitar is not None, found.faults
    return found.guitar


def again(guitar: Guitar, **answers: str) -> Entered:
    slots = [Slot(answers=pickup_answers(guitar, place), was=place) for place in range(len(guitar.pickups))]
    return entered(answers_of(guitar) | answers, slots, was=guitar)


@pytest.mark.parametrize(("strings", "poles"), [("", 6), ("10-46", 6), ("10-59", 7), ("10-74", 8), ("45-105", 4)])
def test_as_many_poles_as_strings(strings: str, poles: int) -> None:
    guitar = built(strings=strings)
    assert [one.poles.count for one in guitar.pickups] == [poles, poles]
    assert len(guitar.strings) == poles
    said = [one.value for one in guitar.assumed if one.path.endswith("pole_count")]
    assert all(one.endswith("one to a string") for one in said) == (poles != 6)


def test_a_count_that_is_said_stays() -> None:
    slot = Slot(answers={"position": "neck", "construction": "humbucker", "poles.count": "6"})
    found = entered({"name": "x", "strings": "10-59"}, [slot]).guitar
    assert found is not None and found.pickups[0].poles.count == 6


def test_strings_of_a_bass_lie_further_apart_over_its_pickups() -> None:
    bass = built(strings="45-105", scale_length="34 in")
    assert [one.poles.pole_spacing for one in bass.pickups] == [0.018, 0.018]
    assert bass.pickup("neck").distance_from_bridge > built().pickup("neck").distance_from_bridge
    assert bass.pickup("bridge").coils[0].inner_half_y > built().pickup("bridge").coils[0].inner_half_y  # clear of rods
    halves = Slot(answers={"position": "middle", "construction": "split-rods"})
    for strings, poles in (("45-105", 8), ("45-130", 10)):  # two rods a string
        found = entered({"name": "x", "strings": strings}, [halves]).guitar
        assert found is not None and found.pickups[0].poles.count == poles


def test_other_strings_on_record_bring_other_poles_and_sizes_where_those_were_assumed() -> None:
    seven = parse_guitar(write_guitar(built(strings="10-59")))
    six = again(seven, strings="10-46").guitar
    assert six is not None and [one.poles.count for one in six.pickups] == [6, 6]
    assert six.pickups[0].magnet.length == built().pickups[0].magnet.length < seven.pickups[0].magnet.length
    lighter = again(seven, strings="9 11 16 24w 32 42 54").guitar
    assert lighter is not None and lighter.pickups == seven.pickups


def test_a_selector_that_is_assumed_is_one_of_the_pickups() -> None:
    slots = [Slot(answers={"position": one, "construction": "rod-single"}) for one in ("bridge", "middle")]
    found = entered({"name": "x", "controls.template": "two-volumes-one-tone"}, slots).guitar
    assert found is not None and found.controls.selector == "middle"
    assert [one.value for one in found.assumed if one.path == "controls.selector"] == ["middle"]


def test_positions_of_a_switch_are_said_in_one_line() -> None:
    said = "neck; 2 = neck: split-slugs; neck + bridge in series; neck: split-slugs + bridge: phase; bridge"
    guitar = built(**{"controls.positions": said})
    found = [(one.name, one.on, one.how, one.coils) for one in positions_of(guitar)]
    assert found[1] == ("2", ("neck",), "parallel", ("neck: split-slugs",))
    assert found[2][1:3] == (("neck", "bridge"), "series")
    assert found[3][3] == ("neck: split-slugs", "bridge: phase")
    kept = parse_guitar(write_guitar(guitar))
    assert answers_of(kept)["controls.positions"] == said
    assert again(kept).guitar == kept
    other = again(kept, **{"controls.positions": "neck; both; bridge"}).guitar
    assert other is not None and [one.name for one in positions_of(other)] == ["neck", "both", "bridge"]
    free = again(kept, **{"controls.positions": ""}).guitar
    assert free is not None and free.controls.positions == ()


def test_a_position_of_a_pickup_that_is_not_there_is_said_at_the_line() -> None:
    found = entered({"name": "x", "controls.positions": "neck; fore + bridge"}, TWO)
    assert [one.path for one in found.faults] == ["controls.positions[1].on"]


@pytest.mark.parametrize(
    ("slug", "words"),
    [
        ("two-screw-rows", "two coils, two rows of screws, one bar magnet"),
        ("plate-rod-single", "one coil, rod magnets as poles, a steel plate under them"),
        ("rod-single", "one coil, rod magnets as poles"),
        ("blade-single", "one coil, one blade, one bar magnet"),
        ("twin-blade", "two coils, two blades, one bar magnet"),
        ("humbucker", "two coils, slugs and screws, one bar magnet"),
    ],
)
def test_what_a_pickup_is_made_of_is_said_as_at_a_bench(slug: str, words: str) -> None:
    assert described(construction_of(slug)) == words


def test_of_two_rows_alike_a_split_says_which_row_stays() -> None:
    said = wiring_words(construction_of("two-screw-rows"))
    assert said["split-screws"] == "split, the coil of the first row stays on" != said["split-slugs"]
    assert wiring_words(construction_of("humbucker"))["split-screws"] == "split, the screw coil stays on"


def test_a_long_scale_with_many_strings_is_no_bass() -> None:
    long = built(strings="10-74", scale_length="28 in", tuning="F#BEADGBE")
    assert not any("scale" in one for one in cautions(long))
    assert any("scale" in one for one in cautions(built(strings="45-105", scale_length="24 in")))
