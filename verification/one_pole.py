"""One pole in a square coil under a steel cover: the smallest body with all that a cover's field hangs on.

A slug that ends under the sheet, or a screw whose head stands in a hole of it; the sheet flat, or with a skirt. An
eighth of it is all there is to solve, so that finite elements are refined until nothing moves
(`verification.finite_elements_one_pole`), which those of a whole covered pickup are not.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from polepiece.coil import Racetrack
from polepiece.geometry import Assembly, SteelBar, SteelRod
from polepiece.geometry.shapes import Section
from verification import cases
from verification.coils import LinearPickup
from verification.registry import Row, study

PERMEABILITY = 800.0
FIELD, INDUCTANCE = 0.025, 0.005  # with twenty sectors round a pole the field is inside 2 %, with the usual twelve 2.44
HALF, THICK, UNDER = 9.0, 0.5, 12.75  # mm: half a side of the cover, its steel, its lower face
SKIRT, HOLE, ABOVE = 14.0, 2.8, 3.0  # mm: from the upper face down, radius, reading over the highest pole
COIL = (3.2, 7.6, 4.5, 11.0)  # mm: inner and outer half side, bottom, top
ALONG = (0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0)  # mm


@dataclass(frozen=True, slots=True, kw_only=True)
class OnePole:
    """A pole's sections (radius, bottom, top), mm; whether the cover has a skirt, and a hole for it."""

    sections: tuple[tuple[float, float, float], ...]
    skirt: bool
    hole: bool

    @property
    def points(self) -> "np.ndarray":
        """Points (n, 3) along x, mm."""
        top = max(top for _, _, top in self.sections)
        return np.array([(x, 0.0, max(top, UNDER + THICK) + ABOVE) for x in ALONG])

    def pickup(self) -> tuple[Assembly, Racetrack]:
        """Return its parts and its winding of one turn."""
        mm = cases.MM
        sections = tuple(Section(radius=r * mm, bottom=low * mm, top=top * mm) for r, low, top in self.sections)
        sheet = SteelBar(
            part="cover", x_min=-HALF * mm, x_max=HALF * mm, y_min=-HALF * mm, y_max=HALF * mm, z_min=UNDER * mm,
            z_max=(UNDER + THICK) * mm, holes=((0.0, 0.0, HOLE * mm),) if self.hole else (), role="sheet",
            skirt=SKIRT * mm if self.skirt else 0.0,
        )  # fmt: skip
        inner, outer, bottom, top = (v * mm for v in COIL)
        coil = Racetrack(
            inner_half_x=inner, inner_half_y=inner, outer_half_x=outer, outer_half_y=outer, bottom=bottom, top=top,
            turns=1.0,
        )  # fmt: skip
        return Assembly(rods=(SteelRod(part="pole", x=0.0, y=0.0, sections=sections),), bars=(sheet,)), coil


SLUG, SCREW = ((2.4, 0.0, 12.5),), ((1.5, -6.0, 12.5), (2.5, 12.5, 14.0))
ONE_POLE = {
    f"{pole} under a {'cover' if skirt else 'flat sheet'}": OnePole(sections=parts, skirt=skirt, hole=pole == "screw")
    for pole, parts in (("slug", SLUG), ("screw", SCREW))
    for skirt in (False, True)
}


@study(
    "one-pole-covered",
    "One pole in a coil under a steel sheet or cover",
    "A slug under the sheet, or a screw in a hole of it; steel of permeability 800, 0.5 thick, flat or with a skirt. "
    "Inductance per turn squared, and Bz per ampere and turn 3 mm over the highest part, along x, by the rule for "
    "lines. Reference: finite elements of an eighth, order 4; of the round cover of the same sizes they are within "
    "0.3 % of an axisymmetric solution. Asked: inductance 0.5 %, field 2 %.",
)
def one_pole_covered() -> Iterator[Row]:
    """Yield inductance and the worst point of the line of every case."""
    for name, one in ONE_POLE.items():
        rows = cases.chosen("one_pole", case=name, cover="square")
        assembly, coil = one.pickup()
        pickup = LinearPickup.of(assembly, (coil,))
        henry, charge = pickup.solve(1.0, PERMEABILITY)
        there, here = 1e-9 * float(rows[0]["inductance_nh"]), float(henry[0, 0])
        yield Row(
            case=name, quantity="inductance per turn squared", found=f"{1e9 * here:.3f} nH",
            reference=f"{1e9 * there:.3f} nH", error=here / there - 1.0, tolerance=INDUCTANCE,
        )  # fmt: skip
        points, reference = cases.places(rows), 1e-6 * cases.column(rows, "bz_ut")
        found = pickup.field(points, charge, 0)
        error, worst = cases.line_error(found, reference, points)
        yield Row(
            case=name, quantity=f"Bz per A and turn, worst at x = {1e3 * points[worst, 0]:.0f} mm", error=error,
            found=f"{1e6 * found[worst]:.4f} uT", reference=f"{1e6 * reference[worst]:.4f} uT", tolerance=FIELD,
        )  # fmt: skip
