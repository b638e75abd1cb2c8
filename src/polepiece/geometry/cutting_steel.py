"""Steel in slices: keepers along y, rods along z, panels all round."""

import math
from itertools import pairwise

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.geometry.mesh_builder import MeshBuilder, graded
from polepiece.geometry.shapes import SteelBar, SteelRod, equal_area_polygon


def cut_keeper(builder: MeshBuilder, bar: SteelBar) -> dict[str, object]:
    """A keeper: slices along y, each hole in the middle of a slice."""
    body, part = builder.body(), builder.part(bar.part)
    low = 0.0 if builder.mirror else bar.y_min
    holes = sorted((h for h in bar.holes if builder.kept(h[1])), key=lambda h: h[1])
    cuts = _keeper_cuts(low, bar.y_max, [h[1] for h in holes], builder.r.keeper_panel * 2.0)
    area = (bar.x_max - bar.x_min) * (bar.z_max - bar.z_min)
    xm, zm = 0.5 * (bar.x_min + bar.x_max), 0.5 * (bar.z_min + bar.z_max)
    scale = 0.5 * min(bar.x_max - bar.x_min, bar.z_max - bar.z_min)
    nodes: list[int] = []
    for y0, y1 in pairwise(cuts):
        node = builder.node((xm, 0.5 * (y0 + y1), zm), body)
        if nodes:
            length = 0.5 * (y1 - y0) + 0.5 * (y0 - cuts[len(nodes) - 1])
            builder.edge(nodes[-1], node, area, length, part, 1, 0.0, scale)
        nodes.append(node)
        inside = [h for h in holes if y0 < h[1] < y1]
        _keeper_slice(builder, bar, y0, y1, inside[0] if inside else None, node)
    ends = [(nodes[-1], bar.y_max, cuts[-1] - cuts[-2], True)]
    if not builder.mirror:
        ends.append((nodes[0], bar.y_min, cuts[1] - cuts[0], False))
    for node, y, width, _ in ends:
        end = builder.node((xm, y, zm), body)
        builder.edge(node, end, area, 0.5 * width, part, 1, 0.0, scale)
        _rectangle(
builder, np.array([bar.x_min, y, bar.z_min]),
            np.array([bar.x_max - bar.x_min, 0.0, 0.0]),
            np.array([0.0, 0.0, bar.z_max - bar.z_min]),
            2, 2, end,
        )  # fmt: skip
    return {"body": body, "nodes": nodes, "cuts": cuts, "bar": bar}


def _keeper_slice(
    builder: MeshBuilder, bar: SteelBar, y0: float, y1: float, hole: tuple[float, float, float] | None, node: int
) -> None:
    ny = max(1, round((y1 - y0) / builder.r.keeper_panel))
    height, width = bar.z_max - bar.z_min, bar.x_max - bar.x_min
    nz = max(2, round(height / builder.r.keeper_panel) + 1)
    nx = max(2, round(width / builder.r.keeper_panel))
    along = np.array([0.0, y1 - y0, 0.0])
    for x in (bar.x_min, bar.x_max):
        _rectangle(builder, np.array([x, y0, bar.z_min]), along, np.array([0.0, 0.0, height]), ny, nz, node)
    for z in (bar.z_min, bar.z_max):
        corner = np.array([bar.x_min, y0, z])
        if hole is None:
            _rectangle(builder, corner, np.array([width, 0.0, 0.0]), along, nx, ny, node)
        else:
            _rectangle_with_hole(builder, corner, width, y1 - y0, hole, node)


def _rectangle(
    builder: MeshBuilder, corner: FloatArray, u: FloatArray, v: FloatArray, nu: int, nv: int, node: int
) -> None:
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


def _rectangle_with_hole(
    builder: MeshBuilder, corner: FloatArray, width: float, depth: float, hole: tuple[float, float, float], node: int
) -> None:
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


def cut_rod(builder: MeshBuilder, rod: SteelRod, keeper: dict[str, object] | None) -> None:
    """A steel rod in slices; end faces are nodes of their own; through a keeper it joins the keeper's slice."""
    part = builder.part(rod.part)
    joint = _joint(keeper, rod.y) if keeper else None
    body = int(keeper["body"]) if keeper else builder.body()  # type: ignore[call-overload]
    slices: list[tuple[float, float, float]] = []
    for section in rod.sections:
        pieces = [(section.bottom, section.top)]
        if rod.through:
            pieces = _without(section.bottom, section.top, *rod.through)
        for bottom, top in pieces:
            count = max(2, round((top - bottom) / builder.r.slice_height))
            edges = graded(bottom, top, count, grading=0.4 if count > 4 else 0.0)
            slices += [(a, b, section.radius) for a, b in pairwise(edges)]
    slices.sort()
    previous: tuple[int, float, float, float] | None = None
    first = last = (-1, 0.0, 0.0, 0.0)
    for bottom, top, radius in slices:
        node = builder.node((rod.x, rod.y, 0.5 * (bottom + top)), body, (rod.x, rod.y))
        _round_side(builder, rod.x, rod.y, radius, bottom, top, node)
        if previous is None:
            first = (node, bottom, 0.5 * (top - bottom), radius)
        elif bottom - previous[1] < 1e-9:
            _link(builder, previous, node, 0.5 * (top - bottom), radius, part)
            if abs(previous[3] - radius) > 1e-9:
                wide = node if radius > previous[3] else previous[0]
                _ring(builder, rod.x, rod.y, min(radius, previous[3]), max(radius, previous[3]), bottom, wide)
        else:
            _through(builder, previous, joint, bottom, node, 0.5 * (top - bottom), radius, part)
        previous = last = (node, top, 0.5 * (top - bottom), radius)
    if joint is not None and keeper is not None and rod.through is not None:
        if first[1] >= rod.through[1] - 1e-9:
            _join_end(builder, joint, first, rod.through, part)
            first = (-1, 0.0, 0.0, 0.0)
        if last[1] <= rod.through[0] + 1e-9:
            _join_end(builder, joint, last, rod.through, part)
            last = (-1, 0.0, 0.0, 0.0)
    for node, z, half, radius in (first, last):
        if node >= 0:
            cap = builder.node((rod.x, rod.y, z), body, (rod.x, rod.y))
            _disc(builder, rod.x, rod.y, radius, z, cap)
            builder.edge(node, cap, math.pi * radius**2, half, part, 2, 0.0, radius)


