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

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Protocol

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import ConvergenceError
from polepiece.geometry import Mesh
from polepiece.later import linalg, sparse
from polepiece.magnetics.cholesky import inverted, lower_factor, solve_lower
from polepiece.magnetics.elements import ACROSS, Elements
from polepiece.magnetics.folding import across_plane
from polepiece.magnetics.half_turn import HalfTurn, in_parts, of_parts
from polepiece.magnetics.pairs import Parts
from polepiece.magnetics.probes import Probes, is_even
from polepiece.magnetics.reply import Asked, flat, laplacian, odd_replies, reply_susceptibility
from polepiece.threads import side_by_side


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


INVERT_FROM = 2.0  # elements a node, below which V is inverted as a whole


def factorise(
    mesh: Mesh,
    sources: "FloatArray | None" = None,
    probes: "FloatArray | None" = None,
    sloped: "IntArray | None" = None,
    *,
    replies: bool = True,
) -> Factors:
    """Return the factors of ``mesh``.

    Parameters
    ----------
    mesh : Mesh
    sources : ndarray, shape (elements, w), optional
        Source potential per ampere of each winding at the elements' collocation points, A.
    probes : ndarray, shape (groups, m, 3), optional
        Points in air where potentials will be asked for again and again (along strings); within a group the
        reply of the pickup to a magnetic charge at one point is wanted at the others.
    sloped : ndarray, optional
        Which groups of probes want slopes along y as well.
    replies : bool
        Whether the replies within groups are wanted: a second factor, and on folded meshes a second problem.

    Raises
    ------
    ConvergenceError
        When the potential matrix is singular (two elements coincide).

    Notes
    -----
    The equations of the module; derived in docs/theory/magnetics.md.
    """
    elements = Elements.of(mesh)
    turn = HalfTurn.of(mesh, elements)
    v, v_odd = _interaction(elements) if turn is None else turn.interaction(elements)
    halves = v, v_odd
    node_of = np.concatenate([mesh.panel_node, mesh.cell_node])
    magnet_nodes = np.unique(np.concatenate([mesh.edge_a[_magnet(mesh)], mesh.edge_b[_magnet(mesh)]]))
    magnet_elements = np.flatnonzero(np.isin(node_of, magnet_nodes))
    sources = np.zeros((elements.count, 0)) if sources is None else sources
    probes = np.zeros((0, 1, 3)) if probes is None else probes
    halved = mesh.folded or (turn is not None and mesh.mirrored and is_even(probes))
    places = Probes.of(probes, halved=halved)
    even, odd = _asked(elements, places.points, np.zeros(0, dtype=np.int64) if sloped is None else sloped)
    order = (node_of, np.arange(elements.count))
    gather = sparse.csr_array((np.ones(elements.count), order), shape=(mesh.nodes, elements.count))  # P'
    own = (lambda rows: v[np.ix_(rows, rows)]) if turn is None else partial(turn.elements.block, halves)
    bare = _bare(own, mesh, node_of, magnet_nodes, magnet_elements)

    def first() -> tuple[FloatArray, ...]:
        if turn is not None:
            return _turned(mesh, halves, turn, gather, sources, even, places if replies else None)
        return _even(mesh, v, gather, sources, even, replies)

    parts: list[Callable[[], tuple[FloatArray, ...]]] = [first]
    if odd is not None and replies:
        parts.append(lambda: odd_replies(mesh, elements, v_odd, odd))
    (t, r, network, probe_nodes, steep_nodes, *back), *others = side_by_side(lambda part: part(), parts)
    uniform, bare_uniform = _uniform(mesh, network, bare, magnet_nodes, turn)
    drive = np.zeros((mesh.nodes, sources.shape[1]))
    np.add.at(drive, node_of, r)
    for found in others:
        back = [0.5 * places.between(one, two) for one, two in zip(back, found)]
    beyond = turn if places.reach_over else None  # where probes on the far side are read from those of the near one

    def of_sources(rows: FloatArray) -> FloatArray:
        far = None if beyond is None else -(flat(rows) @ r[beyond.elements.images])
        return places.whole(-(flat(rows) @ r), far)

    def of_nodes(rows: FloatArray) -> FloatArray:
        return places.whole(rows, None if beyond is None else rows[:, beyond.nodes.images])

    beside = SlopesAcross(nodes=of_nodes(steep_nodes), sources=of_sources(even.steep), reply=back[1])
    return Factors(
        mesh=mesh, elements=elements, charge_of_node=t, network=network, bare=bare, magnet_nodes=magnet_nodes,
        uniform=uniform, bare_uniform=bare_uniform, sources=sources, source_charge=r, drive=drive,
        direct=sources.T @ r, probe_nodes=of_nodes(probe_nodes), probe_sources=of_sources(even.seen),
        probe_reply=back[0], beside=beside, turn=turn,
    )  # fmt: skip


