"""Covers against three-dimensional finite elements: the studies of verification.sheets, held to their tolerances."""

import pytest

from verification.registry import Row
from verification.sheets import box_cover, dressed_humbucker


@pytest.fixture(scope="module")
def box_rows() -> list[Row]:
    return list(box_cover())


@pytest.fixture(scope="module")
def pair_rows() -> list[Row]:
    return list(dressed_humbucker())


@pytest.mark.parametrize("what", ["|L|", "Im L", "change", "dB", "degrees"])
def test_a_box_cover(box_rows: list[Row], what: str) -> None:
    rows = [row for row in box_rows if what in row.quantity]
    assert len(rows) > 3 and not [row for row in rows if row.verdict != "PASS"]


@pytest.mark.parametrize("what", ["|L|", "change", "dB", "degrees"])
def test_a_dressed_humbucker(pair_rows: list[Row], what: str) -> None:
    rows = [row for row in pair_rows if what in row.quantity]
    assert rows and not [row for row in rows if row.verdict != "PASS"]
