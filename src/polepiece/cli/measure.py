"""``polepiece measure``: excitation, impedance from a recording, meters; what an instrument said, with bounds."""

import datetime
import json as jsons
import math
import re
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli import measure_gauss
from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.learnt import learnt, learnt_body, learnt_table
from polepiece.cli.options import Json, PickupName, Replace, decimal
from polepiece.cli.output import staged, writable, write_whole
from polepiece.cli.progress import working
from polepiece.errors import InputError
from polepiece.typed_number import DIGITS, typed_float

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

NAME = "measure"
app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, add_completion=False)
PREFIX = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "K": 1e3, "M": 1e6}
_QUANTITY = re.compile(rf"\s*({DIGITS})\s*([pnumkKM]?)\s*(ohm|F|H)?\s*")
GIVEN = 0.3  # limits of an input capacitance read off data sheets, a share; common practice, no source
TaughtGuitar = Annotated[
    str | None, typer.Option("--guitar", metavar="FILE", help="A guitar file to hand the values over to.")
]
NewGuitar = Annotated[
    str | None, typer.Option("--out", "-o", metavar="FILE", help="With --guitar: the new guitar file.")
]
Date = Annotated[str | None, typer.Option("--date", metavar="DATE", help="ISO; default today.")]
Temperature = Annotated[float, typer.Option("--temperature", parser=decimal, metavar="C", help="Of the pickup.")]
SHOWN = (20.0, 50.0, 120.0, 250.0, 500.0, 1e3, 2e3, 3e3, 5e3, 7e3, 10e3, 14e3, 20e3)  # Hz, rows of the table


app.command(name=measure_gauss.NAME)(measure_gauss.command)


@app.callback()
def _main() -> None:
    """Measure a pickup: a sweep through one known resistor, meters, plucks before and after a change."""


def quantity(text: str | None, named: str, unit: str) -> float | None:
    """Return ``7.8k``, ``7,8k``, ``1M``, ``150p`` or a plain number in ``unit``; ``named`` as on the command line."""
    if text is None:
        return None
    found = _QUANTITY.fullmatch(text)
    if found is None or (found.group(3) not in (None, unit)):
        raise InputError(f"{named} is {text!r}; write a number with p, n, u, m, k or M: 7.8k, 1M, 150p.")
    allowed = "Write a number with p, n, u, m, k or M: 7.8k, 1M, 150p"
    return typed_float(found.group(1), named, allowed=allowed) * PREFIX[found.group(2)]


def needed(text: str, named: str, unit: str) -> float:
    """Return a quantity that must be there."""
    value = quantity(text, named, unit)
    assert value is not None
    return value


