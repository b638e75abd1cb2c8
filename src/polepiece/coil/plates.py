"""Thin conducting sheets (base plate, cover) as grids of loop currents.

A sheet is cut into rectangular meshes; each carries a loop current, and what flows along the border of two
meshes is their difference (a strip with resistance and partial inductance). No current leaves the sheet.
"""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, points_array
from polepiece.constants import MU_0
from polepiece.errors import InputError

PAIRS_AT_ONCE = 2**16  # points times meshes, so that what is worked on stays in the processor's cache
STRIP_GMD = 0.2231  # geometric mean distance of a flat strip from itself, of its width: exp(-3/2), Grover 1946 (memory)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """A flat sheet in a plane of constant z (m), with an optional skirt of four walls down from its rim."""

    x_min: float
    x_max: float
    y_min: float
    y_max: float
    z: float
    thickness: float
    resistivity: float
    skirt: float = 0.0
    cell: float = 5.0e-3

    def __post_init__(self) -> None:
        """Refuse plates without area."""
        if not (self.x_min < self.x_max and self.y_min < self.y_max and self.thickness > 0 and self.resistivity > 0):
            raise InputError("a plate needs positive length, width, thickness and resistivity.")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoopGrid:
    """Meshes of one plate: corners (c, 4, 3) counter-clockwise about the outward normal, and its matrices.

    ``group`` (c,) gives the unknown each mesh belongs to: mirror images in y = 0 share one where mirrored.
    """

    corners: FloatArray
    group: np.ndarray
    groups: int
    resistance: FloatArray  # (groups, groups) ohm
    inductance: FloatArray  # (groups, groups) H


def loop_grid(plate: Plate, *, mirrored: bool) -> LoopGrid:
    """Cut ``plate`` into meshes and return them with their resistance and inductance matrices."""
    corners = _meshes(plate)
    count = len(corners)
    starts, stops = corners.reshape(-1, 3), np.roll(corners, -1, axis=1).reshape(-1, 3)
    edges: dict[tuple[int, ...], int] = {}
    incidence_rows: list[tuple[int, int, float]] = []
    ends: list[tuple[FloatArray, FloatArray]] = []
    widths: list[float] = []
    for k in range(len(starts)):
        mesh = k // 4
        key = tuple(np.rint((starts[k] + stops[k]) * 5e7).astype(int))
        side = float(np.linalg.norm(starts[k] - stops[k]))
        area = _mesh_area(corners[mesh])
        if key not in edges:
            edges[key] = len(ends)
            ends.append((starts[k], stops[k]))
            widths.append(0.0)
        edge = edges[key]
        same = float(np.dot(stops[k] - starts[k], ends[edge][1] - ends[edge][0])) > 0.0
        incidence_rows.append((edge, mesh, 1.0 if same else -1.0))
        widths[edge] += 0.5 * area / side
    incidence = np.zeros((len(ends), count))
    for edge, mesh, sign in incidence_rows:
        incidence[edge, mesh] += sign
    width = np.array(widths)
    a = np.array([e[0] for e in ends])
    b = np.array([e[1] for e in ends])
    length = np.linalg.norm(b - a, axis=1)
    ohms = plate.resistivity * length / (width * plate.thickness)
    partial = _partial_inductances(a, b, STRIP_GMD * (width + plate.thickness))
    group, groups = _groups(corners, mirrored)
    gather = np.zeros((count, groups))
    gather[np.arange(count), group] = 1.0
    shaped = incidence @ gather
    return LoopGrid(
        corners=corners,
        group=group,
        groups=groups,
        resistance=shaped.T @ (ohms[:, None] * shaped),
        inductance=shaped.T @ partial @ shaped,
    )


def _meshes(plate: Plate) -> FloatArray:
    nx = max(2, round((plate.x_max - plate.x_min) / plate.cell))
    ny = 2 * max(1, round(0.5 * (plate.y_max - plate.y_min) / plate.cell))
    x, y = np.linspace(plate.x_min, plate.x_max, nx + 1), np.linspace(plate.y_min, plate.y_max, ny + 1)
    z = plate.z
    out = [
        [[x[i], y[j], z], [x[i + 1], y[j], z], [x[i + 1], y[j + 1], z], [x[i], y[j + 1], z]]
        for i in range(nx)
        for j in range(ny)
    ]
    if plate.skirt > 0.0:
        low = z - plate.skirt
        for j in range(ny):
            a, b = y[j], y[j + 1]
            out.append([[x[-1], a, low], [x[-1], b, low], [x[-1], b, z], [x[-1], a, z]])
            out.append([[x[0], b, low], [x[0], a, low], [x[0], a, z], [x[0], b, z]])
        for i in range(nx):
            a, b = x[i], x[i + 1]
            out.append([[b, y[-1], low], [a, y[-1], low], [a, y[-1], z], [b, y[-1], z]])
            out.append([[a, y[0], low], [b, y[0], low], [b, y[0], z], [a, y[0], z]])
    return np.array(out)


def _mesh_area(corners: FloatArray) -> float:
    return float(np.linalg.norm(np.cross(corners[1] - corners[0], corners[3] - corners[0])))


def _groups(corners: FloatArray, mirrored: bool) -> tuple[np.ndarray, int]:
    if not mirrored:
        return np.arange(len(corners)), len(corners)
    centre = corners.mean(axis=1)
    keys = [(round(c[0] * 1e8), round(abs(c[1]) * 1e8), round(c[2] * 1e8)) for c in centre]
    names = {key: k for k, key in enumerate(dict.fromkeys(keys))}
    return np.array([names[key] for key in keys]), len(names)


