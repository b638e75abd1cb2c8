"""Thin steel sheets, a base plate or a cover: a grid of nodes on the top and down its walls, open holes for poles.

Across its thickness a sheet is one potential: what goes straight through it has a two-hundredth of its thickness to
pass. Along it flux has to crowd through a thin section, so the sheet is a grid with an edge to each neighbour. A hole
lies in one cell; what the cell conducts past it is that of a square array of holes (`passing`). Panels that face the
end of a pole or a bar across a gap narrower than themselves are those of that end (see `facing`).
"""

import math
from collections.abc import Sequence
from itertools import pairwise, product

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.geometry.cutting_magnets import box_cuts
from polepiece.geometry.cutting_steel import ROUND, rectangle
from polepiece.geometry.facing import between
from polepiece.geometry.mesh_builder import MeshBuilder
from polepiece.geometry.shapes import Assembly, MagnetBox, SteelBar
from polepiece.geometry.sheet_cells import SheetCell, join, plain_cell, ring_cell
from polepiece.geometry.sheet_poles import PolePlace, face_panels, hole_panels, place_in, pole_places, pole_reach

CELLS = 1.0  # cells along a sheet, in panels of a keeper's size
CORNER = 0.559  # squares that the square in a bend of a strip is to flux: 1 - 2 ln 2 / pi (conformal map, memory)
UNDER_STRINGS = 0.6  # panels and cells of a sheet above the poles, in those of one below
FACING = 1.5  # panels: a pole or bar nearer than this has panels of its own on the sheet's face


def cut_sheet(builder: MeshBuilder, bar: SteelBar, assembly: Assembly) -> None:
    """A sheet: cells of its top, then the walls down from the rim."""
    _Sheet(builder, bar, assembly).cut()


class _Sheet:
    """One sheet while it is cut."""

    def __init__(self, builder: MeshBuilder, bar: SteelBar, assembly: Assembly) -> None:
        self.b, self.bar = builder, bar
        self.body, self.part = builder.body(), builder.part(bar.part)
        self.thick = bar.z_max - bar.z_min
        self.is_top = any(pole_reach(one)[1] < bar.z_max for one in (*assembly.rods, *assembly.magnets))
        self.panel = builder.r.keeper_panel * (UNDER_STRINGS if self.is_top else 1.0)
        self.near = FACING * self.panel
        self.face = bar.z_min if self.is_top else bar.z_max  # towards the poles
        self.poles = tuple(p for p in pole_places(assembly, bar, self.face, self.near) if builder.kept(p.y))
        self.bars = [
            box_cuts(m, builder.r, builder.mirror)
            for m in assembly.magnets
            if isinstance(m, MagnetBox) and min(abs(m.z_min - self.face), abs(m.z_max - self.face)) < self.near
        ]
        longest = CELLS * self.panel
        self.xs = _lines(bar.x_min, bar.x_max, [(p.x, p.radius) for p in self.poles], longest)
        low = 0.0 if builder.mirror else bar.y_min
        self.ys = _lines(low, bar.y_max, [(p.y, p.radius) for p in self.poles], longest, even=not builder.mirror)
        self.top: list[list[SheetCell]] = []

    def cut(self) -> None:
        """Make nodes, edges and panels."""
        self.top = [[self._cell(x, y) for y in pairwise(self.ys)] for x in pairwise(self.xs)]
        join(self.b, self.top, (np.diff(self.xs), np.diff(self.ys)), (0, 1), self.part, self.thick)
        self._walls() if self.bar.skirt > self.thick else None
        self._rim()

    def _cell(self, x: tuple[float, float], y: tuple[float, float]) -> SheetCell:
        """Make the nodes and panels of one cell of the top."""
        pole, zm = place_in(self.poles, x, y), 0.5 * (self.bar.z_min + self.bar.z_max)
        cell = (
            plain_cell(self.b, x, y, zm, self.body)
            if pole is None
            else ring_cell(self.b, x, y, zm, self.body, self.part, self.thick, pole.radius, hole=pole.kind == "hole")
        )
        first = len(self.b.panels)
        self._faces(x, y, pole, cell.ports[0])
        self.b.panels[first:] = [(corners, cell.node(corners)) for corners, _ in self.b.panels[first:]]
        return cell

    def _faces(self, x: tuple[float, float], y: tuple[float, float], pole: "PolePlace | None", node: int) -> None:
        for z in (self.bar.z_min, self.bar.z_max):
            inner = self.thick if z == self.bar.z_min and self.bar.skirt > self.thick else 0.0  # under it stand walls
            x0, x1 = max(x[0], self.bar.x_min + inner), min(x[1], self.bar.x_max - inner)
            y0, y1 = max(y[0], self.bar.y_min + inner), min(y[1], self.bar.y_max - inner)
            if x1 - x0 < 1e-9 or y1 - y0 < 1e-9:
                continue
            if pole is not None:
                face_panels(self.b, pole, (x0, x1), (y0, y1), z, self.thick, node)
                continue
            lines = [self._panel_lines((x0, x1), z, 0), self._panel_lines((y0, y1), z, 1)]
            for (a, b), (c, d) in product(pairwise(lines[0]), pairwise(lines[1])):
                self.b.panels.append((np.array([[a, c, z], [b, c, z], [b, d, z], [a, d, z]]), node))
        if pole is not None and pole.kind == "hole":
            hole_panels(self.b, pole, (self.bar.z_min, self.bar.z_max), node)

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


def _lines(
    low: float, high: float, marks: Sequence[tuple[float, float]], longest: float, *, even: bool = True
) -> FloatArray:
    """Return cuts from ``low`` to ``high``: each mark (place, radius) in the middle of a cell, others even between.

    ``even``: with a cut at 0 unless a mark is there, so that a folded half is cut as the whole.
    """
    at: dict[int, float] = {}
    for place, radius in marks:
        key = round(place * 1e8)
        at[key] = max(at.get(key, 0.0), radius)
    spots = sorted((key * 1e-8, radius) for key, radius in at.items())
    gaps = [b[0] - a[0] for a, b in pairwise(spots)]
    cells: list[tuple[float, float]] = []
    for k, (place, radius) in enumerate(spots):
        room = min([*gaps[max(k - 1, 0) : k + 1], 4.0 * radius]) / 2.0
        half = min(ROUND * radius, 0.99 * room, high - place - 1e-6, place - low - 1e-6)
        cells.append((place - half, place + half))
    ends = [low, *(one for cell in cells for one in cell), high]
    if even and not any(a < 0.0 < b for a, b in cells):
        ends.append(0.0)
    cuts = sorted({round(one, 10) for one in ends})
    out = [cuts[0]]
    for a, b in pairwise(cuts):
        whole = any(abs(a - c) < 1e-8 and abs(b - d) < 1e-8 for c, d in cells)
        count = 1 if whole else max(1, math.ceil((b - a) / longest - 0.2))
        out += list(np.linspace(a, b, count + 1)[1:])
    return np.array(out)
