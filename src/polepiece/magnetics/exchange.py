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

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.geometry import Mesh
from polepiece.later import linalg, sparse
from polepiece.magnetics.cholesky import triangular
from polepiece.magnetics.exchange_forms import Forms
from polepiece.magnetics.exchange_network import Even, exchanged_network
from polepiece.magnetics.exchange_reply import exchanged_reply
from polepiece.magnetics.match import Match, easy_edges, node_of
from polepiece.magnetics.parity import Whole
from polepiece.magnetics.reluctance import Factors, Linear, Update
from polepiece.threads import side_by_side


def exchange(
    base: Whole, match: Match, sources: FloatArray, probes: FloatArray, groups: IntArray, even: Even | None = None
) -> Factors:
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
    even : Even, optional
        Of a base that equals its image in x = 0 too: where what comes does so as well, the network is that of even
        states.

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
    come = match.elements.take(match.added)
    own, shown = come.interaction(), come.potentials(probes.reshape(-1, 3))
    gone, crossed, added = forms.factors(own)

    def of_states() -> tuple[FloatArray, Update, tuple[FloatArray, IntArray | None]]:
        wound, update = _update(base, match, forms, sources, (gone, crossed, added))
        return wound, update, exchanged_network(base, match, come, update, even)

    def of_strings() -> FloatArray:
        return exchanged_reply(base, match, forms, own, shown, groups)

    tasks: list[Callable[[], Any]] = [of_states, of_strings]
    (wound, update, (network, like)), reply = side_by_side(lambda task: task(), tasks)
    drive = (update.nodes * update.sign) @ wound.T
    kept = np.flatnonzero(match.old_node >= 0)
    drive[kept] += base.drive[match.old_node[kept]]
    inverse = Inverse(base=base, match=match, forms=forms, gone=gone, crossed=crossed, added=added)
    charge_of_node, seen = Product(first=inverse, second=_spread(mesh)), Seen(base, match, rows, shown)
    return Factors(
        mesh=mesh, elements=match.elements, charge_of_node=charge_of_node, network=network, like=like,
        update=update, bare=np.zeros((0, 0)), magnet_nodes=_magnet_nodes(mesh),
        uniform=match.carry(base.mesh, unfolded(base, base.half.uniform)), bare_uniform=np.zeros(0),
        bare_twin=(base.half, easy_edges(mesh, base.half.mesh)),
        sources=sources, source_charge=Product(first=inverse, second=sources),
        drive=drive, direct=base.direct + (wound * update.sign) @ wound.T,
        probe_nodes=Product(first=seen, second=charge_of_node),
        probe_sources=Product(first=seen, second=Product(first=inverse, second=-sources)), probe_reply=reply,
    )  # fmt: skip


def _update(
    base: Whole, match: Match, forms: Forms, sources: FloatArray, factors: tuple[FloatArray, FloatArray, FloatArray]
) -> tuple[FloatArray, Update]:
    """Return f_O and f_N side by side of the windings (w, goes + comes), and of the nodes."""
    (gone, crossed, added), o, mesh = factors, len(match.removed), match.mesh
    inward, outward = _right_inverse(gone), _right_inverse(added)

    def whitened(form: FloatArray, own: FloatArray) -> FloatArray:
        """f_O and f_N side by side, of x' W [1_O, C] and x_N'."""
        first = form[:, :o] @ inward
        return np.concatenate([first, (form[:, o:] - first @ crossed - own) @ outward], axis=1)

    kept = np.flatnonzero(match.old_node >= 0)
    here = np.zeros((mesh.nodes, len(match.added)))
    here[node_of(mesh)[match.added], np.arange(len(match.added))] = 1.0
    at_nodes = np.zeros((mesh.nodes, forms.nodes.shape[1]))
    at_nodes[kept] = forms.nodes[match.old_node[kept]]
    of_sources = np.concatenate([base.source_charge[match.removed].T, base.source_charge.T @ forms.coupling], axis=1)
    sign = np.concatenate([np.full(o, -1.0), np.ones(len(match.added))])
    return whitened(of_sources, sources[match.added].T), Update(nodes=whitened(at_nodes, here), sign=sign)


def unfolded(base: Whole, half: FloatArray) -> FloatArray:
    """Return even node potentials of the whole from those of the mirrored mesh."""
    out = np.empty(base.mesh.nodes)
    out[base.of_nodes.near] = out[base.of_nodes.far] = half
    return out


def _right_inverse(lower: FloatArray) -> FloatArray:
    """L^-T, for use from the right: faster than solving with so few columns."""
    return triangular(lower, np.eye(len(lower))).T


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inverse:
    """V^-1 of the new mesh: the base's and the exchange, applied when asked."""

    base: Whole
    match: Match
    forms: Forms
    gone: FloatArray  # L_O
    crossed: FloatArray  # g
    added: FloatArray  # L_N

    def __matmul__(self, other: FloatArray, /) -> FloatArray:
        """Return V^-1 times potentials at the new mesh's elements (elements, ...)."""
        match, base = self.match, self.base
        x = np.zeros((base.elements.count, *other.shape[1:]))
        x[match.old[match.kept]] = other[match.kept]
        first = base.apply(x)
        left = triangular(self.gone, first[match.removed])
        met = other[match.added] - self.forms.coupling.T @ first + self.crossed.T @ left
        charge = linalg.cho_solve((self.added, True), met, check_finite=False)
        back = left - self.crossed @ charge
        there = triangular(self.gone, back, transposed=True)
        moved = np.concatenate([there, charge])
        first -= base.of_elements.join([part @ moved for part in self.forms.charge])
        out = np.empty(other.shape)
        out[match.kept] = first[match.old[match.kept]]
        out[match.added] = charge
        return out


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Product:
    """The product of two matrices of which the first is never written down."""

    first: Linear
    second: "FloatArray | sparse.csr_array | Linear"

    def __matmul__(self, other: FloatArray, /) -> FloatArray:
        """Return the product with a vector or with columns."""
        return self.first @ np.asarray(self.second @ other)


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """E of the new mesh: potential at the probes per charge of its elements.

    Derived here: see the module.
    """

    base: Whole
    match: Match
    rows: IntArray  # of the base's probes
    shown: FloatArray  # of what comes (probes, comes)

    def __matmul__(self, charge: FloatArray, /) -> FloatArray:
        """Return the potential at the probes of charges (elements, ...)."""
        match = self.match
        kept = np.zeros((self.base.elements.count, *charge.shape[1:]))
        kept[match.old[match.kept]] = charge[match.kept]
        return self.base.seen(kept)[self.rows] + self.shown @ charge[match.added]

    def felt(self, weight: FloatArray) -> FloatArray:
        """Return E' times weights of the probes (probes, k): potentials at the elements (elements, k)."""
        match = self.match
        full = np.zeros((2 * len(self.base.of_probes.near), weight.shape[1]))
        full[self.rows] = weight
        out = np.empty((match.elements.count, weight.shape[1]))
        out[match.kept] = self.base.felt(full)[match.old[match.kept]]
        out[match.added] = self.shown.T @ weight
        return out


def _spread(mesh: Mesh) -> "sparse.csr_array":
    """P: each element has its node's potential (elements, nodes)."""
    of = node_of(mesh)
    return sparse.csr_array((np.ones(len(of)), (np.arange(len(of)), of)), shape=(len(of), mesh.nodes))


def _magnet_nodes(mesh: Mesh) -> IntArray:
    magnet = np.asarray(mesh.is_magnet_edge, dtype=bool)
    return np.unique(np.concatenate([mesh.edge_a[magnet], mesh.edge_b[magnet]]))
