"""A mesh that equals its own image under a half turn about the z axis: two halves of a pickup that lie side by side.

The image of (x, y, z) is (-x, -y, z). On such a mesh a vector over the elements is the sum of an even and an odd part
(`Pairs`), and with A the potentials of the near half on itself and B those of its image, V_even = A + B and V_odd =
A - B: two problems of half the size, and half as many integrals. Nothing is neglected, whatever the magnets, coils
and strings do: both parities are solved.
"""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.geometry import Mesh
from polepiece.later import linalg, sparse
from polepiece.magnetics.cholesky import lower_factor, triangular
from polepiece.magnetics.elements import Elements
from polepiece.magnetics.match import SAME_PLACE, SAME_SIZE, matching, node_of
from polepiece.magnetics.pairs import ROOT_HALF, Pairs, Parts
from polepiece.threads import side_by_side

TURN = np.array([-1.0, -1.0, 1.0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HalfTurn:
    """Which elements and nodes of a mesh are images of one another under a half turn."""

    elements: Pairs
    nodes: Pairs

    @classmethod
    def of(cls, mesh: Mesh, elements: Elements) -> "HalfTurn | None":
        """Return the pairs of ``mesh``; None where it is not its own image, or part of it is on its own image."""
        if mesh.mirrored or mesh.folded:
            return None
        image = matching(elements, elements, flip=TURN)
        if not len(image) or image.min() < 0 or not np.array_equal(image[image], np.arange(len(image))):
            return None
        x, y, _ = elements.position.T
        is_near = (y > SAME_PLACE) | ((np.abs(y) <= SAME_PLACE) & (x > SAME_PLACE))
        if not np.array_equal(is_near[image], ~is_near):
            return None
        of, near = node_of(mesh), np.flatnonzero(is_near)
        node_image = np.full(mesh.nodes, -1, dtype=np.int64)
        node_image[of] = of[image]
        near_nodes = np.unique(of[near])
        apart = np.array_equal(node_image[of], of[image]) and not np.isin(node_image[near_nodes], near_nodes).any()
        if not apart or 2 * len(near_nodes) != mesh.nodes or not _edges_alike(mesh, node_image):
            return None
        return cls(elements=Pairs(near=near, far=image[near]), nodes=Pairs(near=near_nodes, far=node_image[near_nodes]))

    def interaction(self, elements: Elements) -> Parts:
        """Return the even and the odd part (elements / 2, elements / 2), 1/m, of `Elements.interaction`.

        Derived in the module's docstring.
        """
        near, far = elements.take(self.elements.near), elements.take(self.elements.far)
        own, across = near.potentials_on(near), far.potentials_on(near)
        own, across = 0.5 * (own + own.T), 0.5 * (across + across.T)
        return own + across, own - across

    def gather(self, mesh: Mesh) -> "sparse.csr_array":
        """Return P' (nodes / 2, elements / 2) of one half."""
        place = np.searchsorted(self.nodes.near, node_of(mesh)[self.elements.near])
        shape = len(self.nodes.near), len(place)
        return sparse.csr_array((np.ones(len(place)), (place, np.arange(len(place)))), shape=shape)

    def bridges(self, stiff: FloatArray, parts: Parts) -> FloatArray:
        """Return rows (k, nodes) times L^-T, L L' = ``stiff``, in the coordinates of both parities, even first.

        ``parts`` are the rows (k, nodes / 2) in those coordinates. Products of such rows are those of whole ones.
        """
        found = side_by_side(
            lambda matrix, rows: triangular(lower_factor(matrix), rows.T).T, self.nodes.parts(stiff), parts
        )
        return np.concatenate(found, axis=1)

    def solve(self, matrix: FloatArray, right: FloatArray) -> FloatArray:
        """Return the solution (nodes,) of a positive definite ``matrix`` (nodes, nodes) that the turn leaves."""
        both = zip(self.nodes.parts(matrix), self.nodes.split(right))
        return self.nodes.join([linalg.solve(part, rhs, assume_a="pos", check_finite=False) for part, rhs in both])


def in_parts(pairs: Pairs, rows: FloatArray) -> FloatArray:
    """Return ``rows`` (..., 2 n) in the coordinates of both parities, even first."""
    near, far, n = rows[..., pairs.near], rows[..., pairs.far], len(pairs.near)
    out = np.empty_like(rows)
    np.add(near, far, out=out[..., :n])
    np.subtract(near, far, out=out[..., n:])
    out *= ROOT_HALF
    return out


def of_parts(pairs: Pairs, even: FloatArray, odd: FloatArray) -> FloatArray:
    """Return rows (k, 2 n) of their even and odd parts (k, n): the way back from `in_parts`.

    Derived at `Pairs`.
    """
    out = np.empty((len(even), 2 * len(pairs.near)))
    out[:, pairs.near] = ROOT_HALF * (even + odd)
    out[:, pairs.far] = ROOT_HALF * (even - odd)
    return out


def _edges_alike(mesh: Mesh, image: IntArray) -> bool:
    """Whether the image of every edge is an edge, as large, in a magnet or in steel as it is."""

    def listed(a: IntArray, b: IntArray) -> tuple[IntArray, FloatArray]:
        key = np.minimum(a, b) * mesh.nodes + np.maximum(a, b)
        order = np.argsort(key, kind="stable")
        is_magnet = np.asarray(mesh.is_magnet_edge, dtype=float)
        return key[order], np.column_stack([mesh.edge_area, mesh.edge_length, 1.0 + is_magnet])[order]

    here, there = listed(mesh.edge_a, mesh.edge_b), listed(image[mesh.edge_a], image[mesh.edge_b])
    return np.array_equal(here[0], there[0]) and bool(np.allclose(here[1], there[1], rtol=SAME_SIZE, atol=0.0))
