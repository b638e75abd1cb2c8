"""``polepiece plan``: from a complaint to a ranked plan."""

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, show_assumed, signed, table
from polepiece.cli.envelope import assumed_of, emit, envelope
from polepiece.cli.options import Assumed, Draws, GuitarFile, Json, Position, Seed
from polepiece.cli.progress import working
from polepiece.cli.second import second_process
from polepiece.cli.which_guitar import guitar_called

if TYPE_CHECKING:
    from rich.console import Console

    from polepiece.bench import Bench
    from polepiece.guitar import Guitar
    from polepiece.planning import Plan

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
    every: Annotated[bool, typer.Option("--all", help="Every row that helps, not five to seven.")] = False,
    position: Position = None,
    draws: Draws = 64,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """A ranked plan for a complaint: faults and cheap causes first, then free and reversible moves, then parts.

    A repair comes before any voicing: then there are no rows. Exit code 1 when nothing helps within the constraints.

    Example: polepiece plan guitar.toml --complaint "neck: muddy" --constraint keep-output
    """
    with second_process() as executor:
        from polepiece.bench import Bench

        guitar = guitar_called(file)
        bench = Bench(seed=seed, exact_screws=False, executor=executor)
        found = planned(guitar, complaint, constraint, position=position, draws=draws, bench=bench)
    if json:
        emit(envelope(NAME, guitar, as_body(found, every=every), seed=seed))
    else:
        screen = console()
        show(screen, found, every=every)
        concerned = {row.pickup for row in found.rows} | {one.pickup for one in found.complaints}
        pickups = [one for one in guitar.pickups if {one.name, one.position, None} & concerned]
        show_assumed(screen, assumed_of(guitar, pickups), everything=assumed)
    if found.verdict == "plan" and not any(row.change for row in found.rows):
        raise typer.Exit(1)


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
    from polepiece.planning import complaints_of, make_plan, parse_constraints, read_complaints, understood_of

    readings = read_complaints(complaints or (), guitar)
    told = [one for reading in readings for one in complaints_of(reading)] if complaints else None
    limits = parse_constraints(constraints or (), guitar)
    said = understood_of((*readings, *limits.readings))
    with working("trying every lever") as progress:
        found = make_plan(guitar, bench, told, limits, draws=draws, progress=progress, position=position)
    return replace(found, said=said)


def as_body(found: "Plan", *, every: bool = False) -> dict[str, Any]:
    """Return a plan as the JSON shape."""
    from polepiece.planning import plan_json

    return dict(plan_json(found, everything=every))


def show(screen: "Console", found: "Plan", *, every: bool = False) -> None:
    """Print a plan: what to check first, the rows, and what was refused."""
    for heard in found.said:
        _paragraph(screen, f'"{heard.text}": {heard.words}.')
    for one in found.complaints:
        strength = {1: "slight", 2: "clear", 3: "strong"}.get(one.strength, "")
        where = f", heard in position {one.position}" if one.position else ""
        screen.print(f"Complaint: {one.pickup or 'guitar'} {one.word} ({strength}{where})", style="bold")
    if found.verdict == "repair-first":
        screen.print("Repair first; no voicing before that.", style="bold")
        for fault in found.repair_first:
            cure = f" Cure: {fault.cure}." if fault.cure else ""
            on = f" ({fault.pickup})" if fault.pickup else ""
            by = f" By: {fault.by}." if fault.by else ""
            caution = f" Caution: {fault.caution}." if fault.caution else ""
            _paragraph(screen, f"{fault.fault}{on}: {fault.why}. Check: {fault.check}.{cure}{by}{caution}")
    if found.cheap_causes:
        screen.print("Rule out first, it costs next to nothing:")
        for cause in found.cheap_causes:
            _paragraph(screen, f"{cause.cause}: {cause.check} ({cause.why})")
    for advice in found.advice:
        _paragraph(screen, f"{advice[:1].upper()}{advice[1:]}")
    rows = [*found.rows, *(found.rest if every else ())]
    if rows:
        several = len({row.pickup for row in rows}) > 1
        heads = ("", "change", "better", "worse", "level dB", "heard", "min", "cost")
        cells = [_cells(row, several=several) for row in rows]
        screen.print(table(f"Plan, out of {found.considered} moves considered", heads, cells, left=4))
        for row in found.rows:
            on = f"On the {row.pickup} pickup. " if several and row.change else ""
            _paragraph(screen, f"{on}{_why(row)}", number=row.rank)
    _afterwards(screen, found, every=every)


def _cells(row: Any, *, several: bool) -> tuple[Any, ...]:
    """Return the cells of a row; ``several``: the plan has rows on more than one pickup, each names its own."""
    effect, interval = _judged_by(row)
    level = signed(effect.get("level_db"), interval.get("level_db"))  # a flip has none: one pickup alone stays
    heard = row.likely_heard if row.change else "-"
    what = f"{row.pickup}: {moves(row)}" if several and row.change else moves(row)
    return row.rank, what, words(row.better), words(row.worse), level, heard, row.minutes, row.cost


def words(keys: Iterable[str]) -> str:
    """Return quantities in words, without what is in brackets; what is none of them as it is."""
    from polepiece.bench import QUANTITIES

    return ", ".join(QUANTITIES[key].words.partition(" (")[0] if key in QUANTITIES else key for key in keys)


def moves(row: Any) -> str:
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


def _afterwards(screen: "Console", found: "Plan", *, every: bool) -> None:
    if found.bars_to_have:
        bars = [f"{one.order}. {one.grade}" + (f", then {one.then}" if one.then else "") for one in found.bars_to_have]
        _paragraph(screen, f"Bars to have on the bench, in the order to try them: {'; '.join(bars)}.")
    if found.refused:
        screen.print("Refused:")
        for one in found.refused[: None if every else 6]:
            alike = f" ({one.alike} more for the same reason)" if one.alike else ""
            what = ", ".join(one.change)
            _paragraph(screen, f"{one.reason if what in one.reason else f'{what}: {one.reason}'}{alike}")
    if found.few:
        more = " --all lists them." if found.rest and not every else ""
        screen.print(f"{found.few}{more}", soft_wrap=True, markup=False)
    elif found.rest and not every:
        screen.print(f"{len(found.rest)} more rows help less; --all lists them.")


def _paragraph(screen: "Console", text: str, *, number: int | None = None) -> None:
    from rich.padding import Padding
    from rich.text import Text

    head = "" if number is None else f"{number}. "
    screen.print(Padding(Text(head + text), (0, 0, 0, 2), expand=False))
