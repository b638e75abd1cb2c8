"""``polepiece impedance``: what a meter would read between the leads."""

from typing import Annotated, Any

import typer

from polepiece.cli.console import console, show_assumed, table
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.lines import parse_frequencies
from polepiece.cli.options import Assumed, GuitarFile, Json, PickupName, Seed
from polepiece.cli.progress import working
from polepiece.cli.which_guitar import guitar_called

NAME = "impedance"


def command(
    file: GuitarFile,
    pickup: PickupName = None,
    frequencies: Annotated[
        str, typer.Option("--frequencies", "-f", metavar="LIST", help="Hz, 0 (static) to 20000.")
    ] = "0,120,1000,3000,10000",
    bare: Annotated[bool, typer.Option("--bare", help="Without capacitance, cover and base plate.")] = False,
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
    guitar = guitar_called(file)
    unit = pickup_of(guitar, pickup)
    with working("computing coils and eddy currents"):
        reading = impedance(guitar, unit.name, np.array(wanted), bare=bare)
    body: dict[str, Any] = {
        "pickup": unit.name,
        "bare": bare,
        "frequency_hz": reading.frequency,
        "resistance_ohm": reading.impedance.real,
        "reactance_ohm": reading.impedance.imag,
        "inductance_h": reading.inductance,
        "coils": {"self_h": reading.self_inductance, "mutual_h": reading.mutual_inductance},
    }
    if json:
        emit(envelope(NAME, guitar, body, seed=seed, pickups=[unit]))
        return
    rows = [
        (f"{f:g}", f"{z.real / 1e3:.2f}", f"{z.imag / 1e3:.2f}", f"{abs(z) / 1e3:.2f}", f"{inductance:.2f}")
        for f, z, inductance in zip(reading.frequency, reading.impedance, reading.inductance)
    ]
    screen = console()
    heads = ("Hz", "R kohm", "X kohm", "|Z| kohm", "X/w H")
    bareness = ", bare" if bare else ""
    screen.print(table(f"Impedance of {unit.name}{bareness}, nothing connected", heads, rows, left=0))
    own = ", ".join(f"{row[0]:.2f} H" for row in reading.self_inductance)
    screen.print(f"Coils alone at {reading.frequency[0]:g} Hz: {own}", end="")
    mutual = (
        f"; mutual {reading.mutual_inductance[0]:.2f} H (both the same way round)"
        if len(reading.mutual_inductance)
        else ""
    )
    screen.print(f"{mutual}. A meter's inductance holds for its own test frequency only.")
    show_assumed(screen, assumed_of(guitar, [unit]), everything=assumed)
