"""``polepiece plan``: from a complaint to a ranked plan."""

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, show_assumed, signed, table
from polepiece.cli.envelope import assumed_of, emit, envelope
from polepiece.cli.options import Assumed, Draws, GuitarFile, Json, OutReport, Position, Replace, Seed
from polepiece.cli.progress import working
from polepiece.cli.second import second_process
from polepiece.cli.sheets import check_report, plan_sheet, say_written, write_report
from polepiece.cli.which_guitar import guitar_called

if TYPE_CHECKING:
    from rich.console import Console

    from polepiece.bench import Bench
    from polepiece.guitar import Guitar
    from polepiece.planning import Plan, Row

NAME = "plan"


def command(
    file: GuitarFile,
    complaint: Annotated[
        list[str] | None,
        typer.Option(
            "--complaint",
            "-c",
            metavar="WORDS",
            help='As you would say it: "neck muddy and bridge a bit too bright"; repeatable. As in the file.',
        ),
    ] = None,
    constraint: Annotated[
        list[str] | None,
        typer.Option(
            "--constraint",
            metavar="WORDS",
            help='keep-output, no-solder, owned=alnico-3, budget=20, "leave the bridge alone"; repeatable.',
        ),
    ] = None,
    only_understood: Annotated[
        bool, typer.Option("--understood", help="Only what is understood of the words, without a plan.")
    ] = False,
    every: Annotated[
        bool, typer.Option("--all", help="Also why, every interval and threshold, all other rows, what was refused.")
    ] = False,
    why: Annotated[int | None, typer.Option("--why", metavar="ROW", help="One row in full, by its number.")] = None,
    out: OutReport = None,
    replace: Replace = False,
    position: Position = None,
    draws: Draws = 64,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """What to do about a complaint: where to start, a few rows to try, and what is not worth it.

    Faults and cheap causes come first, then free and reversible moves, then parts; a repair comes before any voicing.
    Exit code 1 when nothing helps within the constraints.

    Example: polepiece plan guitar.toml --complaint "neck: muddy" --constraint keep-output
    """
    if only_understood:
        _say_understood(guitar_called(file), complaint, constraint, json=json)
        return
    with second_process() as executor:
        from polepiece.bench import Bench

        if out is not None:
            check_report(out, file, replace=replace)
        guitar = guitar_called(file)
        bench = Bench(seed=seed, exact_screws=False, executor=executor)
        found = planned(guitar, complaint, constraint, position=position, draws=draws, bench=bench)
    if out is not None:
        write_report(out, plan_sheet(guitar, found))
    if json:
        emit(envelope(NAME, guitar, as_body(found, every=every), seed=seed))
    elif out is not None:
        say_written(out)
    else:
        _print(guitar, found, why=why, every=every, assumed=assumed)
    if found.verdict == "plan" and not any(row.change for row in found.rows):
        raise typer.Exit(1)


def _say_understood(
    guitar: "Guitar", complaints: "list[str] | None", constraints: "list[str] | None", *, json: bool
) -> None:
    from polepiece.planning import parse_constraints, read_complaints, said_both, understanding, understood_of

    complaints, constraints = said_both(complaints, constraints, guitar)
    own = [f"{one.pickup}: {one.word}" if one.pickup else one.word for one in guitar.complaints]
    said = own if complaints is None else complaints
    readings, limits = read_complaints(said, guitar), parse_constraints(constraints or (), guitar)
    if json:
        emit(envelope("understood", guitar, understanding(readings, limits.readings), seed=0))
        return
    for one in understood_of((*readings, *limits.readings)):
        _paragraph(console(), f'"{one.text}": {one.words}.')


def _print(guitar: "Guitar", found: "Plan", *, why: int | None, every: bool, assumed: bool) -> None:
    screen = console()
    concerned = {row.pickup for row in found.rows} | {one.pickup for one in found.complaints}
    pickups = [one for one in guitar.pickups if {one.name, one.position, None} & concerned]
    values = assumed_of(guitar, pickups)
    if why is None:
        show(screen, found, every=every, assumed=0 if assumed or every else len(values))
    else:
        show_row(screen, _row(found, why))
    if assumed or every:
        show_assumed(screen, values, guitar=guitar, everything=assumed)


def planned(
    guitar: "Guitar",
    complaints: "list[str] | None",
    constraints: "list[str] | None",
    *,
    position: str | None = None,
    draws: int,
    bench: "Bench",
) -> "Plan":
    """Read complaints and constraints, and plan."""
    from polepiece.planning import (
        complaints_of,
        make_plan,
        parse_constraints,
        read_complaints,
        said_both,
        understood_of,
    )

    complaints, constraints = said_both(complaints, constraints, guitar)
    readings = read_complaints(complaints or (), guitar)
    told = [one for reading in readings for one in complaints_of(reading)] if complaints else None
    limits = parse_constraints(constraints or (), guitar)
    said = understood_of((*readings, *limits.readings))
    with working("trying every lever") as progress:
        found = make_plan(guitar, bench, told, limits, draws=draws, progress=progress, position=position)
    return replace(found, said=said)


def _row(found: "Plan", rank: int) -> "Row":
    from polepiece.errors import InputError

    rows = [row for row in (*found.rows, *found.rest) if row.rank == rank]
    if not rows:
        raise InputError(f"--why {rank}: there is no such row; rows are numbered 1 to {len(found.rows + found.rest)}.")
    return rows[0]


def as_body(found: "Plan", *, every: bool = False) -> dict[str, Any]:
    """Return a plan as the JSON shape."""
    from dataclasses import asdict

    from polepiece.planning import answer_of, plan_json

    return dict(plan_json(found, everything=every)) | {"answer": asdict(answer_of(found))}


def show(screen: "Console", found: "Plan", *, every: bool = False, assumed: int = 0) -> None:
    """Print the answer; with ``every`` also the reason of each row, all other rows, and what was refused."""
    from polepiece.cli.answer_lines import answer_lines

    for one in found.said:
        _paragraph(screen, f'"{one.text}": {one.words}.')
    screen.print("\n".join(answer_lines(found, assumed=assumed)), markup=False, soft_wrap=True)
    if every:
        show_all(screen, found)


def show_all(screen: "Console", found: "Plan") -> None:
    """Print what stands behind the answer."""
    for cause in found.cheap_causes:
        _paragraph(screen, f"First, {cause.cause}: {cause.check} ({cause.why})")
    for advice in found.advice:
        _paragraph(screen, f"{advice[:1].upper()}{advice[1:]}")
    for row in found.rows:
        show_row(screen, row)
    rest = [(row.rank, row.done, row.heard, row.minutes, row.cost) for row in found.rest]
    if rest:
        heads = ("", "what else points the right way", "heard", "min", "cost")
        screen.print(table(f"Out of {found.considered} moves considered", heads, rest, left=2))
    _afterwards(screen, found)


def show_row(screen: "Console", row: "Row") -> None:
    """Print one row in full: why, intervals, threshold, positions, way back, risk, what it hangs on."""
    head = f"{row.done}: {row.heard}, {row.minutes} min, {row.cost}." if row.change else ""
    typed = f" As a change: {moves(row)}." if row.change else ""
    threshold = f" Heard is judged against {row.threshold:g} {row.threshold_unit}: {row.threshold_source}."
    parted = f" {row.parted}" if row.parted else ""
    loses = f" Besides: {'; '.join(row.loses)}." if row.loses else ""
    fit = "" if row.fit == "n/a" else f" Fit: {row.fit}."
    text = f"{head} {_why(row)}{loses}{parted}{fit}{threshold if row.change else ''}{typed}"
    _paragraph(screen, text.strip(), number=row.rank)


def words(keys: Iterable[str]) -> str:
    """Return quantities in words, without what is in brackets; what is none of them as it is."""
    from polepiece.bench import QUANTITIES

    return ", ".join(QUANTITIES[key].words.partition(" (")[0] if key in QUANTITIES else key for key in keys)


def moves(row: "Row") -> str:
    """Return what is done in a row, ready to type: the height move beside a bar included."""
    if not row.change:
        return "do nothing"
    then = [row.then] if row.then else []
    other = [f"{row.also[0]}: {', '.join(row.also[1])}"] if row.also else []
    return ", ".join([*row.change, *then]) + "".join(f"; {one}" for one in other)


def _why(row: Any) -> str:
    way = "" if not row.change else f" Way back: {row.way_back}. Risk: {row.risk}."
    hangs = ""
    if row.hangs_on:
        words = row.hangs_on.rsplit(".", 1)[-1].replace("_", " ")
        hangs = f" Hangs on what was assumed for the {words} ({row.hangs_on} in the file); to settle it: {row.settle}."
    where = f" To: {row.to}." if row.change else ""
    on = f" Strings {', '.join(map(str, row.strings))}." if row.strings else ""
    others = "".join(f" {one.words[0].upper()}{one.words[1:]}." for one in row.other_positions)
    heard = f" Moves the positions: {'; '.join(row.heard_in)}." if row.heard_in else ""
    return f"{row.why}{_spans(row)}{on}{where}{heard}{others}{way}{hangs}"


def _spans(row: Any) -> str:
    """Return the 90 % intervals of what gets better and worse, where they were computed."""
    from polepiece.bench import QUANTITIES

    effect, interval = _judged_by(row)
    named = [(key, QUANTITIES[key].number) for key in (*row.better, *row.worse) if key in QUANTITIES]
    spans = [
        f"{words([key])} {signed(effect[at], interval[at])}" for key, at in named if at in interval and at in effect
    ]
    return f" With 90 % interval, dB: {', '.join(spans)}." if spans else ""


def _judged_by(row: Any) -> tuple[Any, Any]:
    """Return effect and interval of the use that the row is judged by."""
    if row.use == "re-set" and row.effect_at_old_level is not None:
        return row.effect_at_old_level, row.interval_at_old_level
    return row.effect, row.interval


def _afterwards(screen: "Console", found: "Plan") -> None:
    if found.bars_to_have:
        bars = [f"{one.order}. {one.grade}" + (f", then {one.then}" if one.then else "") for one in found.bars_to_have]
        _paragraph(screen, f"Bars to have on the bench, in the order to try them: {'; '.join(bars)}.")
    if found.refused:
        screen.print("Refused:")
        for one in found.refused:
            alike = f" ({one.alike} more for the same reason)" if one.alike else ""
            what = ", ".join(one.change)
            _paragraph(screen, f"{one.reason if what in one.reason else f'{what}: {one.reason}'}{alike}")
    if found.few:
        screen.print(found.few, soft_wrap=True, markup=False)


def _paragraph(screen: "Console", text: str, *, number: int | None = None) -> None:
    from rich.padding import Padding
    from rich.text import Text

    head = "" if number is None else f"{number}. "
    screen.print(Padding(Text(head + text), (0, 0, 0, 2), expand=False))
