"""Thin conducting sheets (base plate, cover) as grids of a stream function.

A stream function psi, A, lives on the nodes of rectangular grids, bilinear on each cell; K = grad psi x n flows in
the sheet, n outwards. It is zero on a free rim, runs on over an edge from the top to a wall, and has one value all
over a hole, so that no current leaves the sheet and none crosses a hole.

Mesh rule. Along each axis the lines are no further apart than ``cell`` and, beside the poles (``near_x``, ``near_y``)
and towards the edge of the top down a wall, than ``fine``; away from there the spacing grows by GROWTH of the
distance. With psi linear on a cell, spacings of about the distance to what the sheet acts on (strings 1.5 mm above a
cover, poles 0.5 to 1 mm below it) are enough: twice as fine a mesh moves the change that a sheet makes by less than
2 % (tests/property/test_sheet_laws.py). A round hole is a square of the same polarisability, which lines bound.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import InputError

GROWTH = 0.35  # of the spacing of lines with the distance from the poles
HOLE_SIDE = 2.0 * math.sqrt(math.pi / 2.0 / 2.188)  # of the square, per radius: polarisability 2.188 a side squared
#                                                   (an insulating square; Thorpe 1992, memory) against 2 pi r^2


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """A flat sheet in a plane of constant z, with an optional skirt of four walls down from its rim; middle planes, m.

    ``holes`` are round: (x, y, radius). ``near_x`` and ``near_y`` say where poles stand; see the mesh rule.
    """

    x_min: float
    x_max: float
    y_min: float
    y_max: float
    z: float
    thickness: float
    resistivity: float
    skirt: float = 0.0
    holes: tuple[tuple[float, float, float], ...] = ()
    near_x: tuple[float, ...] = ()
    near_y: tuple[float, ...] = ()
    steel: str = ""  # the part of the magnetic circuit that it is as well; empty: it is not magnetic
    cell: float = 3.8e-3
    fine: float = 1.9e-3

    def __post_init__(self) -> None:
        """Refuse plates without area and holes that do not lie inside."""
        if not (self.x_min < self.x_max and self.y_min < self.y_max and self.thickness > 0 and self.resistivity > 0):
            raise InputError("a plate needs positive length, width, thickness and resistivity.")
        for x, y, radius in self.holes:
            side = min(x - self.x_min, self.x_max - x, y - self.y_min, self.y_max - y)
            if not 0.0 < radius < side:
                raise InputError(
                    f"a hole of radius {1e3 * radius:.2f} mm at ({1e3 * x:.1f}, {1e3 * y:.1f}) mm does not lie inside "
                    f"its sheet; its radius must be above 0 and below {1e3 * side:.2f} mm."
                )

    @property
    def is_even(self) -> bool:
        """True when the sheet and its holes are their own image in x = 0."""
        across = {(-x, y, radius) for x, y, radius in self.holes}
        return self.x_min == -self.x_max and across == set(self.holes)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Face:
    """One plane grid: its frame and the number of the node at each crossing of lines."""

    origin: FloatArray  # (3,)
    frame: FloatArray  # (3, 3): rows are the two axes and the normal
    first: FloatArray  # (nx,) lines along the first axis, m
    second: FloatArray  # (ny,)
    nodes: IntArray  # (nx, ny)

    def local(self, points: FloatArray) -> FloatArray:
        """Return ``points`` (n, 3) in the face's frame."""
        return np.ascontiguousarray((points - self.origin) @ self.frame.T)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetMesh:
    """The faces of one plate, the top first, and which nodes share an unknown."""

    plate: Plate
    faces: tuple[Face, ...]
    position: FloatArray  # (nodes, 3)
    unknown: IntArray  # (nodes,) number of the unknown, -1 where psi is zero
    unknowns: int

    @classmethod
    def of(cls, plate: Plate) -> "SheetMesh":
        """Cut ``plate``."""
        numbers: dict[tuple[int, int, int], int] = {}
        places: list[FloatArray] = []
        faces = []
        for origin, frame, first, second in _planes(plate):
            at = origin + first[:, None, None] * frame[0] + second[None, :, None] * frame[1]
            keys = np.rint(at * 1e8).astype(np.int64)
            nodes = np.empty(at.shape[:2], dtype=np.int64)
            for i in range(len(first)):
                for j in range(len(second)):
                    key = (int(keys[i, j, 0]), int(keys[i, j, 1]), int(keys[i, j, 2]))
                    if key not in numbers:
                        numbers[key] = len(numbers)
                        places.append(at[i, j])
                    nodes[i, j] = numbers[key]
            faces.append(Face(origin=origin, frame=frame, first=first, second=second, nodes=nodes))
        position = np.array(places)
        unknown, count = _unknowns(plate, position)
        return cls(plate=plate, faces=tuple(faces), position=position, unknown=unknown, unknowns=count)

    def image(self, axis: int) -> "IntArray | None":
        """Return the unknown (unknowns,) that each becomes with an axis (0 x, 1 y) turned; None: no mirror."""
        sign = np.ones(3)
        sign[axis] = -1.0
        found = {tuple(k): n for n, k in enumerate(np.rint(self.position * 1e8).astype(np.int64).tolist())}
        out = np.full(self.unknowns, -1)
        for node, key in enumerate(np.rint(self.position * sign * 1e8).astype(np.int64).tolist()):
            other = found.get(tuple(key))
            if other is None or (self.unknown[other] < 0) != (self.unknown[node] < 0):
                return None
            if self.unknown[node] >= 0:
                if out[self.unknown[node]] not in (-1, self.unknown[other]):
                    return None
                out[self.unknown[node]] = self.unknown[other]
        return out

    def at(self, x: float, y: float) -> FloatArray:
        """Return psi (nodes,) of each node at a place of the top."""
        top = self.faces[0]
        weights = [
            np.array([np.interp(p, g, one) for one in np.eye(len(g))]) for p, g in ((x, top.first), (y, top.second))
        ]
        out = np.zeros(len(self.position))
        np.add.at(out, top.nodes.ravel(), np.outer(*weights).ravel())
        return out


