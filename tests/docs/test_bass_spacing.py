"""Sizes that a page of how-to names are those of the code."""

import re
from pathlib import Path

from polepiece.guitar.defaults import BASS_SPACING

PAGE = Path(__file__).parents[2] / "docs" / "how-to" / "enter-your-guitar.md"


def test_the_spacing_of_a_bass_is_that_of_the_code() -> None:
    found = re.search(r"those of a bass some (\d+) mm apart", PAGE.read_text("utf-8"))
    assert found is not None
    assert float(found[1]) == BASS_SPACING.value
