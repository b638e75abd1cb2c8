"""``polepiece sweep``: every candidate of a design of parameters, on all cores or a cluster, into one Parquet table."""

import os
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from polepiece.cli.envelope import emit, envelope, pickup_of
from polepiece.cli.options import GuitarFile, Json, PickupName, Position, Replace, Seed
from polepiece.cli.output import writable
from polepiece.cli.progress import spoken_time, working_aloud
from polepiece.cli.which_guitar import guitar_called
from polepiece.errors import InputError

if TYPE_CHECKING:
    from polepiece.study import PartsFolder, StudyPlan, Workers

NAME = "sweep"
# Processor seconds a candidate by what it has solved again (docs/reference/sweep.md), for a first word on how long it
# takes, before a pace is known
SECONDS = {"geometry": 1.5, "magnet": 0.07, "strings and coil": 0.016, "circuit": 0.0007}
OF_A_DRAW = 0.002


def command(
    file: GuitarFile,
    vary: Annotated[
        list[str],
        typer.Option(
            "--vary",
            "-v",
            metavar="KEY=VALUES",
            help="What is varied, repeatable: a lever as --change has it or a key of the guitar file. "
            "magnet=alnico-2/alnico-5, lower=0..1.5mm:7 (7 steps), cable=200..900pF (anything between), "
            "coil.turns=4800..5400:5. The value as-is leaves the guitar as it is.",
        ),
    ],
    out: Annotated[str, typer.Option("--out", "-o", metavar="FILE.parquet", help="The table to write.")],
    design: Annotated[str, typer.Option("--design", help="grid, latin-hypercube or sobol.")] = "grid",
    count: Annotated[
        int | None, typer.Option("--count", "-n", help="Candidates of latin-hypercube or sobol; a grid has its own.")
    ] = None,
    pickup: PickupName = None,
    position: Position = None,
    draws: Annotated[
        int, typer.Option("--draws", min=0, help="Rows of possible guitars besides the nominal one, a candidate.")
    ] = 0,
    seed: Seed = 0,
    workers: Annotated[
        int | None, typer.Option("--workers", min=1, help="Processes of this machine; as many as it has cores.")
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option("--scheduler", metavar="tcp://HOST:PORT", help="Of a dask.distributed cluster.")
    ] = None,
    coarse: Annotated[
        bool, typer.Option("--coarse", help="On the coarse mesh: ten times as fast, some 1 dB off.")
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what would be computed, and how long it takes.")
    ] = False,
    replace: Replace = False,
    json: Json = False,
) -> None:
    """Compute every candidate of a design of parameters: level, bands, resonance and the rest, a row each.

    What is finished stays on disk beside the table (FILE.parquet.parts): after Ctrl-C, a kill or a power cut the same
    command goes on where it was. The table says in its metadata how it was made.

    Example: polepiece sweep guitar.toml -p neck -v magnet=alnico-2/alnico-5 -v lower=0..1mm:5 -o sweep.parquet
    """
    from polepiece.study import parse_axis, plan_study

    guitar = guitar_called(file)
    the_pickup = pickup_of(guitar, pickup)
    place = guitar.pickups.index(the_pickup)
    plan = plan_study(
        guitar, the_pickup.name, [parse_axis(one, guitar, place) for one in vary], position=position, design=design,
        count=count, seed=seed, draws=draws, coarse=coarse, commit=_commit(),
    )  # fmt: skip
    cores = workers or os.cpu_count() or 1
    if dry_run:
        _say(plan, cores, json=json, made=None, out=out)
        return
    if not out.lower().endswith(".parquet"):
        raise InputError(f"--out {out}: the table is Parquet; name it *.parquet.")
    writable("--out", out, inputs=[file], replace=replace)
    made = _compute(plan, out, scheduler, cores, replace=replace)
    _say(plan, cores, json=json, made=made, out=out)


