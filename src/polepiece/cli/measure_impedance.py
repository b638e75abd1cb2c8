"""``polepiece measure impedance``: a pickup's impedance from a recorded sweep, what it tells, handing it over."""

import datetime
import json as jsons
import math
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.learnt import learnt, learnt_body, learnt_table
from polepiece.cli.options import Json, PickupName, Replace, decimal
from polepiece.cli.output import writable, write_whole
from polepiece.cli.progress import working
from polepiece.cli.typed_reading import needed, quantity
from polepiece.cli.which_guitar import guitar_called
from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.evidence import Narrowed
    from polepiece.measure import (
        CoilFit,
        Estimate,
        ImpedanceSpectrum,
        MeasuredPickup,
        RatioSpectrum,
        SweepSignal,
        Taken,
    )

NAME = "impedance"
TaughtGuitar = Annotated[
    str | None, typer.Option("--guitar", metavar="FILE", help="A guitar file to hand the values over to.")
]
NewGuitar = Annotated[
    str | None, typer.Option("--out", "-o", metavar="FILE", help="With --guitar: the new guitar file.")
]
Date = Annotated[str | None, typer.Option("--date", metavar="DATE", help="ISO; default today.")]
Temperature = Annotated[float, typer.Option("--temperature", parser=decimal, metavar="C", help="Of the pickup.")]
SHOWN = (20.0, 50.0, 120.0, 250.0, 500.0, 1e3, 2e3, 3e3, 5e3, 7e3, 10e3, 14e3, 20e3)  # Hz, rows of the table


def command(
    recording: Annotated[str, typer.Argument(metavar="RECORDING", help="Two channels: source, pickup side.")],
    resistor: Annotated[str, typer.Option("--resistor", metavar="OHM", help="In series: 100k.")],
    signal: Annotated[str | None, typer.Option("--signal", metavar="WAV", help="The sweep that was played.")] = None,
    opened: Annotated[
        str | None, typer.Option("--open", metavar="AUDIO", help="Recorded with the pickup taken off.")
    ] = None,
    bridged: Annotated[
        str | None, typer.Option("--bridged", metavar="AUDIO", help="Recorded with the resistor bridged by a clip.")
    ] = None,
    known: Annotated[
        str | None, typer.Option("--known", metavar="AUDIO", help="Recorded with a known resistor for the pickup.")
    ] = None,
    known_resistor: Annotated[str | None, typer.Option("--known-resistor", metavar="OHM", help="Its ohms.")] = None,
    tolerance: Annotated[
        float, typer.Option("--tolerance", parser=decimal, metavar="%", help="Of the resistor that sets the scale.")
    ] = 1.0,
    input_resistance: Annotated[
        str | None, typer.Option("--input-resistance", metavar="OHM", help="Without --open: of the input, 1M.")
    ] = None,
    input_capacitance: Annotated[
        str | None,
        typer.Option("--input-capacitance", metavar="F", help="Without --open: of input and cable; else 50 to 350 pF."),
    ] = None,
    dcr: Annotated[
        str | None, typer.Option("--dcr", metavar="OHM", help="A multimeter's reading, same temperature.")
    ] = None,
    temperature: Temperature = 20.0,
    date: Date = None,
    save: Annotated[str | None, typer.Option("--save", metavar="JSON", help="Keep the record in a file.")] = None,
    guitar: TaughtGuitar = None,
    pickup_name: PickupName = None,
    out: NewGuitar = None,
    replace: Replace = False,
    engine: Annotated[
        bool, typer.Option("--engine", help="With --guitar: fit the computed pickup itself: turns, steel, magnet.")
    ] = False,
    json: Json = False,
) -> None:
    """Impedance of a pickup from a recorded sweep: Z(f) with bounds, R, L, C and resonance with intervals.

    Record the sweep three times with the same settings: pickup connected, nothing connected (--open), and the
    resistor bridged by a clip (--bridged). Nothing else hangs on the pickup. Amplifiers stay closed.

    Example: polepiece measure impedance neck.wav --resistor 100k --open open.wav --bridged bridged.wav
    """
    from polepiece.measure import (
        DATA_SHEET,
        InterfaceInput,
        deviation_of,
        direct_resistance,
        fit_coil,
        impedance_of,
        measured_pickup,
        read_taken,
    )  # fmt: skip

    ohms = needed(resistor, "--resistor", "ohm")
    share = tolerance / 100.0
    meter = quantity(dcr, "--dcr", "ohm")
    direct = None if meter is None else deviation_of(direct_resistance(meter, temperature=temperature))
    asked = {"pickup": recording, "open": opened, "bridged": bridged, "known": known}
    check_hand_over(guitar, out, save, (*asked.values(), signal), engine=engine, replace=replace)
    taken = {role: read_taken(path, role) for role, path in asked.items() if path is not None}
    played = _signal_of(signal, taken["pickup"])
    interface = None
    if input_resistance is not None:
        across = needed(input_resistance, "--input-resistance", "ohm")
        farad = quantity(input_capacitance, "--input-capacitance", "F")
        interface = (
            InterfaceInput(resistance=across)
            if farad is None
            else InterfaceInput(resistance=across, capacitance=farad, capacitance_tolerance=DATA_SHEET)
        )
    with working("finding the sweeps"):
        ratios = {role: _ratio(one, played, role) for role, one in taken.items()}
        spectrum = impedance_of(
            ratios["pickup"], series_resistor=ohms, tolerance=share, opened=ratios.get("open"),
            bridged=ratios.get("bridged"), known=ratios.get("known"),
            known_resistor=quantity(known_resistor, "--known-resistor", "ohm"), interface=interface,
        )  # fmt: skip
        fit = fit_coil(spectrum, resistance=direct)
    measured = measured_pickup(
        spectrum, fit, date=date or datetime.date.today().isoformat(), temperature=temperature, series_resistor=ohms,
        tolerance=share, files=tuple(one.fact for one in taken.values()),
    )  # fmt: skip
    keys, taught = handed_over(measured, guitar, pickup_name, out)
    computed = _engine_fit(spectrum, guitar, pickup_name, direct) if engine and guitar is not None else None
    body = {**measured.to_dict(), "guitar_keys": keys, "engine_fit": None if computed is None else _as_body(computed),
            "learnt": None if taught is None else learnt_body(taught)}  # fmt: skip
    body.pop("schema")
    if save is not None:
        write_whole(save, jsons.dumps(measured.to_dict(), indent=1) + "\n")
    if json:
        emit(plain_envelope("measure-impedance", body))
        return
    _show(measured, spectrum, fit.misfit, keys, [path for path in (save, out) if path])
    if taught is not None:
        console().print(learnt_table(taught, ()))
    if computed is not None:
        _show_engine(computed)


