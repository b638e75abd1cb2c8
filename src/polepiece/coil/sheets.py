"""The sheets of one pickup together: resistance, inductance, flux from windings, potential, and a small basis.

The matrices are integrals over the sheets of a Galerkin method: R of rho/t K_i . K_j, L of K_i . A_j. A_j, the vector
potential of a whole grid, is a closed form; only the outer integral is a sum, over four Gauss points of each cell.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from hashlib import sha256
from itertools import pairwise

import numpy as np

from polepiece.arrays import FloatArray, IntArray, points_array
from polepiece.coil import _sheet_kernels
from polepiece.coil.plates import Face, Plate, SheetMesh
from polepiece.coil.winding import Loops, loop_vector_potential
from polepiece.constants import MU_0
from polepiece.errors import InputError
from polepiece.later import linalg, sparse
from polepiece.magnetics import cache, cholesky
from polepiece.threads import side_by_side

POINTS_AT_ONCE = 512
STORED_AS = b"K.A 1"  # another number when the integral is taken another way
BASIS_HERTZ = (60.0, 400.0, 1500.0, 5000.0, 20e3)  # snapshots of the basis; modes between them change slowly
BASIS_CUT = 1e-3  # singular values (root of energy) below this share of the largest are left out: 1e-6 of the energy


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheets:
    """Sheets and their unknown currents, A; ``shape`` (nodes, u) is psi at every node per unknown, sparse as it is cut.

    Galerkin's method for a stream function: derived in docs/theory/coil.md, "Plates and covers".
    """

    meshes: tuple[SheetMesh, ...]
    shape: "FloatArray | sparse.csr_array"
    resistances: FloatArray  # (sheets, u, u) ohm, of each sheet for itself
    inductance: FloatArray  # (u, u) H
    blocks: tuple[slice, ...]  # unknowns of one parity in y: blocks do not see each other

    @property
    def resistance(self) -> FloatArray:
        """Resistance (u, u) of all sheets, ohm."""
        return np.asarray(self.resistances.sum(axis=0))

    @property
    def unknowns(self) -> int:
        """Number of unknowns."""
        return int(self.shape.shape[1])

    @classmethod
    def of(cls, plates: Sequence[Plate], *, mirrored: bool, folded: bool = False) -> "Sheets":
        """Cut ``plates`` and return their matrices.

        ``mirrored``: currents even in y alone; ``folded``: even in x alone. A stream function even in x makes a
        potential even in x, as one coil on x = 0 does; odd ones do not see it.

        Raises
        ------
        InputError
            When currents of one parity are asked for and the sheets are not their own image there.
        """
        return _cut(tuple(plates), mirrored, folded)

    @classmethod
    def _made(cls, plates: tuple[Plate, ...], mirrored: bool, folded: bool) -> "Sheets":
        meshes = tuple(SheetMesh.of(plate) for plate in plates)
        sizes = [m.unknowns for m in meshes]
        total = sum(sizes)
        tie = sparse.block_diag([_tie(m) for m in meshes], format="csr") if meshes else sparse.csr_array((0, 0))
        chosen, starts = _chosen(meshes, mirrored, folded) if total else (sparse.csr_array((0, 0)), np.array([0, 0]))
        shape = sparse.csr_array(tie @ chosen) if total else sparse.csr_array((0, 0))
        found = _stored_inductance(meshes) if total else np.zeros((0, 0))
        inductance = np.asarray(shape.T @ (found @ shape)) if total else found
        return cls(
            meshes=meshes, shape=shape,
            resistances=np.array([(shape.T @ one @ shape).toarray() for one in _resistances(meshes)])
            if total else np.zeros((len(meshes), 0, 0)),
            inductance=0.5 * (inductance + inductance.T),
            blocks=tuple(slice(int(a), int(b)) for a, b in pairwise(starts)),
        )  # fmt: skip

    def potential(self, points: FloatArray) -> FloatArray:
        """Return the source potential (n, u), A per A, at ``points`` (n, 3), its jump at the sheets themselves."""
        points = points_array(points)
        out = np.zeros((len(points), self.unknowns))
        start = 0
        for mesh in self.meshes:
            for face in mesh.faces:
                shape = self.shape[start + face.nodes.ravel()]
                for k in range(0, len(points), POINTS_AT_ONCE):
                    part = slice(k, k + POINTS_AT_ONCE)
                    made = _sheet_kernels.potentials(face.local(points[part]), face.first, face.second)
                    out[part] += made.reshape(len(made), -1) @ shape
            start += len(mesh.position)
        return out

    def jump(self, sheet: int, x: float, y: float) -> FloatArray:
        """Return psi (u,), A per A, of the top of one sheet at a place: the potential above less that below."""
        start = sum(len(m.position) for m in self.meshes[:sheet])
        mesh = self.meshes[sheet]
        return np.asarray(mesh.at(x, y) @ self.shape[start : start + len(mesh.position)])

    def within(self, sheet: int, points: FloatArray) -> FloatArray:
        """Return half the jump (n, u), A per A, that `potential` has on each side of a sheet, at its own surface.

        +psi/2 where ``points`` (n, 3) lie on the side of the normal, -psi/2 on the other, in proportion between the
        faces, nothing beyond the rim. The potential less this is that of the sheet's middle plane: in a magnetic sheet
        the current is spread over the thickness, and what each half of it takes of the field is the sheet's own affair
        (`sheet_impedance`).
        """
        start = sum(len(m.position) for m in self.meshes[:sheet])
        mesh, out = self.meshes[sheet], np.zeros((len(points), self.unknowns))
        half, todo = 0.5 * mesh.plate.thickness, np.ones(len(points), dtype=bool)
        for face in mesh.faces:
            u, v, w = face.local(points_array(points)).T
            inside = (u > face.first[0]) & (u < face.first[-1]) & (v > face.second[0]) & (v < face.second[-1])
            rows = np.flatnonzero(todo & inside & (abs(w) < 1.5 * half))
            todo[rows] = False
            nodes = _bilinear(face, u[rows], v[rows]) @ self.shape[start + face.nodes.ravel()]
            out[rows] = 0.5 * np.clip(w[rows] / half, -1.0, 1.0)[:, None] * nodes
        return out

    def linked(self, loops: Loops) -> FloatArray:
        """Return the mutual inductance (u,) in H with a winding."""
        out = np.zeros(self.unknowns)
        start = 0
        for mesh in self.meshes:
            for face in mesh.faces:
                points, along = _gauss(face)
                a = loop_vector_potential(face.origin + points @ face.frame[:2], loops) @ face.frame[:2].T
                nodes = along[0].T @ a[:, 0] + along[1].T @ a[:, 1]
                out += nodes @ self.shape[start + face.nodes.ravel()]
            start += len(mesh.position)
        return out

    def in_basis(self, basis: Sequence[FloatArray]) -> "Sheets":
        """Return the sheets with the currents of each block confined to the columns of its ``basis`` (u, r)."""
        starts = np.cumsum([0, *(b.shape[1] for b in basis)])

        def within(matrix: FloatArray) -> FloatArray:
            parts = side_by_side(lambda block, own: own.T @ matrix[block, block] @ own, self.blocks, basis)
            return np.asarray(linalg.block_diag(*parts))

        return replace(
            self, shape=self.shape @ linalg.block_diag(*basis), resistances=np.array([*map(within, self.resistances)]),
            inductance=within(self.inductance),
            blocks=tuple(slice(int(a), int(b)) for a, b in pairwise(starts)),
        )  # fmt: skip

    def reduced(self, drives: FloatArray) -> "tuple[Sheets, FloatArray]":
        """Return the sheets in a small basis (u, r) that answers ``drives`` (u, d): flux of each through each unknown.

        Proper orthogonal decomposition, in the energy norm, of the currents that the drives call up at BASIS_HERTZ.
        """
        basis = side_by_side(lambda block, own: own.answers(drives[block]), self.blocks, _decays(self))
        return self.in_basis(basis), linalg.block_diag(*basis)

    def prepare(self) -> None:
        """Find now what `reduced` needs of the sheets alone; kept as long as their matrices are."""
        _decays(self)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Decays:
    """The currents of one block that decay as one, in the energy norm."""

    half: FloatArray  # lower factor of the inductance (u, u)
    rate: FloatArray  # (u,) 1/s
    modes: FloatArray  # (u, u)

    @classmethod
    def of(cls, resistance: FloatArray, inductance: FloatArray) -> "_Decays":
        half = cholesky.clean_factor(inductance)
        rate, modes = np.linalg.eigh(_in_energy(half, resistance))
        return cls(half=half, rate=rate, modes=modes)

    def answers(self, drive: FloatArray) -> FloatArray:
        """Return `Sheets.reduced`'s basis (u, r) for the drives (u, d) of one block."""
        driven = self.modes.T @ cholesky.triangular(self.half, drive)
        snapshots = []
        for hertz in BASIS_HERTZ:
            omega = 2.0 * np.pi * hertz
            found = (omega / (self.rate + 1j * omega))[:, None] * driven
            snapshots += [found.real, found.imag]
        gathered = self.modes @ np.concatenate(snapshots, axis=1)
        values, vectors = np.linalg.eigh(gathered @ gathered.T)
        kept = vectors[:, values > BASIS_CUT**2 * values[-1]]
        return cholesky.triangular(self.half, kept, transposed=True)