def _planes(plate: Plate) -> "list[tuple[FloatArray, FloatArray, FloatArray, FloatArray]]":
    """Origin, frame (axes and outward normal) and lines of the top and of the walls."""
    x = _lines(plate, plate.x_min, plate.x_max, plate.near_x, 0)
    y = _lines(plate, plate.y_min, plate.y_max, plate.near_y, 1)
    ex, ey, ez = np.eye(3)
    out = [(np.array([0.0, 0.0, plate.z]), np.array([ex, ey, ez]), x, y)]
    if plate.skirt > 0.0:
        z = plate.z + _spaced([-plate.skirt, 0.0], (0.0,), plate.fine, plate.cell)
        out += [
            (np.array([plate.x_max, 0.0, 0.0]), np.array([ey, ez, ex]), y, z),
            (np.array([plate.x_min, 0.0, 0.0]), np.array([ez, ey, -ex]), z, y),
            (np.array([0.0, plate.y_max, 0.0]), np.array([ez, ex, ey]), z, x),
            (np.array([0.0, plate.y_min, 0.0]), np.array([ex, ez, -ey]), x, z),
        ]
    return out


def _lines(plate: Plate, low: float, high: float, near: tuple[float, ...], axis: int) -> FloatArray:
    """Lines of the top along x or y, the same on both sides of its middle; they bound the holes."""
    middle = 0.5 * (low + high)
    half = 0.5 * HOLE_SIDE
    marks = {0.0, high - middle}
    for hole in plate.holes:
        at = abs(hole[axis] - middle)
        marks |= {m for m in (at - half * hole[2], at + half * hole[2]) if m > 0.0}
    kept = [0.0]
    for mark in sorted(marks)[1:]:
        if mark - kept[-1] > 1e-6:
            kept.append(mark)
    side = _spaced(kept, tuple(abs(n - middle) for n in near), plate.fine, plate.cell)
    return middle + np.concatenate([-side[:0:-1], side])


def _spaced(marks: list[float], near: tuple[float, ...], fine: float, cell: float) -> FloatArray:
    """Lines through all ``marks``, as far apart as the mesh rule says."""
    found = [np.array(marks[:1])]
    for a, b in pairwise(marks):
        t = np.linspace(a, b, 65)
        away = np.min([abs(t - n) for n in near], axis=0) if near else np.full(len(t), np.inf)
        density = 1.0 / np.minimum(cell, fine + GROWTH * away)
        steps = np.concatenate([[0.0], np.cumsum(0.5 * (density[1:] + density[:-1]) * np.diff(t))])
        count = max(1, math.ceil(steps[-1] - 0.05))
        found.append(np.interp(np.linspace(0.0, steps[-1], count + 1), steps, t)[1:])
    return np.concatenate(found)


def _unknowns(plate: Plate, position: FloatArray) -> tuple[IntArray, int]:
    """Number the unknowns: none on a free rim, one for each hole."""
    if plate.skirt > 0.0:
        rim = position[:, 2] < plate.z - plate.skirt + 1e-9
    else:
        inside = [(position[:, k] > low + 1e-9) & (position[:, k] < high - 1e-9) for k, low, high in
                  ((0, plate.x_min, plate.x_max), (1, plate.y_min, plate.y_max))]  # fmt: skip
        rim = ~(inside[0] & inside[1])
    owner = np.arange(len(position))
    top = abs(position[:, 2] - plate.z) < 1e-9
    for x, y, radius in plate.holes:
        half = 0.5 * HOLE_SIDE * radius + 1e-8
        hit = np.flatnonzero(top & (abs(position[:, 0] - x) <= half) & (abs(position[:, 1] - y) <= half))
        if len(hit):
            owner[np.isin(owner, owner[hit])] = owner[hit].min()  # holes that touch are one
    free = np.unique(owner[~rim])
    free = np.setdiff1d(free, owner[rim])
    out = np.full(len(position), -1)
    known = np.isin(owner, free)
    out[known] = np.searchsorted(free, owner[known])
    return out, len(free)
