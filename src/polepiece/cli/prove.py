"""``polepiece prove``: a change as computed, measured and heard, in one ledger."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, envelope, pickup_of
from polepiece.cli.lines import date_of
from polepiece.cli.measure_gauss import ProbeHeight, ProbeSize, probe_of
from polepiece.cli.options import Changes, Draws, GuitarFile, Json, NotebookFile, PickupName, Replace, Seed, decimal
from polepiece.cli.output import writable, write_whole
from polepiece.cli.progress import working
from polepiece.cli.read_table import ColumnWords, Sheet, table_from
from polepiece.cli.typed_reading import needed
from polepiece.cli.which_guitar import guitar_called
from polepiece.draw_counts import DRAWS
from polepiece.errors import InputError, MeasurementError

if TYPE_CHECKING:
    from polepiece.evidence import Evidence, Tabled
    from polepiece.guitar import Guitar
    from polepiece.measure import BlindTrial, DirectReading, Ledger
    from polepiece.moves import Change

NAME = "prove"
Record = TypeVar("Record")


def command(
    file: GuitarFile,
    change: Changes,
    pickup_name: PickupName = None,
    before_impedance: Annotated[
        str | None, typer.Option("--before-impedance", metavar="JSON", help="Record of `measure impedance --save`.")
    ] = None,
    after_impedance: Annotated[str | None, typer.Option("--after-impedance", metavar="JSON", help="After it.")] = None,
    plucks: Annotated[
        str | None, typer.Option("--plucks", metavar="JSON", help="Record of plucks before and after.")
    ] = None,
    dcr_before: Annotated[
        str | None, typer.Option("--dcr-before", metavar="OHM", help="A multimeter's reading before: 7.82k.")
    ] = None,
    dcr_after: Annotated[str | None, typer.Option("--dcr-after", metavar="OHM", help="And after.")] = None,
    temperature_before: Annotated[
        float | None,
        typer.Option("--temperature-before", parser=decimal, metavar="C", help="Of the pickup at --dcr-before."),
    ] = None,
    temperature_after: Annotated[
        float | None,
        typer.Option(
            "--temperature-after", parser=decimal, metavar="C", help="At --dcr-after; one alone is for both, else 20."
        ),
    ] = None,
    gauss_before: Annotated[
        list[str] | None,
        typer.Option("--gauss-before", metavar="POLE=VALUE", help="Gauss meter at a pole top: 1=38mT; repeatable."),
    ] = None,
    gauss_after: Annotated[
        list[str] | None, typer.Option("--gauss-after", metavar="POLE=VALUE", help="And after; repeatable.")
    ] = None,
    from_table: Annotated[
        str | None,
        typer.Option("--table", metavar="FILE", help="Readings, *.csv or *.xlsx; a column says before or after."),
    ] = None,
    table_before: Annotated[
        str | None, typer.Option("--table-before", metavar="FILE", help="A table whose readings are all from before.")
    ] = None,
    table_after: Annotated[str | None, typer.Option("--table-after", metavar="FILE", help="All from after.")] = None,
    column: ColumnWords = None,
    sheet: Sheet = None,
    probe_height_mm: ProbeHeight = None,
    probe_size_mm: ProbeSize = "2",
    heard: Annotated[
        str | None, typer.Option("--heard", metavar="JSON", help="Record of a blind trial that is over.")
    ] = None,
    date: Annotated[str | None, typer.Option("--date", metavar="DATE", help="ISO; default today.")] = None,
    out: Annotated[
        str | None, typer.Option("--out", "-o", metavar="FILE", help="Write the ledger: .csv, .html or .json.")
    ] = None,
    replace: Replace = False,
    keep: Annotated[
        str | None, typer.Option("--keep", metavar="GUITAR", help="Keep it in the notebook: its number or name there.")
    ] = None,
    notebook: NotebookFile = None,
    draws: Draws = DRAWS,
    seed: Seed = 0,
    json: Json = False,
) -> None:
    """What was computed of a change beside what was measured and heard of it, each with its interval.

    FILE is the guitar as it was before; --change says what was done, heights included. Whatever was measured goes in:
    sweeps, plucks, meters, a blind trial. What is missing is said to be missing.

    Example: polepiece prove guitar.toml --pickup neck --change magnet=alnico-3 --dcr-before 7.82k --dcr-after 7.80k
    """
    from polepiece.bench import Bench
    from polepiece.evidence import Evidence, both_sides, prove, tabled
    from polepiece.measure import MeasuredPickup, PluckRecord, parse_gauss_readings
    from polepiece.moves import parse_changes

    changes = parse_changes(change)
    tables = {"": from_table, "before": table_before, "after": table_after}
    asked = {side: path for side, path in tables.items() if path is not None}
    if notebook is not None and keep is None and not asked:
        raise InputError("--notebook belongs to --keep GUITAR, and to tables, whose columns it knows.")
    if (column or sheet) and not asked:
        raise InputError("--column and --sheet belong to --table FILE.")
    inputs = [file, before_impedance, after_impedance, plucks, heard, *asked.values()]
    if out is not None:
        _check_out(out, inputs, replace=replace)
    when = date_of(date)
    files: dict[str, str] = {}
    trial, of = _record(heard, "a blind trial", _with_its_states, files) or (None, {})
    plucked = _record(plucks, "plucks before and after", PluckRecord.from_dict, files)
    guitar = guitar_called(file)
    pickup = pickup_of(guitar, pickup_name)
    warm = [one for one in (temperature_before, temperature_after) if one is not None]
    evidence = Evidence(
        impedance_before=_record(before_impedance, "a measured pickup", MeasuredPickup.from_dict, files),
        impedance_after=_record(after_impedance, "a measured pickup", MeasuredPickup.from_dict, files),
        plucks=plucked.estimates if plucked is not None else (),
        notes=plucked.notes if plucked is not None else (),
        dcr_before=_direct(dcr_before, "--dcr-before", _degrees(warm, "before")),
        dcr_after=_direct(dcr_after, "--dcr-after", _degrees(warm, "after")),
        gauss_before=parse_gauss_readings(gauss_before) if gauss_before else (),
        gauss_after=parse_gauss_readings(gauss_after) if gauss_after else (),
        probe=probe_of(probe_height_mm, probe_size_mm),
        trial=trial,
    )
    if trial is not None:
        trial.outcome()  # refused before its end, before any work is done
        evidence = _credited(evidence, f"--heard {heard}", of, guitar, pickup.name, changes)
    for side, path in asked.items():
        read = table_from(path, column, sheet=sheet, notebook=notebook)
        name = Path(path).name
        files[path if files.get(name, read.sha256) != read.sha256 else name] = read.sha256
        parts = {side: read.of(pickup.name, side)} if side else both_sides(read, pickup.name)
        for one, rows in parts.items():
            evidence = _with_table(evidence, one, tabled(rows, temperature=_degrees(warm, one)))
    with working("computing what was to be expected"):
        bench = Bench(seed=seed)
        ledger = prove(
            guitar, pickup.name, changes, evidence, date=when, files=files, seed=seed, draws=draws, bench=bench
        )
    if out is not None:
        _write(ledger, out)
    kept = _kept(ledger, keep, notebook) if keep is not None else None
    if json:
        emit(
            envelope(NAME, guitar, {"ledger": ledger.to_dict(), "out": out, "kept": kept}, seed=seed, pickups=[pickup])
        )
        return
    show(ledger, evidence)
    for line in (f"written: {out}" if out else None, kept):
        if line:
            console().print(line, soft_wrap=True, markup=False)


def _check_out(out: str, inputs: "list[str | None]", *, replace: bool) -> None:
    if Path(out).suffix.lower() not in (".csv", ".html", ".json"):
        raise InputError(f"--out is {out!r}; its end says what is written: .csv, .html or .json.")
    writable("--out", out, inputs=inputs, replace=replace)


def _record(path: str | None, what: str, read: Callable[[Any], Record], files: dict[str, str]) -> Record | None:
    """Read one record and remember its hash; a fault names the file."""
    from polepiece.measure import read_record

    if path is None:
        return None
    body, digest = read_record(path, what)
    try:
        found = read(body)
    except (InputError, MeasurementError) as error:
        raise MeasurementError(f"{path}: {error}") from None
    name = Path(path).name
    files[path if name in files else name] = digest
    return found


def _with_its_states(body: "dict[str, Any]") -> "tuple[BlindTrial, object]":
    from polepiece.measure import BlindTrial

    return BlindTrial.from_dict(body), body.get("of")


def _credited(
    evidence: "Evidence", named: str, of: object, guitar: "Guitar", pickup: str, changes: "Sequence[Change]"
) -> "Evidence":
    """Refuse a trial of anything else; note what there is to know of one that counts."""
    from dataclasses import replace

    from polepiece.evidence import check_heard_of

    assert evidence.trial is not None
    try:
        note = check_heard_of(evidence.trial, of, guitar, pickup, changes)
    except InputError as error:
        raise InputError(f"{named}: {error}") from None
    return replace(evidence, notes=(*evidence.notes, note)) if note else evidence


def _degrees(said: "list[float]", side: str) -> float:
    """Return the temperature of a side: its own, that of the other, or a room's."""
    return 20.0 if not said else said[0 if side == "before" else -1]


