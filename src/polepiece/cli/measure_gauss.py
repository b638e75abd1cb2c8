"""``polepiece measure gauss``: how a bar is charged, from a gauss meter at the pole tops."""

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, envelope, pickup_of
from polepiece.cli.learnt import learnt, learnt_body, learnt_table
from polepiece.cli.lines import date_of
from polepiece.cli.options import GuitarFile, Json, NotebookFile, PickupName, Replace, Seed
from polepiece.cli.output import writable, write_whole
from polepiece.cli.progress import working
from polepiece.cli.read_table import ColumnWords, Sheet, TableFile, TableSide, one_of, table_from
from polepiece.cli.which_guitar import guitar_called
from polepiece.errors import InputError
from polepiece.typed_number import typed_float

if TYPE_CHECKING:
    from polepiece.evidence import ChargeFound
    from polepiece.measure import Probe

NAME = "gauss"
ProbeHeight = Annotated[
    str | None,
    typer.Option("--probe-height-mm", metavar="MM", help="Sensing element above the probe's face; on its sheet."),
]
ProbeSize = Annotated[str, typer.Option("--probe-size-mm", metavar="MM", help="Width of the area it averages over.")]


def command(
    file: GuitarFile,
    reading: Annotated[
        list[str] | None,
        typer.Option("--reading", "-r", metavar="POLE=VALUE", help="1=38mT, 2=-380G, slug3=41,5mT; repeatable."),
    ] = None,
    from_table: TableFile = None,
    column: ColumnWords = None,
    sheet: Sheet = None,
    side: TableSide = None,
    pickup_name: PickupName = None,
    probe_height_mm: ProbeHeight = None,
    probe_size_mm: ProbeSize = "2",
    accuracy: Annotated[str, typer.Option("--accuracy", metavar="%", help="Limits of the meter's scale.")] = "3",
    repeatability: Annotated[
        str, typer.Option("--repeatability", metavar="%", help="Scatter when the probe is laid on again.")
    ] = "3",
    date: Annotated[str | None, typer.Option("--date", metavar="DATE", help="ISO; default today.")] = None,
    out: Annotated[
        str | None, typer.Option("--out", "-o", metavar="FILE", help="Write the charge into a new guitar file.")
    ] = None,
    change: Annotated[
        list[str] | None,
        typer.Option("--change", "-c", metavar="KEY=VALUE", help="With --out: the move whose intervals are compared."),
    ] = None,
    replace: Replace = False,
    notebook: NotebookFile = None,
    seed: Seed = 0,
    json: Json = False,
) -> None:
    """How the bar of a pickup is charged: readings at the pole tops against the computed field.

    Lay the probe flat on the middle of the pole; unit and sign as the meter shows them. Pole 1 is under the thin
    string; without a row, readings are of the screws. One pole does, six are better.

    Example: polepiece measure gauss guitar.toml --pickup bridge --reading 1=38mT --reading 2=380G --probe-height-mm 0.3
    """
    from polepiece.bench import Bench
    from polepiece.evidence import find_charge, with_charge
    from polepiece.guitar import write_guitar
    from polepiece.measure import GaussMeter, parse_gauss_readings, pole_readings
    from polepiece.moves import parse_changes

    one_of(reading, from_table, column)
    if from_table is not None:
        readings = pole_readings(table_from(from_table, column, sheet=sheet, notebook=notebook).of(pickup_name, side))
    else:
        readings = parse_gauss_readings(reading or ())
    if change and out is None:
        raise InputError("--change belongs to --out FILE: it compares the predictions of both guitar files.")
    parse_changes(change or ())
    if out is not None:
        writable("--out", out, inputs=[file], replace=replace)
    probe = probe_of(probe_height_mm, probe_size_mm)
    meter = GaussMeter(
        scale_tolerance=_number("accuracy", accuracy) / 100.0,
        repeatability=_number("repeatability", repeatability) / 100,
    )
    when = date_of(date)
    guitar = guitar_called(file)
    pickup = pickup_of(guitar, pickup_name)
    with working("computing the field at the poles"):
        found = find_charge(guitar, pickup.name, readings, probe=probe, meter=meter, bench=Bench(seed=seed))
    narrowed = None
    if out is not None:
        moved = with_charge(guitar, found, date=when)
        narrowed = learnt(guitar, moved, pickup.name, change or ())
        write_whole(out, write_guitar(moved))
    if json:
        body = as_body(found) | {"date": when, "probe": _metres(probe), "meter": asdict(meter), "out": out}
        body["learnt"] = None if narrowed is None else learnt_body(narrowed)
        emit(envelope("measure-gauss", guitar, body, seed=seed, pickups=[pickup]))
        return
    _show(found)
    if narrowed is not None:
        console().print(learnt_table(narrowed, change or ()))
        console().print(f"written: {out}", soft_wrap=True)


def as_body(found: "ChargeFound") -> dict[str, Any]:
    """Return what was found as the JSON shape; flux densities in tesla, said in their keys."""
    body = asdict(found)
    for key in ("computed", "reading"):
        body[f"{key}_t"] = body.pop(key)
    fields = ("read", "outside", "in_place")
    body["poles"] = [{f"{key}_t" if key in fields else key: one for key, one in pole.items()} for pole in body["poles"]]
    return body


def _metres(probe: "Probe") -> dict[str, float]:
    return {f"{key}_m": value for key, value in asdict(probe).items()}


def probe_of(height_mm: str | None, size_mm: str) -> "Probe":
    """Return the probe that the options describe."""
    from polepiece.evidence import usual_probe

    height = None if height_mm is None else 1e-3 * _number("probe-height-mm", height_mm)
    return usual_probe(height, 1e-3 * _number("probe-size-mm", size_mm))


def _number(option: str, text: str) -> float:
    """Return a length in mm."""
    value = typed_float(text, f"--{option}", allowed="Write a plain number from 0 on, such as 0.3 or 0,3")
    if not 0.0 <= value < 1e3:
        raise InputError(f"--{option} is {text!r}; write a plain number from 0 on, such as 0.3 or 0,3.")
    return value


def _show(found: "ChargeFound") -> None:
    screen = console()
    rows: list[tuple[Any, ...]] = [
        (f"{one.row} {one.pole}", *(f"{1e3 * b:+.1f}" for b in (one.read, one.outside, one.in_place)),
         f"{100 * one.share:.0f} %")
        for one in found.poles
    ]  # fmt: skip
    heads = ("pole", "read mT", "computed, charged outside", "computed, in place", "read / outside")
    screen.print(table(f"{found.pickup}: at the pole tops (1 mT is 10 gauss; + is up)", heads, rows))
    low, high = found.share_interval
    screen.print(
        f"Field: {100 * found.share:.0f} % of a bar charged outside (90 %: {100 * low:.0f} to {100 * high:.0f} %); "
        f"charged in place it would be {100 * found.in_place_share:.0f} %.",
        soft_wrap=True,
    )
    if found.fraction is not None:
        value, least, most = found.fraction
        screen.print(f"Charge: {value:.2f} of outside (90 %: {least:.2f} to {most:.2f}).")
    else:
        screen.print(f"Charge: {found.charge or 'not told'}.")
    screen.print(f"Polarity: {found.polarity}.")
    for note in found.notes:
        screen.print(f"- {note}", soft_wrap=True)
