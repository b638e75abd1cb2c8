"""A pickup with two rods a string: a pole is named as a pole, and no string that the guitar does not have."""

import pytest

from polepiece.errors import InputError
from polepiece.guitar import Guitar, cautions, parse_guitar
from polepiece.moves import apply, parse_changes
from polepiece.planning.cheap_causes import cheap_causes


def bass(strings: str, gap: float = 3.0) -> Guitar:
    return parse_guitar(
        f'name = "x"\nstring_set = "{strings}"\n[[pickups]]\nname = "middle"\nposition = "middle"\n'
        f'construction = "split-rods"\ngap_bass_mm = {gap}\ngap_treble_mm = {gap}\n'
        '[pickups.magnet]\ngrade = "alnico-5"\n'
    )


@pytest.mark.parametrize(("strings", "count"), [("45-105", 4), ("45-130", 5)])
def test_eight_poles_are_not_eight_strings(strings: str, count: int) -> None:
    guitar = bass(strings)
    assert len(guitar.strings) == count
    with pytest.raises(InputError) as error:
        apply(guitar, "middle", parse_changes(["raise_bass=1.2mm"]))
    assert "from pole " in str(error.value) and "string 8" not in str(error.value)
    assert "a string of middle" in str(error.value)


def test_what_is_already_too_close_is_a_pole_too() -> None:
    close = bass("45-105", gap=1.5)
    said = [*cautions(close), *(one.cause for one in cheap_causes(close, ()))]
    assert any("pole" in one and "counted from the thin strings" in one for one in said), said
    assert not any(f"string {number}" in one or f"{number}th string" in one for one in said for number in (5, 6, 7, 8))
