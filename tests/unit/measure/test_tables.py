"""Readings out of tables: drawn at random, written in every way a meter's program writes them, read back the same."""

import io
import random

import pytest
from openpyxl import Workbook

from polepiece.errors import InputError
from polepiece.measure import batch_notes, grid_of, meter_readings, one_value, pole_readings, read_table, said_columns

COMMA = {True: ",", False: "."}


def workbook(rows: list[list[object]]) -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def separated(rows: list[list[object]], mark: str, *, comma: bool, encoding: str) -> bytes:
    def cell(value: object) -> str:
        return str(value).replace(".", COMMA[comma]) if isinstance(value, float) else str(value)

    return "\r\n".join(mark.join(cell(one) for one in row) for row in rows).encode(encoding)


def test_gauss_tables_are_read_the_same_however_they_are_written() -> None:
    """200 tables: rows, heads, units, marks, encodings drawn; equality to a relative 1e-12, one rounding of a float."""
    draw = random.Random(11)
    units = {"mT": 1e3, "G": 1e4, "kG": 10.0, "T": 1.0, "gauss": 1e4}
    for _ in range(200):
        count = draw.randint(1, 9)
        flux = [round(draw.uniform(0.005, 0.12) * draw.choice((-1, 1)), 5) for _ in range(count)]
        unit = draw.choice(list(units))
        head = draw.choice((f"B [{unit}]", f"Flux density ({unit})", f"field / {unit}", f"reading in {unit}"))
        poles = draw.sample(range(1, 13), count)
        rows: list[list[object]] = [[draw.choice(("Pole", "string", "No.")), head, "remark"]]
        rows += [[pole, float(f"{units[unit] * one:.9g}"), "x"] for pole, one in zip(poles, flux)]
        kind = draw.choice((";", "\t", ",", "xlsx"))
        if kind == "xlsx":
            data = workbook(rows)
        else:
            comma = kind != "," and draw.random() < 0.5
            data = separated(rows, kind, comma=comma, encoding=draw.choice(("utf-8", "utf-8-sig", "utf-16")))
        found = pole_readings(read_table(grid_of(data, "table")))
        assert [one.pole for one in found] == poles
        assert [one.flux_density for one in found] == pytest.approx(flux, rel=1e-7), (kind, head)  # nine digits written
        assert all(one.signed == (min(flux) < 0.0) for one in found)


