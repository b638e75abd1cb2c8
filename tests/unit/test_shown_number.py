"""Signs as people read them, and the one place that writes them."""

import re
from pathlib import Path

import pytest

from polepiece.shown_number import MINUS, minus_in_words, number, plain_signed, rounded, signed, true_minus

SOURCE = Path(__file__).parents[2] / "src" / "polepiece"


@pytest.mark.parametrize(
    ("value", "digits", "plain", "with_sign", "terminal"),
    [
        (1.26, 1, "1.3", "+1.3", "+1.3"),
        (-1.26, 1, "−1.3", "−1.3", "-1.3"),
        (-0.04, 1, "0.0", "0.0", "+0.0"),  # rounds to zero: no minus stands before it
        (0.04, 1, "0.0", "0.0", "+0.0"),
        (-0.04, 2, "−0.04", "−0.04", "-0.04"),
        (-12.0, 0, "−12", "−12", "-12"),
    ],
)
def test_signs(value: float, digits: int, plain: str, with_sign: str, terminal: str) -> None:
    assert (number(value, digits), signed(value, digits), plain_signed(value, digits)) == (plain, with_sign, terminal)
    assert str(rounded(-0.04, 1)) == "0.0"


def test_hyphens_in_words_stay() -> None:
    assert minus_in_words("hum-cancelling: level -0.2 dB") == f"hum-cancelling: level {MINUS}0.2 dB"
    assert true_minus("-3 to -1") == f"{MINUS}3 to {MINUS}1"


def test_no_other_module_writes_a_true_minus() -> None:
    own = re.compile(r'replace\(" ?-", .*(\u2212|MINUS)')
    assert own.search('shown.replace("-", MINUS)')  # the pattern finds what it is for
    guilty = [
        path.relative_to(SOURCE).as_posix()
        for path in SOURCE.rglob("*.py")
        if path.name != "shown_number.py" and own.search(path.read_text("utf-8"))
    ]
    assert guilty == []
