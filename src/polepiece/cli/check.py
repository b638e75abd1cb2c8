"""``polepiece check``: what a guitar file says, what is assumed beside it, and what to measure first."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import chosen_of, console, table
from polepiece.cli.envelope import emit, envelope, plain_envelope
from polepiece.cli.options import Assumed, GuitarFile, Json, PickupName, Seed
from polepiece.cli.progress import working
from polepiece.cli.which_guitar import guitar_called

if TYPE_CHECKING:
    from polepiece.bench import Worth
    from polepiece.guitar import Assumption, Guitar

NAME = "check"
FIRST = 10  # values that are worth measuring, printed
NOT_USABLE = 1


def command(
    file: GuitarFile,
    pickup: PickupName = None,
    quick: Annotated[
        bool, typer.Option("--quick", help="Do not compute what to measure first: an answer at once.")
    ] = False,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """Whether a guitar file can be used: its faults, what looks odd, what is assumed, and what to measure first.

    What to measure first is computed: each assumed value is put to the ends of its range, one at a time, on a coarse
    mesh, and ranked by how far the level or a band moves. Exit code 0 when the file can be used, 1 when it has faults.

    Example: polepiece check guitar.toml
    """
    from polepiece.errors import GuitarFileError
    from polepiece.guitar import cautions, sentence_in_words

    try:
        guitar = guitar_called(file)
    except GuitarFileError as error:
        if _not_read(error):
            raise
        _say_faults(file, error.faults, json=json)
        raise typer.Exit(NOT_USABLE) from None
    names = [one.name for one in guitar.pickups]
    wanted = names if pickup is None else [guitar.pickup(pickup).name]
    odd = [sentence_in_words(one, names) for one in cautions(guitar)]
    first: tuple[Worth, ...] = ()
    if not quick:
        from polepiece.bench import worth_measuring

        with working("finding out what to measure first") as progress:
            first = worth_measuring(guitar, wanted, progress=progress)
    if json:
        emit(envelope(NAME, guitar, _body(guitar, file, odd, None if quick else first, names), seed=seed))
        return
    _say(guitar, odd, None if quick else first, names, everything=assumed)


def _not_read(error: Any) -> bool:
    """Tell a file that is not there, or is none, from one with faults: there is nothing to list then."""
    (one, *others) = error.faults
    starts = ("there is no such file", "cannot be read", "is a folder")
    return not others and str(one).startswith(starts)


def _say_faults(file: str, faults: "Sequence[str]", *, json: bool) -> None:
    from polepiece.guitar import sentence_in_words

    if json:
        body = {"file": file, "usable": False, "faults": list(faults), "cautions": [], "measure_first": None}
        emit(plain_envelope(NAME, body))
        return
    typer.echo(f"{file} cannot be used yet; {len(faults)} {'fault' if len(faults) == 1 else 'faults'}:")
    for one in faults:
        typer.echo(f"  {one}")
        words = sentence_in_words(one, [])
        if words != one:
            typer.echo(f"    ({words.partition(' is ')[0]})")


def _body(
    guitar: "Guitar", file: str, odd: list[str], first: "Sequence[Worth] | None", names: Sequence[str]
) -> dict[str, Any]:
    from polepiece.guitar import in_words

    ranked = None if first is None else [
        {
            "path": one.assumed.path, "words": in_words(one.assumed.path, names), "settle": one.assumed.settle,
            "pickup": one.pickup, "moves_db": one.moves_db, "most": one.most,
        }
        for one in first
    ]  # fmt: skip
    return {
        "file": file, "usable": True, "faults": [], "name": guitar.name, "cautions": odd, "measure_first": ranked,
        "assumed_in_words": {one.path: in_words(one.path, names) for one in guitar.assumed},
    }  # fmt: skip


def _say(
    guitar: "Guitar", odd: list[str], first: "Sequence[Worth] | None", names: Sequence[str], *, everything: bool
) -> None:
    screen = console()
    count = "1 pickup" if len(names) == 1 else f"{len(names)} pickups"
    screen.print(f"{guitar.name}: can be used. {count}: {', '.join(names)}.", markup=False, soft_wrap=True)
    for one in odd:
        screen.print(f"Look at this again: {one}", markup=False, soft_wrap=True)
    if first:
        screen.print(_first_table(first, names))
    elif first is not None:
        screen.print("Nothing assumed moves the level or a band by 0.05 dB or more.")
    _say_assumed(screen, guitar, names, everything=everything)


def _first_table(first: "Sequence[Worth]", names: Sequence[str]) -> Any:
    from polepiece.guitar import in_words

    rows = [
        (in_words(one.assumed.path, names), one.assumed.value, one.assumed.settle, f"{one.moves_db:.1f}",
         one.most.removeprefix("bands_db.").removesuffix("_db")) for one in first[:FIRST]
    ]  # fmt: skip
    heads = ("what", "assumed", "measure it with", "settles, dB", "of the")
    return table("Measure these first: how far each moves what is computed, from one end of its range to the other",
                 heads, rows, left=3)  # fmt: skip


def _say_assumed(screen: Any, guitar: "Guitar", names: Sequence[str], *, everything: bool) -> None:
    from polepiece.guitar import what_is, whose_is

    chosen = chosen_of(guitar.assumed, everything=everything)
    groups: dict[str, list[str]] = {}
    for one in chosen:
        owner = "guitar" if one.path == "strings" else whose_is(one.path, names)
        settle = f"; settle: {one.settle}" if one.settle else ""
        groups.setdefault(owner, []).append(f"  {what_is(one.path)}: {one.value}{_range(one)}{settle}")
    if groups:
        screen.print(f"Assumed: {len(guitar.assumed)} values that the file does not say (90 % range):", style="bold")
    for owner, lines in groups.items():
        screen.print("\n".join([owner, *lines]), markup=False, soft_wrap=True)
    if rest := len(guitar.assumed) - len(chosen):
        screen.print(f"and {rest} more assumed values; --assumed lists them.")


def _range(one: "Assumption") -> str:
    return "" if one.low is None or one.high is None else f" ({one.low:g} to {one.high:g})"