def _partial_inductances(a: FloatArray, b: FloatArray, gmd: FloatArray) -> FloatArray:
    """Partial inductances (e, e) in H of straight strips that run along one of the axes."""
    direction = (b - a) / np.linalg.norm(b - a, axis=1)[:, None]
    out = np.zeros((len(a), len(a)))
    for axis in range(3):
        rows = np.flatnonzero(abs(direction[:, axis]) > 0.5)
        if not len(rows):
            continue
        others = [k for k in range(3) if k != axis]
        a1, a2 = a[rows, axis], b[rows, axis]
        offset = a[rows][:, None, others] - a[rows][None, :, others]
        distance = np.sqrt((offset**2).sum(axis=2))
        distance = np.maximum(distance, np.sqrt(gmd[rows][:, None] * gmd[rows][None, :]))
        value = _primitive(a2[None] - a1[:, None], distance) - _primitive(a2[None] - a2[:, None], distance)
        value += _primitive(a1[None] - a2[:, None], distance) - _primitive(a1[None] - a1[:, None], distance)
        out[np.ix_(rows, rows)] = MU_0 / (4.0 * np.pi) * value
    return out


def _primitive(u: FloatArray, d: FloatArray) -> FloatArray:
    out: FloatArray = u * np.arcsinh(u / d) - np.sqrt(u * u + d * d)
    return out


def grid_potential(grid: LoopGrid, points: FloatArray, axes: "FloatArray | None" = None) -> FloatArray:
    """Return the source potential (n, groups), A per A, of every unknown of ``grid`` at ``points`` (n, 3).

    ``axes`` (n, 2): the vertical line of the pole a point belongs to (NaN: none). A pole that passes through
    a horizontal mesh gets the continuous branch, one ampere more below it.
    """
    points = points_array(points)
    out = np.zeros((len(points), grid.groups))
    step = max(1, PAIRS_AT_ONCE // max(len(points), 1))
    for first in range(0, len(grid.corners), step):
        corners = grid.corners[first : first + step]
        value = _solid_angle(points, corners) / (4.0 * np.pi)
        if axes is not None:
            low, high = corners.min(axis=1), corners.max(axis=1)
            hit = (axes[:, None, :] > low[:, :2]) & (axes[:, None, :] <= high[:, :2])
            level = high[:, 2] - low[:, 2] < 1e-12
            value += hit.all(axis=2) & level & (points[:, 2:] < corners[:, 0, 2])
        np.add.at(out.T, grid.group[first : first + step], value.T)
    return out


def _solid_angle(points: FloatArray, corners: FloatArray) -> FloatArray:
    """Solid angles (n, c) of quadrilaterals, positive on the side of the normal (Van Oosterom and Strackee 1983)."""
    r = [[corners[:, k, i] - points[:, None, i] for i in range(3)] for k in range(4)]
    size = [np.sqrt(x * x + y * y + z * z) for x, y, z in r]
    total = np.zeros((len(points), len(corners)))
    for a, b, c in ((0, 1, 2), (0, 2, 3)):
        (ax, ay, az), (bx, by, bz), (cx, cy, cz) = r[a], r[b], r[c]
        triple = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
        bottom = size[a] * size[b] * size[c]
        bottom += (ax * bx + ay * by + az * bz) * size[c]
        bottom += (bx * cx + by * cy + bz * cz) * size[a]
        bottom += (cx * ax + cy * ay + cz * az) * size[b]
        total -= 2.0 * np.arctan2(triple, bottom)
    return total


def coil_to_grid(grid: LoopGrid, segments: "tuple[FloatArray, FloatArray, FloatArray]") -> FloatArray:
    """Return the mutual inductance (groups,) in H between the meshes and a winding.

    ``segments`` = (starts (s, 3), stops (s, 3), turns (s,)) of the winding's straight filaments.
    """
    a, b, turns = segments
    starts, stops = grid.corners.reshape(-1, 3), np.roll(grid.corners, -1, axis=1).reshape(-1, 3)
    out = np.zeros(len(starts))
    for axis in (0, 1):
        coil = np.flatnonzero(abs((b - a)[:, axis]) > 1e-9)
        rows = np.flatnonzero(abs((stops - starts)[:, axis]) > 1e-9)
        if not len(rows) or not len(coil):
            continue
        others = [k for k in range(3) if k != axis]
        offset = starts[rows][:, None, others] - a[coil][None, :, others]
        distance = np.maximum(np.sqrt((offset**2).sum(axis=2)), 1e-6)
        p1, p2 = starts[rows][:, None, axis], stops[rows][:, None, axis]
        q1, q2 = a[coil][None, :, axis], b[coil][None, :, axis]
        value = _primitive(q2 - p1, distance) - _primitive(q2 - p2, distance)
        value += _primitive(q1 - p2, distance) - _primitive(q1 - p1, distance)
        out[rows] = (value * turns[coil]).sum(axis=1)
    per_mesh = MU_0 / (4.0 * np.pi) * out.reshape(-1, 4).sum(axis=1)
    result = np.zeros(grid.groups)
    np.add.at(result, grid.group, per_mesh)
    return result


def grids_mutual(first: LoopGrid, second: LoopGrid) -> FloatArray:
    """Return the mutual inductance (groups of first, groups of second) between two plates, H."""
    stops = np.roll(second.corners, -1, axis=1)
    out = np.zeros((first.groups, second.groups))
    for mesh in range(len(second.corners)):
        segments = (second.corners[mesh], stops[mesh], np.ones(4))
        out[:, second.group[mesh]] += coil_to_grid(first, segments)
    return out
