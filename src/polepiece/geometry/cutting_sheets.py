"""Thin steel sheets, a base plate or a cover: a grid of nodes on the top and down its walls, open holes for poles.

Across its thickness a sheet is one potential: what goes straight through it has a two-hundredth of its thickness to
pass. Along it flux has to crowd through a thin section, so the sheet is a grid with an edge to each neighbour. Round a
hole or a pole's end a square of the grid is taken by rings (`sheet_cells`). Panels that face the end of a pole or a bar
across a gap narrower than themselves are those of that end (see `facing`).
"""

import math
from collections.abc import Sequence
from itertools import pairwise, product

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.geometry.cutting_magnets import box_cuts
from polepiece.geometry.cutting_steel import rectangle
from polepiece.geometry.facing import between
from polepiece.geometry.mesh import Resolution
from polepiece.geometry.mesh_builder import MeshBuilder
from polepiece.geometry.shapes import Assembly, MagnetBox, SteelBar
from polepiece.geometry.sheet_cells import EAST, NORTH, SOUTH, WEST, SheetCell, join, plain_cell, pole_cell, rim_parts
from polepiece.geometry.sheet_poles import PolePlace, face_panels, hole_panels, pole_places, pole_reach, zone_radii

CELLS = 1.0  # cells along a sheet, in panels of a keeper's size
CORNER = 0.559  # squares that the square in a bend of a strip is to flux: 1 - 2 ln 2 / pi (conformal map, memory)
UNDER_STRINGS = 0.6  # panels and cells of a sheet above the poles, in those of one below
ROUND = 1.5  # half a cell with a pole at it over the pole's radius, where there is room
FACING = 1.5  # panels: a pole or bar nearer than this has panels of its own on the sheet's face


def cut_sheet(builder: MeshBuilder, bar: SteelBar, assembly: Assembly) -> None:
    """A sheet: cells of its top, then the walls down from the rim."""
    _Sheet(builder, bar, assembly).cut()


def ends_before(
    assembly: Assembly, sheets: Sequence[SteelBar], resolution: Resolution
) -> frozenset[tuple[float, float, float]]:
    """Return where (x, y, z) rods end before a sheet: their ends are cut as the sheet's faces are there."""
    found = set()
    for bar in sheets:
        panel, face = _facing(assembly, bar, resolution)
        for place in pole_places(assembly, bar, face, FACING * panel):
            rods = (rod for rod in assembly.rods if math.hypot(rod.x - place.x, rod.y - place.y) < 1e-8)
            ends = ((rod, z) for rod in rods for z in pole_reach(rod) if place.kind == "steel")
            found |= {(rod.x, rod.y, z) for rod, z in ends if abs(z - face) < FACING * panel}
    return frozenset(found)


def _facing(assembly: Assembly, bar: SteelBar, resolution: Resolution) -> tuple[float, float]:
    """Return the size of a sheet's panels, and the height of its face towards the poles, m."""
    is_top = any(pole_reach(one)[1] < bar.z_max for one in (*assembly.rods, *assembly.magnets))
    return resolution.keeper_panel * (UNDER_STRINGS if is_top else 1.0), bar.z_min if is_top else bar.z_max


