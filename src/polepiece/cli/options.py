"""Arguments and options that several commands share."""

from typing import Annotated

import typer

GuitarFile = Annotated[str, typer.Argument(metavar="FILE", help="A guitar file, *.guitar.toml.")]
PickupName = Annotated[
    str | None,
    typer.Option("--pickup", "-p", metavar="NAME", help="Pickup by name or position. Not needed where there is one."),
]
Changes = Annotated[
    list[str],
    typer.Option("--change", "-c", metavar="KEY=VALUE", help="A move, repeatable: magnet=alnico-3, lower=0.5mm ..."),
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object on stdout and nothing else.")]
Seed = Annotated[int, typer.Option("--seed", min=0, max=2**32 - 1, help="Seed of everything drawn at random.")]
Draws = Annotated[int, typer.Option("--draws", metavar="N", help="Draws of the 90 % interval, 8 to 2000.")]
Assumed = Annotated[bool, typer.Option("--assumed", help="List every assumed value, not the important ones alone.")]
Out = Annotated[str, typer.Option("--out", "-o", metavar="FOLDER", help="Folder to write to; made if missing.")]
NotebookFile = Annotated[
    str | None,
    typer.Option("--notebook", metavar="FILE", help="Another notebook than POLEPIECE_NOTEBOOK or your own."),
]
