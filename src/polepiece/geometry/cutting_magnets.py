"""Magnets in cells: bars in a grid, rods in layers of a core and rings of sectors."""

import math
from functools import lru_cache

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.geometry.mesh import Resolution
from polepiece.geometry.mesh_builder import MeshBuilder, graded
from polepiece.geometry.shapes import MagnetBox, MagnetRod, equal_area_polygon

THINNEST = 0.08  # of its half width: the thinnest layer of a magnet along its easy axis
PITCH = 10e-3  # m, about what lies between two poles
THICK = 3.175e-3  # m, a bar that is cut into as many layers as the resolution says; a thicker one into more
FLAT = 0.7  # share of the grading for a bar with poles on its broad face: they stand in the middle of it
ACROSS_BLADE, BESIDE_BLADE = 4, 3  # cells across a blade that stands on a bar, and on each side of it; the first even
CORE = 0.75  # area of a round magnet's core against that of a ring: its square stands over its edge, the less it is
TO_POLE = 0.7  # how much finer cells are next to a pole, 0 even .. 1 quadratic: flux crowds where a round one is near


def cut_box(builder: MeshBuilder, magnet: MagnetBox) -> None:
    """A bar magnet: a grid of cells; every panel of its surface is a node of its own."""
    builder.add(_box(magnet, builder.r, builder.mirror))


@lru_cache(maxsize=8)  # pickups whose screws are turned keep their bar
def _box(magnet: MagnetBox, resolution: Resolution, mirror: bool) -> MeshBuilder:
    builder = MeshBuilder(resolution, mirror)
    body, part = builder.body(), builder.part(magnet.part)
    cuts = box_cuts(magnet, resolution, mirror)
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
                index[i, j, k] = builder.node(centre, body)
                builder.cells.append((_hexahedron(*box), index[i, j, k]))
    for axis in range(3):
        half = 0.5 * min(size[a] for a in range(3) if a != axis)
        sign = magnet.sign if axis == magnet.easy else 0.0
        _box_edges(builder, index, cuts, axis, part, sign, half, body)
    return builder


def box_cuts(magnet: MagnetBox, r: Resolution, mirror: bool) -> list[FloatArray]:
    """Return the cuts of a bar along x, y and z, m; with ``mirror`` of its half y > 0."""
    low = 0.0 if mirror else magnet.y_min
    across, along, layers, grading = r.magnet_across, r.magnet_along, r.magnet_layers, r.grading
    if magnet.easy == 2:  # the poles stand on its broad face: cells as small as they are, all over it
        across, grading = across + across % 2, FLAT * grading  # no cell lies across the plane x = 0
        wide = min((magnet.x_max - magnet.x_min) / across, PITCH / along)
        layers = _layers(layers + 3, magnet.z_max - magnet.z_min, 0.5 * wide)
    else:
        layers = max(layers, round(layers * (magnet.z_max - magnet.z_min) / THICK))
    return [
        graded(magnet.x_min, magnet.x_max, across, grading=grading) if magnet.blade is None else _under_blade(magnet),
        _along(magnet, r, mirror, low, along),
        graded(magnet.z_min, magnet.z_max, layers, grading=grading),
    ]


def _under_blade(magnet: MagnetBox) -> FloatArray:
    """Cuts across a bar with a blade on it: those of the blade's edge (`blade_cuts`), and out to both sides."""
    assert magnet.blade is not None
    low, high = magnet.blade
    left = graded(magnet.x_min, low, BESIDE_BLADE, grading=FLAT)
    right = graded(high, magnet.x_max, BESIDE_BLADE, grading=FLAT)
    return np.concatenate([left[:-1], blade_cuts(low, high), right[1:]])


def blade_cuts(low: float, high: float) -> FloatArray:
    """Return the cuts across the edge of a blade, m: charge crowds at both corners; none lies across the middle."""
    return graded(low, high, ACROSS_BLADE, grading=FLAT)


def _along(magnet: MagnetBox, r: Resolution, mirror: bool, low: float, along: int) -> FloatArray:
    """Cuts along a bar: each pole (mark) in the middle of its stretch, finer next to it."""
    marks = np.array(sorted(y for y in magnet.marks if low < y < magnet.y_max))
    if not len(marks):
        return graded(low, magnet.y_max, 3 * along, grading=0.4, both=not mirror)
    half = 0.5 * float(np.diff(marks).min()) if len(marks) > 1 else 5e-3
    along = max(along, round(along * 2.0 * half / PITCH))  # poles far apart: cells no longer than between near ones
    cuts, finer = [low, magnet.y_max], TO_POLE * r.grading
    for y in marks:
        left = half if y - half > low - 1e-9 else y - low
        right = half if y + half < magnet.y_max + 1e-9 else magnet.y_max - y
        t = np.linspace(-1.0, 1.0, along + 1)
        t = np.sign(t) * abs(t) * (1.0 - finer * (1.0 - abs(t)))
        cuts += [y + (left if u < 0 else right) * u for u in t]
    merged = np.array(sorted(cuts))
    kept: FloatArray = merged[np.concatenate([[True], np.diff(merged) > 1e-7])]
    return kept


