"""``polepiece field``: flux density on a line, and the magnet's working point."""

import math
from typing import Annotated, Any, Literal

import typer

from polepiece.cli.console import console, show_assumed, table
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.lines import parse_line
from polepiece.cli.options import Assumed, GuitarFile, Json, PickupName, Seed
from polepiece.cli.progress import working
from polepiece.cli.which_guitar import guitar_called

NAME = "field"


def command(
    file: GuitarFile,
    line: Annotated[str, typer.Option("--line", metavar="LINE", help="Points, mm: x=-25:25:1,y=5,z=17.")],
    pickup: PickupName = None,
    source: Annotated[
        Literal["magnet", "coil"], typer.Option("--source", help="The magnet, or one ampere in each coil alone.")
    ] = "magnet",
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """Magnetic field of a pickup along a line, and the working point of its magnet.

    Axes are the pickup's own: x towards the bridge (screws at -x), y across (string 1 at +y), z up from the
    underside of the bar; mm. Points inside a magnet have no value.

    Example: polepiece field guitar.toml --pickup neck --line "x=-25:25:1,y=5,z=17"
    """
    import numpy as np

    from polepiece.bench import field

    points = 1e-3 * np.array(parse_line(line))
    guitar = guitar_called(file)
    unit = pickup_of(guitar, pickup)
    with working("computing the magnet's field"):
        reading = field(guitar, unit.name, points, source=source)
    flux = 1e3 * reading.flux_density
    body: dict[str, Any] = {"pickup": unit.name, "source": source, "points_mm": np.round(1e3 * reading.points, 9)}
    if source == "coil":
        series = flux[0] - flux[1] if len(flux) == 2 else flux[0]
        body["b_mt_per_a"] = {"coils": flux, "series": series}
    body["b_mt"] = flux
    mean = {"mean_b_mt": 1e3 * reading.magnet_flux_density, "mean_h_ka_per_m": 1e-3 * reading.magnet_field}
    body["magnet"] = mean
    if json:
        emit(envelope(NAME, guitar, body, seed=seed, pickups=[unit]))
        return
    screen = console()
    unit_name = "mT" if source == "magnet" else "mT/A"
    for name, values in [("", flux)] if source == "magnet" else zip((" of coil 1", " of coil 2"), flux):
        screen.print(_points(f"Field{name}, {unit.name}", unit_name, body["points_mm"], values))
    if source == "coil" and len(flux) == 2:
        one, other = unit.built.coils
        screen.print(f"Coil 1 is the {one}, 2 the {other}, both the same way round; in series one is reversed.")
    screen.print(
        f"Magnet: mean B {mean['mean_b_mt']:.0f} mT, mean H {mean['mean_h_ka_per_m']:.1f} kA/m along its easy axis."
    )
    show_assumed(screen, assumed_of(guitar, [unit]), everything=assumed)


def _points(title: str, unit: str, points: Any, values: Any) -> Any:
    rows = []
    for (x, y, z), b in zip(points, values):
        size = (b**2).sum() ** 0.5
        cells = ["inside"] * 4 if math.isnan(size) else [f"{one:.2f}" for one in (*b, size)]
        rows.append([f"{one:g}" for one in (x, y, z)] + cells)
    heads = ("x mm", "y mm", "z mm", *(f"{name} {unit}" for name in ("Bx", "By", "Bz", "|B|")))
    return table(title, heads, rows, left=0)
