"""Steel and magnets of one mesh, solved without their windings: all that coils, covers and plates do not change.

The equations of `polepiece.magnetics.reluctance`. A cover of another metal over the same poles asks for its own
R = V^-1 Psi alone, so the last cores are kept.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.errors import ConvergenceError
from polepiece.geometry import Mesh
from polepiece.kept import Kept
from polepiece.later import linalg, sparse
from polepiece.magnetics.cholesky import inverted, lower_factor, solve_lower
from polepiece.magnetics.elements import ACROSS, Elements
from polepiece.magnetics.folding import across_plane
from polepiece.magnetics.half_turn import HalfTurn, in_parts, of_parts
from polepiece.magnetics.match import node_of
from polepiece.magnetics.pairs import Parts
from polepiece.magnetics.probes import Probes, is_even
from polepiece.magnetics.reluctance import Factors, SlopesAcross
from polepiece.magnetics.reply import Asked, flat, laplacian, odd_replies, reply_susceptibility
from polepiece.threads import side_by_side, together

INVERT_FROM = 2.0  # elements a node, below which V is inverted as a whole
Solve = Callable[[FloatArray], FloatArray]
"""V^-1 of columns (elements, k)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Core:
    """A mesh with V solved, and what probes see of it; fields that `Factors` has too mean the same."""

    mesh: Mesh
    elements: Elements
    turn: HalfTurn | None
    charge_of_node: FloatArray
    network: FloatArray
    bare: FloatArray
    magnet_nodes: np.ndarray
    uniform: FloatArray
    bare_uniform: FloatArray
    probe_nodes: FloatArray
    slope_nodes: FloatArray  # `SlopesAcross.nodes`
    replies: tuple[FloatArray, FloatArray]  # `probe_reply` and `SlopesAcross.reply`
    probes: Probes
    asked: Asked  # of the probes that need be, even charges
    solve: Solve

    @classmethod
    def of(cls, mesh: Mesh, probes: FloatArray, sloped: IntArray, *, replies: bool) -> "Core":
        """Return the core of ``mesh``, as `factorise` says; from memory, if it was among the last."""
        key = mesh.digest(), probes.tobytes(), probes.shape, sloped.tobytes(), replies
        found = _KEPT.get(key)
        if found is None:
            found = cls._made(mesh, probes, sloped, replies)
            if found.size <= MOST:
                _KEPT[key] = found
        return found

    @property
    def size(self) -> float:
        """What it holds beyond its factors, bytes: V solved, and what probes see of every element."""
        solved = self.elements.count**2 / (1 if self.turn is None else 2)
        return 8.0 * (solved + self.asked.seen.size + self.asked.steep.size)

    @classmethod
    def _made(cls, mesh: Mesh, probes: FloatArray, sloped: IntArray, replies: bool) -> "Core":
        elements = Elements.of(mesh)
        turn = HalfTurn.of(mesh, elements)
        v, v_odd = _interaction(elements) if turn is None else turn.interaction(elements)
        halves, of = (v, v_odd), node_of(mesh)
        magnet_nodes = np.unique(np.concatenate([mesh.edge_a[_magnet(mesh)], mesh.edge_b[_magnet(mesh)]]))
        magnet_elements = np.flatnonzero(np.isin(of, magnet_nodes))
        halved = mesh.folded or (turn is not None and mesh.mirrored and is_even(probes))
        places = Probes.of(probes, halved=halved)
        even, odd = _asked(elements, places.points, sloped)
        order = (of, np.arange(elements.count))
        gather = sparse.csr_array((np.ones(elements.count), order), shape=(mesh.nodes, elements.count))  # P'
        own = (lambda rows: v[np.ix_(rows, rows)]) if turn is None else partial(turn.elements.block, halves)
        bare = _bare(own, mesh, of, magnet_nodes, magnet_elements)

        def first() -> "_Solved":
            if turn is not None:
                return _turned(mesh, halves, turn, gather, even, places if replies else None)
            return _even(mesh, v, gather, even, replies)

        def beside() -> tuple[FloatArray, FloatArray] | None:
            return None if odd is None or not replies else odd_replies(mesh, elements, v_odd, odd)

        one, back = together(first, beside)
        uniform, bare_uniform = _uniform(mesh, one.network, bare, magnet_nodes, turn)
        answers = one.replies
        if back is not None:
            answers = tuple(0.5 * places.between(*both) for both in zip(answers, back))  # type: ignore[assignment]
        far = turn.nodes.images if turn is not None and places.reach_over else None
        nodes, slopes = (
            places.whole(rows, None if far is None else rows[:, far]) for rows in (one.probe_nodes, one.slope_nodes)
        )
        return cls(
            mesh=mesh, elements=elements, turn=turn, charge_of_node=one.charge_of_node, network=one.network, bare=bare,
            magnet_nodes=magnet_nodes, uniform=uniform, bare_uniform=bare_uniform, probe_nodes=nodes,
            slope_nodes=slopes, replies=answers, probes=places, asked=even, solve=one.solve,
        )  # fmt: skip

    def wound(self, sources: FloatArray) -> Factors:
        """Return the factors with windings of the source potentials (elements, w), A per A.

        R = V^-1 Psi of docs/theory/magnetics.md.
        """
        charge = np.ascontiguousarray(self.solve(sources))
        drive = np.zeros((self.mesh.nodes, sources.shape[1]))
        np.add.at(drive, node_of(self.mesh), charge)
        far = self.turn.elements.images if self.turn is not None and self.probes.reach_over else None

        def seen(rows: FloatArray) -> FloatArray:
            """Probes on the far side are read from the images of those on the near one."""
            return self.probes.whole(-(flat(rows) @ charge), None if far is None else -(flat(rows) @ charge[far]))

        return Factors(
            mesh=self.mesh, elements=self.elements, charge_of_node=self.charge_of_node, network=self.network,
            bare=self.bare, magnet_nodes=self.magnet_nodes, uniform=self.uniform, bare_uniform=self.bare_uniform,
            sources=sources, source_charge=charge, drive=drive, direct=sources.T @ charge,
            probe_nodes=self.probe_nodes, probe_sources=seen(self.asked.seen), probe_reply=self.replies[0],
            beside=SlopesAcross(nodes=self.slope_nodes, sources=seen(self.asked.steep), reply=self.replies[1]),
            turn=self.turn,
        )  # fmt: skip