def _box_edges(
    builder: MeshBuilder,
    index: "np.ndarray",
    cuts: list[FloatArray],
    axis: int,
    part: int,
    sign: float,
    half: float,
    body: int,
) -> None:
    others = [a for a in range(3) if a != axis]
    width = [np.diff(c) for c in cuts]
    for cell in np.ndindex(*index.shape):
        area = float(width[others[0]][cell[others[0]]] * width[others[1]][cell[others[1]]])
        here = float(width[axis][cell[axis]])
        if cell[axis] + 1 < index.shape[axis]:
            nxt = list(cell)
            nxt[axis] += 1
            length = 0.5 * (here + float(width[axis][nxt[axis]]))
            builder.edge(int(index[cell]), int(index[tuple(nxt)]), area, length, part, axis, sign, half)
        for at, end in ((0, 0), (index.shape[axis] - 1, 1)):
            if cell[axis] != at or (axis == 1 and end == 0 and builder.mirror):
                continue
            quad = _box_face(cuts, cell, axis, end)
            panel = builder.node(tuple(quad.mean(axis=0)), body)
            builder.panels.append((quad, panel))
            inner = int(index[cell])
            a, b = (inner, panel) if end else (panel, inner)
            builder.edge(a, b, area, 0.5 * here, part, axis, sign, half)


def cut_magnet_rod(builder: MeshBuilder, magnet: MagnetRod) -> None:
    """A round magnet: layers of a core and rings of sectors; every surface panel is a node of its own."""
    body, part = builder.body(), builder.part(magnet.part)
    r = builder.r
    layers = _layers(r.rod_layers, magnet.top - magnet.bottom, magnet.radius)
    z = graded(magnet.bottom, magnet.top, layers, grading=r.grading)
    rings, n = _rings(magnet.radius, r), r.rod_sectors
    plan = _rod_plan(rings)
    columns = 1 + n * (len(rings) - 1)
    centre = np.array([magnet.x, magnet.y])
    index = np.empty((len(z) - 1, columns), dtype=int)
    for k in range(len(z) - 1):
        for c in range(columns):
            middle = plan.centre[c] + centre
            index[k, c] = builder.node((middle[0], middle[1], 0.5 * (z[k] + z[k + 1])), body)
            builder.cells.append((_prism(plan.quads[c] + centre, z[k], z[k + 1]), index[k, c]))
        thick = z[k + 1] - z[k]
        for a, b, side, length in plan.inner_edges:
            builder.edge(index[k, a], index[k, b], side * thick, length, part, 0, 0.0, magnet.radius)
        for c, p, q, length in plan.outer_edges:
            quad = np.array(
                [
                    [*(p + centre), z[k]],
                    [*(q + centre), z[k]],
                    [*(q + centre), z[k + 1]],
                    [*(p + centre), z[k + 1]],
                ]
            )
            panel = builder.node(tuple(quad.mean(axis=0)), body)
            builder.panels.append((quad, panel))
            side = float(np.linalg.norm(q - p))
            builder.edge(index[k, c], panel, side * thick, length, part, 0, 0.0, magnet.radius)
    for c in range(columns):
        for k in range(len(z) - 2):
            length = 0.5 * (z[k + 2] - z[k])
            builder.edge(index[k, c], index[k + 1, c], plan.area[c], length, part, 2, magnet.sign, magnet.radius)
        for k, height, end in ((0, z[0], 0), (len(z) - 2, z[-1], 1)):
            middle = plan.centre[c] + centre
            panel = builder.node((middle[0], middle[1], height), body)
            for quad2 in plan.faces[c]:
                w = quad2 + centre
                builder.flat_quad(w[0], w[1], w[2], w[3], height, panel)
            a, b = (index[k, c], panel) if end else (panel, index[k, c])
            builder.edge(a, b, plan.area[c], 0.5 * (z[k + 1] - z[k]), part, 2, magnet.sign, magnet.radius)


def rod_end(radius: float, r: Resolution) -> list[FloatArray]:
    """Return the panels (each 4 corners, 2) of a round magnet's end face round the origin."""
    return [one for faces in _rod_plan(_rings(radius, r)).faces for one in faces]


def _rings(radius: float, r: Resolution) -> list[FloatArray]:
    """Return the outer edges of a round magnet's core and rings: rings of equal area, finer outside."""
    core = CORE / r.rod_rings if r.rod_rings > 1 else 1.0
    fractions = np.sqrt(np.linspace(core, 1.0, r.rod_rings))
    return [equal_area_polygon(radius * f, r.rod_sectors) for f in fractions]


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
    # one panel, a square as the cell is: panels that share a potential would be a plate that conducts flux sideways
    plan.faces.append([plan.quads[0]])
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


def _polygon_area(points: FloatArray) -> float:
    x, y = points[:, 0], points[:, 1]
    return float(0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))


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
