"""What a pickup gives back to a magnetic charge in the air (a slice of a string), with steel and magnets at rest."""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.geometry import Mesh
from polepiece.later import sparse
from polepiece.magnetics.cholesky import inverted, lower_factor, triangular
from polepiece.magnetics.elements import Elements
from polepiece.magnetics.folding import odd_elements, odd_nodes
from polepiece.magnetics.match import node_of

REPLY_SUSCEPTIBILITY = (279.0, 2.7)  # steel, magnets: the reply to a string hardly depends on them


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Asked:
    """What probes in the air see of charges of one symmetry.

    E and its slope of the equations that are derived in docs/theory/magnetics.md.
    """

    seen: FloatArray  # E (groups, m, elements): potential at the probes of 1 A m on each element
    steep: FloatArray  # its slope along y (groups with slopes, m, elements)
    sloped: IntArray  # which groups these are

    def take(self, rows: IntArray) -> "Asked":
        """Return the same of the elements ``rows`` alone."""
        return Asked(seen=self.seen[..., rows], steep=self.steep[..., rows], sloped=self.sloped)

    def replies(
        self, stiff: FloatArray, probe_nodes: FloatArray, steep_nodes: FloatArray, charged: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return the reply (groups, m, m), and its slope along y at the probe that sees (groups with slopes, m, m).

        Parameters
        ----------
        stiff : ndarray, shape (nodes, nodes)
            K + Y at rest; overwritten.
        probe_nodes, steep_nodes : ndarray, shapes (groups * m, nodes), (groups with slopes * m, nodes)
            E T and its slope.
        charged : ndarray, shape (groups * m, elements)
            E V^-1.
        """
        rows = np.concatenate([probe_nodes, steep_nodes])
        bridge = triangular(lower_factor(stiff), rows.T, overwrite=True).T
        return self.over(bridge, charged)

    def over(self, bridges: FloatArray, charged: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return `replies` from ``bridges`` (groups * m + groups with slopes * m, nodes): E T L^-T and its slope's."""
        count = self.seen.shape[0] * self.seen.shape[1]
        bridge, steep = (
            np.ascontiguousarray(part).reshape(*asked.shape[:2], bridges.shape[1])
            for part, asked in zip(np.split(bridges, [count]), (self.seen, self.steep))
        )
        charges = charged.reshape(self.seen.shape).transpose(0, 2, 1)
        across: FloatArray = steep @ bridge[self.sloped].transpose(0, 2, 1) - self.steep @ charges[self.sloped]
        return reply(bridge, self.seen @ charges), across


def flat(rows: FloatArray) -> FloatArray:
    """Return blocks (groups, m, n) as rows (groups * m, n)."""
    return rows.reshape(rows.shape[0] * rows.shape[1], rows.shape[2])


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
    """Return D diag(chi area / length) D' (nodes, nodes) for one susceptibility an edge, real or complex.

    The edges' part D chi A/l D' of the network, derived in docs/theory/magnetics.md.
    """
    return np.asarray(_laplacian(mesh, susceptibility).toarray())


def sparse_laplacian(mesh: Mesh, susceptibility: FloatArray) -> "sparse.csr_array":
    """Return `laplacian` as a sparse matrix. Derived in docs/theory/magnetics.md."""
    return sparse.csr_array(_laplacian(mesh, susceptibility))


def _laplacian(mesh: Mesh, susceptibility: np.ndarray) -> "sparse.coo_array":
    weight = susceptibility * mesh.edge_area / mesh.edge_length
    a, b = mesh.edge_a, mesh.edge_b
    rows, columns = np.concatenate([a, b, a, b]), np.concatenate([a, b, b, a])
    values = np.concatenate([weight, weight, -weight, -weight])
    return sparse.coo_array((values, (rows, columns)), shape=(mesh.nodes, mesh.nodes))


def odd_replies(mesh: Mesh, elements: Elements, v: FloatArray, asked: Asked) -> tuple[FloatArray, FloatArray]:
    """Return the reply of a mesh folded in x = 0 to charges that are odd in x, and its slope (`Asked.replies`).

    Parameters
    ----------
    mesh, elements
        Folded.
    v : ndarray, shape (elements, elements)
        V of odd charges.
    asked : Asked
        Of odd charges.

    Notes
    -----
    Potentials are zero where a node lies across the plane, and an edge that crosses it ends there, half as long.
    Derived here, from the network of the module `reluctance`.
    """
    rows, nodes = odd_elements(elements), odd_nodes(mesh)
    place = np.full(mesh.nodes, -1)
    place[nodes] = np.arange(len(nodes))
    of = place[node_of(mesh)[rows]]
    inside = np.flatnonzero(of >= 0)
    gather = sparse.csr_array((np.ones(len(inside)), (of[inside], inside)), shape=(len(nodes), len(rows)))
    inverse = inverted(np.ascontiguousarray(v[np.ix_(rows, rows)]))
    asked = asked.take(rows)
    charged = flat(asked.seen) @ inverse
    charge_of_node = np.ascontiguousarray(np.asarray(gather @ inverse).T)
    network = np.asarray(gather @ charge_of_node)
    steel, magnet = REPLY_SUSCEPTIBILITY
    full = network + laplacian(mesh, reply_susceptibility(mesh))[np.ix_(nodes, nodes)]
    across = place[mesh.plane_node]
    np.add.at(full, (across, across), np.where(mesh.magnet_parts[mesh.plane_part], magnet, steel) * mesh.plane_weight)
    probe_nodes = np.asarray(gather @ charged.T).T
    return asked.replies(0.5 * (full + full.T), probe_nodes, flat(asked.steep) @ charge_of_node, charged)
