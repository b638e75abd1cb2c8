"""Twenty pickups drawn at random over all constructions against finite elements: fields, inductances, complex L.

What is drawn: `drawn_cases`; solutions: `finite_elements_drawn` and `finite_elements_drawn_eddy`, kept beside the
guitar files in tests/reference/fem/drawn. Those of which a solution is kept are judged.
"""

import json
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.coil import winding_set
from polepiece.constants import MU_0
from polepiece.geometry import Resolution
from polepiece.magnetics import factorise, solve_state
from polepiece.pickup.anatomy import pickup_mesh
from verification import cases, drawn_cases
from verification.coils import LinearPickup
from verification.registry import Row, study

FIELD, INDUCTANCE = 0.01, 0.01  # asked
STILL = 0.5  # of the step from second order to third: an error that falls as h^(4/3), p^(-8/3) leaves 0.51 of it
PERMEABILITY = 800.0  # of steel, as the solutions have it


@lru_cache(maxsize=32)
def solution(name: str) -> dict[str, Any] | None:
    """Return the kept finite elements of a case; None where it was not solved."""
    path = drawn_cases.FOLDER / f"{name}.json"
    return json.loads(path.read_text(encoding="utf-8")) if path.exists() else None


def own_error(name: str) -> float:
    """Return what the finite elements' field is off itself, by the rule of `cases.line_error`, from their own step."""
    kept = solution(name)
    assert kept is not None
    third, second = np.array(kept["bz_mt"]), np.array(kept["bz_mt_second_order"])
    return STILL * abs(cases.line_error(second, third, np.array(kept["points_mm"]))[0])


def pickup_of(name: str, resolution: "Resolution | None" = None) -> LinearPickup:
    """Return a case factorised, with its windings."""
    case = drawn_cases.drawn(name).case
    mesh = pickup_mesh(case.shape, resolution or Resolution())
    windings = winding_set(mesh, case.coils)
    return LinearPickup(factors=factorise(mesh, windings.sources), windings=windings)


def static_rows(name: str, resolution: "Resolution | None" = None) -> Iterator[Row]:
    """Yield the worst field over the poles, each inductance and the worst field of one ampere of a case."""
    one, kept = drawn_cases.drawn(name), solution(name)
    assert kept is not None
    pickup = pickup_of(name, resolution)
    points, what, own = np.array(kept["points_mm"]) * cases.MM, f"{name}, {one.grade}", own_error(name)
    law = cases.magnet_law(one.grade, "in-place")
    steels = dict.fromkeys(one.case.assembly.steels, cases.STEELS["linear-800"])
    state = solve_state(pickup.factors, {"magnet": law}, steels)
    found = np.asarray(pickup.factors.elements.field(points, state.charge)[:, 2] * MU_0 * 1e3)
    yield worst(what, "Bz", "mT", found, np.array(kept["bz_mt"]), points, FIELD + own)
    henry, charge = pickup.solve(cases.MAGNETS[one.grade][3], PERMEABILITY)
    there = pickup.windings.air + np.array(kept["henry"]) - np.array(kept["henry_air"])
    for i in range(len(henry)):
        for j in range(i, len(henry)):
            scale = float(there[i, i] * there[j, j]) ** 0.5  # a mutual inductance is judged by the coils' own
            yield Row(
                case=what, quantity=f"inductance {i + 1}-{j + 1}", found=f"{henry[i, j]:.5f} H",
                reference=f"{there[i, j]:.5f} H", error=float(henry[i, j] - there[i, j]) / scale, tolerance=INDUCTANCE,
            )  # fmt: skip
    for k, reference in enumerate(kept["coil_t_per_a"]):
        found = pickup.field(points, charge, k)
        yield worst(what, f"Bz per A in coil {k + 1}", "T/A", found, np.array(reference), points, FIELD + own)


def worst(
    case: str, quantity: str, unit: str, found: FloatArray, reference: FloatArray, points: FloatArray, tolerance: float
) -> Row:
    """Return the row of the worst point of all lines."""
    error, at = cases.line_error(found, reference, points)
    x, y, _ = 1e3 * points[at]
    return Row(
        case=case, quantity=f"{quantity}, worst at x = {x:.0f}, y = {y:.1f} mm", found=f"{found[at]:.4f} {unit}",
        reference=f"{reference[at]:.4f} {unit}", error=error, tolerance=tolerance,
    )  # fmt: skip


@study(
    "drawn-geometries",
    "Twenty geometries drawn at random over all constructions: field and inductance",
    "Sizes even over the spreads that the guitar file assumes (bars, gaps, poles, every screw's height and every rod's "
    "length, windings), grade and reading height drawn as well: `verification/drawn_cases.py`. Worst point of all lines "
    "over the poles; inductances, mutual ones by the coils' own. Steel of permeability 800, magnets charged in place, "
    "linear for the coils. Asked: 1 %. Finite elements of third order; what they are off themselves, half of their "
    "own step from second order, is added for fields.",
)
def drawn_geometries() -> Iterator[Row]:
    """Yield the rows of every case that was solved, and how many of each kind stand within what is asked alone."""
    rows, unsolved = [], []
    for name in drawn_cases.names():
        if solution(name) is None:
            unsolved.append(name)
            continue
        rows += static_rows(name)
    yield from rows
    for quantity, bound in (("Bz,", FIELD), ("inductance", INDUCTANCE), ("Bz per A", FIELD)):
        errors = [abs(row.error) for row in rows if row.quantity.startswith(quantity) and row.error is not None]
        yield Row(
            case=f"all, {quantity.rstrip(',')}", quantity=f"within {bound:.0%} alone", reference=f"{len(errors)}",
            found=f"{sum(one <= bound for one in errors)}",
        )  # fmt: skip
    for name in unsolved:
        yield Row(case=name, quantity="NOT CHECKED: drawn, and not solved yet", found="-", reference="none")
