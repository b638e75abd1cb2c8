"""The card of one coil: fields for what is known, the others worked out with their intervals."""

from typing import Any

from nicegui import ui

from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.widgets.controls import Fault, Working, amount, choice, press, table, text
from polepiece.app.winding.followed import followed
from polepiece.errors import PolepieceError
from polepiece.winding import typed_knowns

FIELDS = {
    "resistance": "resistance between the leads (8.0k)", "turns": "turns of each coil (5600)",
    "fill": "window filled (70%)", "inductance": "inductance between the leads (4.5 H)",
}  # fmt: skip
BESIDE = {"temperature": "the coil had, degrees C (20)", "frequency": "the meter of L was at, Hz (120)"}
GAUGES = {"": "not known", **{str(one): f"AWG {one}" for one in range(40, 47)}}
BUILDS = {"": "single, or not known", "single": "single", "heavy": "heavy"}


class CoilCard:
    """One tab's card of a coil."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.client = desk, ui.context.client
        self.typed: dict[str, str] = {}
        self.file = ""
        text("h2", "One coil")
        text("p", "Say two or more of these; the others are worked out. The bobbin is this pickup's.", "soft")
        with ui.element("div").classes("row"):
            for key, words in FIELDS.items():
                self._field(key, words)
            choice("wire", GAUGES, "", lambda value: self._say("gauge", value), mark="winding-gauge")
            choice("insulation", BUILDS, "", lambda value: self._say("build", value), mark="winding-build")
        with ui.element("details"):
            text("summary", "how it was read")
            with ui.element("div").classes("row"):
                for key, words in BESIDE.items():
                    self._field(key, words)
        press("work it out", self._work, cls="main", mark="winding-coil")
        self.fault, self.working = Fault(), Working()
        self.answer = ui.element("div").mark("winding-coil-answer")

    def _field(self, key: str, words: str) -> None:
        amount(words, "", lambda value: self._say(key, value), mark=f"winding-{key}")

    def _say(self, key: str, value: str) -> None:
        self.typed[key] = value

    async def _work(self) -> None:
        self.fault.clear()
        try:
            knowns = typed_knowns(**{key: value for key, value in self.typed.items() if value.strip()})
            job = shared.room().jobs.run(
                "coil", self.desk.guitar, self.desk.pickup, knowns, on_progress=self.working.show_progress
            )
        except PolepieceError as error:
            self.fault.show(error)
            return
        found = await followed(job, self.client, self.working, self.fault)
        if found is not None:
            self._show(found)

    def _show(self, found: dict[str, Any]) -> None:
        self.file = found["file"]
        self.answer.clear()
        with self.answer:
            text("p", found["told"], "lead").props("role=status")
            for caption, heads, rows in found["tables"]:
                table(caption, heads, rows)
            press("guitar file with this winding", self._download, cls="quiet", mark="winding-file")

    def _download(self) -> None:
        ui.download.content(self.file.encode(), f"{self.desk.pickup}-winding.guitar.toml", "text/plain")
