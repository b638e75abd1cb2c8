"""A table as it lies in a file, CSV or XLSX: its rows of text cells, each with its number there."""

import csv
import hashlib
import io
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from polepiece.errors import InputError

LARGEST_TABLE = 4 * 1024 * 1024  # bytes of a file: ten thousand readings are less than one MiB
UNPACKED = 32 * 1024 * 1024  # bytes that a workbook may unpack to
MOST_ROWS, MOST_COLUMNS, LONGEST_CELL = 10_000, 100, 300
DELIMITERS = "\t;,"


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """A table: name of the file and SHA-256 of its bytes, and the rows that hold anything, as (number, cells)."""

    name: str
    sha256: str
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def grid_of(data: bytes, name: str, *, sheet: str | None = None) -> Grid:
    """Return the table in a file.

    Parameters
    ----------
    data : bytes
        Of the whole file; a workbook is told by its bytes, not by its name.
    name : str
        For messages.
    sheet : str, optional
        Of a workbook; default its first one.

    Raises
    ------
    InputError
        When it is too large, no table, or holds nothing.
    """
    if len(data) > LARGEST_TABLE:
        raise InputError(f"{name} has {len(data) / 2**20:.1f} MiB; tables of readings up to 4 MiB are read.")
    rows: Iterable[Iterable[str]]
    if data[:4] == b"PK\x03\x04":
        rows = _workbook(data, name, sheet)
    elif data[:4] == b"\xd0\xcf\x11\xe0":
        raise InputError(f"{name} is a workbook of the old kind (.xls); save it as .xlsx or CSV.")
    elif sheet is not None:
        raise InputError(f"{name} is no workbook; it has no sheet {sheet!r}.")
    else:
        rows = _separated(_decoded(data, name), name)
    kept = tuple(_judged(rows, name))
    if len(kept) < 2:
        raise InputError(f"{name} has {len(kept)} rows; a head and a row of readings at least are needed.")
    return Grid(name=name, sha256=hashlib.sha256(data).hexdigest(), rows=kept)


def _judged(rows: Iterable[Iterable[str]], name: str) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Yield the rows that hold anything, with their numbers; refuse what no table of readings is."""
    for number, row in enumerate(rows, start=1):
        if number > MOST_ROWS:
            raise InputError(f"{name} has more than {MOST_ROWS} rows; is it the recording of a logger?")
        cells = [one.strip() for one in row]
        while cells and not cells[-1]:
            cells.pop()
        if len(cells) > MOST_COLUMNS or any(len(one) > LONGEST_CELL for one in cells):
            raise InputError(f"{name}, row {number}: more than {MOST_COLUMNS} columns, or a cell too long to be one.")
        if cells:
            yield number, tuple(cells)


def _decoded(data: bytes, name: str) -> str:
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    for encoding in ("utf-16",) if wide else ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise InputError(f"{name} is no text and no workbook; CSV and XLSX are read.")


def _separated(text: str, name: str) -> list[list[str]]:
    """Split a CSV at the mark that its head is split at: tabs before semicolons before commas."""
    head = next((line for line in text.splitlines() if line.strip()), "")
    mark = next((one for one in DELIMITERS if one in head), ",")
    csv.field_size_limit(LARGEST_TABLE)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True))
    except csv.Error as error:
        raise InputError(f"{name} is no CSV ({error}).") from None
    wide = len(next((row for row in rows if any(row)), []))
    if mark == ",":
        for number, row in enumerate(rows, start=1):
            if len([one for one in row if one.strip()]) > wide:
                raise InputError(
                    f"{name}, row {number} has {len(row)} cells and the head {wide}: decimal commas between commas? "
                    "Save it with semicolons or tabs between the columns."
                )
    return rows


def _workbook(data: bytes, name: str, sheet: str | None) -> Iterator[list[str]]:
    from openpyxl import load_workbook  # a fifth of a second, for workbooks only

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(one.file_size for one in packed.infolist()) > UNPACKED:
                raise InputError(f"{name} unpacks to more than {UNPACKED >> 20} MiB; that is no table of readings.")
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        try:
            if sheet is not None and sheet not in book.sheetnames:
                raise InputError(f"{name} has no sheet {sheet!r}; it has {', '.join(book.sheetnames)}.")
            chosen = book[sheet] if sheet is not None else book.worksheets[0]
            for row in chosen.iter_rows(max_col=MOST_COLUMNS + 1, max_row=MOST_ROWS + 1, values_only=True):
                yield [_cell(one) for one in row]
        finally:
            book.close()
    except InputError:
        raise
    except Exception as error:  # the reader lets every fault of a damaged workbook through as what it happens to be
        raise InputError(f"{name} is a damaged workbook ({type(error).__name__}); save it anew, or as CSV.") from None


def _cell(value: object) -> str:
    """Return what a cell holds as text; a whole number without its ``.0``, as it was typed."""
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return value.isoformat() if isinstance(value, date) else str(value)
