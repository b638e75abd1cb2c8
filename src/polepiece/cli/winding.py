"""``polepiece winding``: a coil from any two or three things that are known of it; batches; a winding from a target."""

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli import winding_batch, winding_target
from polepiece.cli.console import console, show_assumed, table
from polepiece.cli.envelope import assumed_of, emit, envelope, pickup_of
from polepiece.cli.options import Assumed, Json, OutReport, PickupName, Replace, Seed
from polepiece.cli.output import writable, write_whole
from polepiece.cli.progress import working
from polepiece.cli.sheets import check_report, printed, say_written, write_report
from polepiece.cli.which_guitar import guitar_called
from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.guitar import Guitar, Pickup
    from polepiece.winding import Bobbin, CoilFound, Electrical, Knowns

NAME = "winding"
app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, add_completion=False)
File = Annotated[
    str | None,
    typer.Argument(metavar="[FILE]", help="A guitar file or a guitar on record; or say --construction in its place."),
]
ConstructionName = Annotated[
    str | None, typer.Option("--construction", metavar="KIND", help="A stock bobbin of this kind: humbucker ...")
]
Sizes = Annotated[
    list[str] | None,
    typer.Option("--size", metavar="KEY=MM", help="With --construction, repeatable: outer_half_x_mm=8.2 ..."),
]


@app.callback()
def _main() -> None:
    """Turns, wire, resistance, inductance, fill and resonance of a coil, each from the others."""


app.command(name=winding_batch.NAME)(winding_batch.command)
app.command(name=winding_target.NAME)(winding_target.command)


@app.command(name="coil")
def coil(
    file: File = None,
    pickup_name: PickupName = None,
    construction: ConstructionName = None,
    size: Sizes = None,
    resistance: Annotated[
        str | None, typer.Option("--resistance", "-r", metavar="OHM", help="Between the leads as wired: 8.0k.")
    ] = None,
    turns: Annotated[str | None, typer.Option("--turns", "-n", metavar="N", help="Of each coil.")] = None,
    gauge: Annotated[str | None, typer.Option("--gauge", "-g", metavar="AWG", help="40 to 46.")] = None,
    build: Annotated[str | None, typer.Option("--build", help="Insulation: single or heavy.")] = None,
    fill: Annotated[
        str | None, typer.Option("--fill", metavar="SHARE", help="Of the window, insulation included: 70% or 0.7.")
    ] = None,
    inductance: Annotated[
        str | None, typer.Option("--inductance", "-l", metavar="H", help="Between the leads, series mode: 4.5, 4500m.")
    ] = None,
    at: Annotated[str, typer.Option("--at", metavar="HZ", help="Test frequency of that inductance.")] = "120",
    temperature: Annotated[
        str, typer.Option("--temperature", metavar="C", help="Of the coil when its resistance was read.")
    ] = "20",
    quick: Annotated[
        bool, typer.Option("--quick", help="Turns, resistance and fill alone; the pickup is not solved.")
    ] = False,
    write: Annotated[
        str | None,
        typer.Option("--write", metavar="NEW.guitar.toml", help="Also write the guitar with this winding on."),
    ] = None,
    out: OutReport = None,
    replace: Replace = False,
    seed: Seed = 0,
    assumed: Assumed = False,
    json: Json = False,
) -> None:
    """A coil from any two or three things that are known of it; the others with their intervals.

    What cannot be is refused with the likely slip. Without a gauge every usual one that agrees is told.

    Example: polepiece winding coil guitar.toml --pickup neck --resistance 8.0k --gauge 43
    """
    from polepiece.bench import Bench
    from polepiece.guitar import write_guitar
    from polepiece.winding import electrical, per_turn, sentence, solve, typed_knowns

    if out is not None:
        check_report(out, file or "", replace=replace)
    if write is not None:
        writable("--write", write, inputs=[file], replace=replace)
    bobbin = bobbin_of(file, pickup_name, construction, size)
    knowns = typed_knowns(
        resistance=resistance, temperature=temperature, turns=turns, gauge=gauge, build=build, fill=fill,
        inductance=inductance, frequency=at,
    )  # fmt: skip
    if quick and knowns.inductance is not None:
        raise InputError("--quick does not solve the pickup, and an inductance needs it solved: leave one of them out.")
    made = None
    if quick:
        found = solve(bobbin, knowns)
    else:
        with working("solving the pickup"):
            bench = Bench(seed=seed)
            found = solve(bobbin, knowns, per_turn(bobbin, bench))
            made = electrical(bobbin, found[0], bench, seed=seed)
    if write is not None:
        write_whole(write, write_guitar(wound_as_found(bobbin, found[0])[0]))
    told = sentence(bobbin, knowns, found)
    if json:
        emit(
            envelope(
                "winding-coil", bobbin.guitar, _body(told, knowns, found, made), seed=seed, pickups=[bobbin.pickup]
            )
        )
        return
    _show(bobbin, told, found, made, out, assumed=assumed)
    if write is not None:
        say_written(write)