def check_hand_over(
    guitar: str | None,
    out: str | None,
    save: str | None,
    read: "tuple[str | None, ...]",
    *,
    engine: bool,
    replace: bool,
) -> None:
    if engine and guitar is None:
        raise InputError("--engine needs --guitar: the guitar file says which pickup is computed.")
    if (guitar is None) != (out is None) and not engine:
        raise InputError(
            "--guitar and --out go together: the values are written into a new guitar file, never the old."
        )
    for name, path in (("out", out), ("save", save)):
        if path is not None:
            writable(f"--{name}", path, inputs=(guitar, *read), replace=replace)
    if out is not None and save is not None and Path(out).resolve() == Path(save).resolve():
        raise InputError(f"--out and --save are both {out}; the guitar file and the record are two files.")


def _signal_of(signal: str | None, taken: "Taken") -> "SweepSignal":
    from polepiece.measure import read_signal, sweep_for

    return sweep_for(taken.sample_rate) if signal is None else read_signal(signal)


def _ratio(taken: "Taken", signal: "SweepSignal", role: str) -> "RatioSpectrum":
    from polepiece.measure import ratio_of

    return ratio_of(
        taken.samples, signal, sample_rate=taken.sample_rate, where=taken.fact.name, through=role == "bridged"
    )


def handed_over(
    measured: "MeasuredPickup", guitar: str | None, pickup_name: str | None, out: str | None
) -> "tuple[dict[str, float], tuple[Narrowed, ...] | None]":
    from polepiece.cli.envelope import pickup_of
    from polepiece.evidence import measured_keys, with_measured
    from polepiece.guitar import write_guitar

    if guitar is not None and out is not None:
        record = guitar_called(guitar)
        pickup = pickup_of(record, pickup_name)
        moved = with_measured(record, pickup.name, measured)
        taught = learnt(record, moved, pickup.name, ())
        write_whole(out, write_guitar(moved))
        return measured_keys(measured), taught
    return measured_keys(measured), None