@lru_cache(maxsize=2)  # some 30 MB; other magnets, gaps and turned screws under the same sheets
def _cut(plates: tuple[Plate, ...], mirrored: bool, folded: bool) -> Sheets:
    return Sheets._made(plates, mirrored, folded)


@lru_cache(maxsize=2)
def _decays(sheets: Sheets) -> list[_Decays]:
    r, own = sheets.resistance, sheets.inductance
    return side_by_side(lambda block: _Decays.of(r[block, block], own[block, block]), sheets.blocks)


def _in_energy(half: FloatArray, matrix: FloatArray) -> FloatArray:
    """Return half^-1 matrix half^-T (u, u): symmetric ``matrix`` where currents are measured by their energy."""
    return cholesky.triangular(half, cholesky.triangular(half, matrix).T)


def _tie(mesh: SheetMesh) -> "sparse.csr_array":
    rows = np.flatnonzero(mesh.unknown >= 0)
    ones = (np.ones(len(rows)), (rows, mesh.unknown[rows]))
    return sparse.csr_array(sparse.coo_array(ones, shape=(len(mesh.position), mesh.unknowns)))


def _chosen(meshes: Sequence[SheetMesh], mirrored: bool, folded: bool) -> "tuple[sparse.csr_array, IntArray]":
    """Combinations (unknowns, u) of the parities that are asked for, and where the blocks of each begin and end."""
    images = [_whole_image(meshes, axis) for axis in (0, 1)]
    for axis, asked in enumerate((folded, mirrored)):
        if asked and images[axis] is None:
            raise InputError(
                f"currents even in {'xy'[axis]} alone need sheets that are their own image in {'xy'[axis]} = 0, holes "
                "included; is a hole on one side only?"
            )
    across, along = images
    start = sparse.csr_array(sparse.eye_array(sum(m.unknowns for m in meshes), format="csr"))
    if folded and across is not None:
        start = _parities(across)[0]
        if along is not None:  # the image of a pair is a pair
            first = np.flatnonzero(across >= np.arange(len(across)))
            along = np.searchsorted(first, np.minimum(along[first], across[along[first]]))
    parts = [start] if along is None else [sparse.csr_array(start @ one) for one in _parities(along)]
    parts = parts[:1] if mirrored else parts
    return sparse.csr_array(sparse.hstack(parts, format="csr")), np.cumsum([0, *(p.shape[1] for p in parts)])


