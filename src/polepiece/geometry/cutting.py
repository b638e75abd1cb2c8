"""Cut an assembly into the elements, nodes and edges of a `Mesh`."""

import math
from itertools import pairwise

import numpy as np

from polepiece.arrays import FloatArray, frozen
from polepiece.geometry.mesh import Mesh, Resolution
from polepiece.geometry.shapes import (
    Assembly,
    MagnetBox,
    MagnetRod,
    SteelBar,
    SteelRod,
    equal_area_polygon,
)

THINNEST = 0.08  # of its half width: the thinnest layer of a magnet along its easy axis
PITCH = 10e-3  # m, about what lies between two poles


def cut(assembly: Assembly, resolution: Resolution | None = None, *, mirror: bool | None = None) -> Mesh:
    """Return the mesh of ``assembly``.

    Parameters
    ----------
    assembly : Assembly
    resolution : Resolution, optional
    mirror : bool, optional
        Use the mirror plane y = 0 (only the half y > 0 is meshed). Default: when the assembly allows it.
    """
    builder = _Builder(resolution or Resolution(), assembly.is_mirrored() if mirror is None else mirror)
    keepers = {}
    for bar in assembly.bars:
        keepers[bar.part] = builder.keeper(bar)
    for rod in assembly.rods:
        if builder.kept(rod.y):
            builder.rod(rod, keepers.get("keeper") if rod.through else None)
    for magnet in assembly.magnets:
        if isinstance(magnet, MagnetBox):
            builder.box(magnet)
        elif builder.kept(magnet.y):
            builder.magnet_rod(magnet)
    return builder.mesh()


def graded(start: float, stop: float, count: int, *, grading: float, both: bool = True) -> FloatArray:
    """Return ``count + 1`` cuts from ``start`` to ``stop``, finer towards both ends (or towards ``stop``)."""
    t = np.linspace(0.0, 1.0, count + 1)
    fine = 0.5 * (1.0 - np.cos(math.pi * t)) if both else np.sin(0.5 * math.pi * t)
    return start + (stop - start) * ((1.0 - grading) * t + grading * fine)


