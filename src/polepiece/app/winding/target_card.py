"""The card of a target: a resonance typed, or a curve given as a file; turns, wire, bar and gap come out."""

from typing import Any

from nicegui import events, run, ui

from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.server.uploads import taken
from polepiece.app.widgets.controls import Fault, Working, amount, choice, file_taker, press, table, text
from polepiece.app.winding.followed import followed
from polepiece.errors import PolepieceError
from polepiece.measure import grid_of
from polepiece.winding import Target, target_curve, typed_build, typed_target, typed_value

LARGEST = 1024 * 1024  # bytes of a curve
ADVICE = "A curve is a table of frequency and dB."
FIELDS = {
    "resonance": "resonance in the guitar (3.2k)", "height": "height of its peak, dB (4)",
    "level": "level against the guitar as it is, dB (1)",
}  # fmt: skip
BUILDS = {"single": "single", "heavy": "heavy"}


class TargetCard:
    """One tab's card of a target."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.client = desk, ui.context.client
        self.typed: dict[str, str] = {}
        self.build = "single"
        self.files: dict[str, str] = {}
        text("h2", "A target")
        text("p", "Turns, wire, bar and gap that come nearest; bobbin, poles and controls are this guitar's.", "soft")
        with ui.element("div").classes("row"):
            for key, words in FIELDS.items():
                self._field(key, words)
            choice("insulation", BUILDS, self.build, self._choose, mark="target-build")
        with ui.element("div").classes("row"):
            press("search", self._search, cls="main", mark="target-search")
            file_taker(
                "aim at a curve from a file instead", self._take, lambda: self.fault.show(f"Up to 1 MiB. {ADVICE}"),
                accept=".csv,.txt,.tsv,.xlsx", most=LARGEST, mark="target-file",
            )  # fmt: skip
        self.fault, self.working = Fault(), Working()
        self.answer = ui.element("div").mark("target-answer")

    def _field(self, key: str, words: str) -> None:
        amount(words, "", lambda value: self._say(key, value), mark=f"target-{key}")

    def _say(self, key: str, value: str) -> None:
        self.typed[key] = value

    def _choose(self, build: str) -> None:
        self.build = build

    async def _search(self) -> None:
        self.fault.clear()
        try:
            target = typed_target(**{key: value for key, value in self.typed.items() if value.strip()})
        except PolepieceError as error:
            self.fault.show(error)
            return
        await self._aim(target)

    async def _take(self, event: events.UploadEventArguments) -> None:
        self.fault.clear()
        try:
            data = await taken(event, LARGEST, ADVICE)
            found = await run.io_bound(lambda: target_curve(grid_of(data, event.file.name)))
            if found is None:
                return  # the server is going down
            level = typed_value("level", self.typed.get("level"))
            target = Target(frequency=found[0], curve_db=found[1], level_db=level)
        except PolepieceError as error:
            self.fault.show(error)
            return
        await self._aim(target)

    async def _aim(self, target: Target) -> None:
        try:
            job = shared.room().jobs.run(
                "winding target", self.desk.guitar, self.desk.pickup, target, build=typed_build(self.build) or "single",
                on_progress=self.working.show_progress,
            )  # fmt: skip
        except PolepieceError as error:
            self.fault.show(error)
            return
        found = await followed(job, self.client, self.working, self.fault)
        if found is not None:
            self._show(found)

    def _show(self, found: dict[str, Any]) -> None:
        self.files = dict(found["files"])
        self.answer.clear()
        with self.answer:
            text("p", found["told"], "lead").props("role=status")
            for caption, heads, rows in found["tables"]:
                table(caption, heads, rows, left=1)
            text("p", found["note"], "small soft")
            first = next(iter(self.files))
            with ui.element("div").classes("row"):
                self.chosen = choice("guitar file of", {one: one for one in self.files}, first, lambda _: None,
                                     mark="target-which")  # fmt: skip
                press("download it", self._download, cls="quiet", mark="target-download")

    def _download(self) -> None:
        name = f"{self.desk.pickup}-target.guitar.toml"
        ui.download.content(self.files[self.chosen.value].encode(), name, "text/plain")
