"""Steel in slices: keepers along y, rods along z, panels all round."""

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise, product

import numpy as np

from polepiece.arrays import FloatArray, frozen
from polepiece.geometry.facing import SLIVER, BarFace, between, rectangles
from polepiece.geometry.mesh_builder import MeshBuilder, flat_corners, graded
from polepiece.geometry.passage import PAIRS, passage_permeances, ring_logarithm, ring_reach
from polepiece.geometry.shapes import Section, SteelBar, SteelRod, equal_area_polygon

ROUND = 1.15  # half a slice over the radius of its hole, at least
FINER = 3  # times as many panels round a rod on its side to a bar: a polygon's corners come nearer than the round
KEPT = 2048  # slices and rings of rods: a turned screw leaves all others as they were
TOWARDS = 0.7  # cosine of the angle to a bar: what is nearer to its direction is the rod's side to it


def cut_keeper(builder: MeshBuilder, bar: SteelBar, faces: Sequence[BarFace] = ()) -> dict[str, object]:
    """A keeper: slices along y, each hole in the middle of a slice; a lower and an upper half in each."""
    body, part = builder.body(), builder.part(bar.part)
    low = 0.0 if builder.mirror else bar.y_min
    holes = sorted((h for h in bar.holes if builder.kept(h[1])), key=lambda h: h[1])
    cuts = keeper_cuts(low, bar.y_max, holes, builder.r.keeper_panel * 2.0)
    area = (bar.x_max - bar.x_min) * (bar.z_max - bar.z_min)
    xm, zm = 0.5 * (bar.x_min + bar.x_max), 0.5 * (bar.z_min + bar.z_max)
    scale = 0.5 * min(bar.x_max - bar.x_min, bar.z_max - bar.z_min)
    quarter, height = 0.25 * (bar.z_max - bar.z_min), bar.z_max - bar.z_min
    halves: list[tuple[int, int]] = []
    for y0, y1 in pairwise(cuts):
        inside = [h for h in holes if y0 < h[1] < y1]
        half = (
            builder.node((xm, 0.5 * (y0 + y1), zm - quarter), body),
            builder.node((xm, 0.5 * (y0 + y1), zm + quarter), body),
        )
        if halves:
            length = 0.5 * (y1 - y0) + 0.5 * (y0 - cuts[len(halves) - 1])
            before = [h for h in holes if cuts[len(halves) - 1] < h[1] < y0]
            within = sum(ring_reach(h[0], bar.x_min, bar.x_max) for h in (*before, *inside))
            length = max(length - within, 0.1 * length)
            for a, b in zip(halves[-1], half):
                builder.edge(a, b, 0.5 * area, length, part, 1, 0.0, scale)
        upright = (bar.x_max - bar.x_min) * (y1 - y0) - sum(math.pi * h[2] ** 2 for h in inside)
        builder.edge(*half, max(upright, 0.05 * area), height, part, 2, 0.0, 0.5 * (bar.x_max - bar.x_min))
        halves.append(half)
        _keeper_slice(builder, bar, y0, y1, inside[0] if inside else None, half, faces)
    ends = [(halves[-1], bar.y_max, cuts[-1] - cuts[-2], True)]
    if not builder.mirror:
        ends.append((halves[0], bar.y_min, cuts[1] - cuts[0], False))
    for half, y, width, _ in ends:
        end = builder.node((xm, y, zm), body)
        for node in half:
            builder.edge(node, end, 0.5 * area, 0.5 * width, part, 1, 0.0, scale)
        rectangle(
builder, np.array([bar.x_min, y, bar.z_min]),
            np.array([bar.x_max - bar.x_min, 0.0, 0.0]),
            np.array([0.0, 0.0, bar.z_max - bar.z_min]),
            2, 2, end,
        )  # fmt: skip
    return {"body": body, "halves": halves, "cuts": cuts, "bar": bar}


