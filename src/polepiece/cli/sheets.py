"""``--out`` of a command that answers in the terminal: the same as a page, a PDF, or its tables as CSV."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from polepiece.cli.console import console
from polepiece.cli.output import writable, write_whole

if TYPE_CHECKING:
    from rich.table import Table

    from polepiece.guitar import Guitar
    from polepiece.planning import Plan, Row
    from polepiece.report import Printed, PrintedTable

ENDINGS = (".html", ".htm", ".pdf", ".csv")
PLAN_HEADS = (
    "row", "what to do", "what you get, 90 % interval", "heard", "minutes", "cost", "worse", "way back", "risk", "why",
)  # fmt: skip
FIRST_TABLE = 7  # columns that fit across A4


def check_report(out: str, source: str, *, replace: bool) -> None:
    """Refuse a name before any work is done.

    Raises
    ------
    InputError
        For another ending, a file that is there, or the guitar file itself.
    """
    from polepiece.errors import InputError

    ending = Path(out).suffix
    if ending.lower() not in ENDINGS:
        raise InputError(f"--out {out} ends in {ending or 'nothing'}; write a name that ends in .html, .pdf or .csv.")
    writable("--out", out, inputs=[source], replace=replace)


def write_report(out: str, sheet: "Printed") -> None:
    """Write the sheet as the ending says."""
    from polepiece.report import printed_csv, printed_html, printed_pdf

    ending = Path(out).suffix.lower()
    if ending == ".pdf":
        write_whole(out, printed_pdf(sheet))
    else:
        write_whole(out, printed_csv(sheet) if ending == ".csv" else printed_html(sheet))


def say_written(out: str) -> None:
    """Say where it is."""
    console().print(f"Written: {Path(out).resolve()}", soft_wrap=True, markup=False)


def plan_sheet(guitar: "Guitar", found: "Plan", *, one_table: bool = False) -> "Printed":
    """Return a plan to keep: the answer, every row that was worked out, why, and what was refused.

    ``one_table``: all of a row in one line, as CSV has it; a page of A4 has two tables, so that nothing is cut off.
    """
    from polepiece.planning import answer_of
    from polepiece.report import Printed, PrintedTable

    answer = answer_of(found)
    said = (answer.start, *answer.repair, answer.rule_out, *answer.not_computed)
    after = [answer.bars, *answer.parted, answer.order, answer.hangs_on, found.few]
    for one in found.refused:
        alike = f" ({one.alike} more for the same reason)" if one.alike else ""
        after.append(f"Refused: {', '.join(one.change)}: {one.reason}{alike}")
    rows = [_plan_cells(row) for row in found.rows if row.change]
    parts = [("What to try, in this order", range(len(PLAN_HEADS)))] if one_table else [
        ("What to try, in this order", range(FIRST_TABLE)),
        ("Why, way back and risk", (0, *range(FIRST_TABLE, len(PLAN_HEADS)))),
    ]  # fmt: skip
    tables = [
        PrintedTable(title=name, heads=[PLAN_HEADS[n] for n in at], rows=[[row[n] for n in at] for row in rows])
        for name, at in parts
        if rows
    ]
    title = f"{guitar.name or 'Guitar'}: {answer.title}".rstrip(".")
    return Printed(title=title, paragraphs=_said(said), tables=tables, after=_said([*after, *_constants()]))


def _constants() -> list[str]:
    """Say which constants are in use where they are not the published ones."""
    from polepiece.materials import PUBLISHED, constants_words

    return [] if constants_words() == PUBLISHED else [f"Constants in use: {constants_words()}."]


def _plan_cells(row: "Row") -> list[str]:
    from polepiece.planning import answer_row

    one = answer_row(row)
    cells = (row.rank, one.do, one.get, one.heard, row.minutes, row.cost, one.worse, row.way_back, row.risk, row.why)
    return [str(cell) for cell in cells]


def _said(texts: Iterable[str]) -> list[str]:
    return [one for one in texts if one]


def printed(title: str, paragraphs: Iterable[str], shown: "Iterable[Table | str]") -> "Printed":
    """Return what a command shows in the terminal as a sheet to keep: sentences before and after, tables between."""
    from polepiece.report import Printed

    shown = list(shown)
    return Printed(
        title=title, paragraphs=[*paragraphs, *_constants()],
        tables=as_printed(one for one in shown if not isinstance(one, str)),
        after=[one for one in shown if isinstance(one, str)],
    )  # fmt: skip


def as_printed(tables: Iterable["Table"]) -> "list[PrintedTable]":
    """Return tables of the terminal as tables to keep."""
    from polepiece.report import PrintedTable

    out = []
    for one in tables:
        columns = [[str(cell) for cell in column.cells] for column in one.columns]
        heads = [str(column.header) for column in one.columns]
        rows: list[Sequence[str]] = list(zip(*columns))
        out.append(PrintedTable(title=str(one.title), heads=heads, rows=rows))
    return out
