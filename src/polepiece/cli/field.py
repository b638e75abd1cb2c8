"""``polepiece field``: flux density on a line, and the magnet's working point."""

import math
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from polepiece.cli.console import console, show_assumed, table
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.lines import parse_line
from polepiece.cli.options import Assumed, GuitarFile, Json, OutReport, PickupName, Replace, Seed
from polepiece.cli.progress import working
from polepiece.cli.sheets import check_report, printed, say_written, write_report
from polepiece.cli.which_guitar import guitar_called

if TYPE_CHECKING:
    from rich.table import Table

    from polepiece.guitar import Pickup

NAME = "field"


def command(
    file: GuitarFile,
    line: Annotated[str, typer.Option("--line", metavar="LINE", help="Points, mm: x=-25:25:1,y=5,z=17.")],
    pickup_name: PickupName = None,
    source: Annotated[
        Literal["magnet", "coil"], typer.Option("--source", help="The magnet, or one ampere in each coil alone.")
    ] = "magnet",
    out: OutReport = None,
    replace: Replace = False,
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
    if out is not None:
        check_report(out, file, replace=replace)
    guitar = guitar_called(file)
    pickup = pickup_of(guitar, pickup_name)
    with working("computing the magnet's field"):
        reading = field(guitar, pickup.name, points, source=source)
    flux = 1e3 * reading.flux_density
    body: dict[str, Any] = {"pickup": pickup.name, "source": source, "points_mm": np.round(1e3 * reading.points, 9)}
    if source == "coil":
        series = flux[0] - flux[1] if len(flux) == 2 else flux[0]
        body["b_mt_per_a"] = {"coils": flux, "series": series}
    body["b_mt"] = flux
    mean = {"mean_b_mt": 1e3 * reading.magnet_flux_density, "mean_h_ka_per_m": 1e-3 * reading.magnet_field}
    body["magnet"] = mean
    shown = _shown(pickup, source, body["points_mm"], flux, mean)
    if out is not None:
        write_report(out, printed(f"{guitar.name}: field of the {pickup.name}", [], shown))
    if json:
        emit(envelope(NAME, guitar, body, seed=seed, pickups=[pickup]))
        return
    if out is not None:
        say_written(out)
        return
    screen = console()
    for one in shown:
        screen.print(one)
    show_assumed(screen, assumed_of(guitar, [pickup]), guitar=guitar, everything=assumed)


def _shown(pickup: "Pickup", source: str, points: Any, flux: Any, mean: dict[str, float]) -> "list[Table | str]":
    unit = "mT" if source == "magnet" else "mT/A"
    of = [("", flux)] if source == "magnet" else zip((" of coil 1", " of coil 2"), flux)
    out: list[Table | str] = [_points(f"Field{name}, {pickup.name}", unit, points, values) for name, values in of]
    if source == "coil" and len(flux) == 2:
        one, other = pickup.built.coils
        out.append(f"Coil 1 is the {one}, 2 the {other}, both the same way round; in series one is reversed.")
    out.append(
        f"Magnet: mean B {mean['mean_b_mt']:.0f} mT, mean H {mean['mean_h_ka_per_m']:.1f} kA/m along its easy axis."
    )
    return out


def _points(title: str, unit: str, points: Any, values: Any) -> Any:
    rows = []
    for (x, y, z), b in zip(points, values):
        size = (b**2).sum() ** 0.5
        cells = ["inside"] * 4 if math.isnan(size) else [f"{one:.2f}" for one in (*b, size)]
        rows.append([f"{one:g}" for one in (x, y, z)] + cells)
    heads = ("x mm", "y mm", "z mm", *(f"{name} {unit}" for name in ("Bx", "By", "Bz", "|B|")))
    return table(title, heads, rows, left=0)