def _link(
    builder: MeshBuilder, previous: tuple[int, float, float, float], node: int, half: float, radius: float, part: int
) -> None:
    a1, a2 = math.pi * previous[3] ** 2, math.pi * radius**2
    length = previous[2] + half
    area = length / (previous[2] / a1 + half / a2)
    builder.edge(previous[0], node, area, length, part, 2, 0.0, min(previous[3], radius))


def _through(
    builder: MeshBuilder,
    previous: tuple[int, float, float, float],
    joint: int | None,
    bottom: float,
    node: int,
    half: float,
    radius: float,
    part: int,
) -> None:
    """Across a keeper: below to the keeper's slice, and from it to above (flux enters over the thickness)."""
    if joint is None:
        raise AssertionError("a rod with a gap needs a keeper there")
    third = (bottom - previous[1]) / 3.0
    area = math.pi * radius**2
    builder.edge(previous[0], joint, area, previous[2] + third, part, 2, 0.0, radius)
    builder.edge(joint, node, area, third + half, part, 2, 0.0, radius)


def _join_end(
    builder: MeshBuilder, joint: int, end: tuple[int, float, float, float], through: tuple[float, float], part: int
) -> None:
    third = (through[1] - through[0]) / 3.0
    a, b = (joint, end[0]) if end[1] >= through[1] - 1e-9 else (end[0], joint)
    builder.edge(a, b, math.pi * end[3] ** 2, third + end[2], part, 2, 0.0, end[3])


def _round_side(builder: MeshBuilder, x: float, y: float, radius: float, bottom: float, top: float, node: int) -> None:
    ring = equal_area_polygon(radius, builder.r.sectors) + np.array([x, y])
    for k in range(len(ring)):
        a, b = ring[k], ring[(k + 1) % len(ring)]
        builder.panels.append((np.array([[*a, bottom], [*b, bottom], [*b, top], [*a, top]]), node))


def _ring(builder: MeshBuilder, x: float, y: float, inner: float, outer: float, z: float, node: int) -> None:
    a = equal_area_polygon(inner, builder.r.sectors) + np.array([x, y])
    b = equal_area_polygon(outer, builder.r.sectors) + np.array([x, y])
    for k in range(len(a)):
        g = (k + 1) % len(a)
        builder.flat_quad(a[k], b[k], b[g], a[g], z, node)


def _disc(builder: MeshBuilder, x: float, y: float, radius: float, z: float, node: int) -> None:
    rings = builder.r.cap_rings
    radii = radius * np.sin(0.5 * math.pi * np.linspace(0.0, 1.0, rings + 1)) ** 0.9
    for inner, outer in pairwise(radii):
        if inner <= 0.0:
            ring = equal_area_polygon(outer, builder.r.sectors) + np.array([x, y])
            centre = np.array([x, y])
            for k in range(0, len(ring)):
                g = (k + 1) % len(ring)
                builder.flat_quad(ring[k], ring[g], centre, centre, z, node)
        else:
            _ring(builder, x, y, inner, outer, z, node)


def _between(c: tuple[float, float], a: FloatArray, b: FloatArray, centre: tuple[float, float]) -> bool:
    def angle(p: "FloatArray | tuple[float, float]") -> float:
        return math.atan2(p[1] - centre[1], p[0] - centre[0])

    start, stop, at = angle(a), angle(b), angle(c)
    return (at - start) % (2 * math.pi) < (stop - start) % (2 * math.pi) and np.hypot(*(np.array(c) - a)) > 1e-9


def _without(bottom: float, top: float, low: float, high: float) -> list[tuple[float, float]]:
    pieces = [(bottom, min(top, low)), (max(bottom, high), top)]
    return [(a, b) for a, b in pieces if b - a > 1e-9]


def _keeper_cuts(low: float, high: float, holes: list[float], longest: float) -> list[float]:
    if not holes:
        return list(np.linspace(low, high, max(2, round((high - low) / longest)) + 1))
    spacing = min(np.diff(holes)) if len(holes) > 1 else 10e-3
    half = min(0.25 * spacing, 0.5 * longest, high - holes[-1] - 1e-6)
    cuts = {low, high}
    for y in holes:
        cuts |= {y - half, y + half}
    if low < 0.0 and all(abs(y) > half for y in holes):
        cuts.add(0.0)  # where the mirrored half begins: both paths then cut alike
    return sorted(c for c in cuts if low - 1e-12 <= c <= high + 1e-12)


def _joint(keeper: dict[str, object], y: float) -> int:
    cuts: list[float] = keeper["cuts"]  # type: ignore[assignment]
    nodes: list[int] = keeper["nodes"]  # type: ignore[assignment]
    for k, (a, b) in enumerate(pairwise(cuts)):
        if a <= y <= b:
            return nodes[k]
    raise AssertionError("a rod passes beside its keeper")
