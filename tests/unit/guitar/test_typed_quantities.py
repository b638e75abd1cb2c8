"""Quantities as they are written at a bench: inches with a fraction, centimetres, the code on parts.

The inch is 25.4 mm exactly (international yard and pound agreement of 1959); a letter in the place of the decimal
point is the code for resistors and capacitors of IEC 60062 (from memory: 4K7, 2M2, 6n8, 1R5).
"""

from decimal import Decimal

import pytest

from polepiece.errors import InputError
from polepiece.guitar.file.answers import Slot, entered
from polepiece.guitar.file.units import split_quantity, unit_of

HUMBUCKER = {"construction": "humbucker", "position": "neck"}
TWELVE = "10 10 13 13 8 17 12w 26w 18w 36w 26w 46w"


@pytest.mark.parametrize(
    ("typed", "number", "unit"),
    [
        ("24 3/4 in", "24.75", "in"), ("24-3/4", "24.75", ""), ('25 1/2"', "25.5", '"'),
        ("1\u20131/8 in", "1.125", "in"),
        ("-1 1/2", "-1.5", ""), ("5/64 in", "0.078125", "in"), ("7k2", "7.2", "k"), ("4K75", "4.75", "K"),
        ("6n8", "6.8", "n"), ("0u022F", "0.022", "u"), ("1R5", "1.5", "R"), ("12 000 ohm", "12000", "ohm"),
        ("2,5 mm", "2.5", "mm"),
    ],
)  # fmt: skip
def test_a_quantity_is_read_as_it_is_written(typed: str, number: str, unit: str) -> None:
    assert split_quantity(typed) == (Decimal(number), unit)


@pytest.mark.parametrize("typed", ["24 7/4 in", "24.5 3/4 in", "24 3/0 in", "7k2k", "3/4/5 in"])
def test_what_could_be_a_slip_is_none(typed: str) -> None:
    with pytest.raises(InputError):
        number, unit = split_quantity(typed)
        if unit_of("length", unit) is None:
            raise InputError(f"{unit} is no unit")
        pytest.fail(f"read as {number} {unit}")


@pytest.mark.parametrize("scale", ["24 3/4 in", "24-3/4", '24.75"', "62.865 cm", "628,65"])
def test_a_scale_is_said_in_inches_or_centimetres(scale: str) -> None:
    found = entered({"name": "x", "scale_length": scale}, [Slot(answers=HUMBUCKER)]).guitar
    assert found is not None
    assert found.scale_length == pytest.approx(24.75 * 25.4e-3)


@pytest.mark.parametrize("resistance", ["7k8", "7.8 k ohm", "7,8", "7800R"])
def test_a_resistance_is_said_as_on_parts(resistance: str) -> None:
    found = entered({"name": "x"}, [Slot(answers=HUMBUCKER | {"resistance": resistance})]).guitar
    assert found is not None
    assert found.pickups[0].resistance == pytest.approx(7800.0)


def test_a_unit_that_is_none_is_named() -> None:
    (fault,) = entered({"name": "x"}, [Slot(answers=HUMBUCKER | {"resistance": "7.8 kilo"})]).faults
    assert fault.sentence == "is '7.8 kilo'; 'kilo' is not a unit it can have (kohm, ohm, megohm)."


@pytest.mark.parametrize("strings", [TWELVE, "10-46"])
def test_twelve_poles_in_a_row_stand_half_as_far_apart(strings: str) -> None:
    """Twelve strings lie in six pairs over the width of six."""
    rods = {"construction": "rod-single", "position": "neck", "poles.count": "12"}
    found = entered({"name": "x", "strings": strings}, [Slot(answers=rods)]).guitar
    assert found is not None
    assert found.pickups[0].poles.pole_spacing == pytest.approx(5.2e-3)
