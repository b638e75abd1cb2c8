"""What stood on the bench while a sweep was recorded: fields, and the two recordings that calibrate it; all kept."""

from dataclasses import asdict
from functools import partial

from nicegui import events, ui

from polepiece.app.hear.behind import CALIBRATION_LABEL
from polepiece.app.prove.plucks_card import too_large
from polepiece.app.prove.proofs import CALIBRATIONS, Keep, Proof, Recording
from polepiece.app.prove.sweep_work import ROLES, Bench, File
from polepiece.app.server import shared
from polepiece.app.server.uploads import kept_sound, taken_sound
from polepiece.app.sheet import bench_units
from polepiece.app.widgets.controls import Fault, amount, file_taker, press, text
from polepiece.errors import InputError, PolepieceError

LARGEST = 64 * 1024 * 1024  # bytes of a recording
OHMS = 1e3  # of the bench unit
USUAL = {"resistor": "100", "temperature": "20", "input": "", "input-capacitance": ""}
MISSING = "Without both recordings the interface's own input resistance in MΩ is needed here."
CALIBRATE = (
    "Record it twice more with the same settings: with nothing connected in place of the pickup, and with the resistor "
    "bridged by a clip. Both serve before and after."
)


class SweepBench:
    """Resistor, temperature and calibrations of one proof.

    Parameters
    ----------
    proof : Proof
    keep : callable
        Awaited with every entry of the proof that changes.
    state_id : int
        Of the guitar that the recordings are brought for.
    """

    def __init__(self, proof: Proof, keep: Keep, state_id: int) -> None:
        self.proof, self._keep, self._state_id = proof, keep, state_id

    def build(self) -> None:
        """Put it on the page."""
        typed = USUAL | self.proof.sweep_bench
        with ui.element("div").classes("row"):
            amount("known resistor, kΩ", typed["resistor"], partial(self._take, "resistor"), mark="sweep-resistor")
            amount(
                "pickup's temperature, °C", typed["temperature"], partial(self._take, "temperature"),
                mark="sweep-temperature",
            )  # fmt: skip
        with ui.element("details") as self.fold:
            self.fold.props["open"] = bool(self.proof.calibrations)
            text("summary", "Calibration")
            text("p", CALIBRATE, "small soft")
            self.fault = Fault()
            with ui.element("div").classes("row"):
                self.takers = {
                    role: file_taker(
                        f"{ROLES[role]} …", partial(self._given, role),
                        lambda: self.fault.show(too_large("a recording", LARGEST)),
                        accept=".wav,.flac,.aif,.aiff", most=LARGEST, mark=f"sweep-{role}",
                    )
                    for role in CALIBRATIONS
                }  # fmt: skip
                amount("or the interface's input, MΩ", typed["input"], partial(self._take, "input"), mark="sweep-input")
                amount(
                    "with the cable to it, pF", typed["input-capacitance"], partial(self._take, "input-capacitance"),
                    mark="sweep-input-capacitance",
                )  # fmt: skip
            self.given = ui.element("ul").classes("picked").mark("calibrations")
        self._show()

    def ask(self, what: str) -> None:
        """Open the fold and say in it what is missing or wrong there."""
        self.fold.props["open"] = True
        self.fold.update()
        self.fault.show(what)

    async def _take(self, what: str, said: str) -> None:
        self.fault.clear()
        await self._keep(f"sweep-bench.{what}", said, f"bench of the sweeps, {what}: {said or 'not said'}"[:120])

    async def _given(self, role: str, event: events.UploadEventArguments) -> None:
        self.fault.clear()
        name = event.file.name[:120]
        try:
            data, found = await taken_sound(event, LARGEST, "A sweep is shorter.")
            if found is None:  # the server is going down
                return
            digest = await kept_sound(data, found, f"{CALIBRATION_LABEL}{name[:60]}, {ROLES[role]}", self._state_id)
            await self._keep(
                f"calibration.{role}", asdict(Recording(sha256=digest, name=name)), f"sweep {ROLES[role]}: {name}"
            )
        except PolepieceError as error:
            self.fault.show(error)
        finally:
            self.takers[role].reset()
        self._show()

    async def _drop(self, role: str) -> None:
        await self._keep(f"calibration.{role}", None, f"sweep {ROLES[role]} taken back")
        self._show()

    def _show(self) -> None:
        self.given.clear()
        with self.given:
            for role, one in sorted(self.proof.calibrations.items()):
                with ui.element("li"):
                    text("span", f"{ROLES[role]}: {one.name}")
                    button = press("take it back", partial(self._drop, role), cls="quiet", mark=f"drop-{role}")
                    button.props["aria-label"] = f"take it back: the sweep {ROLES[role]}"

    def read(self) -> tuple[dict[str, File], Bench]:
        """Return the calibrations and what was typed.

        Raises
        ------
        PolepieceError
            When something typed is no such quantity, neither a calibration nor the input is known, or a recording
            is not in the notebook any more.
        """
        typed = USUAL | self.proof.sweep_bench
        said = typed["input"].strip()
        across = 1e6 * bench_units.read(said, bench_units.MEGOHM) if said else None
        if across is None and len(self.proof.calibrations) < len(CALIBRATIONS):
            self.ask(MISSING)
            raise InputError(
                "the interface's own input is not known: under Calibration, which is open now, give both a recording "
                "with nothing connected and one with the resistor bridged, or its input resistance in MΩ."
            )
        farad = typed["input-capacitance"].strip()
        book = shared.room().notebook
        files = {role: (one.name, book.sound(one.sha256)) for role, one in self.proof.calibrations.items()}
        return files, Bench(
            resistor=OHMS * bench_units.read(typed["resistor"], bench_units.RESISTOR),
            temperature=bench_units.read(typed["temperature"], bench_units.CELSIUS), input_resistance=across,
            input_capacitance=1e-12 * bench_units.read(farad, bench_units.INPUT_CAPACITANCE) if farad else None,
        )  # fmt: skip
