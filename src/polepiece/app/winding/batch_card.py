"""The card of a batch: a table of measured coils goes in; spread, drawing and who stands out come out."""

from collections.abc import Mapping
from typing import Any

from nicegui import events, run, ui

from polepiece.app.server import shared
from polepiece.app.server.uploads import taken
from polepiece.app.widgets.controls import Fault, choice, file_taker, table, text
from polepiece.errors import PolepieceError
from polepiece.measure import batch_notes, coil_heads, grid_of, measured_coils, read_table
from polepiece.notebook import kept_columns
from polepiece.report import batch_drawing
from polepiece.winding import MOST_LISTED, OUT_HEADS, SPREAD_HEADS, batch_sentence, judge, outlier_row, spread_row

LARGEST = 4 * 1024 * 1024  # bytes of a table
ADVICE = "A batch is a coil a row."
GAUGES = {str(one): f"AWG {one}" for one in range(40, 47)}


class BatchCard:
    """One tab's card of a batch."""

    def __init__(self) -> None:
        self.gauge = "42"
        text("h2", "A batch")
        text("p", "A table with a coil a row: name, R [kohm], L [H]; with test frequency, Q, resonance and turns where "
             "they were read.", "soft")  # fmt: skip
        with ui.element("div").classes("row"):
            choice("wire that was meant", GAUGES, self.gauge, self._choose, mark="batch-gauge")
            file_taker(
                "choose the table", self._take, lambda: self.fault.show(f"Up to 4 MiB are taken. {ADVICE}"),
                accept=".csv,.txt,.tsv,.xlsx", most=LARGEST, mark="batch-file",
            )  # fmt: skip
        self.fault = Fault()
        self.answer = ui.element("div").mark("batch-answer")

    def _choose(self, gauge: str) -> None:
        self.gauge = gauge

    async def _take(self, event: events.UploadEventArguments) -> None:
        self.fault.clear()
        try:
            data = await taken(event, LARGEST, ADVICE)
            known = kept_columns(shared.room().notebook)
            found = await run.io_bound(judged, data, event.file.name, int(self.gauge), known)
        except PolepieceError as error:
            self.fault.show(error)
            return
        if found is not None:  # else the server is going down
            self._show(found)

    def _show(self, found: dict[str, Any]) -> None:
        self.answer.clear()
        with self.answer:
            text("p", found["told"], "lead").props("role=status")
            if found["drawing"]:
                ui.html(found["drawing"], sanitize=False).classes("batch-drawing")
            table("Spread", SPREAD_HEADS, found["spread"])
            if found["out"]:
                table("Standing out", OUT_HEADS, found["out"], left=len(OUT_HEADS))
            if found["more"]:
                text("p", f"{found['more']} more stand out; polepiece winding batch --all lists them.", "small")


def judged(data: bytes, name: str, gauge: int, known: Mapping[str, str]) -> dict[str, Any]:
    """Return a batch in words, rows and a drawing; of any number of coils as much.

    Raises
    ------
    InputError
        When it is no table of coils, with its row; or too few to tell a spread.
    """
    grid = grid_of(data, name)
    read = read_table(grid, {**coil_heads(grid), **known})
    batch = judge(measured_coils(read), gauge=gauge)
    out = batch.outliers
    return {
        "told": f"{batch_sentence(batch)} {batch_notes(read)}".rstrip(),
        "spread": [spread_row(one) for one in batch.spreads],
        "out": [outlier_row(one) for one in out[:MOST_LISTED]], "more": max(len(out) - MOST_LISTED, 0),
        "drawing": batch_drawing(batch) if batch.spread("inductance") else "",
    }  # fmt: skip
