"""A mesh that equals its own image under a half turn about the z axis: two halves of a pickup that lie side by side.

The image of (x, y, z) is (-x, -y, z). Of a pickup that is the same across y = 0 only the half with y >= 0 is there, and
the image is taken as (-x, y, z); where a pole of an odd number stands on y = 0, leaving no half, as (x, -y, z).
On such a mesh a vector over the elements is the sum of an even and an odd part (`Pairs`), and with A the potentials of
the near half on itself and B those of its image, V_even = A + B and V_odd = A - B: two problems of half the size, and
half as many integrals. What lies on the axis or the plane and is its own image counts as even. Nothing is neglected,
whatever the magnets, coils and strings do: both parities are solved.
"""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.geometry import Mesh
from polepiece.later import linalg, sparse
from polepiece.magnetics.cholesky import lower_factor, triangular
from polepiece.magnetics.elements import ACROSS, Elements
from polepiece.magnetics.match import IMAGE, SAME_PLACE, SAME_SIZE, matching, node_images, node_of
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
        """Return the pairs of ``mesh``; None where it is not its own image."""
        flips = [ACROSS] if mesh.mirrored else [TURN, IMAGE]
        found = (cls._by(mesh, elements, flip) for flip in flips if not mesh.folded)
        return next((one for one in found if one is not None), None)

    @classmethod
    def _by(cls, mesh: Mesh, elements: Elements, flip: FloatArray) -> "HalfTurn | None":
        if not all(_is_balanced(elements.position[:, axis]) for axis in np.flatnonzero(flip < 0.0)):
            return None
        image = matching(elements, elements, flip=flip)
        if not len(image) or image.min() < 0 or not np.array_equal(image[image], np.arange(len(image))):
            return None
        own = image == np.arange(len(image))
        is_near = ~own & _is_near(mesh, elements.position)
        if not np.array_equal(is_near[image], ~is_near & ~own):
            return None
        nodes = _node_pairs(mesh, image, is_near, flip)
        if nodes is None or not _edges_alike(mesh, nodes.images):
            return None
        near = np.flatnonzero(is_near)
        return cls(elements=Pairs(near=near, far=image[near], own=np.flatnonzero(own)), nodes=nodes)

    def interaction(self, elements: Elements) -> Parts:
        """Return the even and the odd part, 1/m, of `Elements.interaction`.

        Derived in the module's docstring.
        """
        near, far = elements.take(self.elements.near), elements.take(self.elements.far)
        own, across = near.potentials_on(near), far.potentials_on(near)
        own, across = 0.5 * (own + own.T), 0.5 * (across + across.T)
        even, n = np.empty((self.elements.evens,) * 2), len(own)
        np.add(own, across, out=even[:n, :n])
        if len(self.elements.own):
            middle = elements.take(self.elements.own)
            beside = ROOT_HALF * (middle.potentials_on(near) + near.potentials_on(middle).T)
            even[:n, n:], even[n:, :n], even[n:, n:] = beside, beside.T, middle.interaction()
        return even, own - across

    def gather(self, gather: "sparse.csr_array") -> "tuple[sparse.csr_array, sparse.csr_array]":
        """Return the even and the odd part of ``gather``, P' (nodes, elements) of the mesh."""
        both = zip(self.nodes.bases(), self.elements.bases())
        even, odd = (sparse.csr_array(nodes.T @ gather @ elements) for nodes, elements in both)
        return even, odd

    def bridges(self, stiff: FloatArray, parts: Parts) -> list[FloatArray]:
        """Return rows (k, nodes) times L^-T, L L' = ``stiff``, in the coordinates of each parity, even first.

        ``parts`` are the rows in those coordinates, and used up. Products of such rows are those of whole ones.
        """

        def bridge(matrix: FloatArray, rows: FloatArray) -> FloatArray:
            return triangular(lower_factor(matrix), rows.T, overwrite=True).T

        return side_by_side(bridge, self.nodes.parts(stiff), parts)

    def solve(self, matrix: FloatArray, right: FloatArray) -> FloatArray:
        """Return the solution (nodes,) of a positive definite ``matrix`` (nodes, nodes) that the turn leaves."""
        both = zip(self.nodes.parts(matrix), self.nodes.split(right))
        return self.nodes.join([linalg.solve(part, rhs, assume_a="pos", check_finite=False) for part, rhs in both])


