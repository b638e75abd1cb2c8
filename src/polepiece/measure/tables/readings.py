"""Readings out of a table: every cell by the one reader of typed numbers, every fault with its row and column."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from polepiece.errors import InputError
from polepiece.measure.meters.electrical import TEST_FREQUENCIES, MeterReading
from polepiece.measure.meters.gauss import ROWS, PoleReading
from polepiece.measure.tables.columns import (
    UNIT_NEEDED,
    UNITS,
    WORDS,
    Column,
    Meaning,
    column_of,
    plain_head,
    unit_alone,
    with_unit_below,
)
from polepiece.measure.tables.grid import Grid
from polepiece.meter_accuracy import LCR_ACCURACY
from polepiece.typed_number import MINUSES, NUMBER, typed_number

MOST_FAULTS = 12  # that are listed
_CELL = re.compile(rf"\s*({NUMBER})\s*([^\W\d_\u00b0]*|\u00b0[cC])\s*")
_DECIMAL = re.compile(r"^\D*(?:0,\d+|\d+,(?:\d{1,2}|\d{4,}))(?![\d,])")  # no group of thousands
_THREE = re.compile(r"^(\D*\d{1,3}),(\d{3})(?![\d,])")  # decimals, or thousands
Reading = TypeVar("Reading", PoleReading, MeterReading)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadRow:
    """One row: its number in the file, its values in SI by what they mean, and which of them carried a sign."""

    number: int
    values: Mapping[Meaning, float]
    words: Mapping[Meaning, str]
    signed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadTable:
    """A table whose columns are understood."""

    name: str
    sha256: str
    columns: tuple[Column, ...]
    rows: tuple[ReadRow, ...]

    @property
    def unused(self) -> tuple[str, ...]:
        """Heads of the columns that mean nothing here."""
        return tuple(one.head for one in self.columns if one.meaning == "not used" and one.head)

    def has(self, *meanings: Meaning) -> bool:
        """Tell whether there is a column of each."""
        return set(meanings) <= {one.meaning for one in self.columns}

    def of(self, pickup: str | None = None, side: str | None = None) -> "ReadTable":
        """Return the rows of one pickup, and of one side ("before", "after"), where the table names them.

        Raises
        ------
        InputError
            When it names them and has no such row.
        """
        rows = self.rows
        for meaning, wanted in (("pickup", pickup), ("side", side)):
            if wanted is None or not self.has(meaning):  # type: ignore[arg-type]
                continue
            there = {row.words.get(meaning, "").lower() for row in rows}  # type: ignore[call-overload]
            rows = tuple(row for row in rows if row.words.get(meaning, "").lower() == wanted.lower())  # type: ignore[call-overload]
            if not rows:
                raise InputError(
                    f"{self.name} has no rows of the {meaning} {wanted!r}; it has {', '.join(sorted(there))}."
                )
        return ReadTable(name=self.name, sha256=self.sha256, columns=self.columns, rows=rows)


def read_table(grid: Grid, said: Mapping[str, str] | None = None) -> ReadTable:
    """Return the rows of a grid as values in SI.

    Parameters
    ----------
    grid : Grid
        Its first row is the head.
    said : mapping, optional
        What a person said of heads (`plain_head`): ``{"feld": "flux density mT"}``.

    Raises
    ------
    InputError
        With one line for each fault: row, column, what was given, what is allowed, the likely slip.
    """
    (_, head), *rows = grid.rows
    units = _units_below(rows[0][1])
    if units:
        rows = rows[1:]
    if not rows:
        raise InputError(f"{grid.name} has a head and a row of units; a row of readings at least is needed.")
    faults: list[str] = []
    columns = []
    for place, one in enumerate(head):
        try:
            column = column_of(place, one, said or {})
            columns.append(with_unit_below(column, units[place] if place < len(units) else ""))
        except InputError as error:
            faults.append(str(error))
    meanings = [one.meaning for one in columns if one.meaning != "not used"]
    for twice in sorted({one for one in meanings if meanings.count(one) > 1}):
        heads = " and ".join(repr(one.head) for one in columns if one.meaning == twice)
        faults.append(f'columns {heads} both mean {twice}; say which does not: --column "HEAD=not used".')
    if not meanings and not faults:
        faults.append(
            f'none of the columns ({", ".join(map(repr, head))}) is known; say what one means: --column "HEAD=flux '
            'density mT". Does the first row hold the names?'
        )
    if faults:
        raise InputError("\n".join(f"{grid.name}: {one}" for one in faults))
    decimal = _has_decimal_commas(columns, rows)
    read = [_row(number, cells, columns, faults, decimal=decimal) for number, cells in rows]
    if faults:
        more = f"\nand {len(faults) - MOST_FAULTS} more." if len(faults) > MOST_FAULTS else ""
        raise InputError("\n".join(f"{grid.name}, {one}" for one in faults[:MOST_FAULTS]) + more)
    return ReadTable(name=grid.name, sha256=grid.sha256, columns=tuple(columns), rows=tuple(read))


def _units_below(cells: Sequence[str]) -> tuple[str, ...]:
    """Return the units of a row that holds nothing else, as loggers write them under the head; () where it is none."""
    found = [unit_alone(one) for one in cells]
    return () if None in found or not any(found) else tuple(one or "" for one in found)


def _has_decimal_commas(columns: Sequence[Column], rows: Sequence[tuple[int, Sequence[str]]]) -> bool:
    """Tell whether other cells say what ``7,902`` is: some comma is decimal for sure, and no cell has a point."""
    places = [one.place for one in columns if one.meaning not in ("not used", *WORDS)]
    cells = [row[place] for _, row in rows for place in places if place < len(row)]
    return any(map(_DECIMAL.search, cells)) and not any("." in one for one in cells)


def _row(number: int, cells: Sequence[str], columns: Iterable[Column], faults: list[str], *, decimal: bool) -> ReadRow:
    values: dict[Meaning, float] = {}
    words: dict[Meaning, str] = {}
    signed = False
    for column in columns:
        cell = cells[column.place] if column.place < len(cells) else ""
        if column.meaning == "not used" or not cell:
            continue
        if column.meaning in WORDS:
            words[column.meaning] = cell
            continue
        try:
            value = values[column.meaning] = _value(_THREE.sub(r"\1.\2", cell) if decimal else cell, column)
            if column.meaning == "frequency" and decimal and value < TEST_FREQUENCIES[0] and _THREE.search(cell):
                raise InputError(
                    f"beside decimal commas that is {value:g} Hz, at which no meter reads. Is it {1e3 * value:g} Hz? "
                    "Write it without a comma."
                )
        except InputError as error:
            faults.append(f"row {number}, column {column.head!r}: given is {cell!r}; {error}")
        signed = signed or (column.meaning == "flux density" and cell[:1] in f"+{MINUSES}")
    return ReadRow(number=number, values=values, words=words, signed=signed)


def _value(cell: str, column: Column) -> float:
    """Return one cell in SI; its own unit counts before that of the head."""
    if column.meaning == "pole":
        found = re.fullmatch(r"\s*(?:pole|string|no\.?|#)?\s*(\d{1,2})(?:\.0*)?\s*", cell.lower())
        if found is None:
            raise InputError("a pole is a whole number from 1, the one under the thin string.")
        return float(found[1])
    split = _CELL.fullmatch(cell)
    if split is None:
        typed_number(cell)  # says why
        raise InputError("it is no number with a unit behind it.")
    unit = split[2].lower() or column.unit
    if not unit and column.meaning in UNIT_NEEDED:
        raise InputError(f"it has no unit, nor has the head: {UNIT_NEEDED[column.meaning]}.")
    if unit and unit not in UNITS.get(column.meaning, {}):
        raise InputError(
            f"{column.meaning} in {unit!r}; units that are read: {', '.join(UNITS.get(column.meaning, {})) or 'none'}."
        )
    if not unit:
        unit = next(iter(UNITS.get(column.meaning, {"": 1.0})))
    try:
        return float(typed_number(split[1])) * (column.factor(unit) if column.meaning in UNITS else 1.0)
    except InputError as error:
        raise InputError(f"{error}.") from None


def pole_readings(table: ReadTable) -> tuple[PoleReading, ...]:
    """Return the readings of a gauss meter; where one has a sign, the meter shows signs.

    Raises
    ------
    InputError
        When there is no column of poles or of flux density, a pole twice, or a value no pole top has; with its row.
    """
    _needs(table, "pole", "flux density")
    signed = any(row.signed for row in table.rows)

    def reading(row: ReadRow) -> PoleReading:
        side = row.words.get("row", "").lower()
        if side not in ROWS:
            raise InputError(f"there is no row {side!r} of poles; rows are screw, slug, rod.")
        return PoleReading(
            pole=int(row.values["pole"]), flux_density=row.values["flux density"], row=ROWS[side], signed=signed
        )

    found = _each(table, ("pole", "flux density"), reading)
    places = [(one.row, one.pole) for one in found]
    twice = sorted({one for one in places if places.count(one) > 1})
    if twice:
        which = ", ".join(" ".join(map(str, one)).strip() for one in twice)
        raise InputError(
            f"{table.name}: pole {which} is there twice; give the mean of its readings, or name the pickup or the side "
            "(before, after) if the table holds several."
        )
    return tuple(found)


def meter_readings(table: ReadTable, accuracy: float = LCR_ACCURACY) -> tuple[MeterReading, ...]:
    """Return the readings of an LCR meter; D is turned into Q = 1 / D (definition of the loss tangent).

    Raises
    ------
    InputError
        When there is no column of frequencies or inductances, or a value that no pickup has; with its row.
    """
    _needs(table, "frequency", "inductance")

    def reading(row: ReadRow) -> MeterReading:
        quality, loss = row.values.get("quality"), row.values.get("loss")
        if quality is None and loss is not None:
            if loss == 0.0:
                raise InputError("D is 0; pickups have 0.05 to 10. Is the meter set to show Q?")
            quality = 1.0 / loss
        return MeterReading(
            frequency=row.values["frequency"], inductance=row.values["inductance"], quality=quality, accuracy=accuracy
        )

    return tuple(_each(table, ("frequency", "inductance"), reading))


def one_value(table: ReadTable, meaning: Meaning) -> float | None:
    """Return a value that holds for the whole table, such as the direct resistance; None where there is none.

    Raises
    ------
    InputError
        When its rows differ.
    """
    found = {row.values[meaning] for row in table.rows if meaning in row.values}
    if len(found) > 1:
        raise InputError(
            f"{table.name}: {meaning} differs between the rows ({', '.join(f'{one:g}' for one in sorted(found)[:4])}); "
            "name the pickup or the side if the table holds several."
        )
    return found.pop() if found else None


def _needs(table: ReadTable, *meanings: Meaning) -> None:
    for one in meanings:
        if not table.has(one):
            heads = ", ".join(repr(each.head) for each in table.columns)
            raise InputError(
                f"{table.name} has no column of {one}; its columns are {heads}. Say which it is: --column "
                f'"HEAD={one}{" mT" if one == "flux density" else ""}".'
            )


def _each(table: ReadTable, needed: Sequence[Meaning], make: Callable[[ReadRow], Reading]) -> list[Reading]:
    """Make a reading of every row that has one; a row with none of it is passed over, one with half is a fault."""
    out, faults = [], []
    for row in table.rows:
        there = [one for one in needed if one in row.values]
        if not set(there) - {"pole"} and len(there) < len(needed):
            continue  # of another meter, or not read
        missing = [one for one in needed if one not in row.values]
        try:
            if missing:
                raise InputError(f"{', '.join(missing)} is missing.")
            out.append(make(row))
        except InputError as error:
            faults.append(f"{table.name}, row {row.number}: {error}")
    if not out and not faults:
        faults.append(f"{table.name} has no row with {' and '.join(needed)}.")
    if faults:
        raise InputError("\n".join(faults[:MOST_FAULTS]))
    return out


def said_columns(texts: Iterable[str]) -> dict[str, str]:
    """Read ``HEAD=meaning`` as typed; an equals sign in the head is taken as part of it.

    Raises
    ------
    InputError
        When one has no equals sign.
    """
    out = {}
    for text in texts:
        head, mark, told = text.rpartition("=")
        if not mark or not head.strip() or not told.strip():
            raise InputError(f'--column is {text!r}; write HEAD=meaning, such as "Feld=flux density mT".')
        out[plain_head(head)] = " ".join(told.split())
    return out
