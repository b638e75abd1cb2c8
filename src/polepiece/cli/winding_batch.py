"""``polepiece winding batch``: measured coils beside one another, their spread, and which stand out and why."""

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.options import Json, NotebookFile, OutReport, Replace
from polepiece.cli.output import writable, write_whole
from polepiece.cli.read_table import ColumnWords, Sheet, coils_from
from polepiece.cli.sheets import check_report, printed, say_written, write_report

if TYPE_CHECKING:
    from polepiece.winding import Batch

NAME = "batch"


def command(
    file: Annotated[str, typer.Argument(metavar="TABLE", help="A coil a row, *.csv or *.xlsx: name, R, L ...")],
    gauge: Annotated[int, typer.Option("--gauge", "-g", metavar="AWG", help="That was meant, 40 to 46.")] = 42,
    column: ColumnWords = None,
    sheet: Sheet = None,
    everything: Annotated[bool, typer.Option("--all", help="List every coil that stands out, however many.")] = False,
    chart: Annotated[
        str | None, typer.Option("--chart", metavar="FILE.svg", help="Also draw them: L over R, who stands out named.")
    ] = None,
    out: OutReport = None,
    replace: Replace = False,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """A batch of measured coils: medians, spreads, and the coils that stand out, each with what would make it so.

    Columns are read by their heads: name, R [kohm] or DCR, L [H], and, where they are there, frequency, Q, resonance,
    turns, temperature; --column says what another head means.

    Example: polepiece winding batch coils.csv --gauge 42
    """
    from polepiece.errors import InputError
    from polepiece.report import batch_drawing
    from polepiece.winding import batch_sentence, judge

    if not 40 <= gauge <= 46:
        raise InputError(f"--gauge is {gauge}; allowed are 40 to 46. A diameter in mm is no gauge.")
    if out is not None:
        check_report(out, file, replace=replace)
    if chart is not None:
        writable("--chart", chart, inputs=[file], replace=replace)
    name, coils, notes = coils_from(file, column, sheet=sheet, notebook=notebook)
    batch = judge(coils, gauge=gauge)
    if chart is not None:
        write_whole(chart, batch_drawing(batch))
    told = f"{batch_sentence(batch)} {notes}".rstrip()
    if json:
        emit(plain_envelope("winding-batch", {"file": name, "told": told, **_body(batch)}))
        return
    shown = _shown(batch, everything=everything)
    if out is not None:
        write_report(out, printed(f"Batch of {len(coils)} coils", [told], shown))
    screen = console()
    for path in (out, chart):
        if path is not None:
            say_written(path)
    if out is not None:
        return
    screen.print(told, soft_wrap=True, markup=False)
    for one in shown:
        screen.print(one)


def _body(batch: "Batch") -> dict[str, Any]:
    return {
        "spreads": [asdict(one) for one in batch.spreads],
        "coils": [
            {
                **asdict(one.coil), "off_log": one.off, "scales": one.scales, "stands_out": list(one.stands_out),
                "causes": [asdict(cause) for cause in one.causes],
            }
            for one in batch.coils
        ],
    }  # fmt: skip


def _shown(batch: "Batch", *, everything: bool) -> list[Any]:
    from polepiece.winding import MOST_LISTED, OUT_HEADS, SPREAD_HEADS, outlier_row, spread_row

    shown: list[Any] = [table("Spread", SPREAD_HEADS, [spread_row(one) for one in batch.spreads])]
    out = batch.outliers if everything else batch.outliers[:MOST_LISTED]
    if out:
        shown.append(table("Standing out", OUT_HEADS, [outlier_row(one) for one in out], left=5))
    rest = len(batch.outliers) - len(out)
    if rest:
        shown.append(f"{rest} more stand out; --all lists them.")
    if everything:
        usual = [one for one in batch.coils if not one.stands_out]
        shown.append(table("The others", OUT_HEADS[:4], [outlier_row(one)[:4] for one in usual]))
    return shown