def _whole_image(meshes: Sequence[SheetMesh], axis: int) -> "IntArray | None":
    """Return `SheetMesh.image` of the unknowns of all sheets; None when one is not its own image."""
    starts = np.cumsum([0, *(m.unknowns for m in meshes)])
    found = []
    for mesh, start in zip(meshes, starts):
        image = mesh.image(axis)
        if image is None:
            return None
        found.append(image + start)
    return np.concatenate(found)


def _parities(image: IntArray) -> "tuple[sparse.csr_array, sparse.csr_array]":
    """Combinations of each unknown with its mirror image: even ones, odd ones."""
    first = np.flatnonzero(image >= np.arange(len(image)))
    pairs = first[image[first] > first]
    here = np.searchsorted(first, pairs)
    n = len(image)
    even = sparse.coo_array(
        (np.ones(len(first) + len(pairs)), (np.r_[first, image[pairs]], np.r_[np.arange(len(first)), here])),
        shape=(n, len(first)),
    )
    odd = sparse.coo_array(
        (
            np.r_[np.ones(len(pairs)), -np.ones(len(pairs))],
            (np.r_[pairs, image[pairs]], np.r_[0 : len(pairs), 0 : len(pairs)]),
        ),
        shape=(n, len(pairs)),
    )
    return sparse.csr_array(even), sparse.csr_array(odd)


