"""How the reference humbucker's figures move as the mesh is refined, one size at a time."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.constants import MU_0
from polepiece.geometry import Assembly, Resolution, cut
from polepiece.magnetics import factorise, solve_state
from verification import cases
from verification.registry import Row, study

BASE = Resolution()
LAST_STEP = 0.02  # what one more refinement may still move a judged figure
LIMIT = 0.01  # the finite elements' own fields stand within 0.5 %; as much again for the limit
POLES = (-9, 9)  # mm, the screw and the slug at y = 5


def bare_bar(count: int) -> tuple[float, int]:
    """Return the mean B of the bare A5 bar in place, cut evenly into ``count`` layers, and its elements."""
    size = Resolution(magnet_layers=count, magnet_across=2 * count, magnet_along=count, grading=0.0)
    factors = factorise(cut(Assembly(magnets=(cases.bar(),)), size))
    state = solve_state(factors, {"magnet": cases.magnet_law("A5", "in-place")}, {})
    return state.mean_in_magnet(factors.mesh)[0], factors.elements.count


def over_poles(size: Resolution, magnet: str, charge: str) -> tuple[FloatArray, int]:
    """Return Bz (poles,) in T 3 mm over a screw and a slug, and the number of elements."""
    factors = factorise(cut(cases.humbucker(), size))
    steels = {part: cases.STEELS["linear-800"] for part in cases.STEEL_PARTS}
    state = solve_state(factors, {"magnet": cases.magnet_law(magnet, charge)}, steels)
    points = np.array([[x, 5.0, 17.0] for x in POLES]) * cases.MM
    return MU_0 * factors.elements.field(points, state.charge)[:, 2], factors.elements.count


def order(values: list[float]) -> float:
    """Return the observed order of three values, each from half the size of the one before (Roache 1994)."""
    first, second = values[1] - values[0], values[2] - values[1]
    if first * second <= 0.0:
        return math.nan
    return math.log2(first / second)


def extrapolated(values: list[float]) -> float:
    """Return Richardson's limit of three values, or the last one where no order can be seen."""
    p = order(values)
    return values[2] if not p > 0.1 else values[2] + (values[2] - values[1]) / (2.0**p - 1.0)


@study(
    "convergence",
    "Convergence with the mesh",
    "One size of the mesh after the other is refined, the rest stays. The bare bar is cut evenly, all its cells halved "
    "twice; its order is log2 of the ratio of successive changes, its limit Richardson's, and at least first order is "
    "asked for. For the humbucker's steel and bar the last refinement may not move a figure by more than 2 %.",
)
def convergence() -> Iterator[Row]:
    """Yield the figures of each mesh, the order, and the limit."""
    case, layers = "bare A5 bar, even cells", (2, 4, 8)
    reference = float(cases.chosen("humbucker_working_point", charge="bare")[0]["mean_b_t"])
    values = []
    for count in layers:
        b, elements = bare_bar(count)
        values.append(b)
        yield Row(
            case=case, quantity=f"mean B, {count} layers, {elements} elements", found=f"{b:.4f} T",
            reference=f"{reference:.4f} T", error=b / reference - 1.0,
        )  # fmt: skip
    limit, seen = extrapolated(values), order(values)
    yield Row(
        case=case, quantity="limit of mean B", found=f"{limit:.4f} T", reference=f"{reference:.4f} T",
        error=limit / reference - 1.0, tolerance=LIMIT,
    )  # fmt: skip
    yield Row(
        case=case, quantity="observed order (error: how much below 1)", found=f"{seen:.2f}", reference="1 or more",
        error=max(0.0, 1.0 - seen) if math.isfinite(seen) else 1.0, tolerance=0.0,
    )  # fmt: skip
    scales = (1.0, math.sqrt(2.0), 2.0, 2.0 * math.sqrt(2.0))
    steel = [
        replace(
            BASE, sectors=round(6 * k), slice_height=2.6e-3 / k, keeper_panel=5.2e-3 / k, cap_rings=max(1, round(k))
        )
        for k in scales
    ]
    yield from _family("steel (ferrite bar)", "C8", steel)
    yield from _family("bar (A5)", "A5", [replace(BASE, magnet_across=k, magnet_layers=k // 2 + 1) for k in (4, 6, 8)])


def _family(case: str, magnet: str, sizes: list[Resolution]) -> Iterator[Row]:
    charge = "outside" if magnet == "C8" else "in-place"  # of ferrite both states are alike
    rows = cases.chosen("humbucker_field", magnet=magnet, charge=charge, steel="linear-800", y_mm="5")
    reference = {round(float(r["x_mm"])): float(r["bz_mt"]) for r in rows}
    before: FloatArray | None = None
    for size in sizes:
        field, elements = over_poles(size, magnet, charge)
        for k, x in enumerate(POLES):
            moved = None if before is None else float(field[k] / before[k] - 1.0)
            last = size is sizes[-1]
            yield Row(
                case=f"{case}, {elements} elements", quantity=f"Bz 17 mm up at x = {x} mm (error: moved by)",
                found=f"{1e3 * field[k]:.3f} mT", reference=f"{reference[x]:.3f} mT", error=moved,
                tolerance=LAST_STEP if last else None,
            )  # fmt: skip
        before = field