def test_an_lcr_table_gives_frequency_inductance_and_quality_from_d() -> None:
    data = b"Freq (kHz);Ls [mH];D;DCR kohm;temp\n0,12;4500;2,5;7,8;19\n1;4100;0,5;7,8;19\n"
    table = read_table(grid_of(data, "lcr.csv"), said_columns(["DCR kohm=direct resistance kohm"]))
    found = meter_readings(table)
    assert [(one.frequency, one.inductance, one.quality) for one in found] == [(120.0, 4.5, 0.4), (1000.0, 4.1, 2.0)]
    assert one_value(table, "direct resistance") == pytest.approx(7800.0)
    assert one_value(table, "temperature") == 19.0


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("Pole;B [mT]\n1;38\n2;4l\n", ("row 3", "'B [mT]'", "'4l'", "in 'l'")),
        ("Pole;B\n1;38\n", ("row 2", "no unit", "1 mT is 10 gauss")),
        ("Pole;B [mT]\n1;1,000\n", ("row 2", "'1,000'", "decimal comma or as thousands")),
        ("Pole;B [mT]\n1;38\n1;39\n", ("pole 1", "twice")),
        ("Pole;B [mT]\n1;3800\n", ("row 2", "3800 mT", "tesla typed as mT")),
        ("Pole;B [Oe]\n1;38\n", ("'B [Oe]'", "units that are read")),
        ("Pole;B [mT];Field [G]\n1;38;380\n", ("both mean flux density",)),
        ("x;y\n1;2\n", ("none of the columns", "--column")),
        ("Pole,B [mT]\n1,38,5\n", ("row 2", "decimal commas between commas")),
        ("Pole;B [mT]\n", ("a head and a row",)),
        ("Pole;B [mT]\n1.5;38\n", ("row 2", "whole number")),
    ],
)  # fmt: skip
def test_a_fault_says_row_column_what_was_given_and_the_slip(data: str, words: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        pole_readings(read_table(grid_of(data.encode(), "t.csv")))
    for one in words:
        assert one in str(caught.value), str(caught.value)


def test_other_cells_say_whether_a_comma_is_decimal() -> None:
    """By itself 7,902 may be a thousand; beside 3,2 it is not, as long as no cell has a point."""
    table = read_table(grid_of(b"coil;DCR [kohm];Q\nA;7,902;3,2\nB;-0,500;3,1\n", "t.csv"))
    assert [one.values["direct resistance"] for one in table.rows] == pytest.approx([7902.0, -500.0])
    for cell in ("3", "3.2", "1,234,567"):
        with pytest.raises(InputError, match="decimal comma or as thousands"):
            read_table(grid_of(f"coil;DCR [kohm];Q\nA;7,902;{cell}\n".encode(), "t.csv"))


def test_a_test_frequency_under_what_a_meter_has_is_not_taken_for_one() -> None:
    """1,000 beside 4,5 is 1 Hz by the commas of the table, and 1000 Hz to whoever wrote it."""
    for head in ("f [Hz];Ls [H]", "name;f test [Hz];L [H]"):
        first = "A;" if head.startswith("name") else ""
        with pytest.raises(InputError, match=r"row 2.*'1,000'.*that is 1 Hz.*Is it 1000 Hz"):
            read_table(grid_of(f"{head}\n{first}1,000;4,5\n".encode(), "t.csv"))
    table = read_table(grid_of(b"f [kHz];Ls [H]\n1,000;4,5\n", "t.csv"))
    assert table.rows[0].values["frequency"] == 1000.0


def test_a_batch_says_what_it_did_not_read_and_took_for_granted() -> None:
    head = "name;DCR [kohm];L [H];{}\nA;7.9;4.4;1000\n"
    said = {one: batch_notes(read_table(grid_of(head.format(one).encode(), "t.csv"))) for one in ("f test [Hz]", "x")}
    assert said["f test [Hz]"] == ""
    assert said["x"].startswith("Not used: x. No test frequency was said; L is taken as read at 120 Hz")


def test_inductance_in_parallel_mode_is_refused() -> None:
    with pytest.raises(InputError, match="parallel mode"):
        read_table(grid_of(b"f [Hz];Lp [H];Q\n120;4.5;0.4\n", "t.csv"))


def test_a_unit_in_the_cell_counts_before_that_of_the_head() -> None:
    found = pole_readings(read_table(grid_of(b"Pole;B [mT]\n1;380 G\n2;38\n", "t.csv")))
    assert [one.flux_density for one in found] == pytest.approx([0.038, 0.038])


def test_pickups_and_sides_are_told_apart() -> None:
    data = b"pickup;side;pole;B [mT]\nneck;before;1;30\nneck;after;1;25\nbridge;before;1;40\n"
    table = read_table(grid_of(data, "t.csv"))
    assert [one.flux_density for one in pole_readings(table.of("neck", "after"))] == pytest.approx([0.025])
    with pytest.raises(InputError, match=r"middle.*bridge, neck"):
        table.of("middle")


def test_damaged_files_end_in_words() -> None:
    """400 tables cut or with bytes changed: read, or refused in words."""
    draw = random.Random(3)
    whole = [workbook([["Pole", "B [mT]"], [1, 38.5], [2, 40]]), b"Pole;B [mT]\n1;38,5\n2;40\n"]
    for _ in range(400):
        data = bytearray(draw.choice(whole))
        if draw.random() < 0.3:
            del data[draw.randrange(len(data)) :]
        for _ in range(draw.randint(0, 4)):
            if data:
                data[draw.randrange(len(data))] = draw.randrange(256)
        try:
            pole_readings(read_table(grid_of(bytes(data), "t")))
        except InputError:
            continue


@pytest.mark.parametrize("under", [["Hz", "mH", "-"], ["[Hz]", "[mH]", ""], ["(kHz)", "(H)", "1"]])
def test_a_row_of_units_under_the_head_is_its_units(under: list[str]) -> None:
    """Loggers write names in one row and units in the next; four faults came of the second."""
    hertz, henry = (1e3, 1.0) if "kHz" in under[0] else (1.0, 1e-3)
    rows: list[list[object]] = [["f", "Ls", "Q"], under, [120.0 / hertz, 4.41 / henry, 0.41]]
    for data in (separated(rows, ";", comma=True, encoding="utf-8-sig"), workbook(rows)):
        (found,) = meter_readings(read_table(grid_of(data, "logger")))
        assert (found.frequency, found.inductance, found.quality) == pytest.approx((120.0, 4.41, 0.41))
    with pytest.raises(InputError, match="a row of readings"):
        read_table(grid_of(separated(rows[:2], ";", comma=True, encoding="utf-8"), "logger"))


def test_a_unit_in_the_head_counts_before_one_under_it() -> None:
    table = read_table(grid_of(b"pole;B [mT]\n;G\n1;38\n", "two units"))
    assert pole_readings(table)[0].flux_density == pytest.approx(38e-3)
    with pytest.raises(InputError, match="flux density in 'mh'"):
        read_table(grid_of(b"pole;B\n;mH\n1;38\n", "wrong unit"))
