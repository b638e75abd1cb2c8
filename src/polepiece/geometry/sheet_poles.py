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
from polepiece.geometry.cutting_steel import disc, end_radii, ring
from polepiece.geometry.mesh_builder import MeshBuilder
from polepiece.geometry.shapes import Assembly, MagnetBox, MagnetRod, SteelBar, SteelRod, equal_area_polygon
from polepiece.geometry.sheet_cells import rim_parts

CROWDED = 0.4  # thicknesses of the sheet: width of the ring at an edge, where the cell has room for it
LEAST_RING, ROOM = (
    0.1,
    0.95,
)  # thicknesses, under which no ring is made; share of the way to the cell's border it may take
ZONE = 0.5  # panels: width of a round zone beyond the pole
WALL_ROWS = 2  # panels over the thickness


@dataclass(frozen=True, slots=True, kw_only=True)
class PolePlace:
    """A round place on a sheet: an open hole, or where the end of a steel or magnet pole is near its face; m."""

    x: float
    y: float
    radius: float
    kind: Literal["hole", "steel", "magnet"]


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
        if -1e-9 <= away < near and not pierced and _is_over(bar, place):
            found[round(place.x * 1e8), round(place.y * 1e8)] = place
    return [*holes, *found.values()]


def _is_over(bar: SteelBar, place: PolePlace) -> bool:
    """Whether the whole of a pole's end faces the sheet; one that reaches over its rim has no panels there."""
    x, y = min(bar.x_max - place.x, place.x - bar.x_min), min(bar.y_max - place.y, place.y - bar.y_min)
    return min(x, y) > place.radius


def pole_reach(part: MagnetBox | MagnetRod | SteelRod) -> tuple[float, float]:
    """Return the lowest and highest z of a pole or magnet, m."""
    if isinstance(part, MagnetBox):
        return part.z_min, part.z_max
    if isinstance(part, MagnetRod):
        return part.bottom, part.top
    return min(s.bottom for s in part.sections), max(s.top for s in part.sections)


def zone_radii(place: PolePlace, half: float, rings: int, panel: float) -> list[float]:
    """Return the radii between which a cell of half-width ``half`` with a pole at it has nodes of its own."""
    inner = [place.radius] if place.kind == "hole" else end_radii(place.radius, rings)
    last = max(ROOM * half, 1.02 * place.radius)
    count = max(1, round((last - place.radius) / (ZONE * panel)))
    return [*inner[:-1], *np.linspace(place.radius, last, count + 1).tolist()]


def face_panels(
    builder: MeshBuilder, place: PolePlace, half: float, z: float, thick: float, radii: Sequence[float]
) -> None:
    """Add the panels of one face, at the height ``z``, of a cell with a pole at it."""
    n = builder.r.round_place
    beyond = [r for r in radii if r > place.radius - 1e-9]
    crowded = place.radius + CROWDED * thick
    if crowded < beyond[1] - LEAST_RING * thick:
        beyond.insert(1, crowded)
    for a, b in pairwise(beyond):
        ring(builder, place.x, place.y, a, b, z, 0, n)
    middle = np.array([place.x, place.y])
    rim = half * rim_parts(n)
    inner = equal_area_polygon(beyond[-1], n) + middle
    sides = np.concatenate([
        np.column_stack([np.full(n // 4, half), rim[:-1]]), np.column_stack([-rim[:-1], np.full(n // 4, half)]),
        np.column_stack([np.full(n // 4, -half), -rim[:-1]]), np.column_stack([rim[:-1], np.full(n // 4, -half)]),
    ]) + middle  # fmt: skip
    sides = np.roll(sides, -(n // 8), axis=0)  # as the polygon, from the sector about +x
    for k in range(n):
        g = (k + 1) % n
        builder.flat_quad(inner[k], inner[g], sides[g], sides[k], z, 0)
    if place.kind == "steel":
        disc(builder, place.x, place.y, place.radius, z, 0, n)
    elif place.kind == "magnet":
        for quad in rod_end(place.radius, builder.r):
            a, b, c, d = quad + middle
            builder.flat_quad(a, b, c, d, z, 0)


def hole_panels(builder: MeshBuilder, place: PolePlace, z: tuple[float, float]) -> None:
    """Add the panels of the wall of an open hole."""
    corners = equal_area_polygon(place.radius, builder.r.round_place) + np.array([place.x, place.y])
    rows = np.linspace(*z, WALL_ROWS + 1).tolist()
    for a, b in pairwise([*corners, corners[0]]):
        for low, high in pairwise(rows):
            builder.panels.append((np.array([[*a, low], [*b, low], [*b, high], [*a, high]]), 0))