def _compute(plan: "StudyPlan", out: str, scheduler: str | None, cores: int, *, replace: bool) -> int:
    from polepiece.study import PartsFolder, run_study

    parts = PartsFolder(out, plan, replace=replace)
    found = _workers(scheduler, cores)
    try:
        with working_aloud("computing candidates", time_left=True) as (progress, say):
            there = len(parts.finished())
            if there:
                say(f"{there} of {plan.chunks} chunks are there from before; the rest is computed.")
            made = run_study(plan, parts, found, progress=progress)
    except KeyboardInterrupt:
        _say_stopped(parts, plan)
        raise
    finally:
        found.close()
    parts.finish()
    return made


def _workers(scheduler: str | None, cores: int) -> "Workers":
    from polepiece.cli.worker_processes import WorkerProcesses
    from polepiece.study import Cluster

    return WorkerProcesses(cores) if scheduler is None else Cluster(scheduler)


def _say_stopped(parts: "PartsFolder", plan: "StudyPlan") -> None:
    kept = f"{len(parts.finished())} of {plan.chunks} chunks are kept in {parts.folder}"
    typer.echo(f"Stopped. {kept}; the same command goes on.", err=True)


def _say(plan: "StudyPlan", cores: int, *, json: bool, made: int | None, out: str) -> None:
    seconds = expected_seconds(plan)
    if json:
        body: dict[str, Any] = {
            "table": None if made is None else out, "candidates": plan.count, "rows": plan.count * plan.setup.rows,
            "computed_now": made, "chunks": plan.chunks, "pickup": plan.setup.pickup, "position": plan.setup.position,
            "design": plan.design_name, "axes": plan.provenance["axes"], "columns": plan.provenance["columns"],
            "expected_processor_seconds": seconds, "digest": plan.digest,
        }  # fmt: skip
        pickups = [plan.setup.guitar.pickup(plan.setup.pickup)]
        emit(envelope(NAME, plan.setup.guitar, body, seed=plan.setup.seed, pickups=pickups))
        return
    of_draws = f", {plan.setup.rows} rows each" if plan.setup.draws else ""
    typer.echo(f"{plan.setup.guitar.name}, {plan.setup.pickup}: {plan.count} candidates{of_draws}.")
    for axis, dear in zip(plan.setup.axes, plan.dear):
        span = "anything between" if axis.continuous else f"{axis.count} values"
        typer.echo(f"  {axis.text}: {span}; has the {dear} solved again")
    if made is None:
        typer.echo(f"About {spoken_time(seconds / cores)} on {cores} cores.")
    else:
        before = plan.count - made
        typer.echo(f"{out} is written" + (f"; {before} candidates were there from before." if before else "."))


def expected_seconds(plan: "StudyPlan") -> float:
    """Return about how many processor seconds a study takes: how often each kind of thing is solved again."""
    count, total = plan.count, plan.count * SECONDS["circuit"]
    for kind in ("geometry", "magnet", "strings and coil"):
        axes = [
            axis for axis, dear in zip(plan.setup.axes, plan.dear)
            if list(SECONDS).index(dear) <= list(SECONDS).index(kind)
        ]  # fmt: skip
        solved = 1
        for axis in axes:
            solved = min(solved * (count if axis.continuous else axis.count), count)
        total += SECONDS[kind] * solved * (0.1 if plan.setup.coarse and kind == "geometry" else 1.0)
    return total + OF_A_DRAW * plan.count * plan.setup.draws


def _commit() -> str | None:
    """Return the commit of the source that runs, with "+" where files differ from it; None for an installed package."""
    here = Path(__file__).resolve().parents[3]
    if not (here / ".git").exists():
        return None
    try:
        ask = ["git", "-C", str(here), "describe", "--always", "--abbrev=12", "--dirty=+", "--match", ""]
        said = subprocess.run(ask, capture_output=True, text=True, timeout=10, check=True)
    except (OSError, subprocess.SubprocessError):
        return None
    return said.stdout.strip() or None
