"""What a pickup gives back to a magnetic charge in the air (a slice of a string), with steel and magnets at rest."""

import numpy as np
from scipy import linalg, sparse

from polepiece.arrays import FloatArray
from polepiece.errors import ConvergenceError
from polepiece.geometry import Mesh
from polepiece.magnetics.elements import Elements
from polepiece.magnetics.folding import odd_elements, odd_nodes
from polepiece.magnetics.match import node_of

REPLY_SUSCEPTIBILITY = (279.0, 2.7)  # steel, magnets: the reply to a string hardly depends on them


def reply(bridge: FloatArray, blocks: FloatArray) -> FloatArray:
    """Return E T (K + Y)^-1 T' E' - E V^-1 E' in blocks of probes: what charges in the air call up.

    ``bridge`` (groups * m, nodes) is E T L^-T with L L' = K + Y, ``blocks`` (groups, m, m) is E V^-1 E'.
    """
    if not len(blocks):
        return blocks
    bridge = bridge.reshape(*blocks.shape[:2], -1)
    out: FloatArray = bridge @ bridge.transpose(0, 2, 1) - blocks
    return out


def reply_susceptibility(mesh: Mesh) -> FloatArray:
    """Return the susceptibility of every edge that `reply` reckons with."""
    steel, magnet = REPLY_SUSCEPTIBILITY
    return np.where(np.asarray(mesh.is_magnet_edge, dtype=bool), magnet, steel)


def laplacian(mesh: Mesh, susceptibility: np.ndarray) -> np.ndarray:
    """Return D diag(chi area / length) D' (nodes, nodes) for one susceptibility an edge, real or complex."""
    weight = susceptibility * mesh.edge_area / mesh.edge_length
    out = np.zeros((mesh.nodes, mesh.nodes), dtype=weight.dtype)
    a, b = mesh.edge_a, mesh.edge_b
    np.add.at(out, (a, a), weight)
    np.add.at(out, (b, b), weight)
    np.add.at(out, (a, b), -weight)
    np.add.at(out, (b, a), -weight)
    return out


def sparse_laplacian(mesh: Mesh, susceptibility: FloatArray) -> sparse.csr_array:
    """Return `laplacian` as a sparse matrix."""
    weight = susceptibility * mesh.edge_area / mesh.edge_length
    a, b = mesh.edge_a, mesh.edge_b
    rows, columns = np.concatenate([a, b, a, b]), np.concatenate([a, b, b, a])
    values = np.concatenate([weight, weight, -weight, -weight])
    return sparse.csr_array(sparse.coo_array((values, (rows, columns)), shape=(mesh.nodes, mesh.nodes)))


def inverted(matrix: FloatArray) -> FloatArray:
    """Return the inverse of a symmetric positive definite matrix, which is overwritten."""
    factor, info = linalg.lapack.dpotrf(matrix.T, lower=1, overwrite_a=1, clean=1)
    if info == 0:
        factor, info = linalg.lapack.dpotri(factor, lower=1, overwrite_c=1)
    if info != 0:
        raise ConvergenceError("the potential matrix of the mesh is not positive definite: do two elements coincide?")
    out: FloatArray = factor + np.tril(factor, -1).T
    return np.ascontiguousarray(out)


def odd_reply(mesh: Mesh, elements: Elements, v: FloatArray, seen: FloatArray, shape: tuple[int, int]) -> FloatArray:
    """Return the reply (groups, m, m) of a mesh folded in x = 0 to charges that are odd in x.

    Parameters
    ----------
    mesh, elements
        Folded.
    v : ndarray, shape (elements, elements)
        V of odd charges.
    seen : ndarray, shape (groups * m, elements)
        Potential at the probes per odd charge.
    shape : (groups, m)

    Notes
    -----
    Potentials are zero where a node lies across the plane, and an edge that crosses it ends there, half as long.
    """
    rows, nodes = odd_elements(elements), odd_nodes(mesh)
    place = np.full(mesh.nodes, -1)
    place[nodes] = np.arange(len(nodes))
    of = place[node_of(mesh)[rows]]
    inside = np.flatnonzero(of >= 0)
    gather = sparse.csr_array((np.ones(len(inside)), (of[inside], inside)), shape=(len(nodes), len(rows)))
    inverse = inverted(np.ascontiguousarray(v[np.ix_(rows, rows)]))
    own = seen[:, rows]
    charged = own @ inverse
    probe_nodes = np.asarray(gather @ charged.T)
    network = np.asarray(gather @ np.asarray(gather @ inverse).T)
    steel, magnet = REPLY_SUSCEPTIBILITY
    full = network + laplacian(mesh, reply_susceptibility(mesh))[np.ix_(nodes, nodes)]
    across = place[mesh.plane_node]
    np.add.at(full, (across, across), np.where(mesh.magnet_parts[mesh.plane_part], magnet, steel) * mesh.plane_weight)
    lower = linalg.cholesky(0.5 * (full + full.T), lower=True, overwrite_a=True, check_finite=False)
    bridge = linalg.solve_triangular(lower, probe_nodes, lower=True, overwrite_b=True, check_finite=False)
    blocks = charged.reshape(*shape, len(rows)) @ own.reshape(*shape, len(rows)).transpose(0, 2, 1)
    return reply(np.ascontiguousarray(bridge.T), blocks)