def _resistances(meshes: Sequence[SheetMesh]) -> "list[sparse.csr_array]":
    """Integral of rho/t grad psi_i . grad psi_j over each sheet (nodes of all, nodes of all)."""
    blocks = []
    for mesh in meshes:
        n = len(mesh.position)
        total = sparse.csr_array((n, n))
        for face in mesh.faces:
            (k1, m1), (k2, m2) = (_one_dimension(g) for g in (face.first, face.second))
            own = sparse.coo_array(sparse.kron(k1, m2) + sparse.kron(m1, k2))
            nodes = face.nodes.ravel()
            total = total + sparse.csr_array((own.data, (nodes[own.row], nodes[own.col])), shape=(n, n))
        blocks.append(mesh.plate.resistivity / mesh.plate.thickness * total)
    sizes = [one.shape[0] for one in blocks]
    return [
        sparse.csr_array(
            sparse.block_diag(
                [b if k == own else sparse.csr_array((n, n)) for k, (b, n) in enumerate(zip(blocks, sizes))]
            )
        )
        for own in range(len(blocks))
    ]


def _one_dimension(lines: FloatArray) -> "tuple[sparse.csr_array, sparse.csr_array]":
    """Stiffness and mass of hats on ``lines``."""
    h = np.diff(lines)
    ends = np.zeros(len(lines)), np.zeros(len(lines))
    for out, weight in zip(ends, (1.0 / h, h / 3.0)):
        out[:-1] += weight
        out[1:] += weight
    return tuple(  # type: ignore[return-value]
        sparse.csr_array(np.diag(on) + np.diag(off, 1) + np.diag(off, -1))
        for on, off in ((ends[0], -1.0 / h), (ends[1], h / 6.0))
    )


def _gauss(face: Face) -> "tuple[FloatArray, tuple[sparse.csr_array, sparse.csr_array]]":
    """Gauss points (g, 2) in the plane and K along its two axes (g, nodes) per node, times the points' weights."""
    places, values, slopes, weights = zip(*(_gauss_line(lines) for lines in (face.first, face.second)))
    points = np.stack(np.meshgrid(*places, indexing="ij"), axis=-1).reshape(-1, 2)
    weight = np.outer(*weights).ravel()[:, None]
    along_first = sparse.csr_array(sparse.kron(values[0], slopes[1])).multiply(weight)
    along_second = sparse.csr_array(sparse.kron(slopes[0], values[1])).multiply(-weight)
    return points, (sparse.csr_array(along_first), sparse.csr_array(along_second))


