"""``polepiece impedance``: what a meter would read between the leads."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, show_assumed, table
from polepiece.cli.curve_file import CurveFile, check_curve, write_impedance
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.lines import parse_frequencies
from polepiece.cli.options import Assumed, GuitarFile, Json, OutReport, PickupName, Replace, Seed
from polepiece.cli.output import writable, write_whole
from polepiece.cli.progress import working
from polepiece.cli.sheets import check_report, printed, say_written, write_report
from polepiece.cli.which_guitar import guitar_called

if TYPE_CHECKING:
    from rich.table import Table

    from polepiece.bench import ImpedanceReading
    from polepiece.guitar import Guitar, Pickup

NAME = "impedance"
POINTS = 240  # from 20 Hz to 20 kHz: 24 an octave
NEAR = 1e-3  # share of |Z|, and rad, that a subcircuit may be off: a tenth of what a good meter tells


def command(
    file: GuitarFile,
    pickup_name: PickupName = None,
    frequencies: Annotated[
        str, typer.Option("--frequencies", "-f", metavar="LIST", help="Hz, 0 (static) to 20000.")
    ] = "0,120,1000,3000,10000",
    bare: Annotated[bool, typer.Option("--bare", help="Without capacitance, cover and base plate.")] = False,
    out: OutReport = None,
    curve: CurveFile = None,
    spice: Annotated[
        str | None,
        typer.Option(
            "--spice", metavar="FILE.cir", help="Also write it as a subcircuit of R, L and C for a simulator."
        ),
    ] = None,
    replace: Replace = False,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """Impedance and inductance of a pickup with nothing connected to it, to hold against a meter.

    --curve writes magnitude and phase from 20 Hz to 20 kHz, 24 an octave. The subcircuit holds from 50 Hz to 20 kHz.

    Example: polepiece impedance guitar.toml --pickup neck --frequencies 0,100,1000
    """
    import numpy as np

    from polepiece.bench import impedance

    wanted = parse_frequencies(frequencies)
    if out is not None:
        check_report(out, file, replace=replace)
    check_curve(curve, [file], replace=replace)
    if spice is not None:
        writable("--spice", spice, inputs=[file], replace=replace)
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
    if curve is not None or spice is not None:
        with working("computing the curve"):
            fine = impedance(guitar, pickup.name, np.geomspace(20.0, 20e3, POINTS), bare=bare)
        if curve is not None:
            write_impedance(curve, fine)
        if spice is not None:
            write_whole(spice, _subcircuit(guitar, pickup, fine, bare=bare))
    if json:
        emit(envelope(NAME, guitar, body, seed=seed, pickups=[pickup]))
        return
    for path in (out, curve, spice):
        if path is not None:
            say_written(path)
    if out is not None:
        return
    screen = console()
    for one in shown:
        screen.print(one)
    show_assumed(screen, assumed_of(guitar, [pickup]), guitar=guitar, everything=assumed)


def _subcircuit(guitar: "Guitar", pickup: "Pickup", reading: "ImpedanceReading", *, bare: bool) -> str:
    """Return the pickup as a subcircuit that says what it is of, and how near it comes.

    Raises
    ------
    ConvergenceError
        When no net of these parts comes near enough.
    """
    import numpy as np

    from polepiece import __version__
    from polepiece.circuit import subcircuit, two_terminal
    from polepiece.errors import ConvergenceError
    from polepiece.materials import constants_hash
    from polepiece.pickup import pickup_resistance

    net = two_terminal(reading.frequency, reading.impedance, pickup_resistance(pickup), capacitive=not bare)
    off = max(net.size_error, net.phase_error)
    if not off <= NEAR:
        raise ConvergenceError(
            f"no net of R, L and C was found that has this pickup's impedance within {NEAR:g}: {off:.2g} is left. Take "
            "--curve instead."
        )
    inside = (reading.frequency >= 50.0) & (reading.frequency <= 20e3)
    ratio = net.impedance(reading.frequency[inside]) / reading.impedance[inside]
    size, angle = np.max(np.abs(np.abs(ratio) - 1.0)), np.degrees(np.max(np.abs(np.angle(ratio))))
    return subcircuit(net, f"{pickup.name}_pickup", (
        f"{guitar.name or 'guitar'}, {pickup.name}: the pickup between its leads as it is wired, nothing connected"
        f"{', without capacitance, cover and plate' if bare else ''}; 20 degrees C.",
        f"Computed by polepiece {__version__}, constants {constants_hash()}.",
        f"Against the computed impedance, 50 Hz to 20 kHz: |Z| within {100 * size:.2g} %, phase {angle:.2g} degrees.",
        "Rdc: copper. Lair: what is left of the inductance at high frequencies. Leddy, Reddy: eddy currents and steel.",
    ))  # fmt: skip


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
