"""Cells of a table: what a spreadsheet would take for a formula is text, a dash and a number stay what they are."""

from polepiece.report.curves import csv_text


def test_only_what_could_be_a_formula_gets_an_apostrophe() -> None:
    cells = ["-", "", "-1.4", "+0.0", "-1.4 to +0.0", "=1+1", "@x"]
    assert csv_text([cells]).strip().split(",") == ["-", "", "-1.4", "+0.0", "'-1.4 to +0.0", "'=1+1", "'@x"]