@app.command(name="sweep-signal")
def sweep_signal(
    out: Annotated[str, typer.Argument(metavar="OUT.wav", help="File to write; a description goes beside it.")],
    rate: Annotated[int, typer.Option("--rate", metavar="HZ", help="Sample rate, 44100 to 192000.")] = 96000,
    seconds: Annotated[
        float, typer.Option("--seconds", parser=decimal, metavar="S", help="Length of one sweep.")
    ] = 8.0,
    repeats: Annotated[int, typer.Option("--repeats", metavar="N", help="Sweeps; two at least.")] = 3,
    silence: Annotated[
        float, typer.Option("--silence", parser=decimal, metavar="S", help="Before the first, after each.")
    ] = 1.0,
    level: Annotated[
        float, typer.Option("--level", parser=decimal, metavar="DBFS", help="Peak level in the file.")
    ] = -12.0,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """Write the tone that is played through the resistor: rising sweeps with silence between them.

    Turn the playback level down before it is played: it is loud.

    Example: polepiece measure sweep-signal sweep.wav --rate 96000
    """
    from polepiece.measure import CAUTION, beside, description_of, excitation, sweep_for
    from polepiece.sound import write

    for path in (out, str(beside(out))):
        writable("OUT.wav", path, inputs=(), replace=replace)
    signal = sweep_for(rate, duration=seconds, repeats=repeats, silence=silence, level_db=level)
    where = Path(out)
    with staged(where.parent, [where.name, beside(where).name], inputs=(), replace=replace) as staging:
        write(staging.path(where.name), excitation(signal), rate)
        staging.path(beside(where).name).write_text(description_of(signal), encoding="utf-8")
    if json:
        emit(plain_envelope("measure-sweep-signal", {"file": str(where), "description": str(beside(where)),
                                                     "signal": signal.to_dict(), "caution": CAUTION}))  # fmt: skip
        return
    screen = console()
    screen.print(f"{where}: {repeats} sweeps of {seconds:g} s, {signal.length:.1f} s in all, 24 bit, {rate} Hz.")
    screen.print(f"{beside(where)} describes it: keep both together.")
    screen.print(f"Caution: {CAUTION}", soft_wrap=True)


@app.command()
def impedance(
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
    pickup: PickupName = None,
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
    _check_hand_over(guitar, out, save, (*asked.values(), signal), engine=engine, replace=replace)
    taken = {role: read_taken(path, role) for role, path in asked.items() if path is not None}
    played = _signal_of(signal, taken["pickup"])
    interface = None
    if input_resistance is not None:
        across = needed(input_resistance, "--input-resistance", "ohm")
        farad = quantity(input_capacitance, "--input-capacitance", "F")
        interface = (
            InterfaceInput(resistance=across)
            if farad is None
            else InterfaceInput(resistance=across, capacitance=farad, capacitance_tolerance=GIVEN)
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
    keys, taught = _handed_over(measured, guitar, pickup, out)
    computed = _engine_fit(spectrum, guitar, pickup, direct) if engine and guitar is not None else None
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


def _check_hand_over(
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


def _handed_over(
    measured: "MeasuredPickup", guitar: str | None, pickup: str | None, out: str | None
) -> "tuple[dict[str, float], tuple[Narrowed, ...] | None]":
    from polepiece.cli.envelope import pickup_of
    from polepiece.evidence import measured_keys, with_measured
    from polepiece.guitar import read_guitar, write_guitar

    if guitar is not None and out is not None:
        record = read_guitar(guitar)
        unit = pickup_of(record, pickup)
        moved = with_measured(record, unit.name, measured)
        taught = learnt(record, moved, unit.name, ())
        write_whole(out, write_guitar(moved))
        return measured_keys(measured), taught
    return measured_keys(measured), None


def _engine_fit(
    spectrum: "ImpedanceSpectrum", guitar: str, pickup: str | None, direct: tuple[float, float] | None
) -> "CoilFit":
    from polepiece.cli.envelope import pickup_of
    from polepiece.evidence import engine_model
    from polepiece.guitar import read_guitar
    from polepiece.measure import fit_coil

    record = read_guitar(guitar)
    with working("computing the pickup over its spreads"):
        return fit_coil(spectrum, engine_model(record, pickup_of(record, pickup).name), resistance=direct)


def _as_body(fit: "CoilFit") -> dict[str, Any]:
    return {
        "parameters": [asdict(one) for one in fit.parameters], "untold": fit.untold, "notes": fit.notes,
        "misfit": fit.misfit, "largest_residual": fit.largest_residual[0],
        "largest_residual_hz": fit.largest_residual[1],
    }  # fmt: skip


def _show_engine(fit: "CoilFit") -> None:
    screen = console()
    rows = [(one.name.replace("_", " "), *_digits(one), "" if one.told else "not told") for one in fit.parameters]
    screen.print(table("The computed pickup, fitted (factors: 1 is the guitar file)", ("quantity", "value",
                       "90 % interval", ""), rows))  # fmt: skip
    share, hertz = fit.largest_residual
    screen.print(f"Largest residual {100 * share:.1f} % of |Z| at {hertz:.0f} Hz.")
    for line in (*fit.untold, *fit.notes):
        screen.print(f"- {line}", soft_wrap=True)


def _digits(one: "Estimate") -> tuple[str, str]:
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
    fitted = [(words, *_digits(found[name])) for name, words in WORDS.items() if name in found]
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


@app.command()
def dcr(
    reading: Annotated[str, typer.Argument(metavar="OHM", help="As the multimeter shows it: 7.82k.")],
    temperature: Temperature = 20.0,
    accuracy: Annotated[float, typer.Option("--accuracy", parser=decimal, metavar="%", help="Of the meter.")] = 1.0,
    leads: Annotated[str, typer.Option("--leads", metavar="OHM", help="Probes held together.")] = "0",
    before: Annotated[
        str | None, typer.Option("--before", metavar="OHM", help="At 20 degC on record: more than 2 % apart is said.")
    ] = None,
    json: Json = False,
) -> None:
    """Resistance of a pickup at 20 degrees from a multimeter's reading at another temperature.

    Example: polepiece measure dcr 7.62k --temperature 14
    """
    from polepiece.measure import direct_resistance

    found = direct_resistance(
        needed(reading, "OHM", "ohm"), temperature=temperature, accuracy=accuracy / 100.0,
        leads=needed(leads, "--leads", "ohm"), expected=quantity(before, "--before", "ohm"),
    )  # fmt: skip
    if json:
        body = asdict(found)
        body["temperature_c"] = body.pop("temperature")
        emit(plain_envelope("measure-dcr", body))
        return
    screen = console()
    rows = [(f"as read, at {temperature:g} degC", *_digits(found.read)), ("at 20 degC", *_digits(found.at_20))]
    screen.print(table("Resistance for direct current", ("", "value", "90 % interval"), rows))
    for note in found.notes:
        screen.print(f"- {note}", soft_wrap=True)


@app.command()
def meter(
    reading: Annotated[
        list[str], typer.Option("--reading", metavar="HZ,H,Q", help="Series L and Q at a test frequency, repeatable.")
    ],
    dcr: Annotated[str, typer.Option("--dcr", metavar="OHM", help="The multimeter's reading.")],
    temperature: Temperature = 20.0,
    accuracy: Annotated[float, typer.Option("--accuracy", parser=decimal, metavar="%", help="Of the LCR meter.")] = 2.0,
    guitar: TaughtGuitar = None,
    pickup: PickupName = None,
    out: NewGuitar = None,
    date: Date = None,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """What an LCR meter's readings say of R, L and C; what they do not say is marked.

    With --guitar and --out a new guitar file has what was told, with its interval; predictions draw from there.

    Example: polepiece measure meter --dcr 7.8k --reading 120,4.41,0.41 --reading 1000,4.02,2.1
    """
    from polepiece.measure import deviation_of, direct_resistance, fit_meter, metered_pickup

    _check_hand_over(guitar, out, None, (), engine=False, replace=replace)
    readings = [_reading(text, accuracy / 100.0) for text in reading]
    direct = direct_resistance(needed(dcr, "--dcr", "ohm"), temperature=temperature)
    fit = fit_meter(readings, resistance=deviation_of(direct))
    shown = [one for one in (*fit.parameters, *fit.derived) if one.name in WORDS]
    when = date or datetime.date.today().isoformat()
    measured = metered_pickup(readings, fit, date=when, temperature=temperature)
    keys, taught = _handed_over(measured, guitar, pickup, out)
    if json:
        emit(plain_envelope("measure-meter", {
            "estimates": [asdict(one) for one in shown], "untold": fit.untold, "notes": fit.notes,
            "misfit": fit.misfit, "guitar_keys": keys, "learnt": None if taught is None else learnt_body(taught),
        }))  # fmt: skip
        return
    screen = console()
    rows = [(WORDS[one.name], *_digits(one), "" if one.told else "not measured") for one in shown]
    screen.print(table("From the meters", ("quantity", "value", "90 % interval", ""), rows))
    for line in (*fit.untold, *fit.notes):
        screen.print(f"- {line}", soft_wrap=True)
    if taught is not None:
        screen.print(f"written: {out}", soft_wrap=True, markup=False)
        screen.print(learnt_table(taught, ()))


def _reading(text: str, accuracy: float) -> Any:
    from polepiece.measure import MeterReading

    parts = text.split(";" if ";" in text else ",")
    if len(parts) not in (2, 3):
        raise InputError(f"--reading is {text!r}; write Hz, H, Q: 120,4.41,0.41 or 120;4,41;0,41.")
    hertz, henry = needed(parts[0], "--reading", "Hz"), needed(parts[1], "--reading", "H")
    quality = needed(parts[2], "--reading", "") if len(parts) == 3 else None
    return MeterReading(frequency=hertz, inductance=henry, quality=quality, accuracy=accuracy)