def _keeper_slice(
    builder: MeshBuilder,
    bar: SteelBar,
    y0: float,
    y1: float,
    hole: tuple[float, float, float] | None,
    half: tuple[int, int],
    faces: Sequence[BarFace],
) -> None:
    ny = max(1, round((y1 - y0) / builder.r.keeper_panel))
    height, width = bar.z_max - bar.z_min, bar.x_max - bar.x_min
    nz = max(1, round(0.5 * height / builder.r.keeper_panel))  # of each half
    nx = max(2, round(width / builder.r.keeper_panel))
    along = np.array([0.0, y1 - y0, 0.0])
    for x in (bar.x_min, bar.x_max):
        facing = [f for f in faces if f.is_near(x, x, bar.z_min, bar.z_max, builder.r.keeper_panel)]
        for z, node in zip((bar.z_min, bar.z_min + 0.5 * height), half):
            zs = between(facing[0].cuts_z, z, z + 0.5 * height) if facing else np.array([])
            if len(zs) > 2:  # a bar that is cut no finer than this half leaves it alone
                ys = between(facing[0].cuts_y, y0, y1)
                builder.panels += [(quad, node) for quad in rectangles(x, ys, zs)]
                continue
            rectangle(builder, np.array([x, y0, z]), along, np.array([0.0, 0.0, 0.5 * height]), ny, nz, node)
    for z, node in zip((bar.z_min, bar.z_max), half):
        corner = np.array([bar.x_min, y0, z])
        if hole is None:
            rectangle(builder, corner, np.array([width, 0.0, 0.0]), along, nx, ny, node)
        else:
            rectangle_with_hole(builder, corner, width, y1 - y0, hole, node)


def rectangle(
    builder: MeshBuilder, corner: FloatArray, u: FloatArray, v: FloatArray, nu: int, nv: int, node: int
) -> None:
    """Panels of a rectangle, ``nu`` by ``nv``, finer towards its edges."""
    a = graded(0.0, 1.0, nu, grading=0.5 if nu > 2 else 0.0)
    b = graded(0.0, 1.0, nv, grading=0.5 if nv > 2 else 0.0)
    for i in range(nu):
        for j in range(nv):
            quad = np.array(
                [
                    corner + a[i] * u + b[j] * v,
                    corner + a[i + 1] * u + b[j] * v,
                    corner + a[i + 1] * u + b[j + 1] * v,
                    corner + a[i] * u + b[j + 1] * v,
                ]
            )
            builder.panels.append((quad, node))


def rectangle_with_hole(
    builder: MeshBuilder, corner: FloatArray, width: float, depth: float, hole: tuple[float, float, float], node: int
) -> None:  # fmt: skip
    """Panels between a round hole and the rectangle round it (in a plane of constant z)."""
    hx, hy, radius = hole
    n = builder.r.sectors
    inner = equal_area_polygon(radius, n) + np.array([hx, hy])
    # split every sector's outward ray at the rectangle
    outer = np.empty_like(inner)
    for k, (px, py) in enumerate(inner - [hx, hy]):
        scale = np.inf
        if px:
            scale = min(scale, ((corner[0] + width if px > 0 else corner[0]) - hx) / px)
        if py:
            scale = min(scale, ((corner[1] + depth if py > 0 else corner[1]) - hy) / py)
        outer[k] = [hx + px * scale, hy + py * scale]
    corners = [
        (corner[0], corner[1]), (corner[0] + width, corner[1]),
        (corner[0] + width, corner[1] + depth), (corner[0], corner[1] + depth),
    ]  # fmt: skip
    for k in range(n):
        g = (k + 1) % n
        builder.flat_quad(inner[k], inner[g], outer[g], outer[k], corner[2], node)
        for c in corners:  # the rectangle's corner between two rays makes one more triangle
            if _between(c, outer[k], outer[g], (hx, hy)):
                builder.flat_quad(outer[k], outer[g], np.array(c), np.array(c), corner[2], node)