def _gauss_line(lines: FloatArray) -> "tuple[FloatArray, sparse.csr_array, sparse.csr_array, FloatArray]":
    """Two points of each interval, hats and their slopes there (g, lines), weights."""
    h = np.diff(lines)
    share = np.array([0.5 - 0.5 / np.sqrt(3.0), 0.5 + 0.5 / np.sqrt(3.0)])
    places = (lines[:-1, None] + h[:, None] * share).ravel()
    cell = np.repeat(np.arange(len(h)), 2)
    rows = np.r_[0 : len(cell), 0 : len(cell)]
    columns = np.r_[cell, cell + 1]
    there = np.tile(share, len(h))
    shape = (len(cell), len(lines))
    hats = sparse.csr_array((np.r_[1.0 - there, there], (rows, columns)), shape=shape)
    slope = np.repeat(1.0 / h, 2)
    slopes = sparse.csr_array((np.r_[-slope, slope], (rows, columns)), shape=shape)
    return places, hats, slopes, np.repeat(0.5 * h, 2)


def _bilinear(face: Face, u: FloatArray, v: FloatArray) -> FloatArray:
    """Weights (n, nodes of the face) of the stream function's nodes at places in its plane."""
    first, second = (
        np.array([np.interp(at, lines, one) for one in np.eye(len(lines))]).T
        for at, lines in ((u, face.first), (v, face.second))
    )
    return np.asarray((first[:, :, None] * second[:, None, :]).reshape(len(u), face.nodes.size))


def _stored_inductance(meshes: Sequence[SheetMesh]) -> FloatArray:
    """`_inductance`, kept on disk by the meshes: it is the sheets' own, whatever pickup and bar are between them."""
    name = sha256(STORED_AS)
    for mesh in meshes:
        for face in mesh.faces:
            for part in (mesh.position, face.origin, face.frame, face.first, face.second, face.nodes):
                name.update(part.tobytes())
    key = f"sheets-{name.hexdigest()[:32]}"
    stored = cache.load(key)
    if stored is not None:
        return stored["inductance"]
    found = _inductance(meshes)
    cache.store(key, {"inductance": found})
    return found


def _inductance(meshes: Sequence[SheetMesh]) -> FloatArray:
    """Integral of K_i . A_j (nodes, nodes) over all sheets, H; points of a quarter where x and y are mirrors."""
    position = np.concatenate([m.position for m in meshes])
    starts = np.cumsum([0, *(len(m.position) for m in meshes)])
    images = [_node_image(position, axis) for axis in (0, 1)]
    out = np.zeros((len(position), len(position)))
    for mesh, start in zip(meshes, starts):
        for face in mesh.faces:
            flat, along = _gauss(face)
            points = face.origin + flat @ face.frame[:2]
            kept = np.ones(len(points), dtype=bool)
            for axis, image in enumerate(images):
                kept &= (points[:, axis] > 0.0) if image is not None else True
            if not kept.any():
                continue
            rows = start + face.nodes.ravel()
            for other, begin in zip(meshes, starts):
                for source in other.faces:
                    turn = face.frame[:2] @ source.frame[:2].T
                    if not abs(turn).max() > 1e-9:
                        continue
                    made = _sheet_kernels.vectors(source.local(points[kept]), source.first, source.second)
                    made = made.reshape(len(made), 2, -1)
                    block = sum(
                        turn[t, s] * (along[t][kept].T @ made[:, s])
                        for t in (0, 1)
                        for s in (0, 1)
                        if abs(turn[t, s]) > 1e-9
                    )
                    out[np.ix_(rows, begin + source.nodes.ravel())] += block
    for image in images:
        if image is not None:
            out = out + out[np.ix_(image, image)]
    out = 0.5 * (out + out.T)
    return MU_0 * out


def _node_image(position: FloatArray, axis: int) -> "IntArray | None":
    sign = np.ones(3)
    sign[axis] = -1.0
    keys = [tuple(k) for k in np.rint(position * 1e8).astype(np.int64).tolist()]
    found = {key: n for n, key in enumerate(keys)}
    places = [found.get(tuple(k)) for k in np.rint(position * sign * 1e8).astype(np.int64).tolist()]
    return None if any(p is None for p in places) else np.array(places)
