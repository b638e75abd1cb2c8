"""The network of a geometry made by exchange: the base's and an update of low rank.

Where base and exchange equal their own image in x = 0 (poles between two bars), static states are even in x, and their
network has one node for each pair: a quarter of the numbers, an eighth of the work of a factor.
"""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import ConvergenceError
from polepiece.geometry import Mesh
from polepiece.later import sparse, spatial
from polepiece.magnetics.elements import Elements
from polepiece.magnetics.folding import FLIP
from polepiece.magnetics.match import SAME_PLACE, Match, matching
from polepiece.magnetics.parity import Whole
from polepiece.magnetics.reluctance import Update


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Even:
    """A base that equals its own image in x = 0: two nodes that are each other's image are one for even states."""

    like: IntArray  # (nodes of the base,) which of these
    network: FloatArray  # K of them

    @classmethod
    def of(cls, base: Whole) -> "Even":
        """Return both of a base that is even in x; even states are derived in the module `exchange`: half the nodes."""
        like = _paired(base.mesh)
        if like is None:
            raise ConvergenceError("the whole mesh is not its own image in x = 0: the nodes differ.")
        gather = _gather(like)
        return cls(like=like, network=np.asarray(gather @ np.asarray(gather @ base.network).T))


def _paired(mesh: Mesh) -> "IntArray | None":
    """Return a number of each node that its image in x = 0 shares (nodes,); None where a node has no image."""
    distance, image = spatial.cKDTree(mesh.node_position).query(mesh.node_position * FLIP)
    if np.any(distance > SAME_PLACE):
        return None
    _, like = np.unique(np.minimum(np.arange(mesh.nodes), image), return_inverse=True)
    return np.asarray(like, dtype=np.int64)


def _is_even(elements: Elements) -> bool:
    return bool(matching(elements, elements, flip=FLIP).min(initial=0) >= 0)


def _gather(like: IntArray) -> "sparse.csr_array":
    return sparse.csr_array((np.ones(len(like)), (like, np.arange(len(like)))))


def exchanged_network(
    base: Whole, match: Match, come: Elements, update: Update, even: Even | None
) -> tuple[FloatArray, IntArray | None]:
    """Return K of the new mesh, or of its even states where ``even`` is given and what comes is even in x too.

    Beside it, for even states, which node of K each node of the mesh is (`Factors.like`).
    """
    like = _paired(match.mesh) if even is not None and _is_even(come) else None
    known, old, nodes = base.network, match.old_node, update.nodes
    if even is not None and like is not None:
        known, old, nodes = even.network, np.empty(int(like.max()) + 1, dtype=np.int64), _gather(like) @ nodes
        old[like] = np.where(match.old_node < 0, -1, even.like[match.old_node])
    removed, added = nodes[:, update.sign < 0.0], nodes[:, update.sign > 0.0]
    out: FloatArray = added @ added.T  # a matrix with itself: half the work
    out -= removed @ removed.T
    place(out, known, old)
    return out, like


def place(out: FloatArray, network: FloatArray, old_node: IntArray) -> None:
    """Add the base's network to ``out`` among the new nodes, old ones by ``old_node`` (-1: none), in runs that stay."""
    kept = np.flatnonzero(old_node >= 0)
    breaks = np.flatnonzero((np.diff(kept) != 1) | (np.diff(old_node[kept]) != 1)) + 1
    runs = [
        (slice(new[0], new[-1] + 1), slice(old_node[new[0]], old_node[new[-1]] + 1)) for new in np.split(kept, breaks)
    ]
    for rows, old_rows in runs:
        for columns, old_columns in runs:
            out[rows, columns] += network[old_rows, old_columns]
