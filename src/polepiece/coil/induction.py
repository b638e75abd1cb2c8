"""Alternating fields of windings in the magnetic network: inductances that fall with frequency.

The network of `magnetics` with impressed sources: K Phi + D chi A/l D' Phi = b, b = P' R, R = V^-1 Psi, and

    L_ij = L_air + s mu0 (Psi_i' R_j - b_i' Phi_j)        s = 2 with a mirror plane, else 1

Steel edges take a complex reversible permeability each; the magnets are linear with their recoil permeability
and are described in a small basis made from solutions at several susceptibilities.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.coil.branches import branches
from polepiece.coil.plates import Plate
from polepiece.coil.sheets import Sheets
from polepiece.coil.winding import Loops, Racetrack, inductance_in_air, source_potential
from polepiece.geometry import Mesh
from polepiece.later import sparse
from polepiece.magnetics import Elements, Factors, Pairs, Whole, cholesky, laplacian
from polepiece.threads import side_by_side, together

BASIS_SUSCEPTIBILITIES = ((0.05, 0.05), (1.0, 1.0), (2.7, 2.7), (6.0, 6.0), (2.7, 0.3))  # (along x and y, along z)
NORM_SUSCEPTIBILITY = (1.0, 1.0)  # of the energy norm that answers are compared in; one of the above
BASIS_CUT = 1e-2  # singular values below this share of the largest are left out
DUST = 1e-5  # share of the largest singular value below which what drives the magnets is left out: below every cut
CORE_CUT = 1e-4  # the same of magnets that a coil goes round: at 1e-2 a string's flux is 0.9 % off, here 0.01 %


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindingSet:
    """The coils and sheets of one pickup with everything that geometry says of them.

    Winding order: coils, then the unknowns of the sheets. All coils count counter-clockwise from +z.
    """

    coils: tuple[Racetrack, ...]
    sheets: "Sheets | None"  # None: there are none, or all that is asked of them is known already
    sources: FloatArray  # Psi (elements, w)
    air: FloatArray  # inductances in air (w, w), H
    resistances: FloatArray  # (sheets, w, w), ohm, of each sheet; zero for the coils themselves


COIL_WEIGHT = 30.0  # of the coils' own flux among the drives of the sheets' basis, against that of one node's charge


def winding_set(mesh: Mesh, coils: Sequence[Racetrack], plates: Sequence[Plate] = ()) -> WindingSet:
    """Return source potentials and air inductances of ``coils`` and ``plates`` around ``mesh``.

    The sheets' currents are confined to a small basis: what the coils and charges at the nodes of ``mesh`` call up.

    Loops and sheets in air: docs/theory/coil.md.
    """
    position = Elements.of(mesh).position
    n = len(coils)
    air, resistances = np.zeros((n, n)), np.zeros((len(plates), n, n))
    air[:n, :n] = inductance_in_air(tuple(coils))
    if not plates:
        sources = source_potentials(mesh, position, coils)
        return WindingSet(coils=tuple(coils), sheets=None, sources=sources, air=air, resistances=resistances)
    sheets = Sheets.of(plates, mirrored=mesh.mirrored, folded=mesh.folded)

    def linked_with() -> FloatArray:
        sheets.prepare()
        return np.array([sheets.linked(Loops.gauss(coil)) for coil in coils])

    (psi, wound), linked = together(
        lambda: (sheet_potentials(mesh, position, sheets), source_potentials(mesh, position, coils)), linked_with
    )
    sheets, basis = sheets.reduced(_drives(mesh, position, linked, psi))
    sources = np.concatenate([wound, psi @ basis], axis=1)
    linked = linked @ basis
    air = np.block([[air, linked], [linked.T, sheets.inductance]])
    resistances = np.pad(sheets.resistances, ((0, 0), (n, 0), (n, 0)))
    return WindingSet(coils=tuple(coils), sheets=sheets, sources=sources, air=air, resistances=resistances)


def _drives(mesh: Mesh, position: FloatArray, linked: FloatArray, psi: FloatArray) -> FloatArray:
    """Flux through the sheets' unknowns (u, d): of each coil, and of charge at each steel node and part of a magnet."""
    own = np.asarray(COIL_WEIGHT * linked.T / np.maximum(np.linalg.norm(linked, axis=1), 1e-300))
    if not len(position):
        return own
    node_of = np.concatenate([mesh.panel_node, mesh.cell_node])
    magnet = np.zeros(mesh.nodes, dtype=bool)
    inside = np.asarray(mesh.is_magnet_edge, dtype=bool)
    magnet[mesh.edge_a[inside]] = magnet[mesh.edge_b[inside]] = True
    key = np.column_stack([node_of, np.zeros((len(node_of), 3), dtype=np.int64)])
    rows = magnet[node_of]
    key[rows, 0] = -1 - mesh.node_body[node_of[rows]]
    key[rows, 1:] = np.rint(position[rows] / MAGNET_PART).astype(np.int64)
    _, group = np.unique(key, axis=0, return_inverse=True)
    gather = sparse.csr_array((np.ones(len(group)), (group.ravel(), np.arange(len(group)))))
    columns = np.asarray(gather @ psi).T
    columns = columns / np.maximum(np.linalg.norm(columns, axis=0), 1e-300)
    return np.concatenate([own, columns], axis=1)


