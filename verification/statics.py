"""Static fields and working points of the reference humbucker against finite elements."""

from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from polepiece.constants import MU_0
from polepiece.geometry import Assembly, Resolution, cut
from polepiece.magnetics import Factors, factorise, solve_state
from verification import cases
from verification.registry import Row, study

FIELD, WORKING_POINT = 0.02, 0.02


@lru_cache(maxsize=4)
def factors(name: str, resolution: Resolution = Resolution()) -> Factors:  # noqa: B008 - frozen
    """Return the factors of the humbucker or of its bare bar."""
    assembly = Assembly(magnets=(cases.bar(),)) if name == "bare" else cases.humbucker()
    return factorise(cut(assembly, resolution))


@study(
    "humbucker-field",
    "Reference humbucker: static field and working points",
    "Bz 17 mm above the bar's underside (3 mm over the screws) on lines over three poles, and mean B and H in the "
    "bar. The error of a line is the largest |dB| over max(|B|, a quarter of the largest |B| on that line).",
)
def humbucker_field() -> Iterator[Row]:
    """Yield field lines and working points of every state that the reference holds."""
    states = sorted({(r["magnet"], r["charge"], r["steel"]) for r in cases.table("humbucker_field")}, key=_order)
    for magnet, charge, steel in states:
        f = factors("bare" if charge == "bare" else "humbucker")
        steels = {part: cases.STEELS[steel] for part in cases.STEEL_PARTS} if steel != "none" else {}
        state = solve_state(f, {"magnet": cases.magnet_law(magnet, charge)}, steels)
        case = f"{magnet} {charge}, steel {steel}"
        for point in cases.chosen("humbucker_working_point", magnet=magnet, charge=charge, steel=steel):
            b, h = state.mean_in_magnet(f.mesh)
            b_ref, h_ref = float(point["mean_b_t"]), float(point["mean_h_ka_per_m"]) * 1e3
            yield Row(
                case=case, quantity="mean B in the bar", found=f"{b:.4f} T", reference=f"{b_ref:.4f} T",
                error=b / b_ref - 1.0, tolerance=WORKING_POINT,
            )  # fmt: skip
            yield Row(
                case=case, quantity="mean H in the bar", found=f"{h / 1e3:.2f} kA/m",
                reference=f"{h_ref / 1e3:.2f} kA/m", error=h / h_ref - 1.0, tolerance=WORKING_POINT,
            )  # fmt: skip
        for y in ("5", "15", "25"):
            rows = cases.chosen("humbucker_field", magnet=magnet, charge=charge, steel=steel, y_mm=y)
            points, reference = cases.places(rows), cases.column(rows, "bz_mt")
            found = f.elements.field(points, state.charge)[:, 2] * MU_0 * 1e3
            error, worst = cases.line_error(found, reference, points)
            yield Row(
                case=case, quantity=f"Bz, line y = {y} mm, worst at x = {1e3 * points[worst, 0]:.0f} mm",
                found=f"{found[worst]:.3f} mT", reference=f"{reference[worst]:.3f} mT", error=error, tolerance=FIELD,
            )  # fmt: skip


def _order(state: tuple[str, str, str]) -> tuple[int, tuple[str, str, str]]:
    return (("C8", "A2", "A5").index(state[0]), state)


@study(
    "rod-single-field",
    "Rod-magnet single coil: static field and working points",
    "Bz 2.5 mm over the rods, in place; and charged one by one in air, then put together, where the history rule "
    "(a recoil line never lies above the major curve) must give the same field. The last rows state what the pure "
    "recoil line would give instead.",
)
def rod_single_field() -> Iterator[Row]:
    """Yield field lines and working points of the six rods."""
    f = factorise(cut(cases.rod_single()))
    mesh = f.mesh
    rows = cases.table("rod_single_field")
    points, reference = cases.places(list(rows)), cases.column(list(rows), "bz_mt")
    for case, charge, pure in (
        ("in place", "in-place", False),
        ("charged one by one", "outside", False),
        ("charged one by one, pure recoil line", "outside", True),
    ):
        state = solve_state(f, {"magnet": cases.magnet_law("A5", charge, pure_recoil=pure)}, {})
        found = f.elements.field(points, state.charge)[:, 2] * MU_0 * 1e3
        for y in np.unique(points[:, 1]):
            line = points[:, 1] == y
            error, worst = cases.line_error(found[line], reference[line], points[line])
            yield Row(
                case=case,
                quantity=f"Bz, line y = {1e3 * y:.1f} mm, worst at x = {1e3 * points[line][worst, 0]:.0f} mm",
                found=f"{found[line][worst]:.3f} mT", reference=f"{reference[line][worst]:.3f} mT",
                error=error, tolerance=None if pure else FIELD,
            )  # fmt: skip
        if pure:
            continue
        volume = mesh.edge_area * mesh.edge_length
        for point in cases.table("rod_single_working_point"):
            near = np.abs(mesh.node_position[mesh.edge_a, 1] - float(point["y_mm"]) * cases.MM) < 3e-3
            edges = (mesh.edge_sign != 0.0) & near
            h = float((volume * state.field)[edges].sum() / volume[edges].sum())
            m = float((volume * state.magnetization)[edges].sum() / volume[edges].sum())
            b, b_ref, h_ref = MU_0 * (h + m), float(point["mean_b_t"]), float(point["mean_h_ka_per_m"]) * 1e3
            where = f"in the rod at y = {point['y_mm']} mm"
            yield Row(
                case=case, quantity=f"mean B {where}", found=f"{b:.4f} T", reference=f"{b_ref:.4f} T",
                error=b / b_ref - 1.0, tolerance=WORKING_POINT,
            )  # fmt: skip
            yield Row(
                case=case, quantity=f"mean H {where}", found=f"{h / 1e3:.2f} kA/m",
                reference=f"{h_ref / 1e3:.2f} kA/m", error=h / h_ref - 1.0, tolerance=WORKING_POINT,
            )  # fmt: skip
