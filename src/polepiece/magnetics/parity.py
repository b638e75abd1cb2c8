"""A mirrored geometry seen whole: both parities of its potential matrix, inverted once.

On a mesh that equals its own image in y = 0, a vector over the elements is the sum of an even and an odd part,

    x = (x_near, x_far),     x_even = (x_near + x_far) / sqrt 2,     x_odd = (x_near - x_far) / sqrt 2,

and with A the potentials of the near half on itself and B those of its image, the potential matrix of the whole is

    V_even = A + B,     V_odd = A - B

in these coordinates: two problems of half the size, and no integral that the mirrored mesh does not need as well.
The same holds for nodes, for probes in pairs, and for every matrix between them.
"""

from dataclasses import dataclass, replace

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import ConvergenceError
from polepiece.geometry import Mesh
from polepiece.later import sparse
from polepiece.magnetics.cholesky import clean_factor, inverted, triangular
from polepiece.magnetics.elements import Elements
from polepiece.magnetics.match import IMAGE, matching, node_of
from polepiece.magnetics.pairs import SIGNS, Pairs, Parts
from polepiece.magnetics.reluctance import Factors
from polepiece.magnetics.reply import laplacian, reply, reply_susceptibility
from polepiece.threads import side_by_side


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
    node_sum: "sparse.csr_array"  # P' of the half (nodes / 2, n)
    network: FloatArray  # K (nodes, nodes)
    shown: Parts  # E (probes / 2, n)
    stiff: Parts  # lower factor L of K + Y at rest (nodes / 2, nodes / 2)
    lifted: Parts  # E T (K + Y)^-1 (probes / 2, nodes / 2)
    resolved: Parts  # E (V^-1 - T (K + Y)^-1 T') (probes / 2, n): less the reply per charge on an element
    probe_reply: FloatArray  # (groups, m, m)
    sources: FloatArray  # Psi (elements, w)
    source_charge: FloatArray  # R (elements, w)
    drive: FloatArray  # P' R (nodes, w)
    direct: FloatArray  # Psi' R (w, w)

    def apply(self, x: FloatArray) -> FloatArray:
        """Return V^-1 x for potentials x (elements, ...)."""
        return self.of_elements.join([w @ part for w, part in zip(self.inverse, self.of_elements.split(x))])

    def seen(self, charge: FloatArray) -> FloatArray:
        """Return the potential at the probes of charges (elements, ...)."""
        parts = self.of_elements.split(charge)
        return self.of_probes.join([e @ part for e, part in zip(self.shown, parts)])

    def felt(self, weight: FloatArray) -> FloatArray:
        """Return E' times weights of the probes (probes, ...): potentials at the elements (elements, ...)."""
        parts = self.of_probes.split(weight)
        return self.of_elements.join([e.T @ part for e, part in zip(self.shown, parts)])


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

    def of_parity(sign: float, psi: FloatArray, rest: FloatArray) -> tuple[FloatArray, ...]:
        v, e = direct + sign * image, shown + sign * shown_image
        return _parity(inverted(0.5 * (v + v.T)), e, psi, rest, node_sum, (groups, size))

    rests = of_nodes.parts(laplacian(mesh, reply_susceptibility(mesh)))
    found = side_by_side(of_parity, SIGNS, of_elements.split(sources), rests)
    inverse, at_probes, resolved, network, stiff, lifted, charge, replies = zip(*found)
    r = of_elements.join(charge)
    drive = np.zeros((mesh.nodes, sources.shape[1]))
    np.add.at(drive, nodes, r)
    block = 0.5 * (replies[0] + replies[1])
    return Whole(
        mesh=mesh, elements=elements, half=half, halves=(near, far), of_elements=of_elements, of_nodes=of_nodes,
        of_probes=of_probes, inverse=inverse, node_sum=node_sum, network=of_nodes.matrix(network),
        shown=at_probes, stiff=stiff, lifted=lifted, resolved=resolved, probe_reply=np.concatenate([block, block]),
        sources=sources, source_charge=r, drive=drive, direct=sources.T @ r,
    )  # fmt: skip


def _parity(
    w: FloatArray,
    e: FloatArray,
    psi: FloatArray,
    rest: FloatArray,
    node_sum: "sparse.csr_array",
    shape: tuple[int, int],
) -> tuple[FloatArray, ...]:
    """All that one parity has, in the order of `whole`; ``rest`` is Y of the steel and magnets at rest."""
    seen = e @ w
    probe_nodes, of_nodes = np.ascontiguousarray((node_sum @ seen.T).T), node_sum @ w  # E T, T'
    network = node_sum @ of_nodes.T
    stiff = clean_factor(network + rest)
    bridge = triangular(stiff, probe_nodes.T)
    lifted = np.ascontiguousarray(triangular(stiff, bridge, transposed=True).T)
    blocks = seen.reshape(*shape, len(w)) @ e.reshape(*shape, len(w)).transpose(0, 2, 1)
    replies = reply(np.ascontiguousarray(bridge.T), blocks)
    seen -= lifted @ of_nodes
    return w, e, seen, network, stiff, lifted, w @ psi, replies


def _node_map(own: IntArray, others: IntArray) -> IntArray:
    """Return the other mesh's node of each own node, from the nodes of the same elements."""
    out = np.full(int(own.max()) + 1, -1, dtype=np.int64)
    out[own] = others
    if not np.array_equal(out[own], others):
        raise ConvergenceError("the whole mesh is not the mirrored one and its image: the nodes differ.")
    return out
