"""Derived quantities of a mesh's charge elements, and sums over them."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from polepiece.arrays import FloatArray, IntArray, points_array
from polepiece.geometry import Mesh
from polepiece.magnetics import _kernels, _slopes

ACROSS = np.array([-1.0, 1.0, 1.0])  # to the image in x = 0
_OF_PANELS = ("corners", "normal", "centroid", "gauss", "weight", "area", "size", "reach")
_OF_CELLS = ("faces", "face_normals", "cell_centroid", "volume", "cell_size")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Elements:
    """Panels and cells with what the kernels need; order: panels, then cells."""

    mirror: float  # 1.0 with a mirror plane y = 0, else 0.0
    fold: float = (
        0.0  # 1.0 where every element has an image in x = 0 with it (on itself where it lies across), else 0.0
    )
    corners: FloatArray
    normal: FloatArray
    centroid: FloatArray
    gauss: FloatArray
    weight: FloatArray
    area: FloatArray
    size: FloatArray
    reach: FloatArray  # m: within it what a panel does is averaged over the target
    faces: FloatArray
    face_normals: FloatArray
    cell_centroid: FloatArray
    volume: FloatArray
    cell_size: FloatArray

    @classmethod
    def of(cls, mesh: Mesh) -> "Elements":
        """Return the elements of ``mesh``.

        Areas and Gauss points of bilinear quadrilaterals, volumes by the divergence theorem: derived here.
        """
        corners = mesh.panel_corners
        normal, area = _normals(corners)
        gauss, weight = _gauss(corners, area)
        # centroid of a quadrilateral = mean of its Gauss points by weight (exact for parallelograms)
        centroid = (gauss * weight[..., None]).sum(axis=1) / np.maximum(area, 1e-30)[:, None]
        size = np.linalg.norm(corners - centroid[:, None], axis=2).max(axis=1, initial=0.0) * 2.0
        faces = mesh.cell_faces
        flat, _ = _normals(faces.reshape(-1, 4, 3))
        face_normals = flat.reshape(-1, 6, 3)
        cell_centroid = faces.mean(axis=(1, 2))
        heights = np.einsum("cfx,cfx->cf", faces[:, :, 0] - cell_centroid[:, None], face_normals)
        areas = _normals(faces.reshape(-1, 4, 3))[1].reshape(-1, 6)
        volume = (heights * areas).sum(axis=1) / 3.0
        cell_size = np.linalg.norm(faces - cell_centroid[:, None, None], axis=3).max(axis=(1, 2), initial=0.0) * 2
        return cls(
            mirror=1.0 if mesh.mirrored else 0.0, fold=1.0 if mesh.folded else 0.0, corners=_own(corners),
            normal=_own(normal), centroid=_own(centroid),
            gauss=_own(gauss), weight=_own(weight), area=_own(area), size=_own(size),
            reach=_own(size * mesh.panel_reach), faces=_own(faces),
            face_normals=_own(face_normals), cell_centroid=_own(cell_centroid), volume=_own(volume),
            cell_size=_own(cell_size),
        )  # fmt: skip

    @property
    def count(self) -> int:
        """Number of elements."""
        return len(self.area) + len(self.volume)

    @property
    def position(self) -> FloatArray:
        """Collocation points (elements, 3)."""
        return np.concatenate([self.centroid, self.cell_centroid])

    def potentials(self, points: FloatArray) -> FloatArray:
        """Return the scalar potential (n, elements), A, at ``points`` (n, 3) of 1 A m on each element.

        Coulomb's law for magnetic charge, by the closed forms of `_kernels` (Wilton et al. 1984).
        """
        points = points_array(points)
        if self.fold:
            alone = replace(self, fold=0.0)
            return alone.potentials(points) + self.fold * alone.potentials(points * ACROSS)
        out = np.empty((len(points), self.count))
        p = len(self.area)
        out[:, :p] = _kernels.panel_potentials(
            points,
            self.corners,
            self.normal,
            self.centroid,
            self.gauss,
            self.weight,
            self.area,
            self.size,
            self.mirror,
        )
        out[:, p:] = _kernels.cell_potentials(
            points,
            self.faces,
            self.face_normals,
            self.cell_centroid,
            self.volume,
            self.cell_size,
            self.mirror,
        )
        return out

    def slopes_across(self, points: FloatArray) -> FloatArray:
        """Return the slope along y (n, elements), A/m, of `potentials` at ``points`` (n, 3).

        By `_slopes` (from Wilton et al. 1984).
        """
        points = points_array(points)
        if self.fold:
            alone = replace(self, fold=0.0)
            return alone.slopes_across(points) + self.fold * alone.slopes_across(points * ACROSS)
        out = np.empty((len(points), self.count))
        p = len(self.area)
        out[:, :p] = _slopes.panel_slopes(
            points, self.corners, self.normal, self.centroid, self.gauss, self.weight, self.area, self.size,
            self.mirror,
        )  # fmt: skip
        out[:, p:] = _slopes.cell_slopes(
            points, self.faces, self.face_normals, self.cell_centroid, self.volume, self.cell_size, self.mirror
        )
        return out

    def take(self, rows: IntArray) -> "Elements":
        """Return the elements ``rows`` alone, panels first."""
        p = len(self.area)
        panels, cells = rows[rows < p], rows[rows >= p] - p
        return Elements(
            mirror=self.mirror,
            fold=self.fold,
            **{name: np.ascontiguousarray(getattr(self, name)[panels]) for name in _OF_PANELS},
            **{name: np.ascontiguousarray(getattr(self, name)[cells]) for name in _OF_CELLS},
        )

    def potentials_on(self, targets: "Elements") -> FloatArray:
        """Return the potential (targets, elements), 1/m, of 1 A m on each element at the elements ``targets``.

        At the target's collocation point; near pairs are averaged over the target's Gauss points.
        """
        if self.fold:
            alone = replace(self, fold=0.0)
            return alone.potentials_on(targets) + self.fold * alone.potentials_on(targets.flipped())
        v = self.potentials(targets.position)
        p, q = len(targets.area), len(self.area)
        panels = (self.corners, self.normal, self.centroid, self.area, self.reach, self.mirror)
        cells = (self.faces, self.face_normals, self.cell_centroid, self.volume, self.cell_size, self.mirror)
        weight = targets.weight / targets.area[:, None]
        places = [(slice(0, p), targets.centroid, targets.gauss, weight)]
        if len(targets.volume):
            inner = _cell_gauss(targets.faces)
            places.append((slice(p, None), targets.cell_centroid, inner, np.full(inner.shape[:2], 0.125)))
        for rows, centre, points, weights in places:
            for columns, kernel, sources in (
                (slice(0, q), _kernels.average_near_panels, panels),
                (slice(q, None), _kernels.average_near_cells, cells),
            ):
                block = np.ascontiguousarray(v[rows, columns])
                kernel(block, centre, np.ascontiguousarray(points), np.ascontiguousarray(weights), *sources)
                v[rows, columns] = block
        return v

    def interaction(self) -> FloatArray:
        """Return the symmetric matrix V (elements, elements), 1/m: potential of 1 A m on j at element i.

        The mean of `potentials_on` itself and its transpose (two approximations of one double integral).
        """
        v = self.potentials_on(self)
        return 0.5 * (v + v.T)

    def halves(self) -> tuple[FloatArray, FloatArray]:
        """Return V (elements, elements), 1/m, of the elements themselves and of their images in x = 0.

        Derived in docs/theory/magnetics.md, "The unknowns".
        """
        alone = replace(self, fold=0.0)
        own, image = alone.potentials_on(alone), alone.potentials_on(alone.flipped())
        return 0.5 * (own + own.T), 0.5 * (image + image.T)

    def flipped(self) -> "Elements":
        """Return the images in x = 0, as targets: where they are, not which way their corners run."""
        there = ("corners", "centroid", "gauss", "faces", "cell_centroid")
        moved: dict[str, Any] = {name: np.ascontiguousarray(getattr(self, name) * ACROSS) for name in there}
        return replace(self, **moved)

    def field(self, points: FloatArray, charges: FloatArray) -> FloatArray:
        """Return H (n, 3), A/m, at ``points`` (n, 3) of ``charges`` (elements,), A m.

        Minus the gradient of the potential, by `_kernels` (Wilton et al. 1984).
        """
        points = points_array(points)
        if self.fold:
            alone = replace(self, fold=0.0)
            image: FloatArray = alone.field(points * ACROSS, charges) * ACROSS
            return alone.field(points, charges) + self.fold * image
        p = len(self.area)
        charges = np.ascontiguousarray(charges)
        h: FloatArray = _kernels.panel_fields(
            points, charges[:p], self.corners, self.normal, self.centroid, self.area, self.size, self.mirror
        )
        h += _kernels.cell_fields(
            points, charges[p:], self.faces, self.face_normals, self.cell_centroid, self.volume, self.cell_size,
            self.mirror,
        )  # fmt: skip
        return h


def _own(values: FloatArray) -> FloatArray:
    """Return values as the kernels take them: a mesh's own, which may not be written, are compiled for once more."""
    out: FloatArray = np.require(values, dtype=float, requirements=("C", "W"))
    return out


