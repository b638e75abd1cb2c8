"""``polepiece strings``: what a pickup has of every string."""

from typing import Any

from polepiece.cli.console import console, show_assumed, table
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.options import Assumed, GuitarFile, Json, PickupName, Seed
from polepiece.cli.progress import working
from polepiece.cli.which_guitar import guitar_called

NAME = "strings"


def command(
    file: GuitarFile, pickup_name: PickupName = None, seed: Seed = 0, assumed: Assumed = False, json: Json = False
) -> None:
    """Flux, pull and sensitivity of every string over a pickup; string 1 is the thin one.

    Example: polepiece strings guitar.toml --pickup bridge
    """
    from polepiece.bench import strings as string_readings

    guitar = guitar_called(file)
    pickup = pickup_of(guitar, pickup_name)
    with working("computing strings in the field"):
        reading = string_readings(guitar, pickup.name)
    rows: list[dict[str, Any]] = []
    for k, string in enumerate(guitar.strings):
        rows.append(
            {
                "number": k + 1,
                "y_mm": 1e3 * reading.y[k],
                "height_mm": 1e3 * reading.height[k],
                "diameter_mm": 1e3 * string.diameter,
                "flux_linkage_wb": reading.linkage[k],
                "force_n": reading.force[k],
                "sensitivity_v_s_per_m": reading.sensitivity[k],
                "second_derivative": reading.second[k],
                "third_derivative": reading.third[k],
                "h2_db": reading.h2_db[k],
                "axial_b_t": reading.axial_flux_density[k],
            }
        )
    if json:
        emit(envelope(NAME, guitar, {"pickup": pickup.name, "strings": rows}, seed=seed, pickups=[pickup]))
        return
    heads = ("string", "diameter mm", "axis above bar mm", "flux uWb", "pull mN", "V s/m", "2nd harmonic dB")
    cells = [
        (
            row["number"], f"{row['diameter_mm']:.2f}", f"{row['height_mm']:.1f}",
            f"{1e6 * row['flux_linkage_wb']:.0f}",
            f"{1e3 * row['force_n']:.1f}", f"{row['sensitivity_v_s_per_m']:.3f}", f"{row['h2_db']:.0f}",
        )
        for row in rows
    ]  # fmt: skip
    screen = console()
    screen.print(table(f"Strings over {pickup.name}", heads, cells, left=0))
    screen.print("Flux against no string; pull below zero is towards the pickup; 2nd harmonic at 0.5 mm amplitude.")
    show_assumed(screen, assumed_of(guitar, [pickup]), guitar=guitar, everything=assumed)
