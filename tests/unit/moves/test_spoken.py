"""Moves as they are spoken: nothing that is typed at a command line is left in a sentence for a page."""

import pytest

from polepiece.errors import InputError
from polepiece.moves import parse_change, plainly


@pytest.mark.parametrize(
    ("written", "spoken"),
    [
        ("neck: lower_bass=1mm, magnet=alnico-3", "neck: bass side down 1 mm, bar of Alnico 3"),
        ("raise=0.8mm: string 1 would be 1.4 mm from its pole", "up 0.8 mm: string 1 would be 1.4 mm from its pole"),
        ("tone_cap=none; screw3=-1turn", "tone cap taken out; screw 3 -1 turn"),  # no value of that lever: as it stands
        ("tilt=bass up 0.5mm: no room", "treble side down 0.5 mm, bass side up 0.5 mm: no room"),
        ("screw12=down 0.25 turn, tone=8", "screw of the 12th string a quarter turn down, clockwise, tone 8"),
        ("bridge: magnet=alnico-5-rough-cast (kept)", "bridge: bar of Alnico 5, rough cast (kept)"),
        ("customer=A. Player; x = 3, gap=2", "customer=A. Player; x = 3, gap=2"),  # no lever is called so
    ],
)  # fmt: skip
def test_levers_are_said_in_words(written: str, spoken: str) -> None:
    assert plainly(written) == spoken


def test_an_unknown_lever_is_answered_with_those_that_are_known() -> None:
    with pytest.raises(InputError) as error:
        parse_change("zzzz=1")
    assert "known are " in str(error.value) and "magnet" in str(error.value) and "--help" not in str(error.value)
