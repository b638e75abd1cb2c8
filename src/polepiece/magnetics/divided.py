"""Smaller problems that a static state comes down to by its shapes alone: found once for each geometry.

Magnets alone in air, each of a kind once; bodies that act little on each other, each for itself (`Newton`); and one
half of a pickup that is its own image under a half turn (`HalfTurn`), where its magnets are, too, or are that with
their poles exchanged: the potential then is even, or odd, as they are.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.geometry import Mesh
from polepiece.magnetics.newton import Evaluate, Newton, Own, apart
from polepiece.magnetics.pairs import Pairs
from polepiece.magnetics.reluctance import Factors

ROUNDING = 1e-9  # share of the largest: what differs by less was summed in another order

_ALONE: "WeakKeyDictionary[Factors, list[list[tuple[Alone, float]]]]" = WeakKeyDictionary()
_BODIES: "WeakKeyDictionary[Factors, list[Own]]" = WeakKeyDictionary()
_HALVES: "WeakKeyDictionary[Factors, Half | None]" = WeakKeyDictionary()


def bodies(factors: Factors) -> "list[Own]":
    """Return `apart` of the bodies of a geometry."""
    if factors not in _BODIES:
        mesh = factors.mesh
        ends = mesh.edge_a, mesh.edge_b, mesh.edge_area, mesh.edge_length
        _BODIES[factors] = apart(factors.network, *ends, body=mesh.node_body)
    return _BODIES[factors]


def alone(factors: Factors) -> "list[list[tuple[Alone, float]]]":
    """Return every magnet alone, those that are alike together: as many small problems, and as many as are unlike.

    With each goes its sense beside the first of its kind: -1 where its poles are the other way round.
    """
    if factors not in _ALONE:
        mesh, nodes = factors.mesh, factors.magnet_nodes
        rows, place = np.flatnonzero(np.asarray(mesh.is_magnet_edge, dtype=bool)), np.full(mesh.nodes, -1)
        body, of_edges = mesh.node_body[nodes], mesh.node_body[mesh.edge_a[rows]]
        found: list[list[tuple[Alone, float]]] = []
        for one in np.unique(body):
            mine, edges = np.flatnonzero(body == one), np.flatnonzero(of_edges == one)
            place[nodes[mine]] = np.arange(len(mine))
            own = Alone.of(factors, mine, edges, rows[edges], place)
            senses = (known[0][0].sense_of(own) for known in found)
            like, sense = next(((known, s) for known, s in zip(found, senses) if s is not None), (None, 1.0))
            if like is None:
                found.append([(own, 1.0)])
            else:
                like.append((own, sense))
        _ALONE[factors] = found
    return _ALONE[factors]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alone:
    """One magnet in air: its network and its edges."""

    nodes: IntArray  # (nodes,) among those of all magnets
    edges: IntArray  # (edges,) among those of all magnets
    network: FloatArray  # (nodes, nodes)
    ends: IntArray  # (2, edges) among its own nodes
    part: IntArray  # (edges,)
    sign: FloatArray  # (edges,) of the easy direction along the edge, 0 across it
    size: FloatArray  # (2, edges) area, m2, and length, m

    @classmethod
    def of(cls, factors: Factors, nodes: IntArray, edges: IntArray, rows: IntArray, place: IntArray) -> "Alone":
        """Return the magnet of ``nodes`` and ``edges``, which are ``rows`` of the mesh's."""
        mesh = factors.mesh
        return cls(
            nodes=nodes, edges=edges, network=np.ascontiguousarray(factors.bare[np.ix_(nodes, nodes)]),
            ends=place[np.stack([mesh.edge_a[rows], mesh.edge_b[rows]])], part=mesh.edge_part[rows],
            sign=mesh.edge_sign[rows], size=np.stack([mesh.edge_area[rows], mesh.edge_length[rows]]),
        )  # fmt: skip

    def sense_of(self, other: "Alone") -> float | None:
        """Return 1 where the other is the same magnet at another place, counted in the same order.

        -1 where its poles are the other way round; None for another magnet.
        """
        if not (np.array_equal(self.ends, other.ends) and np.array_equal(self.part, other.part)):
            return None
        close = all(
            one.shape == two.shape and float(np.abs(one - two).max()) < ROUNDING * float(np.abs(one).max())
            for one, two in zip((self.network, *self.size), (other.network, *other.size))
        )
        return next((s for s in (1.0, -1.0) if close and np.array_equal(self.sign, s * other.sign)), None)

    def solved(self, guess: FloatArray, law: Evaluate) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return its potential (nodes,), and H and M on its edges, A/m; ``law`` is that of its edges."""
        phi, h, m, _ = Newton(self.network, *self.ends, *self.size).solve(guess, law)
        return phi, h, m


# --- one half of what is its own image ----------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Half:
    """The nodes of one half, where potentials of the other are ``sign`` times theirs.

    Odd potentials are zero on what is its own image; an edge that runs across is one of half the length that ends
    there.
    """

    near: IntArray  # (n,) nodes
    far: IntArray  # (n,) their images
    sign: float
    count: int  # nodes of the whole
    network: FloatArray  # (n, n)
    edges: IntArray  # (e,) of the mesh: one of each pair
    ends: tuple[IntArray, IntArray]  # among the near nodes; n is held at no potential
    size: tuple[FloatArray, FloatArray]  # (e,) area, m2, and length, m
    apart: "Sequence[Own]"  # bodies, where each lies in one half
    parts: tuple[tuple[str, str], ...]  # which part is the image of which

    def newton(self, *, by_bodies: bool) -> Newton:
        """Return the problem of the half."""
        return Newton(self.network, *self.ends, *self.size, apart=self.apart if by_bodies else ())

    def whole(self, near: FloatArray) -> FloatArray:
        """Return the potentials (nodes,) of the whole from those of the half."""
        out = np.zeros(self.count)
        out[self.near], out[self.far] = near, self.sign * near
        return out


def half(factors: Factors) -> "Half | None":
    """Return the half to which a geometry's static state comes down; None where its magnets are neither way alike."""
    if factors not in _HALVES:
        pairs = None if factors.turn is None or factors.like is not None else factors.turn.nodes
        _HALVES[factors] = None if pairs is None else _half(factors, pairs)
    return _HALVES[factors]


