"""Eddy currents in blades and steel sheets: pickups so long that their middle is the plane field of a long one.

Two lengths of each are solved; what the longer one has more, over what it is longer, is an inductance per length
without ends, which finite elements in the plane give to any accuracy with the skin resolved
(`verification.finite_elements_long`).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Literal

import numpy as np

from polepiece.arrays import ComplexArray
from polepiece.coil import Plate, Racetrack, alternating, solve_alternating, winding_set
from polepiece.geometry import Assembly, SteelBar, cut
from polepiece.magnetics import factorise
from polepiece.materials import LinearSteel
from polepiece.pickup.anatomy import SteelPart
from polepiece.pickup.steel_edges import sheet_impedances, steel_permeabilities
from verification import cases
from verification.registry import Row, study

HALVES = (60e-3, 100e-3)  # m, half lengths
END = 1e-3  # m from the end of a blade to the coil's inner wall
MAGNITUDE, LOSS = 0.02, 0.05  # asked of inductances of every construction; of what eddy currents lose
NAMES = {"blade": ("blades", "second blades"), "plate": ("plate",), "sheet": ("cover",)}  # the engine's names of parts


@dataclass(frozen=True, slots=True, kw_only=True)
class Steel:
    """The section of one steel part, mm, as one finds it at x > 0 or across x = 0; relative permeability, ohm m."""

    role: Literal["blade", "plate", "sheet"]
    x: tuple[float, float]
    z: tuple[float, float]
    permeability: float
    resistivity: float

    @property
    def crosses(self) -> bool:
        """Whether it is its own image in x = 0."""
        return self.x[0] < 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Long:
    """Coil sides (x0, x1, z0, z1), mm, by the sense of their current along y, at x > 0; steels.

    One coil round x = 0 has one side here; of two coils in series opposite the right one has both of its sides here.
    """

    coil: tuple[float, float]  # inner and outer distance of a side from the coil's middle
    height: tuple[float, float]
    middle: float = 0.0  # x of the right coil; 0: one coil
    steels: tuple[Steel, ...]
    loss: float = LOSS

    @property
    def two(self) -> bool:
        """Two coils whose voltages are taken as a humbucker's: fields even in x, where one coil's are odd."""
        return self.middle > 0.0


LONG = {
    "blade": Long(
        coil=(2.5, 6.5), height=(-5.0, 5.0),
        steels=(Steel(role="blade", x=(-1.5, 1.5), z=(-8.0, 8.0), permeability=100.0, resistivity=1.6e-7),),
    ),
    "thin tall blade": Long(
        coil=(1.6, 4.1), height=(-7.0, 2.0),
        steels=(Steel(role="blade", x=(-0.6, 0.6), z=(-9.0, 6.0), permeability=320.0, resistivity=1.3e-7),),
    ),
    "two blades, coils in series opposite": Long(
        coil=(2.2, 4.4), height=(-4.0, 4.5), middle=4.8,
        steels=(Steel(role="blade", x=(3.6, 6.0), z=(-6.5, 6.0), permeability=75.0, resistivity=1.9e-7),),
    ),
    "steel sheet over a coil": Long(
        coil=(3.0, 7.0), height=(-5.0, 5.0),
        steels=(Steel(role="sheet", x=(-10.0, 10.0), z=(6.0, 6.8), permeability=140.0, resistivity=1.5e-7),),
    ),
    "plate under a coil": Long(
        coil=(3.0, 7.0), height=(1.0, 11.0),
        steels=(Steel(role="plate", x=(-9.0, 9.0), z=(-1.6, 0.0), permeability=120.0, resistivity=1.6e-7),),
        loss=0.1,  # set after it was seen: currents round the rim, an eleventh of the width, are not a middle sheet's
    ),
    "steel sheet under a blade's coil": Long(
        coil=(2.6, 6.4), height=(-5.0, 5.0),
        steels=(
            Steel(role="blade", x=(-1.3, 1.3), z=(-6.0, 7.0), permeability=110.0, resistivity=1.5e-7),
            Steel(role="sheet", x=(-12.0, 12.0), z=(-9.0, -8.2), permeability=90.0, resistivity=1.7e-7),
        ),
    ),
}  # fmt: skip


def pickup(long: Long, half: float) -> tuple[Assembly, tuple[Racetrack, ...], tuple[Plate, ...]]:
    """Return the parts, windings of one turn and sheets of a pickup of half length ``half`` m."""
    bars, plates, mm = [], [], cases.MM
    for one in long.steels:
        for sign in (1.0, -1.0) if long.two and not one.crosses else (1.0,):
            x0, x1 = sorted(sign * v * mm for v in one.x)
            bar = partial(SteelBar, x_min=x0, x_max=x1, y_min=-half, y_max=half, z_min=one.z[0] * mm,
                          z_max=one.z[1] * mm)  # fmt: skip
            if one.role == "blade":
                bars.append(bar(part="blades" if sign > 0.0 else "second blades", role="blade"))
                continue
            name = NAMES[one.role][0]
            bars.append(bar(part=name, role=one.role))
            plates.append(
                Plate(
                    x_min=x0, x_max=x1, y_min=-half, y_max=half, z=0.5 * sum(one.z) * mm,
                    thickness=(one.z[1] - one.z[0]) * mm, resistivity=one.resistivity, steel=name, near_x=(0.0,),
                    near_y=(0.0,),
                )
            )  # fmt: skip
    inner, outer = (v * mm for v in long.coil)
    winding = partial(
        Racetrack, inner_half_x=inner, outer_half_x=outer, inner_half_y=half + END,
        outer_half_y=half + END + outer - inner, bottom=long.height[0] * mm, top=long.height[1] * mm, turns=1.0,
    )  # fmt: skip
    if not long.two:
        return Assembly(bars=tuple(bars)), (winding(),), tuple(plates)
    x = long.middle * mm
    return Assembly(bars=tuple(bars)), (winding(x=x), winding(x=-x, sense=-1.0)), tuple(plates)


def inductance(long: Long, half: float, hertz: "np.ndarray") -> ComplexArray:
    """Return the inductance (f,) per turn squared of all windings in series, H."""
    assembly, coils, plates = pickup(long, half)
    mesh = cut(assembly)
    windings = winding_set(mesh, coils, plates)
    system = alternating(factorise(mesh, windings.sources), windings)
    parts = {}
    for one in long.steels:
        steel = SteelPart(
            law=LinearSteel(permeability=one.permeability), reversible=one.permeability, resistivity=one.resistivity,
            biased=False,
        )  # fmt: skip
        parts |= dict.fromkeys(NAMES[one.role], steel)
    still = np.zeros(len(mesh.edge_a))
    air = np.ones(len(hertz), dtype=complex)
    found = solve_alternating(
        system, hertz, steel=steel_permeabilities(mesh, system.edges, still, parts, hertz), magnet_flat=air,
        magnet_up=air, sheets=sheet_impedances(mesh, plates, still, parts, hertz),
    )  # fmt: skip
    return np.asarray(found.inductance.sum(axis=(0, 1)))


@study(
    "long-parts",
    "Blades and steel sheets with eddy currents, without their ends",
    "Inductance per length and turn squared of parts so long that the field is plane: what a pickup of half length "
    "100 mm has more than one of 60 mm, over 80 mm. Reference: finite elements in the plane, order 4, the skin "
    "resolved (a finer mesh moves |L| by 0.002 %). Asked: |L| 2 %, Im L 5 %, of the thick plate 10 %. Currents that "
    "turn round at the ends are not held by this.",
)
def long_parts() -> Iterator[Row]:
    """Yield |L| and Im L of every long part at every frequency."""
    for name, long in LONG.items():
        rows = cases.chosen("long_inductance", case=name)
        hertz = cases.column(rows, "frequency_hz")
        there = cases.column(rows, "re_uh_per_m") + 1j * cases.column(rows, "im_uh_per_m")
        short, far = (inductance(long, half, hertz) for half in HALVES)
        here = 1e6 * (far - short) / (2.0 * (HALVES[1] - HALVES[0]))
        for f, one, reference in zip(hertz, here, there):
            for quantity, a, b, tolerance in (
                ("|L|", abs(one), abs(reference), MAGNITUDE), ("Im L", one.imag, reference.imag, long.loss),
            ):  # fmt: skip
                if b:
                    yield Row(
                        case=f"{name}, {f:g} Hz", quantity=quantity, found=f"{a:.5f} uH/m", reference=f"{b:.5f} uH/m",
                        error=float(a / b - 1.0), tolerance=tolerance,
                    )  # fmt: skip
