"""Steel boxes that are thin one way: blades that stand in a coil, plates that lie under it.

Across its thin side such a part is one potential; along the other two it is a grid of nodes, with an edge to each
neighbour. Its two broad faces carry the panels of their nodes; a blade's lower and upper faces are nodes of their own,
as the ends of rods are: flux enters there.
"""

from collections.abc import Sequence
from itertools import pairwise, product

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.geometry.cutting_magnets import blade_cuts
from polepiece.geometry.facing import BarFace, between, rectangles
from polepiece.geometry.mesh_builder import MeshBuilder, graded
from polepiece.geometry.shapes import SteelBar

COLUMN = 2.0  # panels of a keeper's size along each column of a blade
EDGE = 0.5  # of that size along a blade's lower and upper face, where its charge crowds: whole, fields are 1 % high


def cut_blade(builder: MeshBuilder, bar: SteelBar, faces: Sequence[BarFace] = ()) -> None:
    """A blade: columns along y, slices along z; a node at the lower and the upper end of each column."""
    body, part = builder.body(), builder.part(bar.part)
    near = [f for f in faces if f.is_near(bar.x_min, bar.x_max, bar.z_min, bar.z_max, builder.r.keeper_panel)]
    ys, zs = _columns(builder, bar), _slices(builder, bar, near)
    thick, xm = bar.x_max - bar.x_min, 0.5 * (bar.x_min + bar.x_max)
    index = np.empty((len(ys) - 1, len(zs) - 1), dtype=int)
    for (j, (y0, y1)), (k, (z0, z1)) in product(enumerate(pairwise(ys)), enumerate(pairwise(zs))):
        index[j, k] = builder.node((xm, 0.5 * (y0 + y1), 0.5 * (z0 + z1)), body)
        for x in (bar.x_min, bar.x_max):
            _broad(builder, x, (y0, y1), (z0, z1), int(index[j, k]), near)
    dy, dz = np.diff(ys).tolist(), np.diff(zs).tolist()
    for j, k in np.ndindex(*index.shape):
        here, half = int(index[j, k]), 0.5 * thick
        if k + 1 < index.shape[1]:
            builder.edge(here, int(index[j, k + 1]), thick * dy[j], 0.5 * (dz[k] + dz[k + 1]), part, 2, 0.0, half)
        if j + 1 < index.shape[0]:
            builder.edge(here, int(index[j + 1, k]), thick * dz[k], 0.5 * (dy[j] + dy[j + 1]), part, 1, 0.0, half)
    for j, (y0, y1) in enumerate(pairwise(ys)):
        for k, z in ((0, zs[0]), (len(zs) - 2, zs[-1])):
            cap = builder.node((xm, 0.5 * (y0 + y1), z), body)
            _flat(builder, bar, (y0, y1), z, cap)
            builder.edge(int(index[j, k]), cap, thick * dy[j], 0.5 * dz[k], part, 2, 0.0, 0.5 * thick)
    for j, y in ((len(ys) - 2, ys[-1]), *(() if builder.mirror else ((0, ys[0]),))):
        for k, (z0, z1) in enumerate(pairwise(zs)):
            _upright(builder, bar, y, (z0, z1), int(index[j, k]))


def _columns(builder: MeshBuilder, bar: SteelBar) -> FloatArray:
    """Cuts along y, finer towards the ends; the mirrored half is cut as the whole."""
    half = max(2, round(0.5 * (bar.y_max - bar.y_min) / (COLUMN * builder.r.keeper_panel)))
    middle = 0.5 * (bar.y_min + bar.y_max)
    upper = graded(middle, bar.y_max, half, grading=0.6, both=False)
    return upper if builder.mirror else np.concatenate([2.0 * middle - upper[:0:-1], upper])


def _slices(builder: MeshBuilder, bar: SteelBar, near: Sequence[BarFace]) -> FloatArray:
    """Cuts along z; where a bar magnet lies beside it they begin and end where it does."""
    pieces = between(np.array(near[0].z), bar.z_min, bar.z_max) if near else np.array([bar.z_min, bar.z_max])
    cuts = [bar.z_min]
    for low, high in pairwise(pieces):
        count = max(2, round((high - low) / builder.r.slice_height))
        cuts += list(graded(low, high, count, grading=0.4 if count > 4 else 0.0)[1:])
    return np.array(cuts)


def _broad(
    builder: MeshBuilder, x: float, y: tuple[float, float], z: tuple[float, float], node: int,
    near: Sequence[BarFace],
) -> None:  # fmt: skip
    """Panels of a broad face; where a bar magnet is beside it they are those of the bar's face."""
    facing = [f for f in near if f.is_near(x, x, *z, builder.r.keeper_panel)]
    if facing:
        ys, zs = between(facing[0].cuts_y, *y), between(facing[0].cuts_z, *z)
    else:
        ys, zs = np.linspace(*y, max(1, round((y[1] - y[0]) / builder.r.keeper_panel)) + 1), np.array(z)
    builder.panels += [(quad, node) for quad in rectangles(x, ys, zs)]


def _flat(builder: MeshBuilder, bar: SteelBar, y: tuple[float, float], z: float, node: int) -> None:
    xs = blade_cuts(bar.x_min, bar.x_max)
    ys = np.linspace(*y, max(1, round((y[1] - y[0]) / (EDGE * builder.r.keeper_panel))) + 1)
    for (x0, x1), (y0, y1) in product(pairwise(xs), pairwise(ys)):
        builder.panels.append((np.array([[x0, y0, z], [x1, y0, z], [x1, y1, z], [x0, y1, z]]), node))


def _upright(builder: MeshBuilder, bar: SteelBar, y: float, z: tuple[float, float], node: int) -> None:
    """Panels of a narrow face at an end of the blade."""
    for x0, x1 in pairwise(blade_cuts(bar.x_min, bar.x_max)):
        builder.panels.append((np.array([[x0, y, z[0]], [x1, y, z[0]], [x1, y, z[1]], [x0, y, z[1]]]), node))
