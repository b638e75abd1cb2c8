"""The reply of a pickup to a string, after an exchange of elements.

With steel and magnets at rest (one susceptibility an edge, Y = D chi A/l D') charges and node potentials solve

    M = [[V, -P], [-P', -Y]],      reply = -E M^-1 E'
    x' M^-1 z = x_e' W z_e - y(x)' (K + Y)^-1 y(z),      y(x) = P' W x_e + x_n

for x = (x_e, x_n) over elements and nodes. Elements and nodes leave this system and enter it by the two steps of
`exchange`: unit vectors of what goes, columns of M of what comes. Of what stays, only the diagonal of Y changes, where
the new rod joins it: each such change d enters as one more unknown, coupled to its node alone, with 1/d on its own
diagonal.
"""

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.later import linalg
from polepiece.magnetics.cholesky import triangular
from polepiece.magnetics.exchange_forms import Forms
from polepiece.magnetics.match import Match, node_of
from polepiece.magnetics.parity import Whole
from polepiece.magnetics.reply import reply_susceptibility, sparse_laplacian
from polepiece.threads import side_by_side

CHANGED = 1e-9  # relative: a diagonal of Y that moves by less has not changed


def exchanged_reply(
    base: Whole, match: Match, forms: Forms, own: FloatArray, shown: FloatArray, groups: IntArray
) -> FloatArray:
    """Return the reply (groups, m, m) of the new geometry.

    Parameters
    ----------
    base, match, forms
        Of the exchange.
    own : ndarray, shape (comes, comes)
        V of the elements that come, among themselves.
    shown : ndarray, shape (groups * m, comes)
        Their potentials at the probes.
    groups : ndarray, shape (groups,)
        Which of the base's groups of probes are asked for.

    Notes
    -----
    Derived in the module's docstring.
    """
    size = base.probe_reply.shape[1]
    rows = (groups[:, None] * size + np.arange(size)).ravel()
    o, first = len(match.removed), len(match.removed) + len(match.node_removed)
    node_part, corner = _unknowns(base, match, forms, own)
    count, added = node_part.shape[1], slice(first, first + len(match.added))
    quadratic = np.zeros((count, count))
    quadratic[:o, :o], quadratic[added, added] = forms.oo, forms.cc
    quadratic[:o, added], quadratic[added, :o] = forms.oc, forms.oc.T

    def square(stiff: FloatArray, part: FloatArray) -> FloatArray:
        moved = triangular(stiff, part)
        return moved.T @ moved

    for found in side_by_side(square, base.stiff, base.of_nodes.split(node_part)):
        quadratic -= found
    nodal, seen = np.r_[o:first, added.stop : count], np.empty((len(rows), count))
    seen[:, :o], seen[:, added] = forms.probes[rows, :o], forms.probes[rows, o:]
    parts = zip(base.lifted, base.of_nodes.split(node_part[:, nodal]))
    seen[:, nodal] = -base.of_probes.join([lifted @ part for lifted, part in parts])[rows]
    out_of, into = seen[:, :first], seen[:, first:]
    lifted = linalg.inv(quadratic[:first, :first], check_finite=False)
    across = lifted @ quadratic[:first, first:]
    into = into - out_of @ across
    into[:, : len(match.added)] -= shown
    schur = corner - quadratic[first:, first:] + quadratic[first:, :first] @ across
    out = base.probe_reply[groups]
    out += _blocks(out_of @ lifted, out_of, size)
    out -= _blocks(into @ linalg.inv(schur, check_finite=False), into, size)
    return out


def _blocks(left: FloatArray, right: FloatArray, size: int) -> FloatArray:
    """Blocks (groups, size, size) on the diagonal of left right'."""
    shape = (len(left) // size, size, left.shape[1])
    out: FloatArray = left.reshape(shape) @ right.reshape(shape).transpose(0, 2, 1)
    return out


def _unknowns(base: Whole, match: Match, forms: Forms, own: FloatArray) -> tuple[FloatArray, FloatArray]:
    """y (nodes of the base, unknowns) of what goes and comes, and M among what comes.

    Unknowns: elements and nodes that go; elements, nodes and changed diagonals that come.
    """
    new, old = (sparse_laplacian(m, reply_susceptibility(m)) for m in (match.mesh, base.mesh))
    fresh, kept = np.flatnonzero(match.old_node < 0), np.flatnonzero(match.old_node >= 0)
    there = match.old_node[kept]
    change = new.diagonal()[kept] - old.diagonal()[there]
    joints = np.flatnonzero(np.abs(change) > CHANGED * np.abs(old.diagonal()[there]))
    o, n, nodes = len(match.removed), len(match.added), len(fresh)
    y = np.zeros((base.mesh.nodes, o + len(match.node_removed) + n + nodes + len(joints)))
    at = np.cumsum([o, len(match.node_removed), n, nodes])
    y[:, :o] = forms.nodes[:, :o]
    y[match.node_removed, at[0] + np.arange(len(match.node_removed))] = 1.0
    y[:, at[1] : at[2]] = forms.nodes[:, o:]
    y[there, at[2] : at[3]] = -new[kept][:, fresh].toarray()
    y[there[joints], at[3] + np.arange(len(joints))] = 1.0
    corner = np.zeros((n + nodes + len(joints),) * 2)
    corner[:n, :n] = own
    place = np.full(match.mesh.nodes, -1)
    place[fresh] = n + np.arange(nodes)
    node = place[node_of(match.mesh)[match.added]]
    corner[np.arange(n), node] = corner[node, np.arange(n)] = -1.0
    corner[n : n + nodes, n : n + nodes] = -new[fresh][:, fresh].toarray()
    tail = n + nodes + np.arange(len(joints))
    corner[tail, tail] = 1.0 / change[joints]
    return y, corner
