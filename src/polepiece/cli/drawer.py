"""``polepiece drawer``: the parts that are owned, and whether a bar goes into a pickup."""

import re
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer

from polepiece.cli.console import console, table
from polepiece.cli.envelope import emit, plain_envelope
from polepiece.cli.options import Json, NotebookFile, PickupName, decimal
from polepiece.cli.which_guitar import guitar_called
from polepiece.errors import InputError
from polepiece.typed_number import typed_float

if TYPE_CHECKING:
    from polepiece.guitar import Guitar
    from polepiece.notebook import Notebook, Part, PartEntry, PartFit

NAME = "drawer"
GOES_IN = ("fits", "shim", "measure first")


def command(
    action: Annotated[
        str, typer.Argument(metavar="[list|add|retire]", help="What to do; list is the default.")
    ] = "list",
    what: Annotated[
        str | None,
        typer.Argument(
            metavar="[WHAT]", help="add: bar, rods, pot, capacitor, cover, strings, other. retire: a number."
        ),
    ] = None,
    label: Annotated[str, typer.Option("--label", metavar="TEXT", help="What you call it.")] = "",
    grade: Annotated[
        str | None, typer.Option("--grade", metavar="GRADE", help="alnico-3, ceramic-8, unknown ...")
    ] = None,
    finish: Annotated[str, typer.Option("--finish", help="polished, rough-cast or unknown.")] = "unknown",
    size: Annotated[
        str | None, typer.Option("--size", metavar="L x W x T", help='In mm, measured: "63.5 x 12.7 x 3.2".')
    ] = None,
    gauss: Annotated[
        float | None, typer.Option("--gauss", parser=decimal, metavar="G", help="Measured, sign kept.")
    ] = None,
    at: Annotated[str, typer.Option("--at", metavar="PLACE", help="Where the gauss were measured.")] = "",
    kohm: Annotated[float | None, typer.Option("--kohm", parser=decimal, help="Of a pot, measured.")] = None,
    nf: Annotated[float | None, typer.Option("--nf", parser=decimal, help="Of a capacitor, nF.")] = None,
    price: Annotated[str | None, typer.Option("--price", metavar="SUM", help='With its currency: "12.50 EUR".')] = None,
    note: Annotated[str, typer.Option("--note", metavar="TEXT", help="Anything worth keeping.")] = "",
    why: Annotated[str | None, typer.Option("--why", metavar="TEXT", help="retire: where it went.")] = None,
    fit: Annotated[
        str | None,
        typer.Option("--fit", metavar="GUITAR", help="Hold the bars against a guitar: a file or one on record."),
    ] = None,
    pickup: PickupName = None,
    every: Annotated[bool, typer.Option("--all", help="List what has left the drawer, too.")] = False,
    notebook: NotebookFile = None,
    json: Json = False,
) -> None:
    """The parts in the drawer: list them, add one, retire one, or see which bars fit a guitar's pickups.

    Exit code 1 when --fit finds no bar that goes in.

    Example: polepiece drawer add bar --grade alnico-3 --size "63.5 x 12.7 x 3.2" --price "9 EUR"
    """
    from polepiece.notebook import Part, open_notebook, price_of

    if action == "add":
        if what is None:
            raise InputError("drawer add: say what it is: bar, rods, pot, capacitor, cover, strings or other.")
        length, width, thickness = size_of(size)
        amount, currency = _price(price)
        slug, finish = _grade(grade, finish)
        part = Part(
            kind=cast(Any, what), label=label, grade=slug, finish=cast(Any, finish), length_mm=length, width_mm=width,
            thickness_mm=thickness, gauss=gauss, gauss_at=at, resistance_kohm=kohm, capacitance_nf=nf,
            price=price_of(amount), currency=currency, note=note,
        )  # fmt: skip
        with open_notebook(notebook) as book:
            _tell(book, [book.add_part(part)], {}, json=json)
    elif action == "retire":
        if what is None or not what.isascii() or not what.isdigit() or why is None:
            raise InputError('drawer retire: give the number of the part and the reason: drawer retire 7 --why "sold".')
        with open_notebook(notebook) as book:
            _tell(book, [book.retire_part(int(what), why)], {}, json=json)
    elif action == "list":
        if what is not None:
            raise InputError(f"drawer list takes no {what!r}; was --fit {what} meant?")
        with open_notebook(notebook) as book:
            parts = book.parts(include_retired=every)
            fits = {} if fit is None else _fits(parts, guitar_called(fit, str(book.path)), pickup)
            _tell(book, parts, fits, json=json)
        if fit is not None and not any(one.verdict in GOES_IN for found in fits.values() for one in found):
            raise typer.Exit(1)
    else:
        raise InputError(f"drawer {action!r}: there is list, add and retire.")


