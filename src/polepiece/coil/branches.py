"""Where bodies pierce sheets, and on which side of a piercing the sheets' potential takes another branch.

The potential of a current in a sheet jumps by psi through the sheet; along a body that goes through a hole it must not.
A body that pierces a sheet gets psi of that hole, once and the same for all of its elements on one side: the side where
the pole that pierces ends freely. The side is each element's own: the underside of a screw's head may lie below a sheet
that the middle of the same slice is above. Where several poles hang together on one side (screws in a keeper) the
current that they thread is so counted for each of them, on its own head, and the keeper keeps one potential.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.coil.plates import Plate
from polepiece.geometry import Mesh
from polepiece.magnetics import across_plane


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Branch:
    """One piercing: the sheet's number and plane, the place, the pole's nodes, and the side of it that takes psi."""

    sheet: int
    x: float
    y: float
    z: float
    pole: IntArray
    takes_above: bool  # -psi; else what is below takes +psi

    def side(self, node: IntArray, height: FloatArray) -> FloatArray:
        """Return what elements (n,) of these nodes, at these heights (m), take of psi: -1 above, +1 below, or 0."""
        above = height > self.z
        own = np.isin(node, self.pole) & (above if self.takes_above else ~above)
        return np.where(own, -1.0 if self.takes_above else 1.0, 0.0)


def branches(mesh: Mesh, plates: Sequence[Plate]) -> Iterator[Branch]:
    """Yield a branch for each pole of ``mesh`` that pierces the top of one of ``plates``."""
    for x, y, nodes in _poles(mesh):
        z = mesh.node_position[nodes, 2]
        for number, plate in enumerate(plates):
            inside = plate.x_min < x < plate.x_max and plate.y_min < y < plate.y_max
            if not inside or not z.min() < plate.z < z.max():
                continue
            free = not _hangs(mesh, nodes[z > plate.z], nodes)
            yield Branch(sheet=number, x=x, y=y, z=plate.z, pole=nodes, takes_above=free)


def _poles(mesh: Mesh) -> Iterator[tuple[float, float, IntArray]]:
    """Nodes that share a vertical axis: of each steel rod, and of each body that is one round magnet."""
    keys = np.rint(mesh.node_axis * 1e7).astype(np.int64)
    _, group = np.unique(np.column_stack([mesh.node_body, keys]), axis=0, return_inverse=True)
    steel = np.ones(mesh.nodes, dtype=bool)
    inside = np.asarray(mesh.is_magnet_edge, dtype=bool)
    steel[mesh.edge_a[inside]] = steel[mesh.edge_b[inside]] = False
    for one in np.unique(group[steel]):
        nodes = np.flatnonzero(group.ravel() == one)
        if len(nodes) > 1:
            yield float(mesh.node_axis[nodes[0], 0]), float(mesh.node_axis[nodes[0], 1]), nodes
    across = across_plane(mesh) if mesh.folded else set()  # of these only the half x >= 0 is there
    for body in np.unique(mesh.node_body[~steel]):
        nodes = np.flatnonzero((mesh.node_body == body) & ~steel)
        x, y = mesh.node_position[nodes, :2].mean(axis=0)
        yield 0.0 if body in across else float(x), float(y), nodes


def _hangs(mesh: Mesh, side: IntArray, pole: IntArray) -> bool:
    """Tell whether a side of a pole is joined to anything but the pole."""
    here, own = np.zeros(mesh.nodes, dtype=bool), np.zeros(mesh.nodes, dtype=bool)
    here[side], own[pole] = True, True
    a, b = mesh.edge_a, mesh.edge_b
    return bool(((here[a] & ~own[b]) | (here[b] & ~own[a])).any())