MAGNET_PART = np.array([4e-3, 5e-3, 4e-3])  # m, parts of a magnet whose charge drives the sheets as one


def source_potentials(
    mesh: Mesh,
    points: FloatArray,
    coils: Sequence[Racetrack],
    sheets: "Sheets | None" = None,
    rows: "IntArray | None" = None,
) -> FloatArray:
    """Return Psi (n, w), A per A, of ``coils`` and ``sheets`` at the elements' ``points`` (n, 3).

    ``rows`` (n,) names the elements of ``mesh`` whose points are given; default: all.
    """
    node_of = np.concatenate([mesh.panel_node, mesh.cell_node])
    node_of = node_of if rows is None else node_of[rows]
    columns = [source_potential(c, points, _through(mesh, c)[mesh.node_body[node_of]])[:, None] for c in coils]
    columns += [sheet_potentials(mesh, points, sheets, rows)] if sheets is not None else []
    return np.concatenate(columns, axis=1) if columns else np.zeros((len(points), 0))


def sheet_potentials(mesh: Mesh, points: FloatArray, sheets: Sheets, rows: "IntArray | None" = None) -> FloatArray:
    """Return Psi (n, u), A per A, of ``sheets`` at elements' ``points``, continuous along what pierces them.

    Branches of the potential: derived in docs/theory/coil.md.
    """
    node_of = np.concatenate([mesh.panel_node, mesh.cell_node])
    node_of = node_of if rows is None else node_of[rows]
    out = sheets.potential(points)
    for cut in branches(mesh, [m.plate for m in sheets.meshes]):
        out += cut.side(node_of, points[:, 2])[:, None] * sheets.jump(cut.sheet, cut.x, cut.y)
    for number, plate in enumerate(m.plate for m in sheets.meshes):
        own = np.flatnonzero(nodes_of(mesh, plate.steel)[node_of])
        if len(own):
            out[own] -= sheets.within(number, points[own])
    return out


def nodes_of(mesh: Mesh, part: str) -> np.ndarray:
    """Return which nodes (nodes,) belong to the steel part of a name; none where there is no such part."""
    out = np.zeros(mesh.nodes, dtype=bool)
    if part in mesh.parts:
        edges = mesh.edge_part == mesh.parts.index(part)
        out[mesh.edge_a[edges]] = out[mesh.edge_b[edges]] = True
    return out


def _through(mesh: Mesh, coil: Racetrack) -> np.ndarray:
    """Which bodies pass through the hole of ``coil``."""
    z = mesh.node_position[:, 2]
    hit = coil.encloses(mesh.node_axis[:, 0], mesh.node_axis[:, 1]) & (z > coil.bottom) & (z < coil.top)
    out = np.zeros(mesh.bodies, dtype=bool)
    out[np.unique(mesh.node_body[hit])] = True
    return out


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alternating:
    """Geometry-only matrices for alternating fields, in the reduced unknowns (steel nodes, magnet basis)."""

    windings: WindingSet
    factor: float  # s
    steel_nodes: np.ndarray
    basis: FloatArray  # (magnet nodes, r)
    magnet_nodes: np.ndarray
    network: FloatArray  # (m, m), m = steel nodes + r
    drive: FloatArray  # b (m, w)
    direct: FloatArray  # Psi' R (w, w)
    magnet_flat: FloatArray  # D A/l D' of magnet edges along x and y, reduced (r, r)
    magnet_up: FloatArray  # the same along z
    edges: np.ndarray  # steel edges of the mesh
    edge_a: np.ndarray  # their ends among the reduced unknowns
    edge_b: np.ndarray
    edge_weight: FloatArray  # area / length

    @property
    def steel_count(self) -> int:
        """Number of steel nodes."""
        return len(self.steel_nodes)

    def reduce(self, rows: FloatArray) -> FloatArray:
        """Return ``rows`` (g, nodes) of a functional of node potentials in the reduced unknowns (g, m)."""
        return np.concatenate([rows[:, self.steel_nodes], rows[:, self.magnet_nodes] @ self.basis], axis=1)