def bobbin_of(file: str | None, pickup: str | None, construction: str | None, sizes: "list[str] | None") -> "Bobbin":
    """Return the bobbin that is meant: of a guitar, or a stock one.

    Raises
    ------
    InputError
        When both or neither are said, or sizes beside a guitar, whose file has them.
    """
    from polepiece.winding import Bobbin, stock_bobbin

    if (file is None) == (construction is None):
        raise InputError("say which bobbin: a guitar FILE, or --construction KIND for a stock one; one of the two.")
    if construction is not None:
        return stock_bobbin(construction, sizes or ())
    if sizes:
        raise InputError("--size belongs to --construction; the sizes of a guitar's coil are in its file.")
    assert file is not None
    guitar = guitar_called(file)
    return Bobbin(guitar=guitar, pickup=pickup_of(guitar, pickup))


def wound_as_found(bobbin: "Bobbin", found: "CoilFound") -> "tuple[Guitar, Pickup]":
    """Return the guitar with a winding on: what was read of it as read, else its turns."""
    resistance = found.resistance.value if found.resistance.read and not found.turns.read else None
    return bobbin.wound(found.turns.value, found.gauge, found.build, resistance)


def _body(told: str, knowns: "Knowns", found: "tuple[CoilFound, ...]", made: "Electrical | None") -> dict[str, Any]:
    listed = []
    for one in found:
        listed.append(
            {
                "gauge": one.gauge, "build": one.build, "probability": one.probability, "laying": one.laying,
                "wire_length_m": one.wire_length, "turns": asdict(one.turns), "resistance_ohm": asdict(one.resistance),
                "fill": asdict(one.fill), "inductance_h": None if one.inductance is None else asdict(one.inductance),
            }
        )  # fmt: skip
    electric = None
    if made is not None:
        electric = {
            "inductance_1khz_h": asdict(made.inductance_1khz), "capacitance_f": asdict(made.capacitance),
            "unloaded_resonance_hz": None if made.unloaded is None else asdict(made.unloaded),
            "resonance_hz": None if made.loaded is None else asdict(made.loaded),
            "resonance_db": None if made.height_db is None else asdict(made.height_db),
        }  # fmt: skip
    return {"told": told, "known": asdict(knowns), "windings": listed, "electrical_of_the_first": electric}


def _show(
    bobbin: "Bobbin", told: str, found: "tuple[CoilFound, ...]", made: "Electrical | None", out: str | None, *,
    assumed: bool,
) -> None:  # fmt: skip
    from polepiece.winding import HEADS, rows

    first = found[0]
    shown: list[Any] = [table(f"AWG {first.gauge} {first.build}", HEADS, rows(first, made))]
    shown += [table(f"or AWG {one.gauge} {one.build}", HEADS, rows(one, None)) for one in found[1:]]
    if out is not None:
        write_report(out, printed(f"{bobbin.guitar.name}: winding of the {bobbin.pickup.name}", [told], shown))
        say_written(out)
        return
    screen = console()
    screen.print(told, soft_wrap=True, markup=False)
    for one in shown:
        screen.print(one)
    guitar, pickup = wound_as_found(bobbin, first)
    listed = assumed_of(guitar, [pickup])
    if made is None:  # nothing but the sizes of the coil was asked for
        listed = [one for one in listed if ".coil" in one.path]
    show_assumed(screen, listed, guitar=guitar, everything=assumed)
