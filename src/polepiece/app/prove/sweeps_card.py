"""What instruments said, as a card of the proof: meters off the work sheet, sweeps as records, and what they teach."""

import datetime
import json
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
from nicegui import events, run, ui

from polepiece.app.prove import proofs
from polepiece.app.prove.plucks_card import too_large
from polepiece.app.prove.proofs import SIDES, Keep, Proof, Side
from polepiece.app.prove.sweep_bench import SweepBench
from polepiece.app.prove.sweep_work import NOT_SAID
from polepiece.app.server import shared
from polepiece.app.server.desk import Desk
from polepiece.app.server.uploads import taken
from polepiece.app.sheet.shelf import Asked
from polepiece.app.widgets.controls import Fault, Working, file_taker, link, press, text
from polepiece.app.widgets.curves import Curve, Curves
from polepiece.errors import InputError, MeasurementError, PolepieceError
from polepiece.evidence import with_measured
from polepiece.guitar import Guitar
from polepiece.measure import MeasuredPickup, excitation, sweep_for
from polepiece.sound import to_bytes

IMPEDANCE = (
    "A sweep of the pickup alone, before and after: play the tone through one known resistor, record source and pickup "
    "side on two channels, and drop the recording here; it is measured here."
)
TONE_RATE = 96_000  # Hz
LEARN = (
    "What was measured can stand in the guitar in place of what was assumed; the next predictions then spread by the "
    "measurement."
)
LARGEST = 64 * 1024 * 1024  # bytes of a recording: three sweeps of 8 s at 192 kHz, two channels, 32 bit