def alternating(factors: Factors, windings: WindingSet, basis: "FloatArray | None" = None) -> Alternating:
    """Return the reduced matrices of ``factors`` (made with ``windings.sources``).

    ``basis`` (magnet nodes, r) describes the magnets where it is known already; default: made for these factors.

    The equations of the module in a small basis: docs/theory/coil.md.
    """
    mesh, drive, magnet = factors.mesh, factors.drive, factors.magnet_nodes
    steel = np.setdiff1d(np.arange(mesh.nodes), magnet)
    in_magnet = np.asarray(mesh.is_magnet_edge, dtype=bool)
    kmm = factors.network[np.ix_(magnet, magnet)]
    kms = factors.network[np.ix_(magnet, steel)]
    turned = None if factors.turn is None or mesh.mirrored else factors.turn.nodes
    if basis is None and turned is not None and len(magnet):
        basis = _basis_of_parts(mesh, factors.network, drive, turned, magnet, windings.coils)
    elif basis is None and len(magnet):
        flat, up = (laplacian(mesh, chi)[np.ix_(magnet, magnet)] for chi in _magnet_edges(mesh))
        modes = _Modes.of(kmm, kms, drive[magnet], len(windings.coils), flat, up)
        basis = modes.basis(float(modes.values[-1]), _cut(mesh, windings.coils, magnet))
    elif basis is None:
        basis = np.zeros((0, 0))
    kss = factors.network[np.ix_(steel, steel)]
    network = np.block([[kss, kms.T @ basis], [basis.T @ kms, basis.T @ kmm @ basis]])
    edges = np.flatnonzero(~in_magnet)
    place = np.full(mesh.nodes, -1)
    place[steel] = np.arange(len(steel))
    magnet_flat, magnet_up = (_reduced(mesh, chi, magnet, basis) for chi in _magnet_edges(mesh))
    return Alternating(
        windings=windings, factor=mesh.images, steel_nodes=steel, basis=basis,
        magnet_nodes=magnet, network=network, drive=np.concatenate([drive[steel], basis.T @ drive[magnet]]),
        direct=factors.direct, magnet_flat=magnet_flat, magnet_up=magnet_up, edges=edges,
        edge_a=place[mesh.edge_a[edges]], edge_b=place[mesh.edge_b[edges]],
        edge_weight=(mesh.edge_area / mesh.edge_length)[edges],
    )  # fmt: skip


def _magnet_edges(mesh: Mesh) -> tuple[FloatArray, FloatArray]:
    """One on the magnets' edges along x and y, and one on those along z."""
    in_magnet, up = np.asarray(mesh.is_magnet_edge, dtype=bool), mesh.edge_axis == 2
    return np.where(in_magnet & ~up, 1.0, 0.0), np.where(in_magnet & up, 1.0, 0.0)


def _reduced(mesh: Mesh, susceptibility: FloatArray, nodes: np.ndarray, basis: FloatArray) -> FloatArray:
    """Return basis' D chi A/l D' basis (r, r), summed over the edges."""
    edges = np.flatnonzero(susceptibility)
    place = np.full(mesh.nodes, -1)
    place[nodes] = np.arange(len(nodes))
    drop = basis[place[mesh.edge_a[edges]]] - basis[place[mesh.edge_b[edges]]]
    weight = (susceptibility * mesh.edge_area / mesh.edge_length)[edges]
    out: FloatArray = drop.T @ (weight[:, None] * drop)
    return out


def _cut(mesh: Mesh, coils: Sequence[Racetrack], magnet: IntArray) -> float:
    """Return the share below which modes of the magnets are left out: less where a coil's flux runs through them."""
    x, y, z = mesh.node_position[magnet].T
    for c in coils:
        inside = (np.abs(x - c.x) < c.inner_half_x) & (np.abs(y - c.y) < c.inner_half_y)
        if np.any(inside & (z > c.bottom) & (z < c.top)):
            return CORE_CUT
    return BASIS_CUT