class _Sheet:
    """One sheet while it is cut."""

    def __init__(self, builder: MeshBuilder, bar: SteelBar, assembly: Assembly) -> None:
        self.b, self.bar = builder, bar
        self.body, self.part = builder.body(), builder.part(bar.part)
        self.thick = bar.z_max - bar.z_min
        self.panel, self.face = _facing(assembly, bar, builder.r)
        self.near = FACING * self.panel
        self.poles = tuple(p for p in pole_places(assembly, bar, self.face, self.near) if builder.kept(p.y))
        self.bars = [
            box_cuts(m, builder.r, builder.mirror)
            for m in assembly.magnets
            if isinstance(m, MagnetBox) and min(abs(m.z_min - self.face), abs(m.z_max - self.face)) < self.near
        ]
        longest = CELLS * self.panel
        low = 0.0 if builder.mirror else bar.y_min
        self.half = _half(self.poles, bar, low)
        parts = self.half * rim_parts(builder.r.round_place)
        self.xs, self.x_blocks = _lines(bar.x_min, bar.x_max, [p.x for p in self.poles], parts, longest)
        self.ys, self.y_blocks = _lines(
            low, bar.y_max, [p.y for p in self.poles], parts, longest, even=not builder.mirror
        )
        self.top: list[list[SheetCell]] = []

    def cut(self) -> None:
        """Make nodes, edges and panels."""
        first = len(self.b.nodes)
        blocks = {(i, j): k for k, pole in enumerate(self.poles) for i, j in product(*self._spans(pole))}
        poles = [self._pole(k, pole) for k, pole in enumerate(self.poles)]
        self.top = [
            [
                poles[blocks[i, j]][i, j] if (i, j) in blocks else self._cell(x, y)
                for j, y in enumerate(pairwise(self.ys))
            ]
            for i, x in enumerate(pairwise(self.xs))
        ]
        join(self.b, self.top, (np.diff(self.xs), np.diff(self.ys)), (0, 1), self.part, self.thick)
        self._walls() if self.bar.skirt > self.thick else None
        self._rim()
        self.b.thin |= set(range(first, len(self.b.nodes)))

    def _spans(self, pole: PolePlace) -> tuple[range, range]:
        """Return which of the grid's columns and rows the cell of a pole takes."""
        return _span(self.xs, self.x_blocks, pole.x), _span(self.ys, self.y_blocks, pole.y)

    def _pole(self, number: int, pole: PolePlace) -> dict[tuple[int, int], SheetCell]:
        """Make the cell of a pole; return it as the grid's cells that it takes."""
        bar, (columns, rows) = self.bar, self._spans(pole)
        radii = zone_radii(pole, self.half, self.b.r.cap_rings, self.panel)
        zm = 0.5 * (bar.z_min + bar.z_max)
        cell = pole_cell(self.b, (pole.x, pole.y), self.half, zm, self.body, self.part, self.thick, radii)
        first = len(self.b.panels)
        for z in (bar.z_min, bar.z_max):
            face_panels(self.b, pole, self.half, z, self.thick, radii)
        if pole.kind == "hole":
            hole_panels(self.b, pole, (bar.z_min, bar.z_max))
        self.b.panels[first:] = [(quad, cell.node(quad)) for quad, _ in self.b.panels[first:]]
        found = {}
        for (a, i), (b, j) in product(enumerate(columns), enumerate(rows)):
            (west, a_way), (east, b_way) = cell.on_rim(WEST, b), cell.on_rim(EAST, b)
            (south, c_way), (north, d_way) = cell.on_rim(SOUTH, a), cell.on_rim(NORTH, a)
            found[i, j] = SheetCell(
                ports=(west, east, south, north), squares=(a_way, b_way, c_way, d_way), block=number + 1
            )
        return found

    def _cell(self, x: tuple[float, float], y: tuple[float, float]) -> SheetCell:
        """Make the node and panels of one cell of the top."""
        cell = plain_cell(self.b, x, y, 0.5 * (self.bar.z_min + self.bar.z_max), self.body)
        node = cell.ports[0]
        for z in (self.bar.z_min, self.bar.z_max):
            inner = self.thick if z == self.bar.z_min and self.bar.skirt > self.thick else 0.0  # under it stand walls
            x0, x1 = max(x[0], self.bar.x_min + inner), min(x[1], self.bar.x_max - inner)
            y0, y1 = max(y[0], self.bar.y_min + inner), min(y[1], self.bar.y_max - inner)
            if x1 - x0 < 1e-9 or y1 - y0 < 1e-9:
                continue
            lines = [self._panel_lines((x0, x1), z, 0), self._panel_lines((y0, y1), z, 1)]
            for (a, b), (c, d) in product(pairwise(lines[0]), pairwise(lines[1])):
                self.b.panels.append((np.array([[a, c, z], [b, c, z], [b, d, z], [a, d, z]]), node))
        return cell

    def _panel_lines(self, ends: tuple[float, float], z: float, axis: int) -> FloatArray:
        if z == self.face and self.bars:
            cuts = np.unique(np.round(np.concatenate([cuts[axis] for cuts in self.bars]), 9))
            facing = between(cuts, *ends)
            if len(facing) > 2:
                return facing
        count = max(1, round((ends[1] - ends[0]) / self.panel))
        count += count % 2 if ends[0] < 0.0 < ends[1] else 0  # none across a plane of symmetry
        return np.linspace(*ends, count + 1)

    # ---------------------------------------------------------------- rim and walls

    def _rim(self) -> None:
        """Panels of the narrow faces of the top."""
        bar, up = self.bar, np.array([0.0, 0.0, self.thick])
        for (j, (y0, y1)), (i, x) in product(enumerate(pairwise(self.ys)), ((0, bar.x_min), (-1, bar.x_max))):
            along = np.array([0.0, y1 - y0, 0.0])
            rectangle(self.b, np.array([x, y0, bar.z_min]), along, up, _even(y0, y1), 1, self.top[i][j].ports[-i])
        for (i, (x0, x1)), (j, y) in product(enumerate(pairwise(self.xs)), self._y_ends()):
            along = np.array([x1 - x0, 0.0, 0.0])
            rectangle(self.b, np.array([x0, y, bar.z_min]), along, up, _even(x0, x1), 1, self.top[i][j].ports[2 - j])

    def _y_ends(self) -> tuple[tuple[int, float], ...]:
        return ((-1, self.bar.y_max),) if self.b.mirror else ((-1, self.bar.y_max), (0, self.bar.y_min))

    def _walls(self) -> None:
        bar, low = self.bar, self.bar.z_max - self.bar.skirt
        zs = np.linspace(bar.z_min, low, max(2, round((bar.z_min - low) / self.b.r.keeper_panel)) + 1)
        across = {i: self._wall(0, x, i, self.ys, zs) for i, x in ((0, bar.x_min), (-1, bar.x_max))}
        along = {j: self._wall(1, y, j, self.xs, zs) for j, y in self._y_ends()}
        for (i, one), (j, other) in product(across.items(), along.items()):  # the upright edges
            beside = (
                abs(float(self.ys[j] - self.ys[j - 1 if j else 1])),
                abs(float(self.xs[i] - self.xs[i - 1 if i else 1])),
            )
            length = corner_length(*beside, self.thick, outer=2)
            for k, (z1, z0) in enumerate(pairwise(zs)):
                ends = int(one[j, k]), int(other[i, k])
                self.b.edge(*ends, self.thick * (z1 - z0), length, self.part, 0, 0.0, 0.5 * self.thick)

    def _wall(self, axis: int, at: float, end: int, lines: FloatArray, zs: FloatArray) -> "np.ndarray":
        """Return the nodes (columns, rows) of the wall across ``axis`` at the rim ``at``; ``end`` of the top's grid."""
        inner = at - math.copysign(self.thick, at)
        middle, t = 0.5 * (at + inner), self.thick
        nodes = np.empty((len(lines) - 1, len(zs) - 1), dtype=int)
        own = (self.bar.y_min, self.bar.y_max) if axis == 0 else (self.bar.x_min, self.bar.x_max)
        for (j, (a, b)), (k, (z1, z0)) in product(enumerate(pairwise(lines)), enumerate(pairwise(zs))):
            spot = (middle, 0.5 * (a + b)) if axis == 0 else (0.5 * (a + b), middle)
            nodes[j, k] = node = self.b.node((*spot, 0.5 * (z0 + z1)), self.body)
            clipped = max(a, own[0] + t), min(b, own[1] - t)
            for p, (c, d) in ((at, (a, b)), (inner, clipped)):
                if d - c > 1e-9:
                    self._upright(axis, p, (c, d), (z0, z1), node)
            if k == len(zs) - 2:
                self._lower(axis, (at, inner), clipped if axis else (a, b), z0, node)
        widths = np.diff(lines), -np.diff(zs)
        grid_edges(self.b, nodes, widths, (1 - axis, 2), self.part, t)
        beside = np.diff(self.xs if axis == 0 else self.ys)[end]
        for j, width in enumerate(widths[0]):
            rim = self.top[end][j].ports[-end] if axis == 0 else self.top[j][end].ports[2 - end]
            length = corner_length(float(beside), float(widths[1][0]), t, outer=1)
            self.b.edge(rim, int(nodes[j, 0]), t * float(width), length, self.part, 2, 0.0, 0.5 * t)
        return nodes

    def _upright(self, axis: int, at: float, along: tuple[float, float], z: tuple[float, float], node: int) -> None:
        corner = np.array([at, along[0], z[0]]) if axis == 0 else np.array([along[0], at, z[0]])
        side = np.eye(3)[1 - axis] * (along[1] - along[0])
        rectangle(self.b, corner, side, np.array([0.0, 0.0, z[1] - z[0]]), _even(*along), 1, node)

    def _lower(self, axis: int, across: tuple[float, float], along: tuple[float, float], z: float, node: int) -> None:
        """Panels of the wall's lower edge; corners belong to the walls across x."""
        if along[1] - along[0] < 1e-9:
            return
        low, width = min(across), np.eye(3)[axis] * self.thick
        corner = np.array([low, along[0], z]) if axis == 0 else np.array([along[0], low, z])
        side = np.eye(3)[1 - axis] * (along[1] - along[0])
        rectangle(self.b, corner, side, width, _even(*along), 1, node)