def in_parts(pairs: Pairs, rows: FloatArray) -> FloatArray:
    """Return ``rows`` (..., 2 n + s) in the coordinates of both parities, even first."""
    near, far, n = rows[..., pairs.near], rows[..., pairs.far], len(pairs.near)
    out = np.empty_like(rows)
    np.add(near, far, out=out[..., :n])
    np.subtract(near, far, out=out[..., pairs.evens :])
    out[..., n : pairs.evens] = rows[..., pairs.own] / ROOT_HALF  # scaled back below: new memory may hold anything
    out *= ROOT_HALF
    return out


def of_parts(pairs: Pairs, even: FloatArray, odd: FloatArray) -> FloatArray:
    """Return rows (k, 2 n + s) of their even (k, n + s) and odd parts (k, n): the way back from `in_parts`.

    Derived at `Pairs`.
    """
    n, out = len(pairs.near), np.empty((len(even), pairs.count))
    out[:, pairs.near] = ROOT_HALF * (even[:, :n] + odd)
    out[:, pairs.far] = ROOT_HALF * (even[:, :n] - odd)
    out[:, pairs.own] = even[:, n:]
    return out


def _is_balanced(x: FloatArray) -> bool:
    """Return whether as much lies on one side of 0 as on the other: most meshes are told apart by that alone."""
    sides = np.count_nonzero(x > SAME_PLACE), np.count_nonzero(x < -SAME_PLACE)
    return sides[0] == sides[1] and bool(abs(x.mean()) < SAME_PLACE)


def _node_pairs(mesh: Mesh, image: IntArray, is_near: "np.ndarray", flip: FloatArray) -> Pairs | None:
    """Return the pairs of nodes where those of all elements have one image each, itself or one on the other side."""
    of, every = node_of(mesh), np.arange(mesh.nodes)
    turned = node_images(mesh, image, flip)
    if turned is None or turned.min() < 0:
        return None
    own, bare = turned == every, np.setdiff1d(every, of)
    near = np.setdiff1d(np.concatenate([of[is_near], bare[_is_near(mesh, mesh.node_position[bare])]]), every[own])
    pairs = Pairs(near=near, far=turned[near], own=every[own])
    return pairs if not np.isin(pairs.far, near).any() and pairs.count == mesh.nodes else None


def _is_near(mesh: Mesh, position: FloatArray) -> "np.ndarray":
    """Tell which places (n, 3) are of the near half: y > 0, but x > 0 on the plane y = 0 and where all is mirrored."""
    x, y, _ = position.T
    near: np.ndarray = np.where((np.abs(y) <= SAME_PLACE) | mesh.mirrored, x > SAME_PLACE, y > SAME_PLACE)
    return near


def _edges_alike(mesh: Mesh, image: IntArray) -> bool:
    """Whether the image of every edge is an edge, as large, in a magnet or in steel as it is."""

    def listed(a: IntArray, b: IntArray) -> tuple[IntArray, FloatArray]:
        key = np.minimum(a, b) * mesh.nodes + np.maximum(a, b)
        order = np.argsort(key, kind="stable")
        is_magnet = np.asarray(mesh.is_magnet_edge, dtype=float)
        return key[order], np.column_stack([mesh.edge_area, mesh.edge_length, 1.0 + is_magnet])[order]

    here, there = listed(mesh.edge_a, mesh.edge_b), listed(image[mesh.edge_a], image[mesh.edge_b])
    return np.array_equal(here[0], there[0]) and bool(np.allclose(here[1], there[1], rtol=SAME_SIZE, atol=0.0))
