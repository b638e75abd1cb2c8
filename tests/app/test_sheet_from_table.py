"""A meter's table onto a work sheet: entries as a hand would type them, and read back as the same readings."""

from types import SimpleNamespace
from typing import Any

import pytest

from polepiece.app.prove.proofs import direct_in, inductances_in, poles_in
from polepiece.app.sheet.from_table import entries_of
from polepiece.errors import InputError
from polepiece.measure import grid_of, read_table


def sheet(*rows: str) -> Any:
    blanks = [SimpleNamespace(key=f"pole_gauss.{row}", string=k) for row in rows for k in range(1, 7)]
    return SimpleNamespace(section=lambda key: SimpleNamespace(blanks=blanks) if key.endswith("_strings") else None)


def test_readings_come_back_from_the_sheet_as_they_stood_in_the_table() -> None:
    data = b"Pole;B [mT];Hz;L [mH];DCR [kohm]\n1;-38,1;;;7,81\n2;40;120;4410;7,81\n3;;1000;4100;7,81\n"
    for side, section in (("before", "baseline"), ("after", "after")):
        found = entries_of(read_table(grid_of(data, "t.csv")), sheet("screws", "slugs"), section)
        typed = {entry: said for entry, (_, said, _) in found.items()}
        poles = poles_in(typed, side)
        assert [(one.row, one.pole, one.signed) for one in poles] == [("screws", 1, True), ("screws", 2, True)]
        assert [one.flux_density for one in poles] == pytest.approx(
            [-0.0381, 0.040], abs=0.5e-4
        )  # whole gauss are typed
        assert [(one.name, one.value) for one in inductances_in(typed, side)] == [
            ("inductance_120hz_h", 4.41), ("inductance_1khz_h", 4.1),
        ]  # fmt: skip
        direct = direct_in(typed, side)
        assert direct is not None and direct.read.value == pytest.approx(7810.0)


def test_a_table_with_nothing_for_the_sheet_is_refused() -> None:
    with pytest.raises(InputError, match="holds nothing that this sheet asks for"):
        entries_of(read_table(grid_of(b"Hz;L [H];Q\n500;4;1\n", "t.csv")), sheet("screws"), "baseline")
