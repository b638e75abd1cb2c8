"""Inductances and fields per ampere against finite elements: both pickups, and the round coil with eddy currents."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.coil import Racetrack, WindingSet, solve_alternating, source_field, winding_set
from polepiece.coil import alternating as reduced
from polepiece.constants import MU_0
from polepiece.geometry import Assembly, Resolution, cut
from polepiece.magnetics import Factors, factorise
from tests.reference.axisymmetric import inductance
from verification import cases
from verification.registry import Row, study

INDUCTANCE, CHANGE, COIL_FIELD = 0.03, 0.10, 0.03
MAGNITUDE, LOSS, DISC_CHANGE, AIR = 0.01, 0.05, 0.05, 0.003


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinearPickup:
    """A pickup whose magnets and steel are linear: inductances and charges per ampere at frequency 0."""

    factors: Factors
    windings: WindingSet

    @classmethod
    def of(
        cls, assembly: Assembly, coils: tuple[Racetrack, ...], resolution: "Resolution | None" = None
    ) -> "LinearPickup":
        """Factorise ``assembly`` with its coils."""
        mesh = cut(assembly, resolution)
        windings = winding_set(mesh, coils)
        return cls(factors=factorise(mesh, windings.sources), windings=windings)

    def solve(self, magnet: float, steel: float) -> tuple[FloatArray, FloatArray]:
        """Return inductances (coils, coils), H, and charges (elements, coils), A m per A."""
        system = reduced(self.factors, self.windings)
        solution = solve_alternating(
            system, np.zeros(1), steel=np.full((len(system.edges), 1), steel, dtype=complex),
            magnet_flat=np.array([magnet], dtype=complex), magnet_up=np.array([magnet], dtype=complex),
        )  # fmt: skip
        reduced_potential = solution.potential[0].real
        potential = np.zeros((self.factors.mesh.nodes, reduced_potential.shape[1]))
        potential[system.steel_nodes] = reduced_potential[: system.steel_count]
        potential[system.magnet_nodes] = system.basis @ reduced_potential[system.steel_count :]
        charge = self.factors.charge_of_node @ potential - self.factors.source_charge
        return solution.inductance[:, :, 0].real, charge

    def field(self, points: FloatArray, charge: FloatArray, coil: int) -> FloatArray:
        """Return Bz (n,) in T per ampere in one coil."""
        own = source_field(self.windings.coils[coil], points)
        return np.asarray(MU_0 * (self.factors.elements.field(points, charge[:, coil]) + own)[:, 2])


@study(
    "humbucker-coils",
    "Reference humbucker: static inductances and field per ampere",
    "Both coils with linear steel and magnet. A part of permeability 1 is no steel: it is left out of the network. "
    "The last rows are the change of each inductance with the magnet's permeability; their error is relative to the "
    "change.",
)
def humbucker_coils() -> Iterator[Row]:
    """Yield inductances, their changes, and field lines per ampere."""
    with_steel = LinearPickup.of(cases.humbucker(), cases.humbucker_coils())
    without = LinearPickup.of(Assembly(magnets=(cases.bar(),)), cases.humbucker_coils())
    names = ("slug_coil_h", "screw_coil_h", "mutual_h", "pair_h")
    found: dict[tuple[str, str], FloatArray] = {}
    reference: dict[tuple[str, str], FloatArray] = {}
    for row in cases.table("humbucker_inductance"):
        key = (row["magnet_permeability"], row["steel_permeability"])
        pickup = with_steel if float(key[1]) > 1.0 else without
        henry, charge = pickup.solve(float(key[0]), float(key[1]))
        found[key] = np.array([henry[0, 0], henry[1, 1], henry[0, 1], henry.trace() - 2.0 * henry[0, 1]])
        reference[key] = np.array([float(row[name]) for name in names])
        case = f"magnet {key[0]}, steel {key[1]}"
        for name, here, there in zip(names, found[key], reference[key]):
            yield Row(
                case=case, quantity=name, found=f"{here:.5f} H", reference=f"{there:.5f} H",
                error=float(here / there - 1.0), tolerance=INDUCTANCE,
            )  # fmt: skip
        rows = [
            r
            for r in cases.table("humbucker_coil_field")
            if float(r["magnet_permeability"]) == float(key[0]) and float(r["steel_permeability"]) == float(key[1])
        ]
        for coil, name in enumerate(("slug", "screw") if rows else ()):
            yield from lines(pickup, charge, coil, rows, f"{name}_coil_bz_t_per_a", f"{case}, {name} coil")
    for steel in ("800.0", "200.0"):
        low, high = (next(k for k in found if k[1] == steel and (k[0] == "3.7") == top) for top in (False, True))
        for k, name in enumerate(names):
            here, there = found[high][k] - found[low][k], reference[high][k] - reference[low][k]
            yield Row(
                case=f"steel {steel}, magnet {low[0]} to {high[0]}", quantity=f"change of {name}",
                found=f"{here:.5f} H", reference=f"{there:.5f} H", error=float(here / there - 1.0), tolerance=CHANGE,
            )  # fmt: skip


def lines(
    pickup: LinearPickup, charge: FloatArray, coil: int, rows: list[dict[str, str]], column: str, case: str
) -> Iterator[Row]:
    """Yield the worst point of each line of Bz per ampere in one coil."""
    points, reference = cases.places(rows), cases.column(rows, column)
    found = pickup.field(points, charge, coil)
    for y in np.unique(points[:, 1]):
        line = points[:, 1] == y
        error, worst = cases.line_error(found[line], reference[line], points[line])
        yield Row(
            case=case,
            quantity=f"Bz per A, line y = {1e3 * y:.1f} mm, worst at x = {1e3 * points[line][worst, 0]:.0f} mm",
            found=f"{found[line][worst]:.5f} T/A", reference=f"{reference[line][worst]:.5f} T/A",
            error=error, tolerance=COIL_FIELD,
        )  # fmt: skip


@study(
    "rod-single-coil",
    "Rod-magnet single coil: static inductance and field per ampere",
    "Rods linear and isotropic, of recoil permeability 1 and 3.7.",
)
def rod_single_coil() -> Iterator[Row]:
    """Yield the inductance, its change and field lines per ampere."""
    pickup = LinearPickup.of(cases.rod_single(), (cases.rod_single_coil(),))
    found, reference = [], []
    for row in cases.table("rod_single_inductance"):
        mu = row["magnet_permeability"]
        henry, charge = pickup.solve(float(mu), 1.0)
        found.append(henry[0, 0])
        reference.append(float(row["inductance_h"]))
        yield Row(
            case=f"rods {mu}", quantity="inductance", found=f"{found[-1]:.4f} H", reference=f"{reference[-1]:.4f} H",
            error=found[-1] / reference[-1] - 1.0, tolerance=INDUCTANCE,
        )  # fmt: skip
        rows = cases.chosen("rod_single_coil_field", magnet_permeability=mu)
        yield from lines(pickup, charge, 0, rows, "bz_t_per_a", f"rods {mu}")
    here, there = found[1] - found[0], reference[1] - reference[0]
    yield Row(
        case="rods 1.0 to 3.7", quantity="change of the inductance", found=f"{here:.4f} H", reference=f"{there:.4f} H",
        error=here / there - 1.0, tolerance=CHANGE,
    )  # fmt: skip


@study(
    "round-coil",
    "Round coil with a steel core and a conducting disc",
    "Complex L from 0 to 20 kHz against axisymmetric finite elements. The error of a disc is that of the complex "
    "change which it and the core make against the coil in air.",
)
def round_coil() -> Iterator[Row]:
    """Yield |L|, Im L and changes of the axisymmetric cases."""
    air = complex(cases.chosen("round_coil_inductance", parts="air")[0]["re_l_h"])
    own_air = complex(inductance(*cases.round_case("air"), [0.0])[0])
    for case in ("air", "core", "disc", "core+disc"):
        rows = cases.chosen("round_coil_inductance", parts=case)
        hertz = cases.column(rows, "frequency_hz")
        reference = cases.column(rows, "re_l_h") + 1j * cases.column(rows, "im_l_h")
        found = inductance(*cases.round_case(case), hertz)
        for f, here, there in zip(hertz, found, reference):
            name = f"{f:g} Hz"
            bound = AIR if case == "air" else MAGNITUDE
            yield Row(
                case=case, quantity=f"|L| at {name}", found=f"{abs(here):.6f} H", reference=f"{abs(there):.6f} H",
                error=float(abs(here) / abs(there) - 1.0), tolerance=bound,
            )  # fmt: skip
            if there.imag and case == "core":
                yield Row(
                    case=case, quantity=f"Im L at {name}", found=f"{here.imag:.6f} H", reference=f"{there.imag:.6f} H",
                    error=float(here.imag / there.imag - 1.0), tolerance=LOSS,
                )  # fmt: skip
            change = abs(there - air)
            if "disc" in case and change > 1e-9:
                yield Row(
                    case=case, quantity=f"change of L at {name}", found=f"{here - own_air:.6f} H",
                    reference=f"{there - air:.6f} H", error=float(abs(here - own_air - there + air) / change),
                    tolerance=DISC_CHANGE,
                )  # fmt: skip
