"""Some of the guitars that are drawn at random go through check, predict, plan and work sheet; each stumbled once."""

import pytest

from tests.examples.drawn_guitars import asked_everything, drawn_guitar

ONCE_AT_FAULT = {
    0: "a plan for one position, another pickup not on in it",
    15: "a netlist that leaves one of two pickups out",
}


@pytest.mark.parametrize("number", ONCE_AT_FAULT, ids=ONCE_AT_FAULT.values())
def test_a_drawn_guitar_goes_through_everything(number: int) -> None:
    said = asked_everything(number)
    assert said["rows"] > 1


def test_all_kinds_are_drawn() -> None:
    many = [drawn_guitar(number) for number in range(45)]
    assert {len(one.strings) for one in many} == {4, 5, 6, 7, 8}
    assert len({one.pickups[0].construction for one in many}) == 15
    assert any(one.controls.elements for one in many) and any(one.controls.push_pull for one in many)