def cut_rod(
    builder: MeshBuilder,
    rod: SteelRod,
    keeper: dict[str, object] | None,
    faces: Sequence[BarFace] = (),
    sheets: Sequence[SteelBar] = (),
    before: "frozenset[tuple[float, float, float]]" = frozenset(),
) -> None:
    """A steel rod in slices; end faces are nodes of their own; through a keeper it joins the keeper's slice.

    Where it goes through the hole of a sheet its slices begin and end with the sheet: charge crowds there.
    """
    part = builder.part(rod.part)
    body = int(keeper["body"]) if keeper else builder.body()  # type: ignore[call-overload]
    slices: list[tuple[float, float, float]] = []
    beside: list[BarFace] = []
    pierced = [s for s in sheets if _pierces(rod, s)]
    for section in rod.sections:
        near = [f for f in faces if _is_beside(rod, section, f, builder.r.slice_height)]
        pieces = list(pairwise(between(np.array(near[0].z), section.bottom, section.top))) if near else []
        pieces = pieces or [(section.bottom, section.top)]
        if rod.through:
            pieces = _without(section.bottom, section.top, *rod.through)
        levels = np.array([z for s in pierced for z in (s.z_min, s.z_max)])
        pieces = [one for piece in pieces for one in pairwise(between(levels, *piece))] if len(levels) else pieces
        for bottom, top in pieces:
            count = max(2, round((top - bottom) / builder.r.slice_height))
            edges = graded(bottom, top, count, grading=0.4 if count > 4 else 0.0)
            slices += [(a, b, section.radius) for a, b in pairwise(edges)]
            beside += near
    slices.sort()
    previous: tuple[int, float, float, float] | None = None
    first = last = (-1, 0.0, 0.0, 0.0)
    for bottom, top, radius in slices:
        node = builder.node((rod.x, rod.y, 0.5 * (bottom + top)), body, (rod.x, rod.y))
        in_hole = any(bottom < s.z_max + SLIVER and top > s.z_min - SLIVER for s in pierced)
        in_hole = in_hole or any((rod.x, rod.y, z) in before for z in (bottom, top))
        _round_side(
            builder,
            rod.x,
            rod.y,
            radius,
            bottom,
            top,
            node,
            beside,
            builder.r.round_place if in_hole else builder.r.sectors,
        )
        if previous is None:
            first = (node, bottom, 0.5 * (top - bottom), radius)
        elif bottom - previous[1] < 1e-9:
            _link(builder, previous, node, 0.5 * (top - bottom), radius, part)
            if abs(previous[3] - radius) > 1e-9:
                _step(builder, rod, previous[3], radius)
                wide = node if radius > previous[3] else previous[0]
                ring(builder, rod.x, rod.y, min(radius, previous[3]), max(radius, previous[3]), bottom, wide)
        else:
            _through(builder, keeper, rod, (node, 0.5 * (top - bottom)), (previous[0], previous[2]), part)
        if in_hole:
            builder.thin.add(node)
        previous = last = (node, top, 0.5 * (top - bottom), radius)
    if keeper is not None and rod.through is not None:
        if first[1] >= rod.through[1] - 1e-9:
            _through(builder, keeper, rod, (first[0], first[2]), None, part)
            first = (-1, 0.0, 0.0, 0.0)
        if last[1] <= rod.through[0] + 1e-9:
            _through(builder, keeper, rod, None, (last[0], last[2]), part)
            last = (-1, 0.0, 0.0, 0.0)
    for node, z, half, radius in (first, last):
        if node >= 0:
            cap = builder.node((rod.x, rod.y, z), body, (rod.x, rod.y))
            disc(builder, rod.x, rod.y, radius, z, cap, builder.r.round_place if (rod.x, rod.y, z) in before else 0)
            if (rod.x, rod.y, z) in before:
                builder.thin.add(cap)
            builder.edge(node, cap, math.pi * radius**2, half, part, 2, 0.0, radius)


def _pierces(rod: SteelRod, sheet: SteelBar) -> bool:
    return any(math.hypot(rod.x - x, rod.y - y) < radius for x, y, radius in sheet.holes)


def _link(
    builder: MeshBuilder, previous: tuple[int, float, float, float], node: int, half: float, radius: float, part: int
) -> None:
    a1, a2 = math.pi * previous[3] ** 2, math.pi * radius**2
    length = previous[2] + half
    area = length / (previous[2] / a1 + half / a2)
    builder.edge(previous[0], node, area, length, part, 2, 0.0, min(previous[3], radius))


