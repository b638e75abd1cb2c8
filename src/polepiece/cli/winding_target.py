"""``polepiece winding target``: from a curve or a resonance to turns, gauge, bar and gap, ranked with intervals."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.console import console, show_assumed, table
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.options import Assumed, Draws, GuitarFile, Json, OutReport, PickupName, Replace, Seed
from polepiece.cli.progress import working
from polepiece.cli.sheets import check_report, printed, say_written, write_report
from polepiece.cli.which_guitar import guitar_called
from polepiece.draw_counts import DRAWS
from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.winding import Found, Target

NAME = "target"


def command(
    file: GuitarFile,
    pickup_name: PickupName = None,
    curve: Annotated[
        str | None, typer.Option("--curve", metavar="FILE", help="Aim at a curve: frequency and dB, *.csv or *.xlsx.")
    ] = None,
    column: Annotated[
        str | None, typer.Option("--column", metavar="HEAD", help="Which column of it, where several are in dB.")
    ] = None,
    resonance: Annotated[
        str | None, typer.Option("--resonance", metavar="HZ", help="Aim at a resonance in the guitar: 3200 or 3.2k.")
    ] = None,
    height: Annotated[str | None, typer.Option("--height", metavar="DB", help="And at the height of its peak.")] = None,
    level: Annotated[
        str | None, typer.Option("--level", metavar="DB", help="And at a level, against the guitar as it is.")
    ] = None,
    gauge: Annotated[
        list[int] | None, typer.Option("--gauge", "-g", metavar="AWG", help="To try, repeatable; 41 to 44.")
    ] = None,
    grade: Annotated[
        list[str] | None, typer.Option("--grade", metavar="GRADE", help="To try, repeatable; those usually sold.")
    ] = None,
    build: Annotated[str, typer.Option("--build", help="Insulation: single or heavy.")] = "single",
    out: OutReport = None,
    replace: Replace = False,
    draws: Draws = DRAWS,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """Turns, gauge, bar and gap that come nearest to a target, each with how far off it is and its interval.

    Example: polepiece winding target guitar.toml --pickup neck --resonance 3.2k --height 4 --level 1
    """
    from polepiece.bench import Bench
    from polepiece.guitar import USUAL_GAUGES
    from polepiece.materials import pickup_bars
    from polepiece.winding import Target, found_sentence, search, typed_build, typed_value

    if any(not 40 <= one <= 46 for one in gauge or ()):
        raise InputError(f"--gauge is {gauge}; allowed are 40 to 46. A diameter in mm is no gauge.")
    if out is not None:
        check_report(out, file, replace=replace)
    frequency, levels = _curve(curve, column)
    target = Target(
        frequency=frequency, curve_db=levels, resonance=typed_value("frequency", resonance, "--resonance"),
        height_db=typed_value("height", height, "--height"), level_db=typed_value("level", level, "--level"),
    )  # fmt: skip
    guitar = guitar_called(file)
    pickup = pickup_of(guitar, pickup_name)
    with working("searching windings and bars") as progress:
        found = search(
            guitar, pickup.name, target, gauges=tuple(gauge or USUAL_GAUGES), grades=tuple(grade or pickup_bars.LIKELY),
            build=typed_build(build) or "single", draws_=draws, bench=Bench(seed=seed), progress=progress,
        )  # fmt: skip
    told = found_sentence(found, target)
    if json:
        emit(envelope("winding-target", guitar, _body(told, found, target), seed=seed, pickups=[pickup]))
        return
    from polepiece.winding import FOUND_HEADS, FOUND_NOTE, found_row

    listed = table(f"Nearest, for {pickup.name}", FOUND_HEADS, [found_row(one, found[0]) for one in found])
    shown: list[Any] = [listed, FOUND_NOTE.format(unit=target.unit)]
    if out is not None:
        write_report(out, printed(f"{guitar.name}: a winding for the {pickup.name}", [told], shown))
        say_written(out)
        return
    screen = console()
    screen.print(told, soft_wrap=True, markup=False)
    for one in shown:
        screen.print(one, soft_wrap=isinstance(one, str))
    show_assumed(screen, assumed_of(guitar, [pickup]), guitar=guitar, everything=assumed)


def _curve(path: str | None, column: str | None) -> "tuple[Any, Any]":
    """Return frequencies and levels of the curve that is aimed at; none without one."""
    if path is None:
        if column is not None:
            raise InputError("--column belongs to --curve.")
        return None, None
    from polepiece.measure import grid_of, table_bytes
    from polepiece.winding import target_curve

    return target_curve(grid_of(table_bytes(path), path), column)


def _body(told: str, found: "tuple[Found, ...]", target: "Target") -> dict[str, Any]:
    return {
        "told": told,
        "unit": target.unit,
        "found": [
            {
                "grade": one.grade, "gauge": one.gauge, "build": one.build, "turns": one.turns, "fill": one.fill,
                "resistance_ohm": one.resistance, "lowered_mm": 1e3 * one.lowered, "off": one.misfit,
                "off_interval": one.misfit_interval, "level_left_db": one.level_left_db, "level_db": one.state.level_db,
                "resonance_hz": one.state.resonance_hz, "resonance_db": one.state.resonance_db,
                "interval": one.interval, "as_good": one.as_good_as(found[0]),
            }
            for one in found
        ],
    }  # fmt: skip
