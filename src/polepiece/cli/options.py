"""Arguments and options that several commands share."""

from typing import Annotated

import typer

from polepiece.draw_counts import LEAST_DRAWS, MOST_DRAWS
from polepiece.errors import InputError
from polepiece.typed_number import typed_number


def decimal(text: str | float) -> float:
    """Return a number with a point or a comma in it; a default, which is a number already, as it is."""
    try:
        return float(typed_number(str(text)))
    except InputError as error:
        raise typer.BadParameter(f"{text!r}: {error}; without a unit.") from None


GUITAR_FILE = "A guitar file, *.guitar.toml, or a guitar on record: its number or its name."
GuitarFile = Annotated[str, typer.Argument(metavar="FILE", help=GUITAR_FILE)]
PickupName = Annotated[
    str | None,
    typer.Option("--pickup", "-p", metavar="NAME", help="Pickup by name or position. Not needed where there is one."),
]
Position = Annotated[
    str | None,
    typer.Option(
        "--position",
        metavar="WHICH",
        help="In which it is heard: a position of the guitar's switch by its name, a pickup, several joined by +, "
        '"both" or "all". As a complaint in the file says, else the pickup alone.',
    ),
]
Changes = Annotated[
    list[str],
    typer.Option("--change", "-c", metavar="KEY=VALUE", help="A move, repeatable: magnet=alnico-3, lower=0.5mm ..."),
]
Ears = Annotated[
    list[str] | None,
    typer.Option(
        "--ear",
        metavar="TRIAL.json",
        help="Judge what is heard by your own ear: a record of `trial least` that is over; repeatable.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object on stdout and nothing else.")]
Seed = Annotated[int, typer.Option("--seed", min=0, max=2**32 - 1, help="Seed of everything drawn at random.")]
Draws = Annotated[
    int, typer.Option("--draws", metavar="N", help=f"Draws of the 90 % interval, {LEAST_DRAWS} to {MOST_DRAWS}.")
]
Assumed = Annotated[bool, typer.Option("--assumed", help="List every assumed value, not the important ones alone.")]
Replace = Annotated[bool, typer.Option("--replace", help="Write over a file that is there already.")]
Out = Annotated[str, typer.Option("--out", "-o", metavar="FOLDER", help="Folder to write to; made if missing.")]
OutReport = Annotated[
    str | None, typer.Option("--out", "-o", metavar="FILE", help="Write it instead: *.html, *.pdf or *.csv.")
]
NotebookFile = Annotated[
    str | None,
    typer.Option(
        "--notebook",
        metavar="FILE",
        help="Another notebook than POLEPIECE_NOTEBOOK or your own: a file, or postgresql://USER@HOST/DATABASE.",
    ),
]
UnusedSeed = Annotated[
    int, typer.Option("--seed", min=0, max=2**32 - 1, help="Kept for scripts: nothing is drawn at random here.")
]
