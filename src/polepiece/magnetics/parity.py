"""A mirrored geometry seen whole: both parities of its potential matrix, inverted once.

On a mesh that equals its own image in y = 0, a vector over the elements is the sum of an even and an odd part,

    x = (x_near, x_far),     x_even = (x_near + x_far) / sqrt 2,     x_odd = (x_near - x_far) / sqrt 2,

and with A the potentials of the near half on itself and B those of its image, the potential matrix of the whole is

    V_even = A + B,     V_odd = A - B

in these coordinates: two problems of half the size, and no integral that the mirrored mesh does not need as well.
The same holds for nodes, for probes in pairs, and for every matrix between them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import linalg, sparse

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import ConvergenceError
from polepiece.geometry import Mesh
from polepiece.magnetics.elements import Elements
from polepiece.magnetics.match import IMAGE, matching, node_of
from polepiece.magnetics.reluctance import Factors
from polepiece.magnetics.reply import inverted, laplacian, reply, reply_susceptibility

SIGNS = (1.0, -1.0)  # even, odd
ROOT_HALF = float(np.sqrt(0.5))

Parts = tuple[FloatArray, FloatArray]  # even, odd


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pairs:
    """Which places of a vector lie at y > 0 (``near``) and where their mirror images lie (``far``), both (n,).

    Derived in the module's docstring: sums and differences of mirror images.
    """

    near: IntArray
    far: IntArray

    def split(self, whole: FloatArray) -> Parts:
        """Return the even and the odd part (n, ...) of ``whole`` (2 n, ...)."""
        a, b = whole[self.near], whole[self.far]
        return ROOT_HALF * (a + b), ROOT_HALF * (a - b)

    def join(self, parts: Sequence[FloatArray]) -> FloatArray:
        """Return the whole (2 n, ...) of an even and an odd part."""
        even, odd = parts
        out = np.empty((2 * len(even), *even.shape[1:]))
        out[self.near] = ROOT_HALF * (even + odd)
        out[self.far] = ROOT_HALF * (even - odd)
        return out

    def parts(self, matrix: FloatArray) -> Parts:
        """Return the even and the odd part (n, n) of a matrix (2 n, 2 n) that the mirror leaves as it is."""
        same, across = matrix[np.ix_(self.near, self.near)], matrix[np.ix_(self.near, self.far)]
        return same + across, same - across

    def matrix(self, parts: Parts) -> FloatArray:
        """Return the matrix (2 n, 2 n) of an even and an odd part (n, n)."""
        even, odd = parts
        out = np.empty((2 * len(even),) * 2)
        same, across = 0.5 * (even + odd), 0.5 * (even - odd)
        for one, other in ((self.near, self.far), (self.far, self.near)):
            out[np.ix_(one, one)] = same
            out[np.ix_(one, other)] = across
        return out

    def units(self, places: IntArray) -> tuple[IntArray, Parts]:
        """Return where the unit vectors of ``places`` (k,) stand in each part (k,), and their size there (k,)."""
        at, side = np.empty(2 * len(self.near), dtype=np.int64), np.full(2 * len(self.near), ROOT_HALF)
        at[self.near] = at[self.far] = np.arange(len(self.near))
        side[self.far] *= -1.0
        return at[places], (np.full(len(places), ROOT_HALF), side[places])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Whole:
    """Both parities of a mirrored geometry; what is not told apart by parity counts as the whole mesh does."""

    mesh: Mesh  # the whole, not mirrored
    elements: Elements
    half: Factors  # of the mirrored mesh
    halves: tuple[Elements, Elements]  # near and far, as the half counts them
    of_elements: Pairs
    of_nodes: Pairs
    of_probes: Pairs
    inverse: Parts  # V^-1 (n, n)
    node_sum: sparse.csr_array  # P' of the half (nodes / 2, n)
    network: FloatArray  # K (nodes, nodes)
    seen: Parts  # E V^-1 (probes / 2, n)
    probe_nodes: Parts  # E T (probes / 2, nodes / 2)
    stiff: Parts  # lower factor L of K + Y at rest (nodes / 2, nodes / 2)
    bridge: Parts  # E T L^-T (probes / 2, nodes / 2)
    probe_reply: FloatArray  # (groups, m, m)
    sources: FloatArray  # Psi (elements, w)
    source_charge: FloatArray  # R (elements, w)
    drive: FloatArray  # P' R (nodes, w)
    direct: FloatArray  # Psi' R (w, w)
    probe_sources: FloatArray  # - E R (probes, w)

    def apply(self, x: FloatArray) -> FloatArray:
        """Return V^-1 x for potentials x (elements, ...)."""
        return self.of_elements.join([w @ part for w, part in zip(self.inverse, self.of_elements.split(x))])

    def at_probes(self, potential: FloatArray) -> FloatArray:
        """Return the potential at the probes of node potentials (nodes, ...)."""
        parts = self.of_nodes.split(potential)
        return self.of_probes.join([b @ part for b, part in zip(self.probe_nodes, parts)])


def whole(half: Factors, mesh: Mesh, sources: FloatArray, probes: FloatArray) -> Whole:
    """Return both parities of a mirrored geometry.

    Parameters
    ----------
    half : Factors
        Of the mirrored mesh.
    mesh : Mesh
        The same assembly cut without the mirror.
    sources : ndarray, shape (elements of ``mesh``, w)
        Source potential per ampere of each winding, A.
    probes : ndarray, shape (groups, m, 3)
        Points in air at y > 0, m; the whole's probes are these and then their images.

    Raises
    ------
    ConvergenceError
        When ``mesh`` is not the mirrored mesh and its image, or a potential matrix is singular.

    Notes
    -----
    Derived in the module's docstring.
    """
    elements, near = Elements.of(mesh), replace(half.elements, mirror=0.0)
    of_elements = Pairs(near=matching(near, elements), far=matching(near, elements, flip=IMAGE))
    if 2 * near.count != elements.count or min(of_elements.near.min(), of_elements.far.min()) < 0:
        raise ConvergenceError("the whole mesh is not the mirrored one and its image: the elements differ.")
    nodes, own = node_of(mesh), node_of(half.mesh)
    of_nodes = Pairs(near=_node_map(own, nodes[of_elements.near]), far=_node_map(own, nodes[of_elements.far]))
    far = elements.take(of_elements.far)
    groups, size = probes.shape[:2]
    of_probes = Pairs(near=np.arange(groups * size), far=np.arange(groups * size, 2 * groups * size))
    node_sum = sparse.csr_array((np.ones(len(own)), (own, np.arange(len(own)))), shape=(half.mesh.nodes, len(own)))
    direct, image = near.potentials_on(near), far.potentials_on(near)
    points = probes.reshape(-1, 3)
    shown, shown_image = near.potentials(points), far.potentials(points)
    found = []
    for sign, psi, rest in zip(
        SIGNS, of_elements.split(sources), of_nodes.parts(laplacian(mesh, reply_susceptibility(mesh)))
    ):
        v, e = direct + sign * image, shown + sign * shown_image
        found.append(_parity(inverted(0.5 * (v + v.T)), e, psi, rest, node_sum, (groups, size)))
    inverse, seen, probe_nodes, network, stiff, bridge, charge, at_probes, replies = zip(*found)
    r = of_elements.join(charge)
    drive = np.zeros((mesh.nodes, sources.shape[1]))
    np.add.at(drive, nodes, r)
    block = 0.5 * (replies[0] + replies[1])
    return Whole(
        mesh=mesh, elements=elements, half=half, halves=(near, far), of_elements=of_elements, of_nodes=of_nodes,
        of_probes=of_probes, inverse=inverse, node_sum=node_sum, network=of_nodes.matrix(network), seen=seen,
        probe_nodes=probe_nodes, stiff=stiff, bridge=bridge, probe_reply=np.concatenate([block, block]),
        sources=sources, source_charge=r, drive=drive, direct=sources.T @ r, probe_sources=of_probes.join(at_probes),
    )  # fmt: skip


def _parity(
    w: FloatArray, e: FloatArray, psi: FloatArray, rest: FloatArray, node_sum: sparse.csr_array, shape: tuple[int, int]
) -> tuple[FloatArray, ...]:
    """All that one parity has, in the order of `whole`; ``rest`` is Y of the steel and magnets at rest."""
    seen = e @ w
    probe_nodes = np.ascontiguousarray((node_sum @ seen.T).T)
    network = node_sum @ (node_sum @ w).T
    charge = w @ psi
    stiff = linalg.cholesky(network + rest, lower=True, check_finite=False)
    bridge = np.ascontiguousarray(linalg.solve_triangular(stiff, probe_nodes.T, lower=True, check_finite=False).T)
    blocks = seen.reshape(*shape, len(w)) @ e.reshape(*shape, len(w)).transpose(0, 2, 1)
    return w, seen, probe_nodes, network, stiff, bridge, charge, -(e @ charge), reply(bridge, blocks)


def _node_map(own: IntArray, others: IntArray) -> IntArray:
    """Return the other mesh's node of each own node, from the nodes of the same elements."""
    out = np.full(int(own.max()) + 1, -1, dtype=np.int64)
    out[own] = others
    if not np.array_equal(out[own], others):
        raise ConvergenceError("the whole mesh is not the mirrored one and its image: the nodes differ.")
    return out
