"""What a command prints, to keep: paragraphs and tables as one HTML file, as PDF, or the tables as CSV."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from polepiece import __version__
from polepiece.errors import PolepieceError
from polepiece.materials import constants_hash
from polepiece.report.curves import csv_text
from polepiece.report.worksheet.page import NO_PDF


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedTable:
    """One table; cells are ready to print."""

    title: str
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """One answer of a command; the first paragraph is the sentence that is told."""

    title: str
    paragraphs: Sequence[str]
    tables: Sequence[PrintedTable]
    after: Sequence[str] = ()  # paragraphs below the tables


def printed_html(sheet: Printed) -> str:
    """Return a self-contained HTML page."""
    loader = FileSystemLoader(Path(__file__).with_name("templates"))
    environment = Environment(
        loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    page = environment.get_template("printed.html.j2")
    return page.render(sheet=sheet, version=__version__, constants=constants_hash())


def printed_pdf(sheet: Printed) -> bytes:
    """Return the same page as PDF.

    Raises
    ------
    PolepieceError
        When WeasyPrint, which the extra ``pdf`` brings, is not installed.
    """
    try:
        from weasyprint import HTML  # type: ignore[import-untyped]
    except (ImportError, OSError) as error:  # OSError: its system libraries are missing
        raise PolepieceError(f"{NO_PDF} ({error})") from error
    document: Any = HTML(string=printed_html(sheet))
    return bytes(document.write_pdf())


def printed_csv(sheet: Printed) -> str:
    """Return the tables as one CSV table, for programs: a head once, every row as long, a number a cell.

    Several tables have a first column that says which one a row is of, and blanks in what only another one has. An
    interval, or a value with what is added to it, stands in cells of its own; a unit behind a name has its column.
    """
    tables = [_apart(one) for one in sheet.tables]
    if len(tables) == 1:
        return csv_text([tables[0].heads, *tables[0].rows])
    heads = list(dict.fromkeys(head for one in tables for head in one.heads))
    rows = [
        [one.title, *(dict(zip(one.heads, row)).get(head, "") for head in heads)] for one in tables for row in one.rows
    ]
    return csv_text([["table", *heads], *rows])


def _apart(table: PrintedTable) -> PrintedTable:
    """Return a table in which every cell holds one number, or words."""
    columns = [part for n, head in enumerate(table.heads) for part in _parts(head, [row[n] for row in table.rows])]
    return PrintedTable(
        title=table.title, heads=[head for head, _ in columns], rows=list(zip(*(cells for _, cells in columns)))
    )


_N = r"[+-]?\d+(?:\.\d+)?"
_PAIRS: tuple[tuple[re.Pattern[str], tuple[str, ...]], ...] = (  # how cells hold several numbers, and heads of each
    (re.compile(rf"({_N}) \[({_N})\.\.({_N})\]"), ("{}", "{}, 90 % from", "{}, 90 % to")),
    (re.compile(rf"({_N}) to ({_N})"), ("{} from", "{} to")),
    (re.compile(rf"({_N}) ([+-]\d+(?:\.\d+)?)"), ("{}", "{}, added")),
)
_NAMED = re.compile(r"(.+), (dB|Hz|kHz|H|kohm|ohm|mm|mT|mN|pF|nF)")  # a name with its unit behind it


def _parts(head: str, cells: Sequence[str]) -> list[tuple[str, list[str]]]:
    """Return a column as the columns that its cells hold."""
    said = [one for one in cells if one not in ("", "-")]
    for pattern, heads in _PAIRS:
        if said and all(pattern.fullmatch(one) for one in said):
            found = [pattern.fullmatch(one) for one in cells]
            return [
                (name.format(head), ["" if one is None else one[n] for one in found]) for n, name in enumerate(heads, 1)
            ]
    if not head and said and all(_NAMED.fullmatch(one) for one in said):
        named = [_NAMED.fullmatch(one) for one in cells]
        return [
            (name, ["" if one is None else one[n] for one in named]) for n, name in enumerate(("quantity", "unit"), 1)
        ]
    return [(head, list(cells))]
