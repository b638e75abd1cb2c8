"""``--curve FILE``: the curves behind an answer as CSV, one frequency a row, in full precision."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from polepiece.cli.output import writable, write_whole
from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.bench import ImpedanceReading, State

CurveFile = Annotated[
    str | None, typer.Option("--curve", metavar="FILE.csv", help="Also write the curve of every state, as CSV.")
]


def check_curve(path: str | None, inputs: Iterable[str | None], *, replace: bool) -> None:
    """Refuse a name before any work is done."""
    if path is None:
        return
    if Path(path).suffix.lower() != ".csv":
        raise InputError(f"--curve is {path!r}; curves are written as CSV: give a name that ends in .csv.")
    writable("--curve", path, inputs=inputs, replace=replace)


def write_responses(path: str, states: "Mapping[str, State]") -> None:
    """Write the response of each state by its name, dB re 1 V s/m; all have one grid."""
    first = next(iter(states.values()))
    head = ["frequency_hz", *(f"{name} (dB re 1 V s/m)" for name in states)]
    columns = [first.frequency_hz, *(one.response_db for one in states.values())]
    _write(path, head, columns)


def write_impedance(path: str, reading: "ImpedanceReading") -> None:
    """Write magnitude and phase of an impedance, and its parts."""
    import numpy as np

    z = reading.impedance
    head = ("frequency_hz", "magnitude_ohm", "phase_deg", "resistance_ohm", "reactance_ohm", "inductance_h")
    columns = (reading.frequency, np.abs(z), np.degrees(np.angle(z)), z.real, z.imag, reading.inductance)
    _write(path, head, columns)


def _write(path: str, head: Sequence[str], columns: "Sequence[Iterable[float]]") -> None:
    from polepiece.report import csv_text

    rows = [[f"{value:.9g}" for value in row] for row in zip(*columns)]
    write_whole(path, csv_text([head, *rows]))
