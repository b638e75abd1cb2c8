"""What two meshes have in common: elements and nodes at the same place."""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import ConvergenceError
from polepiece.geometry import Mesh
from polepiece.later import spatial
from polepiece.magnetics.elements import Elements

SAME_PLACE = 1e-8  # m: nearer than this is the same place
SAME_SIZE = 1e-6  # relative: closer than this is the same size
AS_IT_IS = np.ones(3)
IMAGE = np.array([1.0, -1.0, 1.0])


def node_of(mesh: Mesh) -> IntArray:
    """Return the node of every element of ``mesh`` (elements,)."""
    return np.concatenate([mesh.panel_node, mesh.cell_node])


def matching(of: Elements, among: Elements, *, flip: FloatArray = AS_IT_IS) -> IntArray:
    """Return the place in ``among`` of every element of ``of``, or of its image; -1 where it has none.

    ``flip`` (3,) is -1 on the axis across which the image is taken.
    """
    panels = _nearest(of.centroid * flip, among.centroid)
    if len(among.area):
        one = among.area[panels], among.size[panels], among.normal[panels]
        same = np.abs(of.area - one[0]) < SAME_SIZE * of.area
        same &= np.abs(of.size - one[1]) < SAME_SIZE * of.size
        same &= np.abs(np.einsum("px,px->p", of.normal * flip, one[2])) > 1.0 - SAME_SIZE
        panels[~same] = -1
    cells = _nearest(of.cell_centroid * flip, among.cell_centroid)
    if len(among.volume):
        cells[np.abs(of.volume - among.volume[cells]) >= SAME_SIZE * of.volume] = -1
    return np.concatenate([panels, np.where(cells < 0, -1, cells + len(among.area))])


def node_images(mesh: Mesh, image: IntArray, flip: FloatArray) -> "IntArray | None":
    """Return the image (nodes,) of each node, by its elements' ``image`` (elements,); None where they are of several.

    A node without elements, such as a sector of a sheet whose panels are all its neighbours', goes by its place; -1
    where nothing is there.
    """
    of, out = node_of(mesh), np.full(mesh.nodes, -1, dtype=np.int64)
    out[of] = of[image]
    if not np.array_equal(out[of], of[image]):
        return None
    bare = np.setdiff1d(np.arange(mesh.nodes), of)
    there = _nearest(mesh.node_position[bare] * flip, mesh.node_position[bare])
    out[bare] = np.where(there < 0, -1, bare[there] if len(bare) else -1)
    return out


def _nearest(of: FloatArray, among: FloatArray) -> IntArray:
    if not len(of) or not len(among):
        return np.full(len(of), -1, dtype=np.int64)
    distance, at = spatial.cKDTree(among).query(of)
    return np.asarray(np.where(distance < SAME_PLACE, at, -1), dtype=np.int64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Match:
    """A new mesh beside an old one; nodes are the same with all their elements or not at all."""

    mesh: Mesh  # the new one
    elements: Elements
    old: IntArray  # (elements,) the old mesh's element that each is; -1: it comes anew
    old_node: IntArray  # (nodes,) likewise
    added: IntArray  # the new mesh's elements that the old one has not
    kept: IntArray  # its other elements
    removed: IntArray  # the old mesh's elements that the new one has not
    node_removed: IntArray  # the old mesh's nodes that the new one has not

    @classmethod
    def of(cls, mesh: Mesh, old: Mesh, elements: Elements) -> "Match":
        """Compare ``mesh`` with ``old`` and its ``elements``."""
        own = Elements.of(mesh)
        place = matching(own, elements)
        here, there = node_of(mesh), node_of(old)
        met = place >= 0
        candidate = np.full(mesh.nodes, -1, dtype=np.int64)
        candidate[here[met]] = there[place[met]]
        same = met & (there[place] == candidate[here])
        count = np.bincount(here[same], minlength=mesh.nodes)
        whole = (candidate >= 0) & (count == np.bincount(here, minlength=mesh.nodes))
        whole &= count == np.bincount(there, minlength=old.nodes)[candidate]
        old_node = np.where(whole, candidate, -1)
        place = np.where(whole[here], place, -1)
        kept = np.flatnonzero(place >= 0)
        return cls(
            mesh=mesh, elements=own, old=place, old_node=old_node, added=np.flatnonzero(place < 0), kept=kept,
            removed=np.setdiff1d(np.arange(len(there)), place[kept]),
            node_removed=np.setdiff1d(np.arange(old.nodes), old_node[old_node >= 0]),
        )  # fmt: skip

    def carry(self, old: Mesh, potential: FloatArray) -> FloatArray:
        """Return potentials of the new nodes (nodes,) from those of the old ones; what comes takes its neighbour's."""
        out = np.empty(self.mesh.nodes)
        kept = self.old_node >= 0
        out[kept] = potential[self.old_node[kept]]
        if not kept.all():
            _, nearest = spatial.cKDTree(old.node_position).query(self.mesh.node_position[~kept])
            out[~kept] = potential[nearest]
        return out


def easy_edges(mesh: Mesh, half: Mesh) -> IntArray:
    """Return the easy edge of the mirrored mesh that each easy edge of ``mesh`` is, or is the image of.

    Raises
    ------
    ConvergenceError
        When the magnets of the two are cut differently.
    """

    def middles(of: Mesh) -> FloatArray:
        easy = np.flatnonzero(of.edge_sign != 0.0)
        middle = 0.5 * (of.node_position[of.edge_a[easy]] + of.node_position[of.edge_b[easy]])
        return np.column_stack([middle[:, 0], np.abs(middle[:, 1]), middle[:, 2]])

    found = _nearest(middles(mesh), middles(half))
    if len(found) and found.min() < 0:
        raise ConvergenceError("the magnets of the two meshes are cut differently.")
    return found