def _engine_fit(
    spectrum: "ImpedanceSpectrum", guitar: str, pickup_name: str | None, direct: tuple[float, float] | None
) -> "CoilFit":
    from polepiece.cli.envelope import pickup_of
    from polepiece.evidence import engine_model
    from polepiece.measure import fit_coil

    record = guitar_called(guitar)
    with working("computing the pickup over its spreads"):
        return fit_coil(spectrum, engine_model(record, pickup_of(record, pickup_name).name), resistance=direct)


def _as_body(fit: "CoilFit") -> dict[str, Any]:
    return {
        "parameters": [asdict(one) for one in fit.parameters], "untold": fit.untold, "notes": fit.notes,
        "misfit": fit.misfit, "largest_residual": fit.largest_residual[0],
        "largest_residual_hz": fit.largest_residual[1],
    }  # fmt: skip


def _show_engine(fit: "CoilFit") -> None:
    screen = console()
    rows = [(one.name.replace("_", " "), *digits(one), "" if one.told else "not told") for one in fit.parameters]
    screen.print(table("The computed pickup, fitted (factors: 1 is the guitar file)", ("quantity", "value",
                       "90 % interval", ""), rows))  # fmt: skip
    share, hertz = fit.largest_residual
    screen.print(f"Largest residual {100 * share:.1f} % of |Z| at {hertz:.0f} Hz.")
    for line in (*fit.untold, *fit.notes):
        screen.print(f"- {line}", soft_wrap=True)


def digits(one: "Estimate") -> tuple[str, str]:
    """Return value and interval in bench units, with the digits that the interval allows."""
    scale, unit = {"ohm": (1e-3, "kohm"), "F": (1e12, "pF"), "H": (1.0, "H"), "Hz": (1.0, "Hz")}.get(
        one.unit, (1.0, one.unit if one.unit != "1" else "")
    )
    half = max((one.high - one.low) / 2.0 * scale, 1e-12)
    places = max(0, min(6, 1 - math.floor(math.log10(half))))
    return f"{one.value * scale:.{places}f} {unit}", f"{one.low * scale:.{places}f} to {one.high * scale:.{places}f}"


WORDS = {
    "resistance": "resistance, direct current", "capacitance": "capacitance, winding and lead",
    "inductance_static": "inductance, towards 0 Hz", "inductance_120_hz": "inductance at 120 Hz",
    "inductance_1000_hz": "inductance at 1 kHz", "inductance_10000_hz": "inductance at 10 kHz",
    "resonance": "resonance, nothing connected", "peak_impedance": "impedance there",
}  # fmt: skip


def _show(
    measured: "MeasuredPickup", spectrum: "ImpedanceSpectrum", misfit: float, keys: dict[str, float], files: list[str]
) -> None:
    import numpy as np

    screen = console()
    places = [int(np.argmin(np.abs(spectrum.frequency - f))) for f in SHOWN if f <= 1.05 * spectrum.frequency[-1]]
    rows = [
        (f"{spectrum.frequency[k]:.0f}", f"{z.real / 1e3:.4g}", f"{z.imag / 1e3:.4g}", f"{abs(z) / 1e3:.4g}",
         f"{measured.low[k] / 1e3:.4g}..{measured.high[k] / 1e3:.4g}")
        for k, z in ((k, spectrum.impedance[k]) for k in places)
    ]  # fmt: skip
    screen.print(table(f"Measured impedance ({measured.method})", ("Hz", "R kohm", "X kohm", "|Z| kohm", "90 %"), rows,
                       left=0))  # fmt: skip
    found = {one.name: one for one in measured.estimates}
    fitted = [(words, *digits(found[name])) for name, words in WORDS.items() if name in found]
    screen.print(table("Fitted", ("quantity", "value", "90 % interval"), fitted))
    words = "fits within the noise" if misfit < 1.5 else f"misses by {misfit**0.5:.1f} times the noise"
    screen.print(f"The model {words}. Inductances are those of the coil, its capacitance taken out.")
    for line in (*measured.untold, *measured.notes):
        screen.print(f"- {line}", soft_wrap=True)
    screen.print("For the pickup's table of a guitar file:")
    for key, value in keys.items():
        screen.print(f"  {key} = {value:g}", markup=False)
    for path in files:
        screen.print(f"written: {path}", soft_wrap=True)
