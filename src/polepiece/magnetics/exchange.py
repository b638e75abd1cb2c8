"""Exchange of a few elements: a pole screw at another height without solving the whole geometry again.

With W = V^-1 of a known geometry (`parity.Whole`), O the elements that go, N those that come, and C the potentials of N
at what stays (zero at O), every form x' V^-1 y of the geometry becomes

    x' V_new^-1 y = x' W y - f_O(x) f_O(y)' + f_N(x) f_N(y)'
    f_O(x) = x' W_O L_O^-T                                      L_O L_O' = W_OO
    f_N(x) = (x' W C - f_O(x) g - x_N') L_N^-T                  g = L_O^-1 W_O' C
                                                                L_N L_N' = V_NN - C' W C + g' g

The first term takes O out of the inverse, the second brings N in by its Schur complement; x and y are potentials at the
elements: P of nodes, Psi of windings, E' of probes. Nothing is neglected: the result is that of the new mesh solved
anew, up to rounding. Integrals are needed between N and the rest only. The reply to a string is of the same kind in a
larger system: see `exchange_reply`.
"""

from dataclasses import dataclass

import numpy as np
from scipy import linalg, sparse

from polepiece.arrays import FloatArray, IntArray
from polepiece.geometry import Mesh
from polepiece.magnetics.exchange_forms import Forms
from polepiece.magnetics.exchange_reply import exchanged_reply
from polepiece.magnetics.match import Match, easy_edges, node_of
from polepiece.magnetics.parity import Whole
from polepiece.magnetics.reluctance import Factors, Linear


def exchange(base: Whole, match: Match, sources: FloatArray, probes: FloatArray, groups: IntArray) -> Factors:
    """Return the factors of a new mesh that has most elements in common with ``base``.

    Parameters
    ----------
    base : Whole
    match : Match
        Of the new mesh with that of ``base``; the magnets are the same.
    sources : ndarray, shape (elements of the new mesh, w)
        Source potential per ampere of each winding, A; the base's where elements stay.
    probes : ndarray, shape (groups, m, 3)
        Points in air where potentials will be asked for, m; each group is one of the base's.
    groups : ndarray, shape (groups,)
        Which of the base's groups each is.

    Raises
    ------
    ConvergenceError
        When the new potential matrix is singular (two elements coincide).

    Notes
    -----
    The equations of the module, derived here (Schur complements).
    """
    mesh, size = match.mesh, probes.shape[1]
    rows = (groups[:, None] * size + np.arange(size)).ravel()
    forms = Forms.of(base, match)
    come = match.elements.take(match.comes)
    own = come.interaction()
    gone, crossed, added = forms.factors(own)
    kept = np.flatnonzero(match.old_node >= 0)
    old = match.old_node[kept]
    here = np.zeros((mesh.nodes, len(match.comes)))
    here[node_of(mesh)[match.comes], np.arange(len(match.comes))] = 1.0
    at_nodes = np.zeros((mesh.nodes, forms.nodes.shape[1]))
    at_nodes[kept] = forms.nodes[old]
    shown = come.potentials(probes.reshape(-1, 3))
    o, inward, outward = len(match.goes), _right_inverse(gone), _right_inverse(added)

    def whitened(form: FloatArray, own: FloatArray) -> FloatArray:
        """f_O and f_N side by side, of x' W [1_O, C] and x_N'."""
        first = form[:, :o] @ inward
        return np.concatenate([first, (form[:, o:] - first @ crossed - own) @ outward], axis=1)

    nodes, seen = whitened(at_nodes, here), whitened(forms.probes[rows], shown)
    of_sources = np.concatenate([base.source_charge[match.goes].T, base.source_charge.T @ forms.coupling], axis=1)
    wound = whitened(of_sources, sources[match.comes].T)
    sign = np.concatenate([np.full(o, -1.0), np.ones(len(match.comes))])
    signed, signed_seen = nodes * sign, seen * sign
    network = signed @ nodes.T
    network += _placed(base.network, match.old_node)
    drive = signed @ wound.T
    drive[kept] += base.drive[old]
    inverse = Inverse(base=base, match=match, coupling=forms.coupling, gone=gone, crossed=crossed, added=added)
    easy = easy_edges(mesh, base.half.mesh)
    return Factors(
        mesh=mesh, elements=match.elements, charge_of_node=Product(first=inverse, second=_spread(mesh)),
        network=network, bare=np.zeros((0, 0)), magnet_nodes=_magnet_nodes(mesh),
        uniform=match.carry(base.mesh, unfolded(base, base.half.uniform)), bare_uniform=np.zeros(0),
        bare_twin=(base.half, easy), sources=sources, source_charge=Product(first=inverse, second=sources),
        drive=drive, direct=base.direct + (wound * sign) @ wound.T,
        probe_nodes=Probes(base=base, match=match, rows=rows, left=signed_seen, right=nodes),
        probe_sources=base.probe_sources[rows] - signed_seen @ wound.T,
        probe_reply=exchanged_reply(base, match, forms, own, shown, groups),
    )  # fmt: skip


