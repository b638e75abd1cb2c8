"""Tables of an answer as CSV: one head, rows of one length, a number a cell, so that any program reads them."""

import csv
import io

import pytest

from polepiece.report import Printed, PrintedTable, printed_csv

STATES = PrintedTable(
    title="neck: lower=0.5mm", heads=["", "before", "90 % interval"],
    rows=[["level, dB", "-21.5", "-1.9 to -1.7"], ["DC resistance, kohm", "8.10", "+0.00 to +0.00"]],
)  # fmt: skip
STRINGS = PrintedTable(title="String by string", heads=["string", "field mT"], rows=[["1", "-19.9 +2.9"], ["2", "-"]])
GRADES = PrintedTable(
    title="Grades", heads=["bar", "level dB", "peak Hz"],
    rows=[["alnico-2", "-0.3 [-0.7..-0.1]", "4541"], ["alnico-5 (in)", "+0.0 [+0.0..+0.0]", "4693"]],
)  # fmt: skip


def read(*tables: PrintedTable) -> list[dict[str, str]]:
    text = printed_csv(Printed(title="", paragraphs=[], tables=tables))
    assert len({len(row) for row in csv.reader(io.StringIO(text))}) == 1
    return list(csv.DictReader(io.StringIO(text)))


def test_an_interval_is_two_numbers_beside_its_value() -> None:
    first, second = read(GRADES)
    assert float(first["level dB"]) == -0.3
    assert (float(first["level dB, 90 % from"]), float(first["level dB, 90 % to"])) == (-0.7, -0.1)
    assert second["bar"] == "alnico-5 (in)"


def test_several_tables_are_one_with_a_column_that_names_them() -> None:
    rows = read(STATES, STRINGS)
    assert [one["table"] for one in rows] == ["neck: lower=0.5mm"] * 2 + ["String by string"] * 2
    assert (rows[1]["quantity"], rows[1]["unit"], rows[1]["before"]) == ("DC resistance", "kohm", "8.10")
    assert (rows[0]["90 % interval from"], rows[0]["90 % interval to"]) == ("-1.9", "-1.7")
    assert (rows[2]["field mT"], rows[2]["field mT, added"]) == ("-19.9", "+2.9")
    assert rows[3]["field mT"] == "" == rows[3]["before"]  # nothing was computed; only the other table has it


@pytest.mark.parametrize("words", ["lows -0.1 dB (-0.2 to -0.1)", "2 to 5 screws", "5 minutes"])
def test_words_stay_one_cell(words: str) -> None:
    (row,) = read(PrintedTable(title="", heads=["what you get"], rows=[[words]]))
    assert row == {"what you get": words}