def _with_table(evidence: "Evidence", side: str, found: "Tabled") -> "Evidence":
    """Add what a table says of one side; nothing is said twice."""
    from dataclasses import replace

    new = {name: value for name, value in (("dcr", found.direct), ("gauss", found.gauss), ("metered", found.metered))
           if value}  # fmt: skip
    twice = [name for name in new if getattr(evidence, f"{name}_{side}")]
    if twice:
        said = {"dcr": "the resistance", "gauss": "the gauss meter", "metered": "the inductance"}
        raise InputError(
            f"{' and '.join(said[one] for one in twice)} {side} the change is given twice: once by a table, once "
            "beside it. Give it once."
        )
    notes = (*evidence.notes, *found.notes)
    changed = {f"{name}_{side}": value for name, value in new.items()} | {"notes": notes}
    return replace(evidence, **changed)  # type: ignore[arg-type]


def _direct(text: str | None, named: str, temperature: float) -> "DirectReading | None":
    from polepiece.measure import direct_resistance

    return None if text is None else direct_resistance(needed(text, named, "ohm"), temperature=temperature)


def _write(ledger: "Ledger", out: str) -> None:
    import json as jsons

    from polepiece.report import ledger_csv, ledger_page

    kind = Path(out).suffix.lower()
    if kind == ".csv":
        text = ledger_csv(ledger)
    elif kind == ".html":
        text = ledger_page(ledger)
    else:
        text = jsons.dumps(ledger.to_dict(), indent=1, allow_nan=False) + "\n"
    write_whole(out, text)


