"""A complaint about a position of the guitar's own switch, by its name."""

from dataclasses import replace

from polepiece.guitar import SwitchPosition, parse_guitar
from polepiece.planning import answer_of, make_plan, parse_complaint, parse_constraints
from tests.unit.planning.double_bench import DoubleBench, guitar

TEXT = '[[pickups]]\nname = "neck"\nposition = "neck"\nconstruction = "humbucker"\n' + (
    '[[pickups]]\nname = "bridge"\nposition = "bridge"\nconstruction = "humbucker"\n'
)


def test_a_position_is_found_by_the_name_that_the_guitar_gives_it() -> None:
    plain = parse_guitar(TEXT)
    positions = (
        SwitchPosition(name="the fat one", on=("neck", "bridge"), how="series"),
        SwitchPosition(name="neck", on=("neck",)),
    )
    guitar = replace(plain, controls=replace(plain.controls, positions=positions))
    (found,) = parse_complaint("The fat one: a bit muddy", guitar)
    assert (found.word, found.position, found.pickup, found.strength) == ("muddy", "the fat one", None, 1)
    (by_pickup,) = parse_complaint("neck: muddy", guitar)
    assert (by_pickup.position, by_pickup.pickup) == (None, "neck")
    (elsewhere,) = parse_complaint("neck: muddy", plain)
    assert elsewhere.position is None


def test_the_answer_says_in_which_position_it_was_judged() -> None:
    whole = guitar()
    told, limits = parse_complaint("neck: muddy", whole), parse_constraints(("keep the screws",), whole)
    plans = [make_plan(whole, DoubleBench(), told, limits, draws=8, position=at) for at in ("both", None)]
    assert [answer_of(one).title for one in plans] == [
        "Neck pickup, muddy, heard in the position both.", "Neck pickup, muddy."
    ]  # fmt: skip