def unfolded(base: Whole, half: FloatArray) -> FloatArray:
    """Return even node potentials of the whole from those of the mirrored mesh."""
    out = np.empty(base.mesh.nodes)
    out[base.of_nodes.near] = out[base.of_nodes.far] = half
    return out


def _right_inverse(lower: FloatArray) -> FloatArray:
    """L^-T, for use from the right: faster than solving with so few columns."""
    out: FloatArray = linalg.solve_triangular(lower, np.eye(len(lower)), lower=True, check_finite=False)
    return out.T


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inverse:
    """V^-1 of the new mesh: the base's and the exchange, applied when asked."""

    base: Whole
    match: Match
    coupling: FloatArray  # C (elements of the base, comes)
    gone: FloatArray  # L_O
    crossed: FloatArray  # g
    added: FloatArray  # L_N

    def __matmul__(self, other: FloatArray, /) -> FloatArray:
        """Return V^-1 times potentials at the new mesh's elements (elements, ...)."""
        match, base = self.match, self.base
        x = np.zeros((base.elements.count, *other.shape[1:]))
        x[match.old[match.stays]] = other[match.stays]
        first = base.apply(x)
        left = linalg.solve_triangular(self.gone, first[match.goes], lower=True, check_finite=False)
        met = other[match.comes] - self.coupling.T @ first + self.crossed.T @ left
        charge = linalg.cho_solve((self.added, True), met, check_finite=False)
        x -= self.coupling @ charge
        back = left - self.crossed @ charge
        x[match.goes] = -linalg.solve_triangular(self.gone, back, lower=True, trans="T", check_finite=False)
        out = np.empty(other.shape)
        out[match.stays] = base.apply(x)[match.old[match.stays]]
        out[match.comes] = charge
        return out


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Product:
    """The product of two matrices of which the first is never written down."""

    first: Linear
    second: "FloatArray | sparse.csr_array"

    def __matmul__(self, other: FloatArray, /) -> FloatArray:
        """Return the product with a vector or with columns."""
        return self.first @ np.asarray(self.second @ other)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Probes:
    """E T of the new mesh: potential at the probes per node potential, as the base's and the exchange."""

    base: Whole
    match: Match
    rows: IntArray  # of the base's probes
    left: FloatArray  # -f_O and f_N of the probes
    right: FloatArray  # f_O and f_N of the nodes

    def __matmul__(self, other: FloatArray, /) -> FloatArray:
        """Return the potential at the probes of node potentials (nodes, ...)."""
        base, kept = self.base, self.match.old_node >= 0
        old = np.zeros((base.mesh.nodes, *other.shape[1:]))
        old[self.match.old_node[kept]] = other[kept]
        return base.at_probes(old)[self.rows] + self.left @ (self.right.T @ other)


def _placed(network: FloatArray, old_node: IntArray) -> FloatArray:
    """The base's network among the new mesh's nodes; zero where they come anew. Copied in runs of nodes that stay."""
    out = np.zeros((len(old_node),) * 2)
    kept = np.flatnonzero(old_node >= 0)
    breaks = np.flatnonzero((np.diff(kept) != 1) | (np.diff(old_node[kept]) != 1)) + 1
    runs = [
        (slice(new[0], new[-1] + 1), slice(old_node[new[0]], old_node[new[-1]] + 1)) for new in np.split(kept, breaks)
    ]
    for rows, old_rows in runs:
        for columns, old_columns in runs:
            out[rows, columns] = network[old_rows, old_columns]
    return out


def _spread(mesh: Mesh) -> sparse.csr_array:
    """P: each element has its node's potential (elements, nodes)."""
    of = node_of(mesh)
    return sparse.csr_array((np.ones(len(of)), (np.arange(len(of)), of)), shape=(len(of), mesh.nodes))


def _magnet_nodes(mesh: Mesh) -> IntArray:
    magnet = np.asarray(mesh.is_magnet_edge, dtype=bool)
    return np.unique(np.concatenate([mesh.edge_a[magnet], mesh.edge_b[magnet]]))
