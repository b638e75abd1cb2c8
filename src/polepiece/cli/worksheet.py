"""``polepiece worksheet``: the sheet for the bench and the page for the owner of one chosen change."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from polepiece.cli.console import console
from polepiece.cli.envelope import emit, envelope, pickup_of
from polepiece.cli.options import Changes, Draws, GuitarFile, Json, PickupName, Position, Replace, Seed
from polepiece.cli.output import writable, write_whole
from polepiece.cli.progress import working
from polepiece.cli.which_guitar import guitar_called
from polepiece.draw_counts import DRAWS

if TYPE_CHECKING:
    from rich.console import Console

    from polepiece.report import WorkSheet

NAME = "worksheet"
ENDINGS = (".html", ".htm", ".pdf")


def command(
    file: GuitarFile,
    change: Changes,
    pickup_name: PickupName = None,
    position: Position = None,
    bars: Annotated[
        list[str] | None,
        typer.Option("--bars", metavar="GRADES", help="Bars at hand to try in the same opening: alnico-4,alnico-5."),
    ] = None,
    bar_size: Annotated[
        str | None,
        typer.Option(metavar="SIZE", help="Of the new bar, measured: 63.5x12.7x3.2mm or 2.5x0.5x0.125in."),
    ] = None,
    customer: Annotated[str | None, typer.Option(metavar="NAME", help="Printed at the head.")] = None,
    job: Annotated[str | None, typer.Option(metavar="NUMBER", help="Printed at the head.")] = None,
    date: Annotated[str | None, typer.Option(metavar="TEXT", help="Printed at the head.")] = None,
    out: Annotated[
        str | None, typer.Option("--out", "-o", metavar="FILE", help="Write the sheet: *.html or *.pdf.")
    ] = None,
    replace: Replace = False,
    paper: Annotated[str, typer.Option(metavar="SIZE", help="Of a PDF: a4 or letter.")] = "a4",
    draws: Draws = DRAWS,
    seed: Seed = 0,
    json: Json = False,
) -> None:
    """What to measure, do and check for one change, when to stop, and a page for the guitar's owner.

    Only the steps and cautions of this change are on it. Without --out the bench part is shown here.

    Example: polepiece worksheet guitar.toml --pickup neck --change magnet=alnico-3 --bars alnico-4 --out sheet.pdf
    """
    from polepiece.bench import Bench
    from polepiece.guitar import heard_position
    from polepiece.moves import parse_bar_size, parse_changes
    from polepiece.report import work_sheet, worksheet_json

    changes = parse_changes(change)
    size = None if bar_size is None else parse_bar_size(bar_size)
    target = None if out is None else _target(out, file, replace=replace)
    _check_paper(paper)
    guitar = guitar_called(file)
    pickup = pickup_of(guitar, pickup_name)
    names = [one for text in bars or () for one in text.replace(",", " ").split()]
    with working("working out the sheet"):
        sheet = work_sheet(
            guitar, pickup.name, changes, bench=Bench(seed=seed), bars=names, bar_size=size, customer=customer, job=job,
            date=date, draws=draws, position=heard_position(guitar, pickup.name, position).name,
        )  # fmt: skip
    if target is not None:
        _write(sheet, target, paper)
    if json:
        files = [] if target is None else [str(target)]
        emit(envelope(NAME, guitar, {**worksheet_json(sheet), "files": files}, seed=seed, pickups=[pickup]))
    elif target is not None:
        console().print(f"Written: {target.resolve()}", soft_wrap=True)
    else:
        show(console(), sheet)


def _target(out: str, source: str, *, replace: bool) -> Path:
    from polepiece.errors import InputError

    target = Path(out)
    if target.suffix.lower() not in ENDINGS:
        raise InputError(f"--out {out} ends in {target.suffix or 'nothing'}; write a name that ends in .html or .pdf.")
    writable("--out", out, inputs=[source], replace=replace, makes=True)
    return target


def _check_paper(paper: str) -> None:
    from polepiece.errors import InputError

    if paper not in ("a4", "letter"):
        raise InputError(f"--paper is {paper!r}; allowed are a4 and letter.")


def _write(sheet: "WorkSheet", target: Path, paper: str) -> None:
    from polepiece.report import worksheet_html, worksheet_pdf

    if target.suffix.lower() == ".pdf":
        write_whole(target, worksheet_pdf(sheet, paper=paper))  # type: ignore[arg-type]
    else:
        write_whole(target, worksheet_html(sheet))


def show(screen: "Console", sheet: "WorkSheet") -> None:
    """Print the bench part: steps as they come, readings with what they should be."""
    from polepiece.report import expected_text, range_text

    screen.print(f"Work sheet: {sheet.pickup} pickup, {', '.join(sheet.changes)}", style="bold", soft_wrap=True)
    parts = ", ".join(sheet.parts) or "none"
    if sheet.position_words:
        screen.print(f"{sheet.position_words}.", soft_wrap=True)
    screen.print(f"About {sheet.minutes} min. Parts: {parts}. Risk: {sheet.risk}.", soft_wrap=True)
    for section in sheet.sections:
        if section.key.endswith("_strings"):
            continue
        screen.print(f"\n{section.title}", style="bold")
        for step in section.steps:
            screen.print(f"  {'STOP' if step.kind == 'stop' else '[ ]'} {step.text}", markup=False, highlight=False)
        for blank in section.blanks:
            ends = range_text(blank)
            ends = ends or (blank.basis if blank.basis == "assumed" else "")
            should = f"{expected_text(blank)}{f' ({ends})' if ends else ''}" or "as found"
            screen.print(f"  ____ {blank.label}: {should}", markup=False, highlight=False)
    if sheet.fit is not None:
        screen.print(f"\nBar, {sheet.fit.grade}: {sheet.fit.verdict}", style="bold")
        for one in sheet.fit.checks:
            screen.print(f"  {one.dimension}: {one.words}", markup=False, highlight=False)
    for trial in sheet.bars if len(sheet.bars) > 1 else ():
        screen.print(f"  {trial.order}. {trial.name}: level {trial.level_db:+.1f} dB; then {trial.reset}", markup=False)
    screen.print("\nTake care", style="bold")
    for text in (*sheet.cautions, sheet.defer):
        screen.print(f"  {text}", markup=False, highlight=False)
    screen.print("\n--out sheet.pdf writes it with the owner's page, string by string readings and lines to write on.")
