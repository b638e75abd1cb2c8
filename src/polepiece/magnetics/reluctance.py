"""The magnetic network of a pickup: what depends on geometry alone, factorised once.

Charges Q (A m) on elements make the potential V Q at the elements; every element of a node shares the node's
total potential Phi (reduced potential plus that of impressed sources, Psi):

    V Q = P Phi - Psi           Q = T Phi - R,   T = V^-1 P,   R = V^-1 Psi
    P' Q = D M(H),              H = -D' Phi / (area length)

D is the incidence of edges with their areas, so that a node's charge is what its edges bring and no body has
net charge. With K = P' T the whole problem is one of size ``nodes``:

    K Phi - D M(H(Phi)) = P' R

for magnets with history, for steel that saturates, and with complex susceptibilities for alternating fields.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.geometry import Mesh
from polepiece.magnetics.elements import Elements
from polepiece.magnetics.half_turn import HalfTurn


class Linear(Protocol):
    """A matrix that is never written down."""

    def __matmul__(self, other: FloatArray, /) -> FloatArray:
        """Return its product with a vector (n,) or with columns (n, k)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SlopesAcross:
    """Slopes d/dy of potentials at some groups of probes."""

    nodes: FloatArray  # (g, nodes) 1/m per node potential
    sources: FloatArray  # (g, w) of the charges that the sources alone call up
    reply: FloatArray  # (groups, m, m) d/dy_i of the potential at probe i per charge at probe j, steel at rest


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Update:
    """What an exchange of elements adds to a network: f diag(sign) f'."""

    nodes: FloatArray  # f (nodes, r)
    sign: FloatArray  # (r,)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, weakref_slot=True)
class Factors:
    """Geometry-only matrices of a mesh. ``mesh`` and ``elements`` say what the rows are."""

    mesh: Mesh
    elements: Elements
    charge_of_node: "FloatArray | Linear"  # T (elements, nodes)
    network: FloatArray  # K (nodes, nodes), symmetric
    bare: FloatArray  # K of the magnets alone, each in air by itself (magnet nodes, magnet nodes)
    magnet_nodes: np.ndarray  # indices of nodes in magnets
    uniform: FloatArray  # potential (nodes,) of 1 A/m on every easy edge, steel of permeability 800
    bare_uniform: FloatArray  # the same for each magnet alone in air (magnet nodes,)
    sources: FloatArray  # Psi of each winding at the elements (elements, w), A per A
    source_charge: "FloatArray | Linear"  # R (elements, w)
    drive: FloatArray  # P' R (nodes, w)
    direct: FloatArray  # Psi' R (w, w)
    probe_nodes: "FloatArray | Linear"  # potential (g, nodes) at the probes per node potential: E T
    probe_sources: "FloatArray | Linear"  # potential (g, w) that charges induced by the sources alone make there: -E R
    probe_reply: FloatArray  # (groups, m, m) potential at probe i of a group per charge at its probe j, steel at rest
    beside: "SlopesAcross | None" = None  # the same along y, where it was asked for
    bare_twin: "tuple[Factors, IntArray] | None" = None  # factors with the same magnets, their edge for each easy edge
    like: "IntArray | None" = None  # (nodes,) which node of the network each is, where that is of states even in x
    update: "Update | None" = None  # of the base's network, where the factors come from an exchange
    turn: "HalfTurn | None" = None  # where the mesh is its own image under a half turn about z