def _normals(corners: FloatArray) -> tuple[FloatArray, FloatArray]:
    cross = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    length = np.linalg.norm(cross, axis=1)
    return cross / np.maximum(length, 1e-300)[:, None], 0.5 * length


def _gauss(corners: FloatArray, area: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Four points of the bilinear map and their weights, scaled to the exact area."""
    s = 0.5 / np.sqrt(3.0)
    points, weights = [], []
    for u in (0.5 - s, 0.5 + s):
        for v in (0.5 - s, 0.5 + s):
            shape = np.array([(1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v])
            du = np.array([-(1 - v), 1 - v, v, -v])
            dv = np.array([-(1 - u), -u, u, 1 - u])
            points.append(np.einsum("k,pkx->px", shape, corners))
            a, b = np.einsum("k,pkx->px", du, corners), np.einsum("k,pkx->px", dv, corners)
            weights.append(np.linalg.norm(np.cross(a, b), axis=1))
    weight = np.array(weights).T
    weight *= (area / np.maximum(weight.sum(axis=1), 1e-300))[:, None]
    return np.array(points).transpose(1, 0, 2), weight


def _cell_gauss(faces: FloatArray) -> FloatArray:
    """Eight points (c, 8, 3) of the product rule in upright prisms (faces 0 and 1 are bottom and top)."""
    s = 0.5 / np.sqrt(3.0)
    low, high = faces[:, 0, ::-1], faces[:, 1]
    points = []
    for w in (0.5 - s, 0.5 + s):
        plan = (1 - w) * low + w * high
        for u in (0.5 - s, 0.5 + s):
            for v in (0.5 - s, 0.5 + s):
                shape = np.array([(1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v])
                points.append(np.einsum("k,ckx->cx", shape, plan))
    return np.array(points).transpose(1, 0, 2)
