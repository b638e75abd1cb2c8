"""``polepiece impedance``: what a meter would read between the leads."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, show_assumed, table
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.lines import parse_frequencies
from polepiece.cli.options import Assumed, GuitarFile, Json, OutReport, PickupName, Replace, Seed
from polepiece.cli.progress import working
from polepiece.cli.sheets import check_report, printed, say_written, write_report
from polepiece.cli.which_guitar import guitar_called

if TYPE_CHECKING:
    from rich.table import Table

    from polepiece.bench import ImpedanceReading

NAME = "impedance"


def command(
    file: GuitarFile,
    pickup_name: PickupName = None,
    frequencies: Annotated[
        str, typer.Option("--frequencies", "-f", metavar="LIST", help="Hz, 0 (static) to 20000.")
    ] = "0,120,1000,3000,10000",
    bare: Annotated[bool, typer.Option("--bare", help="Without capacitance, cover and base plate.")] = False,
    out: OutReport = None,
    replace: Replace = False,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """Impedance and inductance of a pickup with nothing connected to it, to hold against a meter.

    Example: polepiece impedance guitar.toml --pickup neck --frequencies 0,100,1000
    """
    import numpy as np

    from polepiece.bench import impedance

    wanted = parse_frequencies(frequencies)
    if out is not None:
        check_report(out, file, replace=replace)
    guitar = guitar_called(file)
    pickup = pickup_of(guitar, pickup_name)
    with working("computing coils and eddy currents"):
        reading = impedance(guitar, pickup.name, np.array(wanted), bare=bare)
    body: dict[str, Any] = {
        "pickup": pickup.name,
        "bare": bare,
        "frequency_hz": reading.frequency,
        "resistance_ohm": reading.impedance.real,
        "reactance_ohm": reading.impedance.imag,
        "inductance_h": reading.inductance,
        "coils": {"self_h": reading.self_inductance, "mutual_h": reading.mutual_inductance},
    }
    shown = _shown(reading, f"Impedance of {pickup.name}{', bare' if bare else ''}, nothing connected")
    if out is not None:
        write_report(out, printed(f"{guitar.name}: impedance of the {pickup.name}", [], shown))
    if json:
        emit(envelope(NAME, guitar, body, seed=seed, pickups=[pickup]))
        return
    if out is not None:
        say_written(out)
        return
    screen = console()
    for one in shown:
        screen.print(one)
    show_assumed(screen, assumed_of(guitar, [pickup]), guitar=guitar, everything=assumed)


def _shown(reading: "ImpedanceReading", title: str) -> "list[Table | str]":
    rows = [
        (f"{f:g}", f"{z.real / 1e3:.2f}", f"{z.imag / 1e3:.2f}", f"{abs(z) / 1e3:.2f}", f"{inductance:.2f}")
        for f, z, inductance in zip(reading.frequency, reading.impedance, reading.inductance)
    ]
    heads = ("Hz", "R kohm", "X kohm", "|Z| kohm", "X/w H")
    own = ", ".join(f"{row[0]:.2f} H" for row in reading.self_inductance)
    both = reading.mutual_inductance
    mutual = f"; mutual {both[0]:.2f} H (both the same way round)" if len(both) else ""
    said = f"Coils alone at {reading.frequency[0]:g} Hz: {own}{mutual}."
    return [table(title, heads, rows, left=0), f"{said} A meter's inductance holds for its own test frequency only."]