def corner_length(first: float, second: float, thick: float, *, outer: int) -> float:
    """Return the way from the middle of a cell round a right-angled corner to that of the next cell, m.

    ``outer`` of the two cells reach to the outer corner, the other begins at the inner one.
    """
    straight = 0.5 * (first + second) - outer * thick
    return max(straight, 0.0) + CORNER * thick


def grid_edges(
    builder: MeshBuilder, nodes: "np.ndarray", widths: tuple[FloatArray, FloatArray], axes: tuple[int, int], part: int,
    thick: float,
) -> None:  # fmt: skip
    """Add the edges of a flat grid of ``nodes``."""
    wide, deep = (one.tolist() for one in widths)
    for i, j in np.ndindex(*nodes.shape):
        here = int(nodes[i, j])
        for k, m, own, other, axis in ((i + 1, j, wide, deep[j], axes[0]), (i, j + 1, deep, wide[i], axes[1])):
            if k < nodes.shape[0] and m < nodes.shape[1]:
                at, to = (i, k) if axis == axes[0] else (j, m)
                length = 0.5 * (own[at] + own[to])
                builder.edge(here, int(nodes[k, m]), thick * other, length, part, axis, 0.0, 0.5 * thick)


def _even(low: float, high: float) -> int:
    return 2 if low < 0.0 < high else 1