def _even(
    mesh: Mesh, v: FloatArray, gather: "sparse.csr_array", sources: FloatArray, asked: Asked, replies: bool
) -> tuple[FloatArray, ...]:
    """Return T, R, K, E T and its slope, the reply and its slope (or none), of one symmetry; ``v`` is overwritten."""
    w = sources.shape[1]
    t, solved = _charges(v, gather, np.concatenate([sources.T, flat(asked.seen)]))
    network = np.asarray(gather @ t)
    network = 0.5 * (network + network.T)
    probe_nodes = np.ascontiguousarray(np.asarray(gather @ solved[:, w:]).T)  # E T = (V^-1 E')' P
    steep_nodes = flat(asked.steep) @ t
    back = asked.seen[:0, :, :0], asked.steep[:0, :, :0]
    if replies:
        stiff = network + laplacian(mesh, reply_susceptibility(mesh))
        back = asked.replies(stiff, probe_nodes, steep_nodes, solved[:, w:].T)
    return t, np.ascontiguousarray(solved[:, :w]), network, probe_nodes, steep_nodes, *back


def _turned(
    mesh: Mesh, halves: Parts, turn: HalfTurn, gather: "sparse.csr_array", sources: FloatArray, asked: Asked,
    replying: "Probes | None",
) -> tuple[FloatArray, ...]:  # fmt: skip
    """Return what `_even` does, of a mesh that is its own image under a half turn; ``halves`` of V are overwritten.

    ``asked`` is of the probes that need be, the replies are of all that are ``replying``; None: of none.
    """
    w, gathers, n = sources.shape[1], turn.gather(gather), turn.elements.evens
    seen, steep = (in_parts(turn.elements, one) for one in (asked.seen, asked.steep))
    driven = np.concatenate([in_parts(turn.elements, np.ascontiguousarray(sources.T)), flat(seen)])
    found = side_by_side(_charges, halves, gathers, (driven[:, :n], driven[:, n:]))
    t, solved = zip(*found)
    networks = [np.asarray(summed @ one) for summed, one in zip(gathers, t)]
    network = turn.nodes.matrix([0.5 * (one + one.T) for one in networks])
    charged = [one[:, w:].T for one in solved]
    nodes = [np.asarray(summed @ one[:, w:]).T for summed, one in zip(gathers, solved)]
    own = slice(n), slice(n, None)  # what is even, and what is odd
    slopes = side_by_side(lambda part, of: flat(steep)[:, part] @ of, own, t)
    back = asked.seen[:0, :, :0], asked.steep[:0, :, :0]
    if replying is not None:
        stiff = network + laplacian(mesh, reply_susceptibility(mesh))
        even, odd = (np.concatenate(both) for both in zip(nodes, slopes))
        both = side_by_side(
            lambda part, *found: Asked(seen=seen[..., part], steep=steep[..., part], sloped=asked.sloped).over(*found),
            own, turn.bridges(stiff, (even, odd)), charged,
        )  # fmt: skip
        back = tuple(replying.between(one, two) for one, two in zip(*both))  # type: ignore[assignment]
    whole = turn.elements.join([one[:, :w] for one in solved])
    probe_nodes, steep_nodes = side_by_side(lambda *rows: of_parts(turn.nodes, *rows), *zip(nodes, slopes))
    return turn.elements.between(turn.nodes, t), whole, network, probe_nodes, steep_nodes, *back


def _interaction(elements: Elements) -> tuple[FloatArray, FloatArray]:
    """Return V, and V of charges odd in x where the mesh is folded."""
    if not elements.fold:
        return elements.interaction(), np.zeros((0, 0))
    own, image = elements.halves()
    return own + image, own - image


def _asked(elements: Elements, points: FloatArray, sloped: IntArray) -> tuple[Asked, "Asked | None"]:
    """Return what probes (groups, m, 3) are asked of even charges, and of charges odd in x where the mesh is folded."""
    shapes = [(*places.shape[:2], elements.count) for places in (points, points[sloped])]
    near = points.reshape(-1, 3), points[sloped].reshape(-1, 3)

    def seen(of: Elements, at: tuple[FloatArray, FloatArray]) -> list[FloatArray]:
        return [of.potentials(at[0]).reshape(shapes[0]), of.slopes_across(at[1]).reshape(shapes[1])]

    if not elements.fold or not len(points):
        own = seen(elements, near)
        return Asked(seen=own[0], steep=own[1], sloped=sloped), None
    alone = replace(elements, fold=0.0)
    own, image = seen(alone, near), seen(alone, (near[0] * ACROSS, near[1] * ACROSS))
    return (
        Asked(seen=own[0] + image[0], steep=own[1] + image[1], sloped=sloped),
        Asked(seen=own[0] - image[0], steep=own[1] - image[1], sloped=sloped),
    )


