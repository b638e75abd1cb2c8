"""What a mesh is gathered in while steel and magnets are cut."""

import math

import numpy as np

from polepiece.arrays import FloatArray, frozen
from polepiece.geometry.mesh import Mesh, Resolution

WIDE_REACH = 2.0
"""Diameters within which what a panel of a thin sheet, or of a part before it, does to others is averaged over them.

Charges on the sheet's two faces and on the part before it nearly cancel; with one diameter those of the nearer face are
averaged and those of the other not, and the field that a cover leaves over a slug is a twelfth off (study
one-pole-covered; with four, and panels half as wide, within 1 %).
"""


def graded(start: float, stop: float, count: int, *, grading: float, both: bool = True) -> FloatArray:
    """Return ``count + 1`` cuts from ``start`` to ``stop``, finer towards both ends (or towards ``stop``)."""
    t = np.linspace(0.0, 1.0, count + 1)
    fine = 0.5 * (1.0 - np.cos(math.pi * t)) if both else np.sin(0.5 * math.pi * t)
    return start + (stop - start) * ((1.0 - grading) * t + grading * fine)


def flat_corners(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray, z: float) -> FloatArray | None:
    """Return four plan points at the height ``z`` (4, 3); None where they enclose no area."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = a, b, c, d
    if not 0.5 * abs((cx - ax) * (dy - by) - (cy - ay) * (dx - bx)) > 1e-12:
        return None
    return np.array([[ax, ay, z], [bx, by, z], [cx, cy, z], [dx, dy, z]])


class MeshBuilder:
    """Nodes, edges, panels and cells as they are cut, and the mesh that they make."""

    def __init__(self, resolution: Resolution, mirror: bool) -> None:
        self.r = resolution
        self.mirror = mirror
        self.panels: list[tuple[FloatArray, int]] = []
        self.cells: list[tuple[FloatArray, int]] = []
        self.nodes: list[tuple[float, float, float]] = []
        self.axes: list[tuple[float, float]] = []
        self.node_bodies: list[int] = []
        self.edges: list[tuple[int, int, float, float, int, int, float, float]] = []
        self.passages: list[tuple[list[int], tuple[float, float, float, float, float]]] = []
        self.steps: list[tuple[int, tuple[float, float, float]]] = []
        self.parts: list[str] = []
        self.bodies = 0
        self.thin: set[int] = set()  # nodes of thin sheets, and of ends and sides before them

    def kept(self, y: float) -> bool:
        """Tell whether what stands at ``y`` is meshed: with a mirror plane only y > 0 is."""
        return not self.mirror or y > 0.0

    def part(self, name: str) -> int:
        """Return the number of a part by its name."""
        if name not in self.parts:
            self.parts.append(name)
        return self.parts.index(name)

    def node(self, position: tuple[float, float, float], body: int, axis: tuple[float, float] | None = None) -> int:
        """Add a node and return its number; ``axis`` is that of its pole, else its own x and y."""
        self.nodes.append(position)
        self.axes.append(axis or position[:2])
        self.node_bodies.append(body)
        return len(self.nodes) - 1

    def edge(self, a: int, b: int, area: float, length: float, part: int, axis: int, sign: float, scale: float) -> None:
        """Add an edge from node ``a`` to ``b``; the rest as the fields of `Mesh` say."""
        self.edges.append((a, b, area, length, part, axis, sign, scale))

    def body(self) -> int:
        """Return the number of a new connected body."""
        self.bodies += 1
        return self.bodies - 1

    def flat_quad(self, a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray, z: float, node: int) -> None:
        """Add a panel at the height ``z`` over four plan points; one without area is left out."""
        corners = flat_corners(a, b, c, d, z)
        if corners is not None:
            self.panels.append((corners, node))

    def add(self, other: "MeshBuilder") -> None:
        """Add all that ``other`` gathered."""
        nodes, bodies, edges = len(self.nodes), self.bodies, len(self.edges)
        parts = [self.part(name) for name in other.parts]
        self.panels += [(corners, node + nodes) for corners, node in other.panels]
        self.cells += [(faces, node + nodes) for faces, node in other.cells]
        self.nodes += other.nodes
        self.axes += other.axes
        self.node_bodies += [body + bodies for body in other.node_bodies]
        self.edges += [
            (a + nodes, b + nodes, area, length, parts[part], axis, sign, scale)
            for a, b, area, length, part, axis, sign, scale in other.edges
        ]
        self.passages += [([e + edges if e >= 0 else -1 for e in own], shape) for own, shape in other.passages]
        self.steps += [(e + edges, shape) for e, shape in other.steps]
        self.bodies += other.bodies
        self.thin |= {node + nodes for node in other.thin}

    def mesh(self) -> Mesh:
        """Return what was gathered as a mesh."""
        edges = np.array(self.edges, dtype=float).reshape(-1, 8)
        return Mesh(
            mirrored=self.mirror,
            panel_corners=frozen([p for p, _ in self.panels] or np.empty((0, 4, 3))),
            panel_node=_ints([n for _, n in self.panels]),
            panel_reach=frozen([WIDE_REACH if n in self.thin else 1.0 for _, n in self.panels]),
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
            passage_edge=_ints([e for e, _ in self.passages]).reshape(-1, 5),
            passage_shape=frozen(np.array([s for _, s in self.passages]).reshape(-1, 5)),
            step_edge=_ints([e for e, _ in self.steps]),
            step_shape=frozen(np.array([s for _, s in self.steps]).reshape(-1, 3)),
            parts=tuple(self.parts),
            bodies=self.bodies,
        )


def _ints(values: object) -> "np.ndarray":
    out = np.array(values, dtype=np.int64)
    out.flags.writeable = False
    return out
