"""Finite elements of some drawn pickups with eddy currents: ``python -m verification.finite_elements_drawn_eddy``.

Solver and equations are those of `verification.finite_elements_eddy`, T-Omega in three dimensions; the shapes are those
of `drawn_cases.dressed`. Steel of permeability 100 and 1.43e-7 ohm m; magnets do not conduct and have
the recoil permeability of the drawn grade. It writes tests/reference/fem/drawn/NAME.eddy.json.
"""

import time
from datetime import UTC, datetime
from typing import Any

from polepiece.coil import Plate
from polepiece.geometry import Assembly, MagnetBox, MagnetRod, SteelRod
from verification import cases, drawn_cases
from verification.finite_elements_drawn import is_even
from verification.finite_elements_eddy import Case, Sheet, Solver

PERMEABILITY, RESISTIVITY = 100.0, 1.43e-7
HERTZ = (1000.0, 5000.0)


def _round(rod: SteelRod) -> tuple[float, float, tuple[tuple[float, float, float], ...]]:
    sections = tuple((1e3 * s.radius, 1e3 * s.bottom, 1e3 * s.top) for s in rod.sections)
    return 1e3 * rod.x, 1e3 * rod.y, sections


def _sheet(plate: Plate) -> Sheet:
    half = 0.5 * plate.thickness
    wall = half if plate.skirt > 0.0 else 0.0
    return Sheet(
        half_x=1e3 * (plate.x_max + wall), half_y=1e3 * (plate.y_max + wall), top=1e3 * (plate.z + half),
        resistivity=plate.resistivity, skirt_to=1e3 * (plate.z - plate.skirt) if plate.skirt > 0.0 else None,
        holes=tuple((1e3 * x, 1e3 * y, 1e3 * r) for x, y, r in plate.holes), thickness=1e3 * plate.thickness,
    )  # fmt: skip


def case_of(name: str) -> Case:
    """Return a drawn pickup as the solver takes it, mm."""
    one = drawn_cases.dressed(name)
    parts: Assembly = one.assembly
    boxes, posts, blocks, keeper = [], [], [], None
    for magnet in parts.magnets:
        if isinstance(magnet, MagnetRod):
            posts.append((magnet.x, magnet.y, magnet.radius, magnet.bottom, magnet.top))
        elif isinstance(magnet, MagnetBox):
            boxes.append((magnet.x_min, magnet.x_max, magnet.y_max, magnet.z_min, magnet.z_max))
    for bar in parts.bars:
        size = tuple(1e3 * v for v in (bar.x_min, bar.x_max, bar.y_max, bar.z_min, bar.z_max))
        if bar.role in ("blade", "plate"):
            blocks.append(size)
        else:
            keeper = size
    return Case(
        rods=tuple(_round(rod) for rod in parts.rods), coils=one.coils, keeper=keeper,  # type: ignore[arg-type]
        sheets=tuple(_sheet(plate) for plate in one.shape.sheets), permeability=PERMEABILITY, resistivity=RESISTIVITY,
        boxes=tuple(tuple(1e3 * v for v in b) for b in boxes),  # type: ignore[misc]
        posts=tuple(tuple(1e3 * v for v in p) for p in posts),  # type: ignore[misc]
        blocks=tuple(blocks), recoil=cases.MAGNETS[drawn_cases.drawn(name).grade][3],  # type: ignore[arg-type]
        quarter=is_even(parts), hertz=HERTZ, shells=(0.3, 0.9) if is_even(parts) else (0.35,),
        rod_size=1.4 if is_even(parts) else 1.7, air_size=9.0 if is_even(parts) else 12.0,
    )  # fmt: skip


def solved(name: str) -> dict[str, Any]:
    """Return what is kept of one case."""
    begun, case = time.process_time(), case_of(name)
    solver = Solver(case)
    out: dict[str, Any] = {
        "date": f"{datetime.now(UTC):%Y-%m-%d}", "elements": solver.mesh.ne, "unknowns": solver.space.ndof,
        "shells_mm": list(case.shells), "part": "quarter" if case.quarter else "half", "hertz": list(case.hertz),
        "re_henry": [], "im_henry": [], "henry_air": solver.in_air().round(7).tolist(),
    }  # fmt: skip
    for hertz in case.hertz:
        henry, _ = solver.solve(hertz)
        out["re_henry"].append(henry.real.round(7).tolist())
        out["im_henry"].append(henry.imag.round(7).tolist())
        print(f"  {name} {hertz:g} Hz {time.process_time() - begun:.0f} s", flush=True)
    out["seconds"] = round(time.process_time() - begun)
    return out


if __name__ == "__main__":
    drawn_cases.solve_those_asked_for(__doc__, drawn_cases.EDDY, ".eddy.json", solved)
