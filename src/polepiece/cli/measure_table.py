"""``polepiece measure table``: what a meter's table of readings is understood as; kept with a guitar where asked."""

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.options import Json, NotebookFile, PickupName
from polepiece.cli.read_table import ColumnWords, Sheet, TableSide, table_from

if TYPE_CHECKING:
    from polepiece.measure import ReadTable

NAME = "table"
READINGS = "polepiece/readings/1"


def command(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A table of readings, *.csv or *.xlsx.")],
    column: ColumnWords = None,
    sheet: Sheet = None,
    pickup_name: PickupName = None,
    side: TableSide = None,
    keep: Annotated[
        str | None, typer.Option("--keep", metavar="GUITAR", help="Keep the readings with a guitar on record.")
    ] = None,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Readings of a gauss or LCR meter out of a table: what each column is taken for, and every value with its unit.

    Units are read in the head, [mT], (kHz), or in the cell. What a head does not say is said once with --column.

    Example: polepiece measure table readings.xlsx --column "Feld=flux density mT"
    """
    found = table_from(file, column, sheet=sheet, notebook=notebook).of(pickup_name, side)
    body = readings_body(found)
    kept = None if keep is None else _kept(body, keep, pickup_name, notebook)
    if json:
        emit(plain_envelope("measure-table", body | {"kept": kept}))
        return
    screen = console()
    for one in _shown(found):
        screen.print(one)
    if found.unused:
        screen.print(f"Not used: {', '.join(found.unused)}.", soft_wrap=True, markup=False)
    if kept:
        screen.print(kept, soft_wrap=True, markup=False)


def readings_body(found: "ReadTable") -> dict[str, Any]:
    """Return a table's readings as JSON values: what they were read as, and the hash of the file."""
    from polepiece.measure import meter_readings, one_value, pole_readings

    gauss = pole_readings(found) if found.has("pole", "flux density") else ()
    meters = meter_readings(found) if found.has("frequency", "inductance") else ()
    return {
        "file": found.name, "sha256": found.sha256,
        "columns": [{"head": one.head, "meaning": one.meaning, "unit": one.unit} for one in found.columns],
        "poles": [asdict(one) for one in gauss], "meters": [asdict(one) for one in meters],
        "direct_resistance_ohm": one_value(found, "direct resistance"),
        "temperature_c": one_value(found, "temperature"),
    }  # fmt: skip


def _kept(body: dict[str, Any], keep: str, pickup: str | None, notebook: str | None) -> str:
    from polepiece.notebook import open_notebook

    count = len(body["poles"]) + len(body["meters"])
    with open_notebook(notebook) as book:
        entry = book.find_guitar(keep)
        note = book.write_note(
            entry.id, f"{count} readings of {body['file']}{f', {pickup}' if pickup else ''}", state_id=entry.state_id,
            sort="measurement", body={"schema": READINGS, "pickup": pickup, **body},
        )  # fmt: skip
    return f"kept as entry {note.id} of {entry.name}"


def _shown(found: "ReadTable") -> list[Any]:
    body = readings_body(found)
    out: list[Any] = []
    if body["poles"]:
        poles = [(f"{one['row']} {one['pole']}".strip(), one["flux_density"]) for one in body["poles"]]
        rows = [(place, f"{1e3 * flux:+.2f}", f"{1e4 * flux:+.0f}") for place, flux in poles]
        out.append(table("Gauss meter", ("pole", "mT", "gauss"), rows))
    if body["meters"]:
        meters = [(one["frequency"], one["inductance"], one["quality"]) for one in body["meters"]]
        rows = [(f"{f:g}", f"{henry:.4g}", "-" if q is None else f"{q:.3g}") for f, henry, q in meters]
        out.append(table("LCR meter, series", ("Hz", "H", "Q"), rows))
    if body["direct_resistance_ohm"] is not None:
        out.append(f"Direct resistance: {body['direct_resistance_ohm'] / 1e3:.3f} kohm.")
    if body["temperature_c"] is not None:
        out.append(f"At {body['temperature_c']:g} degrees C.")
    return out or [_lacking(found)]


def _lacking(found: "ReadTable") -> str:
    """Say why no reading came of a table: which column its readings would need as well."""
    for one, other in (("flux density", "pole"), ("frequency", "inductance")):
        for there, lacks in ((one, other), (other, one)):
            if found.has(there):  # type: ignore[arg-type]
                return (
                    f"No reading is whole: there is a column of {there}, none of {lacks}. "
                    f'Say which it is: --column "HEAD={lacks}".'
                )
    return "No column holds a reading of a gauss or LCR meter."