class SweepsCard:
    """Meters and sweeps of both sides.

    Parameters
    ----------
    desk : Desk
    what : Asked
    proof : Proof
    entries : mapping
        What is written on the work sheet.
    keep : callable
        Awaited with every entry of the proof that changes.
    states : mapping
        The guitar before and after the change.
    sheet_path : str
        Of the work sheet's page.
    """

    def __init__(
        self, desk: Desk, what: Asked, proof: Proof, entries: Mapping[str, str], keep: Keep,
        states: Mapping[Side, Guitar], sheet_path: str,
    ) -> None:  # fmt: skip
        self.desk, self.what, self.proof, self.entries, self._keep = desk, what, proof, entries, keep
        self.states, self.sheet_path = states, sheet_path

    def build(self) -> None:
        """Put it on the page."""
        text("h2", "Instruments")
        with ui.element("p").classes("small"):
            text("span", "Multimeter and gauss meter are read off the ")
            link(f"{self.sheet_path}?{self.what.query()}", "work sheet")
            text("span", f". {self._read()}.")
        text("p", IMPEDANCE, "small soft")
        press("save the tone to play (WAV)", self._tone, cls="quiet", mark="sweep-tone")
        self.bench_fields = SweepBench(self.proof, self._keep, self.what.base.id)
        self.bench_fields.build()
        self.fault = Fault()
        with ui.element("div").classes("row"):
            self.takers = {
                side: file_taker(
                    f"sweep {side} …", partial(self._swept, side),
                    lambda: self.fault.show(too_large("a recording", LARGEST)),
                    accept=".wav,.flac,.aif,.aiff,.json", most=LARGEST, mark=f"sweep-{side}",
                )
                for side in SIDES
            }  # fmt: skip
        self.working = Working()
        self.records = ui.element("div").mark("sweeps")
        self._show_sweeps()

    def _read(self) -> str:
        found = proofs.readings_taken(self.entries)
        return f"Taken as: {found}" if found else "Nothing is read yet"

    @staticmethod
    async def _tone() -> None:
        """Hand out what is played through the resistor."""
        signal = sweep_for(TONE_RATE)
        data = await run.io_bound(lambda: to_bytes(excitation(signal), TONE_RATE, container="WAV"))
        if data is not None:
            ui.download.content(data, "sweep.wav", "audio/wav")

    async def _swept(self, side: Side, event: events.UploadEventArguments) -> None:
        self.fault.clear()
        name = event.file.name
        try:
            data = await taken(event, LARGEST, "A sweep is shorter.")
            record = record_in(data, name) if name.lower().endswith(".json") else await self._measured(name, data)
            await self._keep(f"impedance.{side}", record, f"sweep {side}: {name[:80]}")
        except PolepieceError as error:
            self.fault.show(error)
        finally:
            self.takers[side].reset()
        self._show_sweeps()

    async def _measured(self, name: str, data: bytes) -> dict[str, Any]:
        """Measure a recording here."""
        files, bench = self.bench_fields.read()
        today = datetime.datetime.now(datetime.UTC).date().isoformat()
        job = shared.room().jobs.run(
            "sweep", files | {"pickup": (name[:120], data)}, bench, today, on_progress=self.working.show_progress
        )
        try:
            found: MeasuredPickup = await self.working.follow(job)
        except PolepieceError as error:
            if str(error).endswith(NOT_SAID):
                self.bench_fields.ask(NOT_SAID)
            raise
        return found.to_dict()

    def _show_sweeps(self) -> None:
        self.records.clear()
        with self.records:
            for side in SIDES:
                record = self.proof.impedance.get(side)
                if record is None:
                    continue
                found = MeasuredPickup.from_dict(record)
                told = ", ".join(f"{words} {_interval(found, name, unit, scale)}" for name, words, unit, scale in (
                    ("resistance", "DC", "kΩ", 1e-3), ("inductance_120_hz", "L at 120 Hz", "H", 1.0),
                    ("resonance", "resonance alone", "kHz", 1e-3),
                ))  # fmt: skip
                text("p", f"Sweep {side}, {found.date}: {told}.", "small")
                with ui.element("div").classes("row"):
                    press("take it back", partial(self._unsweep, side), cls="quiet").props["aria-label"] = (
                        f"take it back: the sweep {side}"
                    )
            if self.proof.impedance:
                self._draw_sweeps()
                text("p", LEARN, "small soft")
                press("write the last sweep into the guitar as measured", self._learn, mark="learn")

    def _draw_sweeps(self) -> None:
        """Draw the magnitudes that were measured, on the frequencies of the first."""
        every = {side: MeasuredPickup.from_dict(record) for side, record in self.proof.impedance.items()}
        grid = next(iter(every.values())).frequency
        looks = {"before": "stock", "after": "now"}
        Curves("Impedance of the pickup alone", unit="dB re 1 Ω", file="impedance.csv").show([
            Curve(
                name=side, look=looks[side], frequency=grid,
                level_db=np.interp(grid, one.frequency, 20.0 * np.log10(np.abs(one.impedance))),
            )
            for side, one in every.items()
        ])  # fmt: skip

    async def _unsweep(self, side: Side) -> None:
        await self._keep(f"impedance.{side}", None, f"sweep {side} taken back")
        self._show_sweeps()

    async def _learn(self) -> None:
        self.fault.clear()
        side: Side = "after" if "after" in self.proof.impedance else "before"
        found = MeasuredPickup.from_dict(self.proof.impedance[side])
        pickup = self.what.key.pickup
        try:
            if _coil_of(self.desk.guitar, pickup) != _coil_of(self.states[side], pickup):
                raise InputError(
                    f"the sweep is of this pickup as it was {side} the change, and on record it has another bar now, "
                    "or is wired otherwise. Record the change on its work sheet, or undo it, first."
                )
            learnt = await run.io_bound(with_measured, self.desk.guitar, pickup, found)
            if learnt is None:  # the server is going down
                return
            await self.desk.record(learnt, f"{pickup}: as measured by the sweep of {found.date}")
        except PolepieceError as error:
            self.fault.show(error)
            return
        with self.records:
            text("p", "Recorded as a new state of the guitar; undo it on the Guitar page.", "notice").mark("learnt")


def _interval(found: MeasuredPickup, name: str, unit: str, scale: float) -> str:
    one = next((each for each in found.estimates if each.name == name), None)
    if one is None or not one.told:
        return "not told"
    return f"{scale * one.value:.3g} {unit} ({scale * one.low:.3g} to {scale * one.high:.3g})"


def record_in(data: bytes, name: str) -> dict[str, Any]:
    """Return the record of a sweep from its file.

    Raises
    ------
    MeasurementError
        When it is something else.
    """
    try:
        body = json.loads(data)
    except (UnicodeDecodeError, ValueError, RecursionError):
        raise MeasurementError(
            f"{name} is not JSON; what “polepiece measure impedance … --save” wrote is read."
        ) from None
    if not isinstance(body, dict):
        raise MeasurementError(f"{name} is not the record of a measured pickup.")
    try:
        MeasuredPickup.from_dict(body)
    except PolepieceError as error:
        raise MeasurementError(f"{name}: {error}") from None
    return body


def _coil_of(guitar: Guitar, pickup: str) -> tuple[object, ...]:
    """Return what the impedance of a pickup hangs on and a bench changes."""
    the_pickup = guitar.pickup(pickup)
    return (
        replace(the_pickup.magnet, measured_gauss=()),
        the_pickup.wiring,
        the_pickup.cover,
        the_pickup.poles.screw_raise,
        the_pickup.coils,
    )
