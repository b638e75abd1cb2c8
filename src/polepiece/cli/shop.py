"""``polepiece shop``: dates promised, quotes, what is due, and how many of a part are left."""

import re
from datetime import date, datetime
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, table
from polepiece.cli.customers import day_of
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.options import Json, NotebookFile, decimal
from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.notebook import JobEntry, PartEntry, Rate

NAME = "shop"
app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, add_completion=False)
Job = Annotated[str, typer.Argument(metavar="JOB", help="The shop's own number of the job, or which one it is.")]
PartNumber = Annotated[int, typer.Argument(metavar="PART", help="Number of the part (polepiece drawer).")]


@app.callback()
def _main() -> None:
    """Promise a day, quote a job from the drawer and the minutes, list what is due, keep count of parts."""


@app.command()
def rate(
    sum_: Annotated[
        str | None, typer.Argument(metavar="[SUM]", help='An hour of work: "60 EUR"; without it, it is told.')
    ] = None,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Set what an hour of work costs; quotes that were made stay as they are.

    Example: polepiece shop rate "60 EUR"
    """
    from polepiece.notebook import open_notebook, read_notebook

    if sum_ is None:
        with read_notebook(notebook) as book:
            found = book.rate()
    else:
        found = _rate(sum_)
        with open_notebook(notebook) as book:
            book.set_rate(found)
    if json:
        emit(plain_envelope("shop-rate", {"rate": None if found is None else found.to_dict()}))
    elif found is None:
        typer.echo('No rate is set; set one: polepiece shop rate "60 EUR"')
    else:
        typer.echo(f"an hour of work is {found.per_hour} {found.currency}")


def _rate(text: str) -> "Rate":
    from polepiece.notebook import Rate, price_of

    found = re.fullmatch(r"\s*([0-9.,]+)\s*([A-Za-z]{3})\s*", text)
    amount = price_of(found[1]) if found else None
    if found is None or amount is None:
        raise InputError(f'{text!r} is not a sum with its currency; write "60 EUR".')
    return Rate(per_hour=amount, currency=found[2].upper())


@app.command()
def promise(
    job: Job,
    day: Annotated[str, typer.Argument(metavar="DATE", help="The day, as 2026-03-09.")],
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Say for which day a job is promised; the last that was said counts.

    Example: polepiece shop promise 117 2026-03-09
    """
    from polepiece.notebook import open_notebook

    with open_notebook(notebook) as book:
        found = book.promise(book.find_job(job).id, day_of(day))
    _tell("shop-promise", found, f"job {found.called} is promised for {found.promised}", json=json)


@app.command()
def quote(
    job: Job,
    part: Annotated[
        list[int] | None, typer.Option("--part", metavar="N", help="A part of the drawer; repeatable.")
    ] = None,
    minutes: Annotated[
        float | None,
        typer.Option("--minutes", parser=decimal, metavar="M", help="Of work; else those of the chosen change."),
    ] = None,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Reckon what a job will cost, from prices in the drawer and minutes at the rate, and keep it.

    Example: polepiece shop quote 117 --part 5 --minutes 45
    """
    from polepiece.notebook import open_notebook

    with open_notebook(notebook) as book:
        found = book.quote(book.find_job(job).id, parts=part or [], minutes=minutes)
    made: dict[str, Any] = dict(found.quote or {})
    lines = [f"{one['sum']:>10} {made['currency']}  {one['words']}" for one in made["lines"]]
    total = f"{made['total']:>10} {made['currency']}  job {found.called}, in all"
    _tell("shop-quote", found, "\n".join([*lines, total]), json=json)


@app.command()
def due(
    day: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="Late is what was promised before this day; today.")
    ] = None,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """List the open jobs, what was promised first at the top; what is late is marked.

    Exit code 1 when something is late.

    Example: polepiece shop due
    """
    from polepiece.notebook import read_notebook

    today = datetime.now().astimezone().date() if day is None else day_of(day)
    with read_notebook(notebook) as book:
        jobs, names = book.due(), {one.id: one.name for one in book.guitars()}
    late = [one for one in jobs if is_late(one, today)]
    if json:
        rows = [body_of(one) | {"guitar": names.get(one.guitar_id), "late": is_late(one, today)} for one in jobs]
        emit(plain_envelope("shop-due", {"day": today.isoformat(), "jobs": rows}))
    elif not jobs:
        typer.echo("No job is open.")
    else:
        rows_shown = [
            [one.called, f"{one.promised or '-'}{' LATE' if is_late(one, today) else ''}",
             names.get(one.guitar_id, "-"), one.complaints, one.status, total_of(one)]
            for one in jobs
        ]  # fmt: skip
        heads = ("job", "promised", "guitar", "what", "status", "quoted")
        console().print(table("Due", heads, rows_shown, left=6))
    if late:
        raise typer.Exit(1)


def is_late(job: "JobEntry", today: date) -> bool:
    """Tell whether a job should have been ready before this day."""
    return job.promised is not None and job.promised < today


def total_of(job: "JobEntry") -> str:
    """Return what was quoted last for a job, in words, or a dash."""
    return "-" if job.quote is None else f"{job.quote['total']} {job.quote['currency']}"


@app.command()
def stock(
    part: PartNumber,
    count: Annotated[int, typer.Argument(metavar="NUMBER", help="How many are there, counted.")],
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="For the history.")] = "counted",
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Write down how many of a part are there.

    Example: polepiece shop stock 5 12 --why "ten more came"
    """
    from polepiece.notebook import open_notebook

    with open_notebook(notebook) as book:
        _told_part("shop-stock", book.count_part(part, count, why), json=json)


@app.command()
def use(
    part: PartNumber,
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help='Where it goes: "job 117".')],
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """Take one of a part; refused when none is left.

    Example: polepiece shop use 5 --why "job 117"
    """
    from polepiece.notebook import open_notebook

    with open_notebook(notebook) as book:
        _told_part("shop-use", book.use_part(part, why), json=json)


def _told_part(schema: str, part: "PartEntry", *, json: bool) -> None:
    from polepiece.notebook import part_words

    if json:
        emit(plain_envelope(schema, {"part": part.id, "count": part.count}))
    else:
        typer.echo(f"part {part.id} ({part_words(part.part)}): {part.count} there")


def _tell(schema: str, job: "JobEntry", words: str, *, json: bool) -> None:
    if json:
        emit(plain_envelope(schema, {"job": body_of(job)}))
    else:
        typer.echo(words)


def body_of(job: "JobEntry") -> dict[str, Any]:
    """Return a job as JSON values."""
    return {
        "id": job.id, "called": job.called, "guitar_id": job.guitar_id, "complaints": job.complaints,
        "status": job.status, "promised": None if job.promised is None else job.promised.isoformat(),
        "quote": None if job.quote is None else dict(job.quote),
    }  # fmt: skip