def _half(factors: Factors, pairs: Pairs) -> "Half | None":
    mesh, images = factors.mesh, pairs.images
    image, same_way = _image_edges(mesh, images)
    easy = np.flatnonzero(mesh.edge_sign != 0.0)
    along = mesh.edge_sign[easy] * mesh.edge_sign[image[easy]] * same_way[easy]
    sign = next((s for s in (1.0, -1.0) if len(easy) and np.all(along == s)), None)
    if sign is None or (sign > 0.0 and len(pairs.own)):
        return None
    n = len(pairs.near)
    place = np.full(mesh.nodes, n)
    place[pairs.near] = np.arange(n)
    of = place[mesh.edge_a], place[mesh.edge_b]
    inside = (of[0] < n) & (of[1] < n)
    own = np.isin(mesh.edge_a, pairs.own) | np.isin(mesh.edge_b, pairs.own)
    across = image == np.arange(len(image))  # from a node to its image
    beyond = (of[0] < n) != (of[1] < n)
    if np.any(beyond & ~own & ~across) or (sign > 0.0 and np.any(beyond)):
        return None  # from one half to another place of the other: neither inside nor held
    edges = np.flatnonzero(inside | beyond)
    ends = of[0][edges], of[1][edges]
    size = mesh.edge_area[edges], mesh.edge_length[edges] * np.where(across[edges], 0.5, 1.0)
    network = np.ascontiguousarray(pairs.parts(factors.network)[0 if sign > 0.0 else 1])
    each = [] if np.any(beyond) else apart(network, *ends, *size, body=mesh.node_body[pairs.near])
    names = {(mesh.parts[mesh.edge_part[k]], mesh.parts[mesh.edge_part[image[k]]]) for k in edges}
    return Half(
        near=pairs.near, far=pairs.far, sign=sign, count=mesh.nodes, network=network, edges=edges, ends=ends, size=size,
        apart=each, parts=tuple(sorted(names)),
    )  # fmt: skip


def _image_edges(mesh: Mesh, images: IntArray) -> tuple[IntArray, FloatArray]:
    """Return which edge is the image of each (edges,), and 1 where it runs as the image does, -1 where against it."""
    a, b = images[mesh.edge_a], images[mesh.edge_b]

    def order(first: IntArray, second: IntArray) -> IntArray:
        return np.argsort(np.minimum(first, second) * mesh.nodes + np.maximum(first, second), kind="stable")

    image = np.empty(len(a), dtype=np.int64)
    image[order(a, b)] = order(mesh.edge_a, mesh.edge_b)
    return image, np.where(mesh.edge_a[image] == a, 1.0, -1.0)
