"""Plucks before and after, as a card of the proof: recordings are given, kept, compared."""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from functools import partial
from typing import Any

from nicegui import events, ui

from polepiece.app.hear.sounds import LARGEST
from polepiece.app.prove.proofs import SIDES, Keep, Proof, Recording, Side
from polepiece.app.server import shared
from polepiece.app.server.addressing import alive
from polepiece.app.server.uploads import kept_sound, taken_sound
from polepiece.app.sheet.shelf import Asked
from polepiece.app.widgets.controls import Fault, Working, file_taker, press, table, text
from polepiece.errors import PolepieceError
from polepiece.guitar import Guitar
from polepiece.measure import PLUCK_WORDS, Estimate, PluckComparison, estimates_of
from polepiece.shown_number import signed

PLUCKS = (
    "Each open string five times before and five times after the change, two seconds apart, the others muted; the same "
    "gain, place and pick, the guitar straight into the interface. Two takes of one state show what the hand alone "
    "makes."
)
LEAST = (
    "Least to show: half the 90 % interval had nothing changed; a smaller change these plucks cannot show. What the "
    "hand did otherwise from one sitting to the next is in no interval."
)
PLUCKED = {
    name: PLUCK_WORDS[name]
    for name in (
        "level_db", "sensitivity_1khz_db", "bands_db.lows", "bands_db.mids", "bands_db.highs", "bands_db.presence",
        "attack_minus_sustain_db.lows", "wound_minus_plain_db",
    )
}  # fmt: skip


class PlucksCard:
    """Recordings of both sides, and what comparing them came to.

    Parameters
    ----------
    what : Asked
    base : Guitar
        Its tuning and strings are those of the recordings.
    proof : Proof
    keep : callable
        Awaited with every entry of the proof that changes.
    on_compared : callable
    """

    def __init__(self, what: Asked, base: Guitar, proof: Proof, keep: Keep, on_compared: Callable[[], None]) -> None:
        self.what, self.base, self.proof, self._keep, self._on_compared = what, base, proof, keep, on_compared
        self.client = ui.context.client

    def build(self) -> None:
        """Put it on the page."""
        text("h2", "Plucks before and after")
        text("p", PLUCKS, "small soft")
        self.lists: dict[str, ui.element] = {}
        self.takers: dict[str, ui.upload] = {}
        self.fault = Fault()
        for side in SIDES:
            with ui.element("div").classes("row"):
                self.takers[side] = file_taker(
                    f"recordings {side} …", partial(self._recorded, side),
                    lambda: self.fault.show(too_large("a recording", LARGEST)),
                    accept=".wav,.flac,.aif,.aiff", most=LARGEST, mark=f"plucks-{side}",
                )  # fmt: skip
            self.lists[side] = ui.element("ul").classes("picked")
        self.working = Working()
        self.compare = press("compare the plucks", self._compare, mark="compare-plucks")
        self.compared = ui.element("div").mark("plucks-result")
        self._show_recordings()
        self._show_plucks()

    async def _recorded(self, side: Side, event: events.UploadEventArguments) -> None:
        self.fault.clear()
        name = event.file.name
        try:
            data, found = await taken_sound(event, LARGEST, "Give several shorter ones.")
            if found is None:  # the server is going down
                return
            digest = await kept_sound(data, found, f"{name[:60]}, plucks {side}", self.what.base.id)
            there = [one for one in self.proof.recordings.get(side, ()) if one.sha256 != digest]
            await self._keep_recordings(side, (*there, Recording(sha256=digest, name=name[:120])))
        except PolepieceError as error:
            self.fault.show(error)
        finally:
            self.takers[side].reset()

    async def _keep_recordings(self, side: Side, found: tuple[Recording, ...]) -> None:
        names = ", ".join(one.name for one in found) or "none"
        await self._keep(f"recordings.{side}", [asdict(one) for one in found], f"plucks {side}: {names}")
        if self.proof.plucks is not None:  # a comparison of other recordings
            await self._keep("plucks", None, "the comparison of other recordings is taken back")
            self._show_plucks()
            self._on_compared()
        self._show_recordings()

    async def _drop(self, side: Side, gone: Recording) -> None:
        await self._keep_recordings(side, tuple(one for one in self.proof.recordings[side] if one != gone))

    def _show_recordings(self) -> None:
        for side in SIDES:
            self.lists[side].clear()
            with self.lists[side]:
                for one in self.proof.recordings.get(side, ()):
                    with ui.element("li"):
                        text("span", f"{side}: {one.name}")
                        button = press("remove", partial(self._drop, side, one), cls="quiet")
                        button.props["aria-label"] = f"remove {one.name}, {side}"
        self.compare.allow(all(self.proof.recordings.get(side) for side in SIDES))

    async def _compare(self) -> None:
        self.fault.clear()
        book = shared.room().notebook
        self.compare.allow(False)
        try:
            takes = [[(one.name, book.sound(one.sha256)) for one in self.proof.recordings[side]] for side in SIDES]
            job = shared.room().jobs.run("plucks", self.base, *takes, on_progress=self.working.show_progress)
            found: PluckComparison = await self.working.follow(job)
            await self._keep("plucks", found.to_dict(), "plucks compared")
        except PolepieceError as error:
            if alive(self.client):
                self.fault.show(error)
            return
        finally:
            self.compare.allow(True)
        if alive(self.client):
            self._show_plucks()
            self._on_compared()

    def _show_plucks(self) -> None:
        self.compared.clear()
        record = self.proof.plucks
        if record is None:
            return
        named = {one.name: one for one in estimates_of(record)}
        least = {one["name"]: float(one["least"]) for one in record["estimates"]}
        rows = [
            (words, _changed(named[name]), f"{least[name]:.1f}") for name, words in PLUCKED.items() if name in named
        ]
        with self.compared:
            table("After less before, dB", ("quantity", "change [90 %]", "least to show"), rows)
            text("p", LEAST, "small soft")
            for words in record.get("notes", ()):
                text("p", str(words), "small")


def thirds_of(record: Mapping[str, Any]) -> list[tuple[float, float, float, float]]:
    """Return middle frequency, change and its interval of each third octave of a comparison."""
    head = "third_octave_db."
    found = [one for one in estimates_of(record) if one.name.startswith(head)]
    return sorted((float(one.name.removeprefix(head)), one.value, one.low, one.high) for one in found)


def _changed(one: Estimate) -> str:
    span = f"[{signed(one.low)} to {signed(one.high)}]"
    return f"not shown {span}" if one.low <= 0.0 <= one.high else f"{signed(one.value)} {span}"


def too_large(name: str, most: int) -> str:
    """Say that a file was too large for its button."""
    return f"{name} was not taken: at most {most >> 20} MiB, of the kinds that the button names."