class _Builder:
    def __init__(self, resolution: Resolution, mirror: bool) -> None:
        self.r = resolution
        self.mirror = mirror
        self.panels: list[tuple[FloatArray, int]] = []
        self.cells: list[tuple[FloatArray, int]] = []
        self.nodes: list[tuple[float, float, float]] = []
        self.axes: list[tuple[float, float]] = []
        self.node_bodies: list[int] = []
        self.edges: list[tuple[int, int, float, float, int, int, float, float]] = []
        self.parts: list[str] = []
        self.bodies = 0
        self.keeper_box: SteelBar | None = None

    def kept(self, y: float) -> bool:
        return not self.mirror or y > 0.0

    def part(self, name: str) -> int:
        if name not in self.parts:
            self.parts.append(name)
        return self.parts.index(name)

    def node(self, position: tuple[float, float, float], body: int, axis: tuple[float, float] | None = None) -> int:
        self.nodes.append(position)
        self.axes.append(axis or position[:2])
        self.node_bodies.append(body)
        return len(self.nodes) - 1

    def edge(self, a: int, b: int, area: float, length: float, part: int, axis: int, sign: float, scale: float) -> None:
        self.edges.append((a, b, area, length, part, axis, sign, scale))

    def body(self) -> int:
        self.bodies += 1
        return self.bodies - 1

    # --- steel -----------------------------------------------------------------------------------
    def keeper(self, bar: SteelBar) -> dict[str, object]:
        """A keeper: slices along y, each hole in the middle of a slice."""
        body, part = self.body(), self.part(bar.part)
        low = 0.0 if self.mirror else bar.y_min
        holes = sorted((h for h in bar.holes if self.kept(h[1])), key=lambda h: h[1])
        cuts = _keeper_cuts(low, bar.y_max, [h[1] for h in holes], self.r.keeper_panel * 2.0)
        area = (bar.x_max - bar.x_min) * (bar.z_max - bar.z_min)
        xm, zm = 0.5 * (bar.x_min + bar.x_max), 0.5 * (bar.z_min + bar.z_max)
        scale = 0.5 * min(bar.x_max - bar.x_min, bar.z_max - bar.z_min)
        nodes: list[int] = []
        for y0, y1 in pairwise(cuts):
            node = self.node((xm, 0.5 * (y0 + y1), zm), body)
            if nodes:
                length = 0.5 * (y1 - y0) + 0.5 * (y0 - cuts[len(nodes) - 1])
                self.edge(nodes[-1], node, area, length, part, 1, 0.0, scale)
            nodes.append(node)
            inside = [h for h in holes if y0 < h[1] < y1]
            self._keeper_slice(bar, y0, y1, inside[0] if inside else None, node)
        ends = [(nodes[-1], bar.y_max, cuts[-1] - cuts[-2], True)]
        if not self.mirror:
            ends.append((nodes[0], bar.y_min, cuts[1] - cuts[0], False))
        for node, y, width, _ in ends:
            end = self.node((xm, y, zm), body)
            self.edge(node, end, area, 0.5 * width, part, 1, 0.0, scale)
            self._rectangle(
                np.array([bar.x_min, y, bar.z_min]),
                np.array([bar.x_max - bar.x_min, 0.0, 0.0]),
                np.array([0.0, 0.0, bar.z_max - bar.z_min]),
                2, 2, end,
            )  # fmt: skip
        return {"body": body, "nodes": nodes, "cuts": cuts, "bar": bar}

    def _keeper_slice(
        self, bar: SteelBar, y0: float, y1: float, hole: tuple[float, float, float] | None, node: int
    ) -> None:
        ny = max(1, round((y1 - y0) / self.r.keeper_panel))
        height, width = bar.z_max - bar.z_min, bar.x_max - bar.x_min
        nz = max(2, round(height / self.r.keeper_panel) + 1)
        nx = max(2, round(width / self.r.keeper_panel))
        along = np.array([0.0, y1 - y0, 0.0])
        for x in (bar.x_min, bar.x_max):
            self._rectangle(np.array([x, y0, bar.z_min]), along, np.array([0.0, 0.0, height]), ny, nz, node)
        for z in (bar.z_min, bar.z_max):
            corner = np.array([bar.x_min, y0, z])
            if hole is None:
                self._rectangle(corner, np.array([width, 0.0, 0.0]), along, nx, ny, node)
            else:
                self._rectangle_with_hole(corner, width, y1 - y0, hole, node)

    def _rectangle(self, corner: FloatArray, u: FloatArray, v: FloatArray, nu: int, nv: int, node: int) -> None:
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
                self.panels.append((quad, node))

    def _rectangle_with_hole(
        self, corner: FloatArray, width: float, depth: float, hole: tuple[float, float, float], node: int
    ) -> None:
        """Panels between a round hole and the rectangle round it (in a plane of constant z)."""
        hx, hy, radius = hole
        n = self.r.sectors
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
            self._flat_quad(inner[k], inner[g], outer[g], outer[k], corner[2], node)
            for c in corners:  # the rectangle's corner between two rays makes one more triangle
                if _between(c, outer[k], outer[g], (hx, hy)):
                    self._flat_quad(outer[k], outer[g], np.array(c), np.array(c), corner[2], node)

    def _flat_quad(self, a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray, z: float, node: int) -> None:
        quad = np.array([[*a, z], [*b, z], [*c, z], [*d, z]])
        if _area(quad) > 1e-12:
            self.panels.append((quad, node))

    def rod(self, rod: SteelRod, keeper: dict[str, object] | None) -> None:
        """A steel rod in slices; end faces are nodes of their own; through a keeper it joins the keeper's slice."""
        part = self.part(rod.part)
        joint = _joint(keeper, rod.y) if keeper else None
        body = int(keeper["body"]) if keeper else self.body()  # type: ignore[call-overload]
        slices: list[tuple[float, float, float]] = []
        for section in rod.sections:
            pieces = [(section.bottom, section.top)]
            if rod.through:
                pieces = _without(section.bottom, section.top, *rod.through)
            for bottom, top in pieces:
                count = max(2, round((top - bottom) / self.r.slice_height))
                edges = graded(bottom, top, count, grading=0.4 if count > 4 else 0.0)
                slices += [(a, b, section.radius) for a, b in pairwise(edges)]
        slices.sort()
        previous: tuple[int, float, float, float] | None = None
        first = last = (-1, 0.0, 0.0, 0.0)
        for bottom, top, radius in slices:
            node = self.node((rod.x, rod.y, 0.5 * (bottom + top)), body, (rod.x, rod.y))
            self._round_side(rod.x, rod.y, radius, bottom, top, node)
            if previous is None:
                first = (node, bottom, 0.5 * (top - bottom), radius)
            elif bottom - previous[1] < 1e-9:
                self._link(previous, node, 0.5 * (top - bottom), radius, part)
                if abs(previous[3] - radius) > 1e-9:
                    wide = node if radius > previous[3] else previous[0]
                    self._ring(rod.x, rod.y, min(radius, previous[3]), max(radius, previous[3]), bottom, wide)
            else:
                self._through(previous, joint, bottom, node, 0.5 * (top - bottom), radius, part)
            previous = last = (node, top, 0.5 * (top - bottom), radius)
        if joint is not None and keeper is not None and rod.through is not None:
            if first[1] >= rod.through[1] - 1e-9:
                self._join_end(joint, first, rod.through, part)
                first = (-1, 0.0, 0.0, 0.0)
            if last[1] <= rod.through[0] + 1e-9:
                self._join_end(joint, last, rod.through, part)
                last = (-1, 0.0, 0.0, 0.0)
        for node, z, half, radius in (first, last):
            if node >= 0:
                cap = self.node((rod.x, rod.y, z), body, (rod.x, rod.y))
                self._disc(rod.x, rod.y, radius, z, cap)
                self.edge(node, cap, math.pi * radius**2, half, part, 2, 0.0, radius)

    def _link(
        self, previous: tuple[int, float, float, float], node: int, half: float, radius: float, part: int
    ) -> None:
        a1, a2 = math.pi * previous[3] ** 2, math.pi * radius**2
        length = previous[2] + half
        area = length / (previous[2] / a1 + half / a2)
        self.edge(previous[0], node, area, length, part, 2, 0.0, min(previous[3], radius))

    def _through(
        self, previous: tuple[int, float, float, float], joint: int | None, bottom: float, node: int,
        half: float, radius: float, part: int,
    ) -> None:  # fmt: skip
        """Across a keeper: below to the keeper's slice, and from it to above (flux enters over the thickness)."""
        if joint is None:
            raise AssertionError("a rod with a gap needs a keeper there")
        third = (bottom - previous[1]) / 3.0
        area = math.pi * radius**2
        self.edge(previous[0], joint, area, previous[2] + third, part, 2, 0.0, radius)
        self.edge(joint, node, area, third + half, part, 2, 0.0, radius)

    def _join_end(
        self, joint: int, end: tuple[int, float, float, float], through: tuple[float, float], part: int
    ) -> None:
        third = (through[1] - through[0]) / 3.0
        a, b = (joint, end[0]) if end[1] >= through[1] - 1e-9 else (end[0], joint)
        self.edge(a, b, math.pi * end[3] ** 2, third + end[2], part, 2, 0.0, end[3])

    def _round_side(self, x: float, y: float, radius: float, bottom: float, top: float, node: int) -> None:
        ring = equal_area_polygon(radius, self.r.sectors) + np.array([x, y])
        for k in range(len(ring)):
            a, b = ring[k], ring[(k + 1) % len(ring)]
            self.panels.append((np.array([[*a, bottom], [*b, bottom], [*b, top], [*a, top]]), node))

    def _ring(self, x: float, y: float, inner: float, outer: float, z: float, node: int) -> None:
        a = equal_area_polygon(inner, self.r.sectors) + np.array([x, y])
        b = equal_area_polygon(outer, self.r.sectors) + np.array([x, y])
        for k in range(len(a)):
            g = (k + 1) % len(a)
            self._flat_quad(a[k], b[k], b[g], a[g], z, node)

    def _disc(self, x: float, y: float, radius: float, z: float, node: int) -> None:
        rings = self.r.cap_rings
        radii = radius * np.sin(0.5 * math.pi * np.linspace(0.0, 1.0, rings + 1)) ** 0.9
        for inner, outer in pairwise(radii):
            if inner <= 0.0:
                ring = equal_area_polygon(outer, self.r.sectors) + np.array([x, y])
                centre = np.array([x, y])
                for k in range(0, len(ring)):
                    g = (k + 1) % len(ring)
                    self._flat_quad(ring[k], ring[g], centre, centre, z, node)
            else:
                self._ring(x, y, inner, outer, z, node)

    # --- magnets ---------------------------------------------------------------------------------
    def box(self, magnet: MagnetBox) -> None:
        """A bar magnet: a grid of cells; every panel of its surface is a node of its own."""
        body, part = self.body(), self.part(magnet.part)
        low = 0.0 if self.mirror else magnet.y_min
        r = self.r
        across, layers = r.magnet_across, r.magnet_layers
        if magnet.easy == 2:
            across = max(4, across // 2)
            wide = min((magnet.x_max - magnet.x_min) / across, PITCH / r.magnet_along)
            layers = _layers(layers + 3, magnet.z_max - magnet.z_min, 0.5 * wide)
        cuts = [
            graded(magnet.x_min, magnet.x_max, across, grading=r.grading),
            self._along(magnet, low),
            graded(magnet.z_min, magnet.z_max, layers, grading=r.grading),
        ]
        size = [magnet.x_max - magnet.x_min, magnet.y_max - magnet.y_min, magnet.z_max - magnet.z_min]
        shape = tuple(len(c) - 1 for c in cuts)
        index = np.empty(shape, dtype=int)
        for i in range(shape[0]):
            for j in range(shape[1]):
                for k in range(shape[2]):
                    box = [
                        (cuts[0][i], cuts[0][i + 1]),
                        (cuts[1][j], cuts[1][j + 1]),
                        (cuts[2][k], cuts[2][k + 1]),
                    ]
                    (x0, x1), (y0, y1), (z0, z1) = box
                    centre = (0.5 * (x0 + x1), 0.5 * (y0 + y1), 0.5 * (z0 + z1))
                    index[i, j, k] = self.node(centre, body)
                    self.cells.append((_hexahedron(*box), index[i, j, k]))
        for axis in range(3):
            half = 0.5 * min(size[a] for a in range(3) if a != axis)
            sign = magnet.sign if axis == magnet.easy else 0.0
            self._box_edges(index, cuts, axis, part, sign, half, body)

    def _along(self, magnet: MagnetBox, low: float) -> FloatArray:
        """Cuts along a bar: each pole (mark) in the middle of its stretch, finer next to it."""
        marks = np.array(sorted(y for y in magnet.marks if low < y < magnet.y_max))
        if not len(marks):
            return graded(low, magnet.y_max, 3 * self.r.magnet_along, grading=0.4, both=not self.mirror)
        half = 0.5 * float(np.diff(marks).min()) if len(marks) > 1 else 5e-3
        cuts = [low, magnet.y_max]
        for y in marks:
            left = half if y - half > low - 1e-9 else y - low
            right = half if y + half < magnet.y_max + 1e-9 else magnet.y_max - y
            t = np.linspace(-1.0, 1.0, self.r.magnet_along + 1)
            t = np.sign(t) * (0.75 * abs(t) + 0.25 * abs(t) ** 2)
            cuts += [y + (left if u < 0 else right) * u for u in t]
        merged = np.array(sorted(cuts))
        kept: FloatArray = merged[np.concatenate([[True], np.diff(merged) > 1e-7])]
        return kept

    def _box_edges(
        self, index: "np.ndarray", cuts: list[FloatArray], axis: int, part: int, sign: float, half: float, body: int
    ) -> None:  # fmt: skip
        others = [a for a in range(3) if a != axis]
        width = [np.diff(c) for c in cuts]
        for cell in np.ndindex(*index.shape):
            area = float(width[others[0]][cell[others[0]]] * width[others[1]][cell[others[1]]])
            here = float(width[axis][cell[axis]])
            if cell[axis] + 1 < index.shape[axis]:
                nxt = list(cell)
                nxt[axis] += 1
                length = 0.5 * (here + float(width[axis][nxt[axis]]))
                self.edge(int(index[cell]), int(index[tuple(nxt)]), area, length, part, axis, sign, half)
            for at, end in ((0, 0), (index.shape[axis] - 1, 1)):
                if cell[axis] != at or (axis == 1 and end == 0 and self.mirror):
                    continue
                quad = _box_face(cuts, cell, axis, end)
                panel = self.node(tuple(quad.mean(axis=0)), body)
                self.panels.append((quad, panel))
                inner = int(index[cell])
                a, b = (inner, panel) if end else (panel, inner)
                self.edge(a, b, area, 0.5 * here, part, axis, sign, half)

    def magnet_rod(self, magnet: MagnetRod) -> None:
        """A round magnet: layers of a core and rings of sectors; every surface panel is a node of its own."""
        body, part = self.body(), self.part(magnet.part)
        r = self.r
        layers = _layers(r.rod_layers, magnet.top - magnet.bottom, magnet.radius)
        z = graded(magnet.bottom, magnet.top, layers, grading=r.grading)
        fractions = np.sqrt(np.linspace(0.0, 1.0, r.rod_rings + 1)[1:])  # rings of equal area, finer outside
        rings = [equal_area_polygon(magnet.radius * f, r.rod_sectors) for f in fractions]
        n = r.rod_sectors
        plan = _rod_plan(rings)
        columns = 1 + n * (len(rings) - 1)
        centre = np.array([magnet.x, magnet.y])
        index = np.empty((len(z) - 1, columns), dtype=int)
        for k in range(len(z) - 1):
            for c in range(columns):
                middle = plan.centre[c] + centre
                index[k, c] = self.node((middle[0], middle[1], 0.5 * (z[k] + z[k + 1])), body)
                self.cells.append((_prism(plan.quads[c] + centre, z[k], z[k + 1]), index[k, c]))
            thick = z[k + 1] - z[k]
            for a, b, side, length in plan.inner_edges:
                self.edge(index[k, a], index[k, b], side * thick, length, part, 0, 0.0, magnet.radius)
            for c, p, q, length in plan.outer_edges:
                quad = np.array(
                    [
                        [*(p + centre), z[k]],
                        [*(q + centre), z[k]],
                        [*(q + centre), z[k + 1]],
                        [*(p + centre), z[k + 1]],
                    ]
                )
                panel = self.node(tuple(quad.mean(axis=0)), body)
                self.panels.append((quad, panel))
                side = float(np.linalg.norm(q - p))
                self.edge(index[k, c], panel, side * thick, length, part, 0, 0.0, magnet.radius)
        for c in range(columns):
            for k in range(len(z) - 2):
                length = 0.5 * (z[k + 2] - z[k])
                self.edge(index[k, c], index[k + 1, c], plan.area[c], length, part, 2, magnet.sign, magnet.radius)
            for k, height, end in ((0, z[0], 0), (len(z) - 2, z[-1], 1)):
                middle = plan.centre[c] + centre
                panel = self.node((middle[0], middle[1], height), body)
                for quad2 in plan.faces[c]:
                    w = quad2 + centre
                    self._flat_quad(w[0], w[1], w[2], w[3], height, panel)
                a, b = (index[k, c], panel) if end else (panel, index[k, c])
                self.edge(a, b, plan.area[c], 0.5 * (z[k + 1] - z[k]), part, 2, magnet.sign, magnet.radius)

    def mesh(self) -> Mesh:
        edges = np.array(self.edges, dtype=float).reshape(-1, 8)
        return Mesh(
            mirrored=self.mirror,
            panel_corners=frozen([p for p, _ in self.panels] or np.empty((0, 4, 3))),
            panel_node=_ints([n for _, n in self.panels]),
            cell_faces=frozen([c for c, _ in self.cells] or np.empty((0, 6, 4, 3))),
            cell_node=_ints([n for _, n in self.cells]),
            node_position=frozen(self.nodes),
            node_body=_ints(self.node_bodies),
            node_axis=frozen(self.axes),
            edge_a=_ints(edges[:, 0]),
            edge_b=_ints(edges[:, 1]),
            edge_area=frozen(edges[:, 2]),
            edge_length=frozen(edges[:, 3]),
            edge_part=_ints(edges[:, 4]),
            edge_axis=_ints(edges[:, 5]),
            edge_sign=frozen(edges[:, 6]),
            edge_scale=frozen(edges[:, 7]),
            parts=tuple(self.parts),
            bodies=self.bodies,
        )


def _layers(wanted: int, length: float, half_width: float) -> int:
    """Return how many graded layers to cut: none so thin (pi^2/4 of length/count^2) that averages over it fail."""
    return max(3, min(wanted, int(0.5 * math.pi * math.sqrt(length / (THINNEST * half_width)))))


class _RodPlan:
    """Cross-section of a round magnet: column 0 is the core, then rings of sectors."""

    def __init__(self) -> None:
        self.centre: list[FloatArray] = []
        self.quads: list[FloatArray] = []  # (4, 2), the cell of volume charge
        self.faces: list[list[FloatArray]] = []  # panels of the end face
        self.area: list[float] = []
        self.inner_edges: list[tuple[int, int, float, float]] = []
        self.outer_edges: list[tuple[int, FloatArray, FloatArray, float]] = []


def _rod_plan(rings: list[FloatArray]) -> _RodPlan:
    plan, n = _RodPlan(), len(rings[0])
    core = rings[0]
    area = _polygon_area(core)
    half = 0.5 * math.sqrt(area)
    plan.centre.append(np.zeros(2))
    plan.quads.append(np.array([[-half, -half], [half, -half], [half, half], [-half, half]]))
    plan.faces.append([np.array([core[k], core[(k + 1) % n], [0.0, 0.0], [0.0, 0.0]]) for k in range(n)])
    plan.area.append(area)
    for q in range(1, len(rings)):
        for k in range(n):
            g = (k + 1) % n
            quad = np.array([rings[q - 1][k], rings[q][k], rings[q][g], rings[q - 1][g]])
            plan.centre.append(quad.mean(axis=0))
            plan.quads.append(quad)
            plan.faces.append([quad])
            plan.area.append(_polygon_area(quad))
    for q in range(1, len(rings)):
        for k in range(n):
            here, g = 1 + (q - 1) * n + k, (k + 1) % n
            beside = 1 + (q - 1) * n + g
            inside = 0 if q == 1 else here - n
            wall = float(np.linalg.norm(rings[q - 1][g] - rings[q - 1][k]))
            radial = float(np.linalg.norm(plan.centre[here] - plan.centre[inside]))
            if q == 1:  # from the core: the drop inside it is half its apothem
                radial = float(np.linalg.norm(plan.centre[here] - 0.25 * (rings[0][k] + rings[0][g])))
            plan.inner_edges.append((inside, here, wall, radial))
            side = float(np.linalg.norm(rings[q][g] - rings[q - 1][g]))
            plan.inner_edges.append(
                (here, beside, side, float(np.linalg.norm(plan.centre[beside] - plan.centre[here])))
            )
    last = len(rings) - 1
    for k in range(n):
        g = (k + 1) % n
        column = 0 if last == 0 else 1 + (last - 1) * n + k
        a, b = rings[last][k], rings[last][g]
        plan.outer_edges.append((column, a, b, float(np.linalg.norm(0.5 * (a + b) - plan.centre[column]))))
    return plan


def _ints(values: object) -> "np.ndarray":
    out = np.array(values, dtype=np.int64)
    out.flags.writeable = False
    return out


def _area(quad: FloatArray) -> float:
    return float(0.5 * np.linalg.norm(np.cross(quad[2] - quad[0], quad[3] - quad[1])))


def _polygon_area(points: FloatArray) -> float:
    x, y = points[:, 0], points[:, 1]
    return float(0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))


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


def _hexahedron(x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> FloatArray:
    corners = np.array([[a, b] for a, b in ((x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1]))])
    return _prism(corners, z[0], z[1])


def _prism(plan: FloatArray, bottom: float, top: float) -> FloatArray:
    """Six faces (6, 4, 3), outward normals, of an upright prism over a counter-clockwise quadrilateral."""
    low = np.column_stack([plan, np.full(4, bottom)])
    high = np.column_stack([plan, np.full(4, top)])
    sides = [np.array([low[k], low[(k + 1) % 4], high[(k + 1) % 4], high[k]]) for k in range(4)]
    return np.array([low[::-1], high, *sides])


def _box_face(cuts: list[FloatArray], cell: tuple[int, ...], axis: int, end: int) -> FloatArray:
    low = [cuts[a][cell[a]] for a in range(3)]
    high = [cuts[a][cell[a] + 1] for a in range(3)]
    u, v = [a for a in range(3) if a != axis]
    quad = np.empty((4, 3))
    for k, (du, dv) in enumerate(((0, 0), (1, 0), (1, 1), (0, 1))):
        quad[k, axis] = (low, high)[end][axis]
        quad[k, u] = (low, high)[du][u]
        quad[k, v] = (low, high)[dv][v]
    return quad