def _half(poles: Sequence[PolePlace], bar: SteelBar, low: float) -> float:
    """Return half the side of the square cell of every pole of a sheet that begins at ``low`` along y, m."""
    room = [ROUND * max((p.radius for p in poles), default=0.0)]
    for axis, (begin, end) in enumerate(((bar.x_min, bar.x_max), (low, bar.y_max))):
        spots = sorted({round((p.x, p.y)[axis], 8) for p in poles})
        room += [0.495 * (b - a) for a, b in pairwise(spots)]
        room += [min(end - one, one - begin) - 1e-6 for one in spots]
    return min(room)


def _lines(
    low: float, high: float, spots: Sequence[float], parts: FloatArray, longest: float, *, even: bool = True
) -> tuple[FloatArray, list[tuple[float, float]]]:
    """Return cuts from ``low`` to ``high``, those about each of ``spots`` at ``parts``, others even; and its stretches.

    ``even``: with a cut at 0 unless a pole's cell is there, so that a folded half is cut as the whole.
    """
    middles = sorted({round(one, 8) for one in spots})
    cells = [(one + float(parts[0]), one + float(parts[-1])) for one in middles]
    ends = [low, *(one for cell in cells for one in cell), high]
    if even and not any(a < 0.0 < b for a, b in cells):
        ends.append(0.0)
    cuts = sorted({round(one, 10) for one in ends})
    out = [cuts[0]]
    for a, b in pairwise(cuts):
        inside = next(
            (m for m in middles if abs(m - 0.5 * (a + b)) < 1e-8 and abs(b - a - parts[-1] + parts[0]) < 1e-8), None
        )
        if inside is not None:
            out += (inside + parts[1:]).tolist()
        else:
            out += list(np.linspace(a, b, max(1, math.ceil((b - a) / longest - 0.2)) + 1)[1:])
    return np.array(out), cells


def _span(lines: FloatArray, blocks: Sequence[tuple[float, float]], at: float) -> range:
    low, high = next(block for block in blocks if block[0] < at < block[1])
    inside = [k for k in range(len(lines) - 1) if low < 0.5 * (lines[k] + lines[k + 1]) < high]
    return range(inside[0], inside[-1] + 1)