def _step(builder: MeshBuilder, rod: SteelRod, below: float, above: float) -> None:
    """Note that the edge made last leads from one radius to another: to or from a head."""
    large = max(below, above)
    thickness = max(s.top - s.bottom for s in rod.sections if abs(s.radius - large) < 1e-9)
    area, length = builder.edges[-1][2:4]
    builder.steps.append((len(builder.edges) - 1, (math.log(large / min(below, above)), thickness, area / length)))


def _through(
    builder: MeshBuilder,
    keeper: "dict[str, object] | None",
    rod: SteelRod,
    above: tuple[int, float] | None,
    below: tuple[int, float] | None,
    part: int,
) -> None:
    """A rod's passage through a keeper (see `passage`); ``above`` and ``below``: node and half slice outside it."""
    if keeper is None or rod.through is None:
        raise AssertionError("a rod with a gap needs a keeper there")
    bar: SteelBar = keeper["bar"]  # type: ignore[assignment]
    low, top = _joint(keeper, rod.y)
    inner = [s for s in rod.sections if s.bottom < rod.through[1] and s.top > rod.through[0]]
    radius = inner[0].radius if inner else rod.sections[0].radius
    area, height = math.pi * radius**2, rod.through[1] - rod.through[0]
    ring = ring_logarithm(rod.x, radius, bar.x_min, bar.x_max)
    lengths = tuple(one[1] if one is not None else math.inf for one in (above, below))
    permeance = passage_permeances(
        np.array(1.0 / area), np.array(2.0 * math.pi / ring), np.array(height), *(np.array(area / n) for n in lengths)
    )
    nodes = {"U": above and above[0], "D": below and below[0], "T": top, "B": low}
    edges = []
    for (a, b), one in zip(PAIRS, permeance):
        first, second = nodes[a], nodes[b]
        if first is None or second is None:
            edges.append(-1)
            continue
        edges.append(len(builder.edges))
        builder.edge(second, first, area, area / float(one), part, 2, 0.0, radius)
    builder.passages.append((edges, (radius, ring, height, *lengths)))  # type: ignore[arg-type]


def _is_beside(rod: SteelRod, section: Section, face: BarFace, reach: float) -> bool:
    near = face.y[0] < rod.y < face.y[1]
    x, r = rod.x, section.radius
    return near and face.is_near(x - r, x + r, section.bottom, section.top, reach)


def _round_side(
    builder: MeshBuilder, x: float, y: float, radius: float, bottom: float, top: float, node: int,
    faces: Sequence[BarFace] = (), sectors: int = 10,
) -> None:  # fmt: skip
    """Panels round a slice; those that face a bar are finer, in rows that begin and end where its layers do."""
    facing = tuple(
        (f.towards(x), tuple(f.cuts_z.tolist())) for f in faces if bottom < f.z[1] - SLIVER and top > f.z[0] + SLIVER
    )
    panels = _side_panels(sectors, x, y, radius, bottom, top, facing)
    builder.panels += [(corners, node) for corners in panels]


@lru_cache(maxsize=KEPT)
def _side_panels(
    count: int, x: float, y: float, radius: float, bottom: float, top: float,
    facing: tuple[tuple[float, tuple[float, ...]], ...],
) -> tuple[FloatArray, ...]:  # fmt: skip
    """Corners of the panels of `_round_side`; ``facing``: the side that each bar is on, and its cuts along z."""
    out = []
    for k in range(count):
        to_bar = [cuts for side, cuts in facing if math.cos(2.0 * math.pi * k / count) * side > TOWARDS]
        finer = FINER if to_bar else 1
        rows = between(np.array(to_bar[0]), bottom, top) if to_bar else np.array([bottom, top])
        corners = _arc(radius, k, count, finer) + np.array([x, y])
        for (a, b), (low, high) in product(pairwise(corners), pairwise(rows)):
            out.append(frozen([[*a, low], [*b, low], [*b, high], [*a, high]]))
    return tuple(out)


