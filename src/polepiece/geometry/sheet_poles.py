"""Where poles go through a sheet or end before it, and the panels of both its faces there.

Charges on the two faces of a thin sheet stand as near to each other as those of a pole's end and of the face before it,
and nearly cancel. A sheet leaves a twentieth of a field: panels that are not each other's image across leave the
difference of two large numbers instead. Hence both faces have the panels of the pole's end. Charge also crowds at the
edge of a hole and round a pole's end: it has a ring of its own there, and the wall of a hole two rows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from polepiece.geometry.cutting_magnets import rod_end
from polepiece.geometry.cutting_steel import IN_HOLE, disc, rectangle_with_hole, ring
from polepiece.geometry.mesh_builder import MeshBuilder
from polepiece.geometry.shapes import Assembly, MagnetBox, MagnetRod, SteelBar, SteelRod, equal_area_polygon

CROWDED = 0.4  # thicknesses of the sheet: width of the ring at an edge, where the cell has room for it
LEAST_RING, ROOM = (
    0.1,
    0.97,
)  # thicknesses, under which no ring is made; share of the way to the cell's border it may take
WALL_ROWS = 2  # panels over the thickness


@dataclass(frozen=True, slots=True, kw_only=True)
class PolePlace:
    """A round place on a sheet: an open hole, or where the end of a steel or magnet pole is near its face; m."""

    x: float
    y: float
    radius: float
    kind: Literal["hole", "steel", "magnet"]

    def within(self, x: tuple[float, float], y: tuple[float, float]) -> bool:
        """Tell whether its middle lies in a cell."""
        return x[0] < self.x < x[1] and y[0] < self.y < y[1]


def pole_places(assembly: Assembly, bar: SteelBar, face: float, near: float) -> list[PolePlace]:
    """Return the holes of a sheet, and the places on its ``face`` where the end of a pole is nearer than ``near``."""
    holes = [PolePlace(x=x, y=y, radius=radius, kind="hole") for x, y, radius in bar.holes]
    ends = [
        (PolePlace(x=m.x, y=m.y, radius=m.radius, kind="magnet"), z)
        for m in assembly.magnets if isinstance(m, MagnetRod) for z in (m.bottom, m.top)
    ]  # fmt: skip
    for rod in assembly.rods:
        low, high = (min(rod.sections, key=lambda s: s.bottom), max(rod.sections, key=lambda s: s.top))
        for radius, z in ((low.radius, low.bottom), (high.radius, high.top)):
            ends.append((PolePlace(x=rod.x, y=rod.y, radius=radius, kind="steel"), z))
    found: dict[tuple[int, int], PolePlace] = {}
    for place, z in ends:
        away = (z - face) if face == bar.z_max else (face - z)
        pierced = any(abs(place.x - h.x) < h.radius and abs(place.y - h.y) < h.radius for h in holes)
        if -1e-9 <= away < near and not pierced:
            found[round(place.x * 1e8), round(place.y * 1e8)] = place
    return [*holes, *found.values()]


def pole_reach(part: MagnetBox | MagnetRod | SteelRod) -> tuple[float, float]:
    """Return the lowest and highest z of a pole or magnet, m."""
    if isinstance(part, MagnetBox):
        return part.z_min, part.z_max
    if isinstance(part, MagnetRod):
        return part.bottom, part.top
    return min(s.bottom for s in part.sections), max(s.top for s in part.sections)


def face_panels(
    builder: MeshBuilder, place: PolePlace, x: tuple[float, float], y: tuple[float, float], z: float, thick: float,
    node: int,
) -> None:  # fmt: skip
    """Add the panels of one face, at the height ``z``, of a cell with a pole at it."""
    finer = IN_HOLE if place.kind == "hole" else 1
    room = ROOM * min(x[1] - place.x, place.x - x[0], y[1] - place.y, place.y - y[0])
    outer = max(min(place.radius + CROWDED * thick, room), place.radius)
    if outer - place.radius > LEAST_RING * thick:
        ring(builder, place.x, place.y, place.radius, outer, z, node, finer)
    else:
        outer = place.radius
    corner = np.array([x[0], y[0], z])
    rectangle_with_hole(builder, corner, x[1] - x[0], y[1] - y[0], (place.x, place.y, outer), node, finer)
    if place.kind == "steel":
        disc(builder, place.x, place.y, place.radius, z, node)
    elif place.kind == "magnet":
        for quad in rod_end(place.radius, builder.r):
            a, b, c, d = quad + np.array([place.x, place.y])
            builder.flat_quad(a, b, c, d, z, node)


def hole_panels(builder: MeshBuilder, place: PolePlace, z: tuple[float, float], node: int) -> None:
    """Add the panels of the wall of an open hole."""
    corners = equal_area_polygon(place.radius, IN_HOLE * builder.r.sectors) + np.array([place.x, place.y])
    rows = np.linspace(*z, WALL_ROWS + 1).tolist()
    for a, b in pairwise([*corners, corners[0]]):
        for low, high in pairwise(rows):
            builder.panels.append((np.array([[*a, low], [*b, low], [*b, high], [*a, high]]), node))


def place_in(places: Sequence[PolePlace], x: tuple[float, float], y: tuple[float, float]) -> "PolePlace | None":
    """Return the pole in a cell, if there is one."""
    return next((one for one in places if one.within(x, y)), None)
