"""What stood on the bench while a sweep was recorded: fields, and the two recordings that calibrate it."""

from functools import partial

from nicegui import events, ui

from polepiece.app.prove.plucks_card import too_large
from polepiece.app.prove.sweep_work import ROLES, Bench, File
from polepiece.app.server.uploads import taken
from polepiece.app.sheet import bench_units
from polepiece.app.widgets.controls import Fault, amount, file_taker, text
from polepiece.errors import InputError, PolepieceError

LARGEST = 64 * 1024 * 1024  # bytes of a recording
OHMS = 1e3  # of the bench unit
CALIBRATE = (
    "Record it twice more with the same settings: with nothing connected in place of the pickup, and with the resistor "
    "bridged by a clip. Both serve before and after."
)


class SweepBench:
    """Resistor, temperature and calibrations of one tab."""

    def __init__(self) -> None:
        self._files: dict[str, File] = {}
        self._typed = {"resistor": "100", "temperature": "20", "input": ""}

    def build(self) -> None:
        """Put it on the page."""
        with ui.element("div").classes("row"):
            amount("known resistor, kΩ", "100", partial(self._take, "resistor"), mark="sweep-resistor")
            amount("pickup's temperature, °C", "20", partial(self._take, "temperature"), mark="sweep-temperature")
        with ui.element("details"):
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
                    for role in ("open", "bridged")
                }  # fmt: skip
                amount("or the interface's input, MΩ", "", partial(self._take, "input"), mark="sweep-input")
            self.given = text("p", "", "small").props("role=status")

    def _take(self, what: str, said: str) -> None:
        self._typed[what] = said

    async def _given(self, role: str, event: events.UploadEventArguments) -> None:
        self.fault.clear()
        try:
            self._files[role] = (event.file.name[:120], await taken(event, LARGEST, "A sweep is shorter."))
        except PolepieceError as error:
            self.fault.show(error)
        finally:
            self.takers[role].reset()
        self.given.say("; ".join(f"{ROLES[one]}: {name}" for one, (name, _) in self._files.items()))

    def read(self) -> tuple[dict[str, File], Bench]:
        """Return the calibrations and what was typed.

        Raises
        ------
        InputError
            When something typed is no such quantity, or neither a calibration nor the input is known.
        """
        said = self._typed["input"].strip()
        across = 1e6 * bench_units.read(said, bench_units.MEGOHM) if said else None
        if across is None and len(self._files) < 2:
            raise InputError(
                "the interface's own input is not known: under Calibration give both a recording with nothing "
                "connected and one with the resistor bridged, or its input resistance in MΩ."
            )
        return dict(self._files), Bench(
            resistor=OHMS * bench_units.read(self._typed["resistor"], bench_units.RESISTOR),
            temperature=bench_units.read(self._typed["temperature"], bench_units.CELSIUS), input_resistance=across,
        )  # fmt: skip