def parity_basis(base: Whole, coils: Sequence[Racetrack]) -> FloatArray:
    """Return the magnets' basis (magnet nodes of the whole, r) of a mirrored geometry: of its even and its odd part.

    Proper orthogonal decomposition, a part at a time: docs/theory/coil.md.
    """
    magnet = np.concatenate([one[base.half.magnet_nodes] for one in (base.of_nodes.near, base.of_nodes.far)])
    return _basis_of_parts(base.mesh, base.network, base.drive, base.of_nodes, magnet, coils)


def _basis_of_parts(
    mesh: Mesh, network: FloatArray, drive: FloatArray, pairs: Pairs, magnet: IntArray, coils: Sequence[Racetrack]
) -> FloatArray:
    """Return the magnets' basis (magnet nodes, r), by rising number of the node; ``pairs`` are those of all nodes."""
    laplacians = [laplacian(mesh, chi) for chi in _magnet_edges(mesh)]
    is_magnet = np.isin(np.concatenate([pairs.near, pairs.own]), magnet)

    def modes_of(driven: FloatArray, own: FloatArray, flat: FloatArray, up: FloatArray) -> _Modes:
        inside = is_magnet[: len(own)]
        rows = np.ix_(inside, inside)
        return _Modes.of(own[rows], own[np.ix_(inside, ~inside)], driven[inside], len(coils), flat[rows], up[rows])

    modes = side_by_side(modes_of, pairs.split(drive), *(pairs.parts(one) for one in (network, *laplacians)))
    strongest = max(float(m.values[-1]) for m in modes)
    cut, columns = _cut(mesh, coils, magnet), []
    for parity, found in enumerate(m.basis(strongest, cut) for m in modes):
        parts = [np.zeros((size, found.shape[1])) for size in (pairs.evens, len(pairs.near))]
        parts[parity][is_magnet[: len(parts[parity])]] = found
        columns.append(pairs.join(parts))
    return np.asarray(np.concatenate(columns, axis=1)[np.sort(magnet)])


def _condensed(columns: FloatArray) -> FloatArray:
    """Return fewer columns (n, k) with the same product columns @ columns.T, to DUST of its largest singular value."""
    values, turned = np.linalg.eigh(columns.T @ columns)
    return np.asarray(columns @ turned[:, values > DUST**2 * values[-1]])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Modes:
    """Proper orthogonal decomposition of the magnets' answers, in the energy norm of the network."""

    values: FloatArray  # squares of the singular values, rising
    vectors: FloatArray
    half: FloatArray  # lower factor of the norm

    @classmethod
    def of(
        cls, kmm: FloatArray, kms: FloatArray, drive: FloatArray, coils: int, flat: FloatArray, up: FloatArray
    ) -> "_Modes":
        """Answers to the steel's potentials and to the windings, at several susceptibilities."""
        weight = np.concatenate(
            [np.full(kms.shape[1], 1.0), np.full(coils, 10.0), np.full(drive.shape[1] - coils, 0.1)]
        )
        rhs = np.concatenate([kms, drive], axis=1)
        scale = np.linalg.norm(rhs, axis=0)
        kept = scale > 1e-12 * scale.max()
        rhs = _condensed((rhs / np.maximum(scale, 1e-300) * weight)[:, kept])

        def answers(along: float, across: float) -> tuple[FloatArray, FloatArray]:
            factor = cholesky.clean_factor(kmm + along * flat + across * up)
            return factor, cholesky.solve_lower(np.asfortranarray(factor), np.array(rhs, order="F"))

        found = side_by_side(answers, *zip(*BASIS_SUSCEPTIBILITIES))
        half, snapshots = found[BASIS_SUSCEPTIBILITIES.index(NORM_SUSCEPTIBILITY)][0], [one for _, one in found]
        gathered = half.T @ np.concatenate(snapshots, axis=1)
        if gathered.shape[1] >= gathered.shape[0]:
            values, vectors = np.linalg.eigh(gathered @ gathered.T)
        else:  # few answers, as with rods, which have no steel beside them: the same values from the smaller product
            values, turned = np.linalg.eigh(gathered.T @ gathered)
            vectors = gathered @ (turned / np.sqrt(np.maximum(values, 1e-300)))
        return cls(values=values, vectors=vectors, half=half)

    def basis(self, strongest: float, cut: float) -> FloatArray:
        """Return the basis (magnet nodes, r) of the modes whose singular values exceed ``cut`` times the largest."""
        vectors = self.vectors[:, self.values > cut**2 * strongest]
        return cholesky.triangular(self.half, vectors, transposed=True)
