"""Numbers as people type them: what reads, what is refused with both readings, and that what is printed reads back."""

import contextlib
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from polepiece.errors import InputError
from polepiece.typed_number import LARGEST_POWER, typed_float, typed_number
from tests.tables import every

READ = {
    "7.8": "7.8", "7,8": "7.8", " 7,85 ": "7.85", "0,125": "0.125", ".5": "0.5", ",5": "0.5", "5.": "5",
    "2.625": "2.625", "1000": "1000", "1,000.5": "1000.5", "1.000,5": "1000.5", "1,000,000": "1000000",
    "1.000.000": "1000000",
    "1234,567": "1234.567", "12 000": "12000", "12\u202f000,5": "12000.5", "1\u2009000": "1000", "1_000": "1000",
    "1'000.5": "1000.5", "\u22122,5": "-2.5", "\u20133": "-3", "+4": "4", "1e3": "1000", "1.5E-3": "0.0015",
    "1,5e\u22123": "0.0015", "\u00bd": "0.5", "1\u00bd": "1.5", "-2\u00be": "-2.75", "0": "0", "-0,0": "0",
}  # fmt: skip


@every(READ)
def test_what_people_type_reads(text: str) -> None:
    assert typed_number(text) == Decimal(READ[text])


@pytest.mark.parametrize(("text", "readings"), [
    ("1,000", ("1000", "1.000")), ("12,500", ("12500", "12.500")), ("-1,234", ("1234", "1.234")),
])  # fmt: skip
def test_a_comma_before_three_digits_is_refused_with_both_readings(text: str, readings: tuple[str, str]) -> None:
    with pytest.raises(InputError) as caught:
        typed_number(text)
    assert all(one in str(caught.value) for one in readings)
    assert "thousands" in str(caught.value) and "decimal comma" in str(caught.value)


@pytest.mark.parametrize("text", [
    "", "  ", "x", "1,2,3", "1.2.3", "1,00,000", "1.000,5.5", "1,000.5,5", "--1", "1 2", "1 00", "0,000,1", "\u00bd5",
    "1.5\u00bd", "0x10", "1e", "e3", "\u0661", "5/64", "7.8k", ".", ",", "-", "1" * 61, "12,0000.5",
])  # fmt: skip
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="number"):
        typed_number(text)


@pytest.mark.parametrize("text", ["nan", "inf", "-inf", "Infinity"])
def test_what_is_not_finite_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="finite"):
        typed_number(text)


def test_what_cannot_be_measured_is_refused() -> None:
    assert typed_number(f"1e{LARGEST_POWER}") == Decimal(10) ** LARGEST_POWER
    for text in (f"1e{LARGEST_POWER + 1}", "1e9999"):
        with pytest.raises(InputError, match="beyond"):
            typed_number(text)


def test_an_error_says_where_what_and_what_is_allowed() -> None:
    with pytest.raises(InputError) as caught:
        typed_float("1,000", "--gauss", allowed="Write gauss, such as 450")
    said = "it reads as a decimal comma or as thousands; write 1.000 or 1000"
    assert str(caught.value).startswith(f"--gauss is '1,000'; {said}")
    assert str(caught.value).endswith(" Write gauss, such as 450.")


NUMBERS = st.decimals(-(10**12), 10**12, allow_nan=False, places=4)


@given(NUMBERS)
def test_what_is_printed_reads_back(number: Decimal) -> None:
    assert typed_number(f"{number:f}") == number
    assert typed_number(f"{number:f}".replace("-", "\u2212")) == number
    assert typed_number(f"{number:.4f}".replace(".", ",")) == number  # four digits behind: no thousands
    assert typed_number(f"{number:,.4f}") == number
    swapped = f"{number:,.4f}".translate(str.maketrans(",.", ".,"))
    assert typed_number(swapped) == number
    assert typed_number(f"{number:,.4f}".replace(",", "\u202f")) == number
    assert typed_number(repr(float(number))) == Decimal(repr(float(number)))


@given(st.integers(1, 999), st.integers(0, 999))
def test_every_single_group_of_three_is_ambiguous_with_a_comma_and_not_with_a_point(whole: int, part: int) -> None:
    with pytest.raises(InputError, match="thousands"):
        typed_number(f"{whole},{part:03d}")
    assert typed_number(f"{whole}.{part:03d}") == Decimal(f"{whole}.{part:03d}")


@given(st.text(max_size=20))
def test_anything_else_raises_its_own_error_only(text: str) -> None:
    with contextlib.suppress(InputError):
        assert typed_number(text).is_finite()