def size_of(text: str | None) -> tuple[float | None, float | None, float | None]:
    """Read length x width x thickness in mm; a decimal comma is understood, "?" is not known."""
    if text is None:
        return None, None, None
    pieces = [one.strip() for one in re.split(r"[x×*]", text.lower().replace("mm", ""))]
    if len(pieces) != 3:
        raise InputError(f'--size: {text!r} is not length x width x thickness in mm; write "63.5 x 12.7 x 3.2".')
    return _mm(pieces[0], text), _mm(pieces[1], text), _mm(pieces[2], text)


def _mm(piece: str, text: str) -> float | None:
    if piece in ("?", "unknown"):
        return None
    return typed_float(piece, f"--size {text!r}: one of its lengths", allowed='Write mm, such as "63.5 x 12.7 x 3.2"')


def _price(text: str | None) -> tuple[str | None, str]:
    if text is None:
        return None, ""
    found = re.fullmatch(r"\s*([0-9.,]+)\s*([A-Za-z]{3})\s*", text)
    if not found:
        raise InputError(f'--price: {text!r} is not a sum with its currency; write "12.50 EUR".')
    return found[1], found[2].upper()


def _grade(text: str | None, finish: str) -> tuple[str | None, str]:
    """Read a grade as a change of magnet does, so that a slip is named; its finish may be part of the word."""
    if text is None or text.strip().lower() == "unknown":
        return text and "unknown", finish
    from polepiece.moves import parse_change

    slug, own = parse_change(f"magnet={text}").value
    return str(slug), own or finish


def _fits(parts: "list[PartEntry]", guitar: "Guitar", pickup: str | None) -> "dict[int, list[PartFit]]":
    from polepiece.notebook import part_fit

    names = [one.name for one in guitar.pickups] if pickup is None else [guitar.pickup(pickup).name]
    return {one.id: [part_fit(one.part, guitar, name) for name in names] for one in parts if one.part.kind == "bar"}


def _tell(book: "Notebook", parts: "list[PartEntry]", fits: "dict[int, list[PartFit]]", *, json: bool) -> None:
    from polepiece.notebook import owned_bars, part_words

    owned = owned_bars(parts)
    if json:
        rows = [part_body(one, fits.get(one.id)) for one in parts]
        emit(plain_envelope(NAME, {"notebook": str(book.path), "parts": rows, "owned": list(owned)}))
        return
    if not parts:
        typer.echo("The drawer is empty. Begin with: polepiece drawer add bar --grade alnico-3")
        return
    heads, shown = ["number", "part"], []
    for one in parts:
        gone = "" if one.retired is None else f" (left {one.retired.astimezone():%Y-%m-%d}: {one.why})"
        note = f". {one.part.note}" if one.part.note else ""
        shown.append([str(one.id), f"{part_words(one.part)}{gone}{note}", *_cells(fits.get(one.id, []))])
    if fits:
        heads += [f"in {one.pickup}" for one in next(iter(fits.values()))]
        shown = [row + ["-"] * (len(heads) - len(row)) for row in shown]
    screen = console()
    screen.print(table(f"Drawer, {book.path}", heads, shown, left=len(heads)))
    for words in dict.fromkeys(one.words for found in fits.values() for one in found if one.words):
        numbers = ", ".join(str(n) for n, found in fits.items() if any(one.words == words for one in found))
        screen.print(f"Number {numbers}: {words}.", markup=False)
    if owned:
        screen.print(f"As a constraint of a plan: --constraint owned={','.join(owned)}", markup=False)


def _cells(fits: "list[PartFit]") -> list[str]:
    return [f"{one.verdict} ({one.short})" if one.short else one.verdict for one in fits]


def part_body(entry: "PartEntry", fits: "list[PartFit] | None" = None) -> dict[str, Any]:
    """Return a part as JSON values; a price is text, so that it stays exact."""
    part: Part = entry.part
    body: dict[str, Any] = {"id": entry.id, "uuid": entry.uuid, "at": entry.at.isoformat()}
    body["retired"] = None if entry.retired is None else entry.retired.isoformat()
    body["why"] = entry.why
    for key in (
        "kind", "label", "grade", "finish", "length_mm", "width_mm", "thickness_mm", "gauss", "gauss_at",
        "resistance_kohm", "capacitance_nf", "currency", "note",
    ):  # fmt: skip
        body[key] = getattr(part, key)
    body["price"] = None if part.price is None else str(part.price)
    body["fit"] = None if fits is None else [
        {"pickup": one.pickup, "verdict": one.verdict, "words": one.words} for one in fits
    ]  # fmt: skip
    return body