@lru_cache(maxsize=256)
def _arc(radius: float, k: int, count: int, finer: int) -> FloatArray:
    """Return the corners (finer + 1, 2) of the ``k``-th of ``count`` sectors of a rod, cut ``finer`` times more."""
    far = math.hypot(*equal_area_polygon(radius, finer * count)[0])
    angle = 2.0 * math.pi / count * (k - 0.5 + np.arange(finer + 1) / finer)
    corners: FloatArray = far * np.column_stack([np.cos(angle), np.sin(angle)])
    corners.setflags(write=False)  # every rod of this radius has them
    return corners


def ring(
    builder: MeshBuilder, x: float, y: float, inner: float, outer: float, z: float, node: int, sectors: int = 0
) -> None:
    """Panels of a flat ring."""
    builder.panels += [(corners, node) for corners in _ring_panels(sectors or builder.r.sectors, x, y, inner, outer, z)]


@lru_cache(maxsize=KEPT)
def _ring_panels(count: int, x: float, y: float, inner: float, outer: float, z: float) -> tuple[FloatArray, ...]:
    """Corners of the panels between two radii, the inner one 0 for a whole disc."""
    centre = np.array([x, y])
    b = equal_area_polygon(outer, count) + centre
    a = equal_area_polygon(inner, count) + centre if inner > 0.0 else None
    out = []
    for k in range(count):
        g = (k + 1) % count
        first, second, third, last = (b[k], b[g], centre, centre) if a is None else (a[k], b[k], b[g], a[g])
        quad = flat_corners(first, second, third, last, z)
        if quad is not None:
            out.append(frozen(quad))
    return tuple(out)


def disc(builder: MeshBuilder, x: float, y: float, radius: float, z: float, node: int, sectors: int = 0) -> None:
    """Panels of a steel rod's end face."""
    for inner, outer in pairwise(end_radii(radius, builder.r.cap_rings)):
        ring(builder, x, y, inner, outer, z, node, sectors)


def end_radii(radius: float, rings: int) -> list[float]:
    """Return the radii between the rings of a rod's end face."""
    radii: list[float] = (radius * np.sin(0.5 * math.pi * np.linspace(0.0, 1.0, rings + 1)) ** 0.9).tolist()
    return radii


def _between(c: tuple[float, float], a: FloatArray, b: FloatArray, centre: tuple[float, float]) -> bool:
    def angle(p: "FloatArray | tuple[float, float]") -> float:
        return math.atan2(p[1] - centre[1], p[0] - centre[0])

    start, stop, at = angle(a), angle(b), angle(c)
    return (at - start) % (2 * math.pi) < (stop - start) % (2 * math.pi) and np.hypot(*(np.array(c) - a)) > 1e-9


def _without(bottom: float, top: float, low: float, high: float) -> list[tuple[float, float]]:
    pieces = [(bottom, min(top, low)), (max(bottom, high), top)]
    return [(a, b) for a, b in pieces if b - a > 1e-9]


def keeper_cuts(low: float, high: float, round_: list[tuple[float, float, float]], longest: float) -> list[float]:
    """Return the cuts of a part along y: each of its round places in the middle of a slice."""
    holes = [h[1] for h in round_]
    if not holes:
        return list(np.linspace(low, high, max(2, round((high - low) / longest)) + 1))
    spacing = min(np.diff(holes)) if len(holes) > 1 else 10e-3
    room = min(0.49 * spacing, high - holes[-1] - 1e-6)
    half = min(max(min(0.25 * spacing, 0.5 * longest), ROUND * max(h[2] for h in round_)), room)  # a hole lies inside
    cuts = {low, high}
    for y in holes:
        cuts |= {y - half, y + half}
    if low < 0.0 and all(abs(y) > half for y in holes):
        cuts.add(0.0)  # where the mirrored half begins: both paths then cut alike
    return sorted(c for c in cuts if low - 1e-12 <= c <= high + 1e-12)


def _joint(keeper: dict[str, object], y: float) -> tuple[int, int]:
    cuts: list[float] = keeper["cuts"]  # type: ignore[assignment]
    halves: list[tuple[int, int]] = keeper["halves"]  # type: ignore[assignment]
    for k, (a, b) in enumerate(pairwise(cuts)):
        if a <= y <= b:
            return halves[k]
    raise AssertionError("a rod passes beside its keeper")
