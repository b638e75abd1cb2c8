"""A complaint about a position of the guitar's own switch, by its name."""

from dataclasses import replace

from polepiece.guitar import SwitchPosition, parse_guitar
from polepiece.planning import parse_complaint

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
