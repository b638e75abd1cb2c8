"""``polepiece learned``: what the ledgers of the notebook come to."""

from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, envelope, pickup_of, plain_envelope
from polepiece.cli.notices import tell_notices
from polepiece.cli.options import GuitarFile, Json, NotebookFile, PickupName, Seed
from polepiece.cli.progress import working
from polepiece.cli.second import second_process
from polepiece.cli.which_guitar import guitar_called
from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.notebook import Told
    from polepiece.planning import DrawerSet

NAME = "learned"
app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, add_completion=False)
Page = Annotated[int, typer.Option("--page", metavar="N", min=1, help="Of the rows, 50 a page.")]


@app.callback()
def _main() -> None:
    """What was learned: unproven swaps, how good predictions were, what a grade did, which bars to keep."""


@app.command()
def unproven(page: Page = 1, notebook: NotebookFile = None, json: Json = False) -> None:
    """Bars that were put in, and of which no ledger says what was measured or heard, the newest first.

    Example: polepiece learned unproven
    """
    from polepiece.guitar import grade_words
    from polepiece.notebook import PAGE, read_notebook, unproven_swaps

    with read_notebook(notebook) as book:
        found = unproven_swaps(book, first=PAGE * (page - 1))
        if json:
            rows = [{"state_id": one.state_id, "at": one.at.isoformat(), "guitar_id": one.guitar_id,
                     "guitar": one.guitar, "pickup": one.pickup, "grade_before": one.grade_before,
                     "grade_after": one.grade_after, "why": one.why} for one in found.rows]  # fmt: skip
            emit(plain_envelope("learned-unproven", {"total": found.total, "page": page, "swaps": rows}))
            return
        tell_notices(book)
    _say_left(found.left)
    if not found.total:
        typer.echo("Every bar that was put in has a ledger, or none was put in yet.")
        return
    grades = [f"{grade_words(one.grade_before)} -> {grade_words(one.grade_after)}" for one in found.rows]
    shown = [(f"{one.at:%Y-%m-%d}", one.guitar, one.pickup, bar, one.why) for one, bar in zip(found.rows, grades)]
    title = f"{found.total} swap{'s' if found.total != 1 else ''} unproven{_of_pages(found.total, page)}"
    console().print(table(title, ("recorded", "guitar", "pickup", "bar", "why"), shown, left=5))
    typer.echo("To prove one: polepiece prove GUITAR --change magnet=... --keep GUITAR, with what was measured.")