MOST = 150e6  # bytes; the pickup as it is and the last that was tried take some 60 MB each, sheets of steel 400
_KEPT = Kept[object, Core](MOST, lambda core: core.size)


def forget() -> None:
    """Forget the cores that were made last."""
    _KEPT.clear()


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
    The equations of the module `reluctance`; derived in docs/theory/magnetics.md.
    """
    core = Core.of(
        mesh,
        np.zeros((0, 1, 3)) if probes is None else probes,
        np.zeros(0, dtype=np.int64) if sloped is None else sloped,
        replies=replies,
    )
    return core.wound(np.zeros((core.elements.count, 0)) if sources is None else sources)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Solved:
    """What one symmetry gives: see `Core`."""

    charge_of_node: FloatArray
    network: FloatArray
    probe_nodes: FloatArray  # E T, of the probes that are asked
    slope_nodes: FloatArray
    replies: tuple[FloatArray, FloatArray]  # of none where they are not wanted
    solve: Solve


def _even(mesh: Mesh, v: FloatArray, gather: "sparse.csr_array", asked: Asked, replies: bool) -> _Solved:
    """Solve one symmetry; ``v`` is overwritten."""
    t, solved, solve = _charges(v, gather, flat(asked.seen))
    network = np.asarray(gather @ t)
    network = 0.5 * (network + network.T)
    probe_nodes = np.ascontiguousarray(np.asarray(gather @ solved).T)  # E T = (V^-1 E')' P
    steep_nodes = flat(asked.steep) @ t
    back = asked.seen[:0, :, :0], asked.steep[:0, :, :0]
    if replies:
        stiff = network + laplacian(mesh, reply_susceptibility(mesh))
        back = asked.replies(stiff, probe_nodes, steep_nodes, solved.T)
    return _Solved(
        charge_of_node=t, network=network, probe_nodes=probe_nodes, slope_nodes=steep_nodes, replies=back, solve=solve
    )


def _turned(
    mesh: Mesh, halves: Parts, turn: HalfTurn, gather: "sparse.csr_array", asked: Asked, replying: "Probes | None"
) -> _Solved:
    """Solve a mesh that is its own image under a half turn; ``halves`` of V are overwritten.

    ``asked`` is of the probes that need be, the replies are of all that are ``replying``; None: of none.
    """
    gathers, n = turn.gather(gather), turn.elements.evens
    seen, steep = (in_parts(turn.elements, one) for one in (asked.seen, asked.steep))
    rows = flat(seen)
    t, solved, solves = zip(*side_by_side(_charges, halves, gathers, (rows[:, :n], rows[:, n:])))
    networks = [np.asarray(summed @ one) for summed, one in zip(gathers, t)]
    network = turn.nodes.matrix([0.5 * (one + one.T) for one in networks])
    nodes = [np.asarray(summed @ one).T for summed, one in zip(gathers, solved)]
    own = slice(n), slice(n, None)  # what is even, and what is odd
    slopes = side_by_side(lambda part, of: flat(steep)[:, part] @ of, own, t)
    back = asked.seen[:0, :, :0], asked.steep[:0, :, :0]
    if replying is not None:
        stiff = network + laplacian(mesh, reply_susceptibility(mesh))
        even, odd = (np.concatenate(both) for both in zip(nodes, slopes))
        both = side_by_side(
            lambda part, *found: Asked(seen=seen[..., part], steep=steep[..., part], sloped=asked.sloped).over(*found),
            own, turn.bridges(stiff, (even, odd)), [one.T for one in solved],
        )  # fmt: skip
        back = tuple(replying.between(one, two) for one, two in zip(*both))  # type: ignore[assignment]
    probe_nodes, slope_nodes = side_by_side(lambda *parts: of_parts(turn.nodes, *parts), *zip(nodes, slopes))

    def solve(columns: FloatArray) -> FloatArray:
        parts = in_parts(turn.elements, np.ascontiguousarray(columns.T))
        each = side_by_side(lambda part, half: half(parts[:, part].T), own, solves)
        return turn.elements.join(each)

    return _Solved(
        charge_of_node=turn.elements.between(turn.nodes, t), network=network, probe_nodes=probe_nodes,
        slope_nodes=slope_nodes, replies=back, solve=solve,
    )  # fmt: skip


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


def _charges(v: FloatArray, gather: "sparse.csr_array", rows: FloatArray) -> tuple[FloatArray, FloatArray, Solve]:
    """Return T = V^-1 P, V^-1 ``rows``' and V^-1 of any columns; ``v`` is overwritten, ``gather`` is P'.

    Where there are nearly as many nodes as elements (magnets) the inverse costs a third of solving for all columns.
    """
    count = gather.shape[0]
    try:
        if INVERT_FROM * count > len(v):
            inverse = inverted(v)
            t = np.ascontiguousarray(np.asarray(gather @ inverse).T)
            return t, inverse @ rows.T, partial(np.matmul, inverse)
        factor = lower_factor(v)
    except linalg.LinAlgError as error:
        raise ConvergenceError(f"the potential matrix of the mesh is not positive definite: {error}") from error
    both = solve_lower(factor, np.concatenate([gather.toarray(), rows]).T)
    return (
        np.ascontiguousarray(both[:, :count]), both[:, count:],
        lambda columns: solve_lower(factor, np.array(columns, order="F")),
    )  # fmt: skip


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
