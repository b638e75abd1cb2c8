"""``polepiece measure``: excitation, impedance from a recording, meters; what an instrument said, with bounds."""

import datetime
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli import measure_gauss, measure_impedance, measure_table
from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.learnt import learnt_body, learnt_table
from polepiece.cli.measure_impedance import (
    WORDS,
    Date,
    NewGuitar,
    TaughtGuitar,
    Temperature,
    check_hand_over,
    digits,
    handed_over,
)
from polepiece.cli.options import Json, NotebookFile, PickupName, Replace, decimal
from polepiece.cli.output import staged, writable
from polepiece.cli.read_table import ColumnWords, Sheet, TableFile, TableSide, one_of, table_from
from polepiece.cli.typed_reading import needed, quantity
from polepiece.errors import InputError

if TYPE_CHECKING:
    pass

NAME = "measure"
app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, add_completion=False)


app.command(name=measure_gauss.NAME)(measure_gauss.command)
app.command(name=measure_table.NAME)(measure_table.command)


@app.callback()
def _main() -> None:
    """Measure a pickup: a sweep through one known resistor, meters, plucks before and after a change."""


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


app.command(name=measure_impedance.NAME)(measure_impedance.command)


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
    rows = [(f"as read, at {temperature:g} degC", *digits(found.read)), ("at 20 degC", *digits(found.at_20))]
    screen.print(table("Resistance for direct current", ("", "value", "90 % interval"), rows))
    for note in found.notes:
        screen.print(f"- {note}", soft_wrap=True)


@app.command()
def meter(
    reading: Annotated[
        list[str] | None,
        typer.Option("--reading", metavar="HZ,H,Q", help="Series L and Q at a test frequency, repeatable."),
    ] = None,
    dcr: Annotated[
        str | None, typer.Option("--dcr", metavar="OHM", help="The multimeter's reading; a table may have it.")
    ] = None,
    from_table: TableFile = None,
    column: ColumnWords = None,
    sheet: Sheet = None,
    side: TableSide = None,
    temperature: Temperature = 20.0,
    accuracy: Annotated[float, typer.Option("--accuracy", parser=decimal, metavar="%", help="Of the LCR meter.")] = 2.0,
    guitar: TaughtGuitar = None,
    pickup: PickupName = None,
    out: NewGuitar = None,
    date: Date = None,
    replace: Replace = False,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """What an LCR meter's readings say of R, L and C; what they do not say is marked.

    With --guitar and --out a new guitar file has what was told, with its interval; predictions draw from there.

    Example: polepiece measure meter --dcr 7.8k --reading 120,4.41,0.41 --reading 1000,4.02,2.1
    """
    from polepiece.measure import deviation_of, direct_resistance, fit_meter, meter_readings, metered_pickup, one_value

    one_of(reading, from_table, column)
    check_hand_over(guitar, out, None, (), engine=False, replace=replace)
    readings = [_reading(text, accuracy / 100.0) for text in reading or ()]
    ohms = quantity(dcr, "--dcr", "ohm")
    if from_table is not None:
        given = table_from(from_table, column, sheet=sheet, notebook=notebook).of(pickup, side)
        readings = list(meter_readings(given, accuracy / 100.0))
        ohms = one_value(given, "direct resistance") if ohms is None else ohms
        degrees = one_value(given, "temperature")
        temperature = temperature if degrees is None else degrees
    if ohms is None:
        raise InputError("give the multimeter's reading: --dcr 7.8k, or a column of it in the table.")
    direct = direct_resistance(ohms, temperature=temperature)
    fit = fit_meter(readings, resistance=deviation_of(direct))
    shown = [one for one in (*fit.parameters, *fit.derived) if one.name in WORDS]
    when = date or datetime.date.today().isoformat()
    measured = metered_pickup(readings, fit, date=when, temperature=temperature)
    keys, taught = handed_over(measured, guitar, pickup, out)
    if json:
        emit(plain_envelope("measure-meter", {
            "estimates": [asdict(one) for one in shown], "untold": fit.untold, "notes": fit.notes,
            "misfit": fit.misfit, "guitar_keys": keys, "learnt": None if taught is None else learnt_body(taught),
        }))  # fmt: skip
        return
    screen = console()
    rows = [(WORDS[one.name], *digits(one), "" if one.told else "not measured") for one in shown]
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