@app.command()
def predictions(
    key: Annotated[
        str, typer.Option("--of", metavar="KEY", help="Of one quantity, by the beginning of its key: bands_db.")
    ] = "",
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """How good predictions were: the share of measured values inside their intervals, against what the intervals say.

    Example: polepiece learned predictions --of level_db
    """
    from polepiece.measure import added, calibration, calibration_chart, multiples
    from polepiece.notebook import counted_lines, read_notebook

    with read_notebook(notebook) as book:
        counts = [one for one in counted_lines(book, multiples()) if one.key.startswith(key)]
        if not json:
            tell_notices(book)
    total = sum(one.total for one in counts)
    found = calibration(added(one.within for one in counts), total, sum(one.below for one in counts))
    rows = [
        (one.words, one.of, one.total, one.within[4], one.within[8], one.below) for one in counts
    ]  # within 50 and 90 %
    if json:
        emit(plain_envelope("learned-predictions", {
            "of": found.of, "below": found.below, "told": found.words,
            "shares": [{"level": one.level, "inside": one.inside, "share": one.found,
                        "interval_95": (one.low, one.high)}
                       for one in found.shares],
            "quantities": [{"key": one.key, "of": one.of, "total": one.total, "inside_50": one.within[4],
                            "inside_90": one.within[8], "below": one.below} for one in counts],
        }))  # fmt: skip
        return
    screen = console()
    screen.print(found.words, soft_wrap=True)
    screen.print(
        "\n".join(["", "said  where it should lie |, found o, 95 % interval -", *calibration_chart(found), ""])
    )
    heads = ("quantity", "of", "values", "inside 50 %", "inside 90 %", "measured less than computed")
    screen.print(table("By quantity", heads, rows, left=2))
    screen.print(COUNTED, soft_wrap=True)


COUNTED = (
    "A value is inside when it is no farther from the computed one than both intervals together allow, as squares. Of "
    "several ledgers of one change the last counts. Values of one swap are not quite independent of one another."
)


@app.command()
def grade(
    name: Annotated[str, typer.Argument(metavar="GRADE", help="alnico-3, ceramic-8, alnico-5-rough-cast ...")],
    place: Annotated[
        str | None, typer.Option("--place", metavar="WHERE", help="neck, middle or bridge pickups alone.")
    ] = None,
    page: Page = 1,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """What bars of one grade did where they were put in: computed, measured and heard side by side.

    Example: polepiece learned grade alnico-3 --place neck
    """
    from polepiece.bench import grade_slugs
    from polepiece.guitar import grade_words
    from polepiece.notebook import PAGE, grade_lines, grade_means, read_notebook

    slug = name.strip().lower().replace(" ", "-")
    slug = f"alnico-{slug}" if slug.isdigit() else slug
    if slug not in grade_slugs():
        raise InputError(f"there is no grade {name!r}; grades are {', '.join(grade_slugs())}.")
    with read_notebook(notebook) as book:
        means = grade_means(book, slug, place)
        lines = grade_lines(book, slug, place, first=PAGE * (page - 1))
        if not json:
            tell_notices(book)
    if json:
        emit(plain_envelope("learned-grade", {
            "grade": slug, "place": place, "total": lines.total, "page": page,
            "means": [{"key": one.key, "of": one.of, "unit": one.unit, "n": one.total, "computed": one.computed,
                       "measured": one.measured, "agrees": one.agreed, "disagrees": one.disagreed} for one in means],
            "lines": [_line(one) for one in lines.rows],
        }))  # fmt: skip
        return
    _say_left(lines.left)
    where = f" in {place} pickups" if place else ""
    if not lines.total:
        typer.echo(f"No ledger tells of {grade_words(slug)}{where} yet.")
        return
    screen = console()
    rows = [(one.words, one.of, one.unit, one.total, _figure(one.computed), _figure(one.measured),
             f"{one.agreed} / {one.disagreed}") for one in means]  # fmt: skip
    heads = ("quantity", "of", "unit", "n", "computed, mean", "measured, mean", "agrees / disagrees")
    screen.print(table(f"{grade_words(slug)}{where}", heads, rows, left=3))
    told = [(one.date, one.guitar, one.pickup, one.words, one.of, _span(one.computed), _span(one.measured), one.word)
            for one in lines.rows]  # fmt: skip
    of_lines = ("date", "guitar", "pickup", "quantity", "of", "computed [90 %]", "measured, heard [90 %]", "so")
    screen.print(table(f"Line by line{_of_pages(lines.total, page)}", of_lines, told, left=5))


@app.command()
def bars(
    file: GuitarFile,
    pickup_name: PickupName = None,
    price: Annotated[
        list[str] | None, typer.Option("--price", metavar="GRADE=AMOUNT", help="Of a bar to buy; repeatable.")
    ] = None,
    most: Annotated[int, typer.Option("--most", metavar="N", min=1, max=20, help="At most so many bars.")] = 6,
    at_level: Annotated[
        bool, typer.Option("--at-level", help="With the gap re-set to the old level: level is set aside.")
    ] = False,
    notebook: NotebookFile = None,
    seed: Seed = 0,
    json: Json = False,
) -> None:
    """Which bars to keep in the drawer so that this pickup becomes the most different voices for the least money.

    What is in the drawer of the notebook costs nothing; prices are those of the drawer, or said here.

    Example: polepiece learned bars guitar.toml --pickup neck --price alnico-8=14
    """
    from polepiece.bench import Bench, compare_grades
    from polepiece.notebook import may_be_there, notebook_path, owned_bars, read_notebook
    from polepiece.planning import DRAWER_RULE, drawer_set

    guitar = guitar_called(file)
    pickup = pickup_of(guitar, pickup_name)
    if pickup.built.magnets_stay is not None:
        raise InputError(f"{pickup.name}: {pickup.built.magnets_stay.reason}; no bar can be kept for it.")
    parts = []
    if may_be_there(notebook_path(notebook)):
        with read_notebook(notebook) as book:
            parts = book.parts(include_retired=True)
    owned = owned_bars(parts)
    known = {one.part.grade: one.part.price for one in parts if one.part.price is not None and one.part.grade}
    known |= _prices(price or [])
    with second_process() as executor, working("computing grades") as progress:
        found = compare_grades(
            guitar,
            pickup.name,
            draws=0,
            seed=seed,
            at_level=at_level,
            bench=Bench(seed=seed, executor=executor),
            progress=progress,
        )
    chosen = drawer_set(found, owned=owned, prices=known, most=most, at_level=at_level)
    if json:
        emit(envelope("learned-bars", guitar, _bars_body(chosen), seed=seed, pickups=[pickup]))
        return
    _show_bars(chosen, pickup.name)
    console().print(DRAWER_RULE, soft_wrap=True)


def _bars_body(chosen: "DrawerSet") -> dict[str, Any]:
    from polepiece.planning import DRAWER_RULE

    return {
        "in_it": chosen.present, "rule": DRAWER_RULE, "cost": float(chosen.cost),
        "bars": [{"grade": one.grade, "thresholds_apart": one.apart, "nearest": one.nearest, "quantity": one.quantity,
                  "difference": one.difference, "owned": one.owned,
                  "price": None if one.price is None else float(one.price)} for one in chosen.voices],
        "alike": [{"grade": grade, "like": other, "thresholds_apart": apart} for grade, other, apart in chosen.same],
    }  # fmt: skip


def _show_bars(chosen: "DrawerSet", pickup: str) -> None:
    from polepiece.bench import QUANTITIES
    from polepiece.guitar import grade_words

    rows = []
    for one in chosen.voices:
        cost = "owned" if one.owned else "price not known" if one.price is None else f"{one.price:f}"
        moved = QUANTITIES[one.quantity].moved_words(one.difference)
        rows.append((grade_words(one.grade), f"{one.apart:.1f}", grade_words(one.nearest), moved, cost))
    screen = console()
    title = f"Bars to keep for the {pickup} pickup, which has {grade_words(chosen.present)}"
    screen.print(table(title, ("bar", "thresholds apart", "from", "by", "cost"), rows))
    if not chosen.voices:
        screen.print("No other bar is heard to differ from the one that is in.")
    alike = "; ".join(
        f"{grade_words(one)} is like {grade_words(other)} ({apart:.1f})" for one, other, apart in chosen.same
    )
    if alike:
        screen.print(f"Not worth keeping beside them: {alike}.", soft_wrap=True, markup=False)


def _prices(texts: list[str]) -> dict[str, Decimal]:
    from polepiece.bench import grade_slugs
    from polepiece.notebook import price_of

    out = {}
    for text in texts:
        slug, mark, amount = (one.strip() for one in text.partition("="))
        if not mark or slug not in grade_slugs():
            raise InputError(f"--price is {text!r}; write GRADE=AMOUNT, such as alnico-3=12.50; grades are "
                             f"{', '.join(grade_slugs())}.")  # fmt: skip
        found = price_of(amount)
        if found is None or found < 0:
            raise InputError(f"--price is {text!r}; an amount from 0 on is needed.")
        out[slug] = found
    return out


def _say_left(left: int) -> None:
    if left:
        typer.echo(
            f"{left} entries are not counted: the notebook can only be read. Open it once where it can be written."
        )


def _of_pages(total: int, page: int) -> str:
    pages = max(1, -(-total // 50))
    return "" if pages == 1 else f" (page {page} of {pages})"


def _figure(value: float | None) -> str:
    return "-" if value is None else f"{value:.3g}"


def _span(claim: "tuple[float, float, float] | None") -> str:
    return "-" if claim is None else f"{claim[0]:.3g} [{claim[1]:.3g}..{claim[2]:.3g}]"


def _line(one: "Told") -> dict[str, Any]:
    return {
        "date": one.date, "guitar_id": one.guitar_id, "guitar": one.guitar, "pickup": one.pickup,
        "grade_before": one.grade_before, "change": one.change, "key": one.key, "of": one.of, "words": one.words,
        "unit": one.unit, "computed": one.computed, "measured": one.measured, "word": one.word,
    }  # fmt: skip
