"""Finite elements and this engine in one run, on the same geometry: ``python -m verification.side_by_side``.

Error stands beside processor time, the mesh's included, of one thread each. It needs NGSolve in the environment
(``pip install ngsolve``), as `verification.finite_elements` does. The reference of the static field is the third-order
solution that is kept in tests/reference/fem; finite elements of second order are tried from coarse to fine until their
error is no larger than the engine's. The engine stands there twice: on the mesh that the program uses, and on a coarser
one whose error is near the 2 % that are asked of a field. Of alternating fields in three dimensions one frequency is
solved, and what it takes counts for each of the engine's 15; the reference is that of tests/reference/fem/README.md. It
writes benchmarks/results/side-by-side.json and docs/side-by-side.md.
"""

import argparse
import json
import os
import platform
import subprocess
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from polepiece.coil import sheets as currents
from polepiece.constants import MU_0
from polepiece.geometry import Resolution
from polepiece.magnetics import factorise, solve_state
from polepiece.pickup.anatomy import pickup_mesh
from verification import cases, construction_cases, sheets
from verification.finite_elements_constructions import SIZE, STEEL, Iterative
from verification.finite_elements_eddy import CASES, Solver

ROOT = Path(__file__).parents[1]
THIRD_ORDER = ("side-bar-single-second", "small-humbucker-second")  # kept solutions of third order
GRADES = ("C8", "A5")  # the first is held against the reference, the second is what a further grade takes
COARSER = (2.0, 1.7, 1.4, 1.2, 1.0)  # times the usual sizes of elements
MESHES = {  # of the engine
    "the program's": Resolution(),
    "coarser": replace(
        Resolution(), sectors=8, slice_height=2.0e-3, cap_rings=3, keeper_panel=2.6e-3, magnet_across=4, magnet_along=4,
        magnet_layers=3,
    ),
}  # fmt: skip
STEP = 1e-4  # m, by which a potential is asked for above and below a point: the field bends by 1e-4 of itself between
ALTERNATING = "rods+cover"
FREQUENCIES = 15  # that the engine solves for a pickup's inductance, 0 to 20 kHz
ASKED = {"geometry": 30.0, "grade": 1000.0, "inductance": 300.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """What one of the two took, s of processor time, and how far it is off."""

    seconds: float
    error: float
    more: str = ""


def timed(work: Callable[[], Any]) -> tuple[Any, float]:
    """Return what ``work`` returns and its processor seconds."""
    begun = time.process_time()
    found = work()
    return found, time.process_time() - begun


def static(name: str) -> Iterator[dict[str, object]]:
    """Yield a new geometry and a further grade of one kept case."""
    one = construction_cases.case(name)
    magnets = GRADES if construction_cases.magnet_of(name) == "C8" else GRADES[::-1]
    rows = cases.chosen("construction_field", pickup=name, magnet=magnets[0])
    points, reference = cases.places(rows), cases.column(rows, "bz_mt")

    def worst(found: "np.ndarray") -> float:
        ys = [r["y_mm"] for r in rows]
        lines = [np.array([y == at for y in ys]) for at in dict.fromkeys(ys)]
        return max(abs(cases.line_error(found[at], reference[at], points[at])[0]) for at in lines)

    theirs = _Elements(one, magnets, 1e3 * points, worst)
    for mesh, resolution in MESHES.items():
        ours, more = engine(one, magnets, points, worst, resolution)
        other, further = theirs.as_near_as(ours.error)
        for kind, here, there in (("geometry", ours, other), ("grade", more, further)):
            yield row(kind, f"{name}, field over the poles, {mesh} mesh", here, there)


def engine(
    one: construction_cases.Case, magnets: tuple[str, ...], points: "np.ndarray",
    worst: Callable[["np.ndarray"], float], resolution: Resolution,
) -> tuple[Side, Side]:  # fmt: skip
    """Return what this engine takes of a geometry from nothing, with one grade, and of a further grade.

    The field of 1 A at every node is part of the geometry, as it is along the strings in the program.
    """
    steels = dict.fromkeys(one.assembly.steels, cases.STEELS[STEEL])
    lift = np.array([0.0, 0.0, STEP])

    def solved(factors: Any, of_nodes: "np.ndarray", magnet: str) -> "np.ndarray":
        state = solve_state(factors, {"magnet": cases.magnet_law(magnet, "in-place")}, steels)
        return np.asarray(of_nodes @ state.potential)

    def anew() -> tuple[Any, "np.ndarray", "np.ndarray"]:
        factors = factorise(pickup_mesh(one.shape, resolution))
        above, below = (factors.elements.potentials(points + side * lift) for side in (1.0, -1.0))
        of_nodes = np.asarray((above - below) / (-2.0 * STEP) @ factors.charge_of_node) * MU_0 * 1e3  # mT
        return factors, of_nodes, solved(factors, of_nodes, magnets[0])

    anew()  # compiled
    (factors, of_nodes, found), seconds = timed(anew)
    _, again = timed(lambda: solved(factors, of_nodes, magnets[1]))
    error = worst(found)
    return Side(seconds=seconds, error=error, more=f"{factors.mesh.nodes} nodes"), Side(seconds=again, error=error)


class _Elements:
    """The same of finite elements, from coarse to fine; every mesh is solved once."""

    def __init__(
        self, one: construction_cases.Case, magnets: tuple[str, ...], points: "np.ndarray",
        worst: Callable[["np.ndarray"], float],
    ) -> None:  # fmt: skip
        self._one, self._magnets, self._points, self._worst = one, magnets, points, worst
        self._tried: list[tuple[Side, Side]] = []

    def as_near_as(self, wanted: float) -> tuple[Side, Side]:
        """Return the coarsest mesh off by no more than ``wanted``, else the finest: new, and a further grade."""
        for number, factor in enumerate(COARSER):
            if number == len(self._tried):
                self._tried.append(self._solved(factor))
            if self._tried[number][0].error <= wanted:
                break
        return self._tried[number]

    def _solved(self, factor: float) -> tuple[Side, Side]:
        size = replace(SIZE, magnet=factor * SIZE.magnet, steel=factor * SIZE.steel, edge=factor * SIZE.edge)
        steel = STEEL if self._one.assembly.rods or self._one.assembly.bars else "none"

        def field(solver: Any, magnet: str) -> "np.ndarray":
            return np.asarray(1e3 * solver.static(magnet, "in-place", steel).field(self._points))

        def anew() -> tuple[Any, "np.ndarray"]:
            solver = Iterative(self._one.assembly, (), size, ())
            return solver, field(solver, self._magnets[0])

        (solver, found), seconds = timed(anew)
        error = self._worst(found)
        _, again = timed(lambda: field(solver, self._magnets[1]))
        unknowns = f"{solver.space.ndof} unknowns"
        print(f"  elements of {factor} times the size: {unknowns}, {seconds:.0f} s, {error:.2%}", flush=True)
        return Side(seconds=seconds, error=error, more=unknowns), Side(seconds=again, error=error)


def alternating() -> Iterator[dict[str, object]]:
    """Yield the inductance with eddy currents in rods and cover."""
    case = CASES[ALTERNATING]
    rows = cases.chosen("box_cover_inductance", parts=ALTERNATING)
    there = {float(r["frequency_hz"]): complex(float(r["re_l_h"]), float(r["im_l_h"])) for r in rows}
    hertz = max(f for f in there if f <= 1000.0)
    points = cases.places(cases.chosen("box_cover_field", parts="rods", frequency_hz="1000"))
    grid = tuple(np.geomspace(30.0, 20e3, FREQUENCIES - 1).tolist())
    sheets.solved(case, points)  # compiled
    currents._cut.cache_clear()
    ours, seconds = timed(lambda: sheets.solved(case, points, (hertz, *grid)))
    solver, meshed = timed(lambda: Solver(case))
    (henry, _), once = timed(lambda: solver.solve(hertz))
    print(f"  {ALTERNATING}: mesh {meshed:.0f} s, a frequency {once:.0f} s", flush=True)
    here = Side(seconds=seconds, error=abs(ours.series()[0] / there[hertz] - 1.0))
    other = Side(seconds=meshed + FREQUENCIES * once, error=abs(complex(henry[0, 0]) / there[hertz] - 1.0),
                 more=f"{FREQUENCIES} times one frequency")  # fmt: skip
    yield row("inductance", f"{ALTERNATING}: complex L, 0 to 20 kHz", here, other)


def row(kind: str, name: str, ours: Side, theirs: Side) -> dict[str, object]:
    """Return one row: both sides and how many times as long the finite elements take."""
    return {
        "kind": kind, "name": name, "engine_s": ours.seconds, "engine_error": float(ours.error), "engine": ours.more,
        "elements_s": theirs.seconds, "elements_error": float(theirs.error), "elements": theirs.more,
        "times": theirs.seconds / ours.seconds, "asked": ASKED[kind],
    }  # fmt: skip


def page(rows: list[dict[str, Any]], at: dict[str, str]) -> str:
    """Return the rows as Markdown."""
    out = [
        "# Beside finite elements, in one run", "",
        "Written by `python -m verification.side_by_side`; do not edit. Processor seconds, meshes included;",
        "errors against the same reference: the static field's largest beside a third-order solution, the complex",
        "inductance at 1 kHz beside that of `tests/reference/fem/README.md`.", "",
        f"{at['date']}, {at['machine']}, commit {at['commit']}", "",
        "| what | case | this engine | its error | finite elements | their error | times | asked |",
        "|---|---|---|---|---|---|---|---|",
    ]  # fmt: skip
    names = {
        "geometry": "a new geometry, one grade",
        "grade": "a further grade",
        "inductance": "L(f), eddy currents in 3-D",
    }
    for one in rows:
        own = f"{one['engine_s']:.3g} s" + (f", {one['engine']}" if one["engine"] else "")
        other = f"{one['elements_s']:.3g} s" + (f", {one['elements']}" if one["elements"] else "")
        out.append(
            f"| {names[one['kind']]} | {one['name']} | {own} | {one['engine_error']:.2%} | {other} | "
            f"{one['elements_error']:.2%} | {one['times']:.0f} | {one['asked']:.0f} |"
        )
    return "\n".join(out) + "\n"


def main() -> None:
    """Measure, write, and end with 1 where a ratio falls short of what is asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", choices=("static", "alternating"))
    only = parser.parse_args().only
    os.environ["POLEPIECE_CACHE"] = ""  # nothing from disk
    rows: list[dict[str, Any]] = []
    for name in THIRD_ORDER if only != "alternating" else ():
        rows += static(name)
    rows += alternating() if only != "static" else ()
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, cwd=ROOT, check=True
    )
    at = {"date": f"{datetime.now(UTC):%Y-%m-%d}", "machine": f"{platform.machine()}, {platform.python_version()}",
          "commit": commit.stdout.strip()}  # fmt: skip
    for one in rows:
        print({k: round(v, 4) if isinstance(v, float) else v for k, v in one.items()})
    if only is None:
        (ROOT / "benchmarks" / "results" / "side-by-side.json").write_text(
            json.dumps({**at, "rows": rows}, indent=1) + "\n"
        )
        (ROOT / "docs" / "side-by-side.md").write_text(page(rows, at))
    raise SystemExit(any(one["times"] < one["asked"] for one in rows))


if __name__ == "__main__":
    main()
