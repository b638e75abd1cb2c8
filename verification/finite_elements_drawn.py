"""Finite elements of the drawn pickups, static: ``python -m verification.finite_elements_drawn [NAME ...]``.

Solver and equations are those of `verification.finite_elements_constructions`, third order (fourth in the magnets), no
string; a quarter where the pickup is its own image in x = 0 as well. The second-order solution that each starts from is
read too, so that every field stands beside its own step. It writes tests/reference/fem/drawn/NAME.json: the field on
lines over the poles with the drawn grade charged in place and steel of permeability 800; with linear parts the
inductances, with the mesh's own of air beside them, and the field of one ampere in each coil.
"""

import time
from datetime import UTC, datetime
from typing import Any

import numpy as np

from polepiece.geometry import Assembly, MagnetBox
from verification import cases, drawn_cases
from verification.finite_elements import Fineness, Static, _loops
from verification.finite_elements_constructions import STEEL, Iterative

PERMEABILITY = 800.0
SIZE = Fineness(order=3, magnet=1.8, steel=2.2, edge=1.0, grading=0.6)


class Quarter(Iterative):
    """The same for x > 0 alone."""

    quarter = True


def is_even(shape: Assembly) -> bool:
    """Return whether the potential of magnets and of coils about x = 0 is even in x and in y."""
    boxes = {(m.x_min, m.x_max, m.easy, m.sign) for m in shape.magnets if isinstance(m, MagnetBox)}
    turned = {(-b, -a, easy, -sign if easy == 0 else sign) for a, b, easy, sign in boxes}
    middle = all(rod.x == 0.0 for rod in shape.rods)
    middle = middle and all(m.x == 0.0 for m in shape.magnets if not isinstance(m, MagnetBox))
    level = all(abs(bar.x_min + bar.x_max) < 1e-9 for bar in shape.bars)
    return shape.is_mirrored() and boxes == turned and middle and level


def both_sides(points: "np.ndarray", field: "np.ndarray") -> "np.ndarray":
    """Return the sum of a field (n,) on lines and of its image in x = 0, for points (n, 3) that are their own image."""
    place = {tuple(p): k for k, p in enumerate(points.round(6).tolist())}
    other = [place[-x + 0.0, y, z] for x, y, z in points.round(6).tolist()]
    return np.asarray(field + field[other])


def solved(name: str, size: Fineness = SIZE) -> dict[str, Any]:
    """Return what is kept of one case."""
    begun = time.process_time()
    one = drawn_cases.drawn(name)
    parts, coils, points = one.case.assembly, one.case.coils, one.points
    even = is_even(parts)
    solver = (Quarter if even else Iterative)(parts, coils, size)
    print(f"  {name}: {solver.mesh.ne} elements, {solver.space.ndof} unknowns, {even=}", flush=True)
    out: dict[str, Any] = {
        "date": f"{datetime.now(UTC):%Y-%m-%d}", "order": size.order, "elements": solver.mesh.ne,
        "unknowns": solver.space.ndof, "sizes_mm": [size.magnet, size.steel, size.edge], "grading": size.grading,
        "part": "quarter" if even else "whole" if solver.whole else "half", "points_mm": points.round(6).tolist(),
    }  # fmt: skip
    out |= _static(solver, one, even)
    print(f"  static {time.process_time() - begun:.0f} s", flush=True)
    linear = solver.alternating(cases.MAGNETS[one.grade][3], PERMEABILITY)
    out["coil_t_per_a"] = []
    for k, coil in enumerate(coils):
        own, field = _loops(points, coil), linear.field(points, k)
        field = own + both_sides(points, field - own) if even else field
        out["coil_t_per_a"].append([float(f"{b:.6e}") for b in field])
    sides = 2.0 if even else 1.0
    out["henry"] = (sides * linear.henry).round(7).tolist()
    out["henry_air"] = (sides * solver.alternating(1.0, 1.0).henry).round(7).tolist()
    out["seconds"] = round(time.process_time() - begun)
    return out


def _static(solver: Iterative, one: drawn_cases.Drawn, even: bool) -> dict[str, Any]:
    """Return the static field of third order and that of the second-order solution it began with."""
    steel = STEEL if one.case.assembly.rods or one.case.assembly.bars else "none"
    states = {"bz_mt": solver.static(one.grade, "in-place", steel)}
    if solver.lower is not None:
        phi = solver.lower.last["circuit" if steel != "none" else "bare"]
        states["bz_mt_second_order"] = Static(solver.lower, phi, one.grade, None, steel)
    out = {}
    for key, state in states.items():
        field = 1e3 * state.field(one.points)
        out[key] = (both_sides(one.points, field) if even else field).round(5).tolist()
    return out


if __name__ == "__main__":
    drawn_cases.solve_those_asked_for(__doc__, drawn_cases.names(), ".json", solved)
