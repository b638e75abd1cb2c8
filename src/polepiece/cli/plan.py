"""``polepiece plan``: from a complaint to a ranked plan."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, show_assumed
from polepiece.cli.envelope import assumed_of, emit, envelope
from polepiece.cli.options import Assumed, Draws, Ears, GuitarFile, Json, OutReport, Position, Replace, Seed
from polepiece.cli.own_ear import ear_body, own_ear
from polepiece.cli.progress import working_aloud
from polepiece.cli.row_lines import all_lines, row_lines
from polepiece.cli.second import import_physics, second_process
from polepiece.cli.sheets import check_report, plan_sheet, say_written, write_report
from polepiece.cli.trade_lines import found_words, trade_lines
from polepiece.cli.which_guitar import guitar_called
from polepiece.draw_counts import DRAWS

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
    ear: Ears = None,
    draws: Draws = DRAWS,
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
    with own_ear(ear) as heard, second_process(begun=json) as executor:
        from polepiece.bench import Bench

        if out is not None:
            check_report(out, file, replace=replace)
        guitar = guitar_called(file)
        bench = Bench(seed=seed, exact_screws=False, executor=executor)
        second = executor.submit if executor is not None else None
        found = planned(
            guitar, complaint, constraint, position=position, draws=draws, bench=bench, quiet=json, second=second
        )
        if out is not None:
            write_report(out, plan_sheet(guitar, found, one_table=out.lower().endswith(".csv")))
        if json:
            emit(envelope(NAME, guitar, as_body(found, every=every) | ear_body(heard), seed=seed))
        elif out is not None:
            say_written(out)
        else:
            _print(guitar, found, why=why, every=every, assumed=assumed, position=position)
            if heard is not None:
                console().print(heard.words, soft_wrap=True, markup=False)
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


def _print(
    guitar: "Guitar", found: "Plan", *, why: int | None, every: bool, assumed: bool, position: str | None
) -> None:
    from polepiece.moves import parse_changes

    screen = console()
    concerned = {row.pickup for row in found.rows} | {one.pickup for one in found.complaints}
    pickups = [one for one in guitar.pickups if {one.name, one.position, None} & concerned]
    values = assumed_of(guitar, pickups)
    if why is None:
        show(screen, found, every=every, assumed=0 if assumed or every else len(values))
    else:
        row = _row(found, why)
        screen.print("\n".join(row_lines(row)), markup=False, soft_wrap=True)
        if row.change and row.also is None and found.verdict == "plan":
            heard = found_words(guitar, row.pickup, parse_changes(row.moves), position=position, bench=None)
            screen.print("\n".join(["", *trade_lines(*heard)]), markup=False, soft_wrap=True)
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
    quiet: bool = True,
    second: Callable[[Callable[[], None]], object] | None = None,
) -> "Plan":
    """Read complaints and constraints, and plan; ``second`` starts another process with a call, after the first words.

    While two processes load, both take longer.
    """
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
    with working_aloud("trying every lever") as (progress, say):
        tell = None if quiet else say if second is None else _and_once(say, partial(second, import_physics))
        found = make_plan(guitar, bench, told, limits, draws=draws, progress=progress, position=position, tell=tell)
    return replace(found, said=said)


def _and_once(say: Callable[[str], None], then: Callable[[], object]) -> Callable[[str], None]:
    """Return what says a line, and after the first does one thing more."""
    left = [then]

    def tell(line: str) -> None:
        say(line)
        if left:
            left.pop()()

    return tell


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
        screen.print("\n".join(all_lines(found)), markup=False, soft_wrap=True)


def _paragraph(screen: "Console", text: str) -> None:
    from rich.padding import Padding
    from rich.text import Text

    screen.print(Padding(Text(text), (0, 0, 0, 2), expand=False))