def _kept(ledger: "Ledger", keep: str, notebook: str | None) -> str:
    """Keep the ledger; return what was done, with the count over all that were kept."""
    from polepiece.measure import coverage, readable_ledgers
    from polepiece.notebook import open_notebook

    with open_notebook(notebook) as book:
        entry = book.find_guitar(keep)
        note = book.keep_ledger(entry.id, ledger.to_dict(), state_id=entry.state_id)
        words = f"kept as entry {note.id} of {entry.name}"
        try:
            counted = coverage(readable_ledgers(one.body for one in book.ledgers(last=True)))
        except InputError:
            return words + "."
    return f"{words}. Over all ledgers in this notebook: {counted.words}"


def show(ledger: "Ledger", evidence: "Evidence") -> None:
    """Print a ledger."""
    from polepiece.report import ledger_rows

    screen = console()
    lines = ledger_rows(ledger)
    rows = [
        (row.quantity, row.of, row.computed or "-", row.computed_span, row.measured or row.heard,
         row.measured_span or row.heard_span, row.error or "-", row.word)
        for row in lines if row.measured or row.heard
    ]  # fmt: skip
    heads = ("quantity", "of", "computed", "90 %", "measured, heard", "90 %", "apart", "so")
    screen.print(table(f"{ledger.pickup}: {', '.join(ledger.change) or 'no change'}", heads, rows))
    missing = [f"{row.quantity} ({row.computed} [{row.computed_span}])" for row in lines if row.word == "not measured"]
    if missing:
        screen.print(f"Computed and not measured: {', '.join(missing)}.", soft_wrap=True, markup=False)
    for row in lines:
        if row.word == "no trial yet":
            screen.print(f"Not tried by ear; computed: {row.computed} [{row.computed_span}].", markup=False)
        if row.note:
            screen.print(f"- {row.quantity}, {row.of}: {row.note}", soft_wrap=True)
    for note in ledger.notes:
        screen.print(f"- {note}", soft_wrap=True)
    if evidence.trial is not None:
        screen.print(f"Rule stated before the trial: {evidence.trial.plan.stopping_rule}", soft_wrap=True)
    screen.print(
        "Apart: computed from measured, against what both together allow; up to 1 they agree (ISO 13528, k = 2)."
    )
