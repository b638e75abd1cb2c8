"""Flux linkage, force and magnetisation of a string over the reference humbucker against finite elements."""

from collections.abc import Iterator

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.coil import source_potential, winding_set
from polepiece.geometry import cut
from polepiece.magnetics import factorise, solve_state
from polepiece.strings import HeightTable, Rod, Sensed, StringSystem, chebyshev_heights, sense, string_cuts
from verification import cases
from verification.coils import LinearPickup
from verification.registry import Row, study

STRING = 0.06
HEIGHTS = 8
RODS = {
    "linear-100": Rod(diameter=0.43e-3, initial_permeability=100.0),
    "langevin-2.05": Rod(diameter=0.43e-3, initial_permeability=100.0, saturation=2.05),
}


def tabulated(y: float, length: float) -> tuple[HeightTable, FloatArray, FloatArray, FloatArray]:
    """Return table, pickup potential (1, nx, nz), coil potentials (2, 1, nx, nz), reply (1, nz, nx, nx) at ``y``."""
    mesh = cut(cases.humbucker())
    coils = cases.humbucker_coils()
    windings = winding_set(mesh, coils)
    cuts = string_cuts(length, (9e-3, -9e-3))
    heights = chebyshev_heights(14.8e-3, 23e-3, HEIGHTS)
    table = HeightTable(cuts=cuts, z=heights[None])
    probes = np.array([[(x, y, z) for x in table.x] for z in heights])
    factors = factorise(mesh, windings.sources, probes)
    law = cases.magnet_law("C8", "in-place")
    steels = {part: cases.STEELS["linear-800"] for part in cases.STEEL_PARTS}
    state = solve_state(factors, {"magnet": law}, steels)
    _, charge = LinearPickup(factors=factors, windings=windings).solve(cases.MAGNETS["C8"][3], 800.0)
    flat = probes.reshape(-1, 3)
    seen = factors.elements.potentials(flat)

    def shaped(values: FloatArray) -> FloatArray:
        return values.reshape(1, HEIGHTS, -1).transpose(0, 2, 1)

    pickup = shaped(seen @ state.charge)
    psi = np.array([shaped(seen @ charge[:, k] + source_potential(coil, flat)) for k, coil in enumerate(coils)])
    return table, pickup, psi, factors.probe_reply[None]


@study(
    "humbucker-string",
    "A string over the reference humbucker",
    "A steel string 0.43 mm thick over the pole at y = 5 mm, ferrite bar charged in place. Flux linkage of the pair "
    "against no string, and vertical force. (A vibrating string over alnico follows recoil lines, a static "
    "finite-element difference the major curve: those are not compared.) B is mu0 M at the string's strongest place; "
    "it is stated, not judged.",
)
def humbucker_string() -> Iterator[Row]:
    """Yield linkage, force and axial B for both string laws at three heights."""
    table, pickup, psi, reply = tabulated(5e-3, 40e-3)
    for name, rod in RODS.items():
        rows = cases.chosen("humbucker_string", string=name)
        system = StringSystem.of(table.cuts, (rod,), reply)
        for row in rows:
            sensed: Sensed = sense(
                system, table, height=np.array([float(row["z_mm"]) * 1e-3]), pickup=pickup, coils=psi
            )
            linkage = float(sensed.linkage[0, 0] - sensed.linkage[0, 1])
            force, there, pull = float(sensed.force[0]), float(row["linkage_wb"]), float(row["force_n"])
            case = f"{name}, axis at z = {row['z_mm']} mm"
            sign = 1.0 if linkage * there > 0.0 else -1.0  # the pair's polarity is a convention of the reference
            yield Row(
                case=case, quantity="flux linkage of the pair", found=f"{sign * linkage:.3e} Wb",
                reference=f"{there:.3e} Wb", error=sign * linkage / there - 1.0, tolerance=STRING,
            )  # fmt: skip
            yield Row(
                case=case, quantity="vertical force", found=f"{1e3 * force:.3f} mN", reference=f"{1e3 * pull:.3f} mN",
                error=force / pull - 1.0, tolerance=STRING,
            )  # fmt: skip
            b, b_there = float(sensed.axial_field[0]), abs(float(row["axial_b_t"]))
            yield Row(
                case=case, quantity="axial B, largest", found=f"{b:.3f} T", reference=f"{b_there:.3f} T",
                error=b / b_there - 1.0,
            )  # fmt: skip