def _charges(v: FloatArray, gather: "sparse.csr_array", rows: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return T = V^-1 P and V^-1 ``rows``'; ``v`` is overwritten, ``gather`` is P'.

    Where there are nearly as many nodes as elements (magnets) the inverse costs a third of solving for all columns.
    """
    try:
        if INVERT_FROM * gather.shape[0] > len(v):
            inverse = inverted(v)
            t, solved = np.ascontiguousarray(np.asarray(gather @ inverse).T), inverse @ rows.T
        else:
            factor = lower_factor(v)
            both = solve_lower(factor, np.concatenate([gather.toarray(), rows]).T)
            t, solved = np.ascontiguousarray(both[:, : gather.shape[0]]), both[:, gather.shape[0] :]
    except linalg.LinAlgError as error:
        raise ConvergenceError(f"the potential matrix of the mesh is not positive definite: {error}") from error
    return t, solved


def _uniform(
    mesh: Mesh, network: FloatArray, bare: FloatArray, magnet_nodes: np.ndarray, turn: "HalfTurn | None"
) -> tuple[FloatArray, FloatArray]:
    """Node potentials of a uniform unit magnetisation: first guesses only."""
    flux = mesh.edge_sign * mesh.edge_area
    charge = np.bincount(mesh.edge_b, flux, mesh.nodes) - np.bincount(mesh.edge_a, flux, mesh.nodes)
    steel = np.where(_magnet(mesh), 0.0, 799.0)
    matrix = network + laplacian(mesh, steel)
    full = linalg.solve(matrix, charge, assume_a="pos") if turn is None else turn.solve(matrix, charge.astype(float))
    alone, body = np.zeros(len(magnet_nodes)), mesh.node_body[magnet_nodes]
    for one in np.unique(body):
        rows = np.flatnonzero(body == one)
        alone[rows] = linalg.solve(bare[np.ix_(rows, rows)], charge[magnet_nodes[rows]], assume_a="pos")
    return full, alone


def _magnet(mesh: Mesh) -> np.ndarray:
    return np.asarray(mesh.is_magnet_edge, dtype=bool)


def _bare(
    own: Callable[[IntArray], FloatArray], mesh: Mesh, node_of: np.ndarray, magnet_nodes: np.ndarray,
    magnet_elements: np.ndarray,
) -> FloatArray:  # fmt: skip
    """K of each magnet alone in air (a mirror image belongs to the same bar only when the bar crosses the plane).

    ``own`` returns V of some elements alone.
    """
    out = np.zeros((len(magnet_nodes), len(magnet_nodes)))
    place = {node: k for k, node in enumerate(magnet_nodes)}
    bodies = mesh.node_body[node_of[magnet_elements]]
    known: dict[bytes, FloatArray] = {}
    across = across_plane(mesh) if mesh.folded else set()
    for body in np.unique(bodies):
        rows = magnet_elements[bodies == body]
        low = min(mesh.panel_corners[r][:, 1].min() for r in rows if r < mesh.panels)
        images = mesh.mirrored and low <= 1e-9, mesh.folded and int(body) in across  # else another magnet's
        alone = images != (mesh.mirrored, mesh.folded)
        key = _shape(mesh, rows) if alone else bytes(str(body), "ascii")
        if key not in known:
            known[key] = inverted(_single(mesh, rows, images) if alone else own(rows))
        nodes = node_of[rows]
        at = np.array([place[n] for n in nodes])
        np.add.at(out, (at[:, None], at[None, :]), known[key])
    return out


def _shape(mesh: Mesh, rows: np.ndarray) -> bytes:
    """The shapes of a body's elements wherever it stands, to a nanometre: equal for rods that are cut alike."""
    panels, cells = rows[rows < mesh.panels], rows[rows >= mesh.panels] - mesh.panels
    corners = np.concatenate([mesh.panel_corners[panels].reshape(-1, 3), mesh.cell_faces[cells].reshape(-1, 3)])
    shape: bytes = np.rint((corners - corners[0]) * 1e9).astype(np.int64).tobytes()
    reach: bytes = mesh.panel_reach[panels].tobytes()
    return shape + reach


def _single(mesh: Mesh, rows: np.ndarray, images: tuple[bool, bool]) -> FloatArray:
    """V of a body's elements with its own images in y = 0 and x = 0 only."""
    panels = rows[rows < mesh.panels]
    cells = rows[rows >= mesh.panels] - mesh.panels
    alone = replace(
        mesh,
        mirrored=images[0],
        folded=images[1],
        panel_corners=mesh.panel_corners[panels],
        panel_reach=mesh.panel_reach[panels],
        panel_node=mesh.panel_node[panels],
        cell_faces=mesh.cell_faces[cells],
        cell_node=mesh.cell_node[cells],
    )
    return Elements.of(alone).interaction()
