"""A steel plate that lies under round magnets: a grid of nodes, each one potential through the plate's thickness.

Under each magnet its upper face has the magnet's own panels: charges on both sides of the thin gap between them mirror
each other (see `facing`).
"""

from itertools import pairwise, product

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.geometry.cutting_magnets import rod_end
from polepiece.geometry.cutting_steel import ROUND, keeper_cuts, rectangle, rectangle_with_hole
from polepiece.geometry.mesh_builder import MeshBuilder, graded
from polepiece.geometry.shapes import SteelBar


def cut_plate(builder: MeshBuilder, bar: SteelBar) -> None:
    """A plate: strips along x, columns along y; every place on which a magnet stands lies in one cell.

    ``edge_scale`` is half the thickness, as of any sheet: the field that is alike on both faces; what flux through one
    face alone drives in it are the currents of a sheet (`polepiece.coil.Plate`) beside it.
    """
    body, part = builder.body(), builder.part(bar.part)
    low = 0.0 if builder.mirror else bar.y_min
    pads = sorted((h for h in bar.holes if builder.kept(h[1])), key=lambda h: h[1])
    ys = np.array(keeper_cuts(low, bar.y_max, pads, 2.0 * builder.r.keeper_panel))
    xs = _strips(builder, bar)
    thick, zm = bar.z_max - bar.z_min, 0.5 * (bar.z_min + bar.z_max)
    half = 0.5 * thick
    index = np.empty((len(xs) - 1, len(ys) - 1), dtype=int)
    for (i, x), (j, y) in product(enumerate(pairwise(xs)), enumerate(pairwise(ys))):
        node = builder.node((0.5 * sum(x), 0.5 * sum(y), zm), body)
        index[i, j] = node
        inside = [h for h in pads if x[0] < h[0] < x[1] and y[0] < h[1] < y[1]]
        _faces(builder, bar, x, y, inside[0] if inside else None, node)
    dx, dy = np.diff(xs).tolist(), np.diff(ys).tolist()
    for i, j in np.ndindex(*index.shape):
        here = int(index[i, j])
        if i + 1 < index.shape[0]:
            builder.edge(here, int(index[i + 1, j]), thick * dy[j], 0.5 * (dx[i] + dx[i + 1]), part, 0, 0.0, half)
        if j + 1 < index.shape[1]:
            builder.edge(here, int(index[i, j + 1]), thick * dx[i], 0.5 * (dy[j] + dy[j + 1]), part, 1, 0.0, half)
    _rim(builder, bar, xs, ys, index)


def _strips(builder: MeshBuilder, bar: SteelBar) -> FloatArray:
    """Cuts along x: one strip that holds the magnets' places, others on both sides, finer towards the rim."""
    inner = min(ROUND * max((h[2] for h in bar.holes), default=builder.r.keeper_panel), 0.8 * bar.x_max)
    count = max(1, round((bar.x_max - inner) / (1.5 * builder.r.keeper_panel)))
    right = graded(inner, bar.x_max, count, grading=0.5, both=False)
    return np.concatenate([-right[::-1], right])


def _faces(
    builder: MeshBuilder, bar: SteelBar, x: tuple[float, float], y: tuple[float, float],
    pad: tuple[float, float, float] | None, node: int,
) -> None:  # fmt: skip
    wide, deep = x[1] - x[0], y[1] - y[0]
    nx, ny = (max(1, round(one / builder.r.keeper_panel)) for one in (wide, deep))
    nx += nx % 2 if x[0] < 0.0 < x[1] else 0  # none across x = 0
    for z in (bar.z_min, bar.z_max):
        corner = np.array([x[0], y[0], z])
        if pad is None or z == bar.z_min:
            rectangle(builder, corner, np.array([wide, 0.0, 0.0]), np.array([0.0, deep, 0.0]), nx, ny, node)
            continue
        rectangle_with_hole(builder, corner, wide, deep, pad, node)
        for quad in rod_end(pad[2], builder.r):
            a, b, c, d = quad + np.array(pad[:2])
            builder.flat_quad(a, b, c, d, z, node)


def _rim(builder: MeshBuilder, bar: SteelBar, xs: FloatArray, ys: FloatArray, index: "np.ndarray") -> None:
    """Panels of the four narrow faces, of the cells beside them."""
    up = np.array([0.0, 0.0, bar.z_max - bar.z_min])
    for j, (y0, y1) in enumerate(pairwise(ys)):
        for i, x in ((0, xs[0]), (-1, xs[-1])):
            rectangle(builder, np.array([x, y0, bar.z_min]), np.array([0.0, y1 - y0, 0.0]), up, 2, 1, int(index[i, j]))
    for i, (x0, x1) in enumerate(pairwise(xs)):
        even = 2 if x0 < 0.0 < x1 else 1
        for j, y in ((-1, ys[-1]), *(() if builder.mirror else ((0, ys[0]),))):
            rectangle(
                builder, np.array([x0, y, bar.z_min]), np.array([x1 - x0, 0.0, 0.0]), up, even, 1, int(index[i, j])
            )
