"""Readings on a work sheet from a meter's table: CSV or XLSX, into the entries that a hand would type."""

from collections.abc import Callable, Mapping
from functools import partial

from nicegui import events, run, ui

from polepiece.app.server import shared
from polepiece.app.server.uploads import taken
from polepiece.app.sheet import log as sheet_log
from polepiece.app.sheet.log import Figure, SheetKey
from polepiece.app.widgets.controls import Fault, choice, file_taker, text
from polepiece.errors import InputError, PolepieceError
from polepiece.measure import ReadTable, grid_of, meter_readings, one_value, pole_readings, read_table
from polepiece.notebook import kept_columns
from polepiece.report import WorkSheet

LARGEST = 4 * 1024 * 1024  # bytes of a table
SIDES = {"baseline": "as found", "after": "after the work"}
AT = {120.0: "inductance_120hz_h", 1000.0: "inductance_1khz_h"}  # Hz, entry of the sheet
ADVICE = "Save the readings of this pickup alone."


def entries_of(table: ReadTable, sheet: WorkSheet, section: str) -> dict[str, tuple[str, str, Figure]]:
    """Return what a table says as entries of a sheet: by their keys, (label, text as typed, number with its unit).

    Raises
    ------
    InputError
        When nothing in it has a place on this sheet, or a reading cannot be one.
    """
    out: dict[str, tuple[str, str, Figure]] = {}
    part = sheet.section(f"{section}_strings")
    rows = [one.key.removeprefix("pole_gauss.") for one in (part.blanks if part else ()) if "pole_gauss." in one.key]
    if table.has("pole", "flux density"):
        for one in pole_readings(table):
            row = one.row or (rows[0] if rows else "")
            if row in rows:
                gauss = 1e4 * one.flux_density
                said = f"{gauss:+.0f} G" if one.signed else f"{gauss:.0f} G"
                label = f"{row} {one.pole}, gauss"
                out[f"{section}_strings.pole_gauss.{row}.{one.pole}"] = (
                    label,
                    said,
                    Figure(number=gauss, unit="gauss"),
                )
    if table.has("frequency", "inductance"):
        for each in meter_readings(table):
            key = AT.get(each.frequency)
            if key is not None:
                label = f"inductance at {each.frequency:g} Hz"
                figure = Figure(number=each.inductance, unit="H")
                out[f"{section}.{key}"] = (label, f"{each.inductance:.4g} H", figure)
    ohms = one_value(table, "direct resistance")
    if ohms is not None:
        figure = Figure(number=ohms / 1e3, unit="kohm")
        out[f"{section}.dc_resistance"] = ("DC resistance", f"{ohms / 1e3:.4g} k", figure)
    if not out:
        raise InputError(
            "the table holds nothing that this sheet asks for: pole and flux density, inductance at 120 Hz or 1 kHz, "
            "direct resistance."
        )
    return out


class FromTable:
    """A card that takes a table; ``written`` is called when its readings are on the disk."""

    def __init__(self, key: SheetKey, state_id: int, sheet: WorkSheet, written: Callable[[], None]) -> None:
        self.key, self.state_id, self.sheet, self.written = key, state_id, sheet, written
        self.side = "baseline"
        with ui.element("details").classes("off-bench"):
            text("summary", "readings from a table of a meter (CSV, XLSX)")
            with ui.element("div").classes("row"):
                choice("read", SIDES, self.side, self._choose, mark="table-side")
                file_taker(
                    "choose the table", self._take, lambda: self.fault.show(f"Up to 4 MiB are taken. {ADVICE}"),
                    accept=".csv,.txt,.tsv,.xlsx", most=LARGEST, mark="table-file",
                )  # fmt: skip
            self.said = text("p", "", "small").props("role=status")
            self.fault = Fault()

    def _choose(self, side: str) -> None:
        self.side = side

    async def _take(self, event: events.UploadEventArguments) -> None:
        self.fault.clear()
        book, side = shared.room().notebook, self.side
        try:
            data = await taken(event, LARGEST, ADVICE)
            found = await run.io_bound(self._read, data, event.file.name, kept_columns(book))
            if found is None:
                return  # the server is going down
            new = entries_of(found.of(self.key.pickup), self.sheet, side)
            for entry, (label, value, figure) in new.items():
                keep = partial(sheet_log.write, book, self.key, self.state_id, entry, value, label=label, figure=figure)
                await shared.written(keep)
        except PolepieceError as error:
            self.fault.show(error)
            return
        self.said.say(f"{len(new)} readings of {event.file.name} are on the sheet, {SIDES[side]}.")
        self.written()

    @staticmethod
    def _read(data: bytes, name: str, said: Mapping[str, str]) -> ReadTable:
        return read_table(grid_of(data, name), said)
