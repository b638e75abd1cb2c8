"""Tables of readings on the command line: ``--table FILE`` with its columns, as the notebook knows them."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.measure import Grid, MeasuredCoil, ReadTable

TableFile = Annotated[
    str | None,
    typer.Option("--table", metavar="FILE", help="Readings as a table, *.csv or *.xlsx, in place of --reading."),
]
Sheet = Annotated[str | None, typer.Option("--sheet", metavar="NAME", help="Of a workbook; default the first.")]
ColumnWords = Annotated[
    list[str] | None,
    typer.Option(
        "--column", metavar="HEAD=MEANING", help='What a column means, kept in the notebook: "Feld=flux density mT".'
    ),
]
TableSide = Annotated[
    str | None, typer.Option("--side", metavar="WHICH", help="Of a table that holds both: its rows before or after.")
]


def table_from(
    file: str, columns: Sequence[str] | None, *, sheet: str | None = None, notebook: str | None = None
) -> "ReadTable":
    """Read a table with what is known of its columns; what is said of them now is kept once the table is read."""
    from polepiece.measure import grid_of, table_bytes

    return _understood(grid_of(table_bytes(file), file, sheet=sheet), columns, notebook, {})


def _understood(
    grid: "Grid", columns: Sequence[str] | None, notebook: str | None, more: "dict[str, str]"
) -> "ReadTable":
    """Return a table read with what is known of its columns, ``more`` where nobody said anything else."""
    from polepiece.measure import read_table, said_columns
    from polepiece.notebook import keep_columns, kept_columns, may_be_there, notebook_path, open_notebook, read_notebook

    said = said_columns(columns or ())
    known: dict[str, str] = {}
    if may_be_there(notebook_path(notebook)):
        with read_notebook(notebook) as book:
            known = kept_columns(book)
    found = read_table(grid, more | known | said)
    if said:
        with open_notebook(notebook) as book:
            keep_columns(book, said)
    return found


def coils_from(
    file: str, columns: Sequence[str] | None, *, sheet: str | None = None, notebook: str | None = None
) -> "tuple[str, tuple[MeasuredCoil, ...], str]":
    """Read a batch of coils: the name of its file, a coil a row, and what to say of it; columns as in `table_from`."""
    from polepiece.measure import batch_notes, coil_heads, grid_of, measured_coils, table_bytes

    grid = grid_of(table_bytes(file), file, sheet=sheet)
    understood = _understood(grid, columns, notebook, coil_heads(grid))
    return grid.name, measured_coils(understood), batch_notes(understood)


def one_of(reading: object, table: str | None, columns: Sequence[str] | None = None) -> None:
    """Refuse readings given twice, none at all, and columns without a table."""
    if (table is None) == (not reading):
        raise InputError("give the readings with --reading, or with --table FILE: one of the two.")
    if columns and table is None:
        raise InputError("--column belongs to --table FILE.")
