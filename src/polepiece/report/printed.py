"""What a command prints, to keep: paragraphs and tables as one HTML file, as PDF, or the tables as CSV."""

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
    """Return the tables as CSV, a line with its title above each where there are several."""
    rows: list[Sequence[str]] = []
    for one in sheet.tables:
        rows += [[one.title]] if len(sheet.tables) > 1 else []
        rows += [one.heads, *one.rows]
    return csv_text(rows)
