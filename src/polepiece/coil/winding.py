"""Windings as rectangular loops: source potential, field, and inductances in air.

A racetrack winding with mitred corners and uniform current density is a set of nested rectangles. Its field in
current-free space is H = -grad Psi, Psi = (turns) Omega / 4 pi, Omega the solid angle of a loop (positive seen
from +z). Steel that passes through the winding makes Psi many-valued; there the branch that is continuous along
the steel is taken: one ampere-turn more below each loop.
"""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray, points_array
from polepiece.constants import MU_0
from polepiece.errors import InputError

ACROSS, UP = 6, 10  # Gauss points over the winding window, for fields and potentials
FILAMENTS = (8, 16)  # equal filaments over the window, for inductances in air
SQUARE_GMD = 0.2235  # of width + height: geometric mean distance of a rectangle from itself; Grover 1946 (memory)


@dataclass(frozen=True, slots=True, kw_only=True)
class Racetrack:
    """A rectangular winding round a vertical axis; m. ``sense`` +1 is counter-clockwise seen from +z."""

    x: float = 0.0
    y: float = 0.0
    inner_half_x: float
    inner_half_y: float
    outer_half_x: float
    outer_half_y: float
    bottom: float
    top: float
    turns: float
    sense: float = 1.0

    def __post_init__(self) -> None:
        """Refuse windings that have no window."""
        if not (0.0 < self.inner_half_x < self.outer_half_x and 0.0 < self.inner_half_y < self.outer_half_y):
            raise InputError(
                f"the winding's half-widths are {self.inner_half_x}/{self.outer_half_x} and "
                f"{self.inner_half_y}/{self.outer_half_y} m; each outer one must exceed the inner one."
            )
        if not self.bottom < self.top or not self.turns > 0.0:
            raise InputError("a winding needs its top above its bottom and a positive number of turns.")

    @property
    def mean_turn(self) -> float:
        """Mean length of a turn, m. Perimeter of the rectangle in the middle of the window: derived here."""
        return 2.0 * (self.inner_half_x + self.outer_half_x + self.inner_half_y + self.outer_half_y)

    @property
    def window(self) -> tuple[float, float]:
        """Width along x and height of the winding window, m."""
        return self.outer_half_x - self.inner_half_x, self.top - self.bottom

    def encloses(self, x: "FloatArray", y: "FloatArray") -> np.ndarray:
        """True where a vertical line at (x, y) passes through the winding's hole."""
        return (abs(x - self.x) < self.inner_half_x) & (abs(y - self.y) < self.inner_half_y)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loops:
    """Horizontal rectangular loops; all (l,). ``turns`` is signed.

    Quadrature of an even current density over the window: Gauss-Legendre, or equal shares (derived here).
    """

    x: FloatArray
    y: FloatArray
    z: FloatArray
    half_x: FloatArray
    half_y: FloatArray
    turns: FloatArray

    @classmethod
    def gauss(cls, coil: Racetrack, across: int = ACROSS, up: int = UP) -> "Loops":
        """Gauss-Legendre loops over the window."""
        u, wu = np.polynomial.legendre.leggauss(across)
        v, wv = np.polynomial.legendre.leggauss(up)
        return cls._grid(coil, 0.5 * (u + 1.0), 0.5 * wu, 0.5 * (v + 1.0), 0.5 * wv)

    @classmethod
    def equal(cls, coil: Racetrack, across: int = FILAMENTS[0], up: int = FILAMENTS[1]) -> "Loops":
        """Equal filaments over the window."""
        u, v = (np.arange(across) + 0.5) / across, (np.arange(up) + 0.5) / up
        return cls._grid(coil, u, np.full(across, 1.0 / across), v, np.full(up, 1.0 / up))

    @classmethod
    def _grid(cls, coil: Racetrack, u: FloatArray, wu: FloatArray, v: FloatArray, wv: FloatArray) -> "Loops":
        uu, vv = (grid.ravel() for grid in np.meshgrid(u, v, indexing="ij"))
        weight = np.outer(wu, wv).ravel()
        return cls(
            x=np.full(len(uu), coil.x),
            y=np.full(len(uu), coil.y),
            z=coil.bottom + (coil.top - coil.bottom) * vv,
            half_x=coil.inner_half_x + (coil.outer_half_x - coil.inner_half_x) * uu,
            half_y=coil.inner_half_y + (coil.outer_half_y - coil.inner_half_y) * uu,
            turns=coil.sense * coil.turns * weight,
        )


def loop_potential(points: FloatArray, loops: Loops, through: "np.ndarray | None" = None) -> FloatArray:
    """Return the source potential (n,) in A per ampere of all ``loops`` together, at ``points`` (n, 3).

    ``through`` (n,) marks points of bodies that pass through the loops: they get the continuous branch.

    Notes
    -----
    Solid angle of a rectangle: sum over corners of atan(u v / (z R)) with signs; exact.
    From memory; the tests compare its gradient with Biot-Savart.
    """
    points = points_array(points)
    out = np.zeros(len(points))
    inside = np.zeros(len(points)) if through is None else np.asarray(through, dtype=float)
    for k in range(len(loops.z)):
        dx, dy, dz = points[:, 0] - loops.x[k], points[:, 1] - loops.y[k], points[:, 2] - loops.z[k]
        omega = np.zeros(len(points))
        for sx in (1.0, -1.0):
            for sy in (1.0, -1.0):
                u, v = loops.half_x[k] - sx * dx, loops.half_y[k] - sy * dy
                omega += np.arctan2(u * v, dz * np.sqrt(u * u + v * v + dz * dz)) - 0.0
        # arctan2(+, negative) lies above pi/2: bring the sum to the odd branch in dz
        below = dz < 0.0
        omega = np.where(below, omega - np.pi * _corner_signs(points, loops, k), omega)
        out += loops.turns[k] * (omega / (4.0 * np.pi) + inside * below)
    return out


def _corner_signs(points: FloatArray, loops: Loops, k: int) -> FloatArray:
    """Sum over corners of sign(u v): what arctan2 adds below the plane, in units of pi."""
    dx, dy = points[:, 0] - loops.x[k], points[:, 1] - loops.y[k]
    total = np.zeros(len(points))
    for sx in (1.0, -1.0):
        for sy in (1.0, -1.0):
            total += np.where((loops.half_x[k] - sx * dx) * (loops.half_y[k] - sy * dy) >= 0.0, 1.0, -1.0)
    return total


def loop_field(points: FloatArray, loops: Loops) -> FloatArray:
    """Return H (n, 3) in A/m per ampere of all ``loops`` together at ``points`` (n, 3), by Biot-Savart."""
    points = points_array(points)
    h = np.zeros((len(points), 3))
    for k in range(len(loops.z)):
        a, b = loops.half_x[k], loops.half_y[k]
        r = points - np.array([loops.x[k], loops.y[k], loops.z[k]])
        corners = np.array([[a, -b, 0.0], [a, b, 0.0], [-a, b, 0.0], [-a, -b, 0.0]])
        for c in range(4):
            h += loops.turns[k] * _segment_field(r, corners[c], corners[(c + 1) % 4])
    return h


def _segment_field(points: FloatArray, start: FloatArray, stop: FloatArray) -> FloatArray:
    d1, d2 = points - start, points - stop
    r1, r2 = np.linalg.norm(d1, axis=1), np.linalg.norm(d2, axis=1)
    (x1, y1, z1), (x2, y2, z2) = d1.T, d2.T
    cross = np.stack([y1 * z2 - z1 * y2, z1 * x2 - x1 * z2, x1 * y2 - y1 * x2], axis=1)
    dot = (d1 * d2).sum(axis=1)
    factor = (r1 + r2) / np.maximum(r1 * r2 * (r1 * r2 + dot), 1e-300)
    out: FloatArray = cross * factor[:, None] / (4.0 * np.pi)
    return out


def loop_vector_potential(points: FloatArray, loops: Loops) -> FloatArray:
    """Return A (n, 3) in T m per ampere of all ``loops`` together at ``points`` (n, 3), from straight filaments.

    Derived here: the integral of 1/r along a straight filament is a difference of arcsinh(l / d).
    """
    points = points_array(points)
    out = np.zeros((len(points), 3))
    z2 = (points[:, 2, None] - loops.z) ** 2
    x, y = points[:, 0, None] - loops.x, points[:, 1, None] - loops.y
    for axis, (along, across, half, offset) in enumerate(
        ((x, y, loops.half_x, loops.half_y), (y, x, loops.half_y, loops.half_x))
    ):
        for side in (1.0, -1.0):
            d = np.maximum(np.sqrt((across - side * offset) ** 2 + z2), 1e-9)
            made = _inverse_sinh(half - along, d) + _inverse_sinh(half + along, d)
            # counter-clockwise: along x at -half_y, against it at +half_y; along y at +half_x
            out[:, axis] += (side if axis == 1 else -side) * (made @ loops.turns)
    return MU_0 / (4.0 * np.pi) * out


def _inverse_sinh(length: FloatArray, distance: FloatArray) -> FloatArray:
    """Return asinh(length / distance), distance > 0, by its logarithm: the library's takes some three times as long."""
    size = np.abs(length)
    return np.asarray(np.copysign(np.log((size + np.sqrt(size * size + distance * distance)) / distance), length))


def source_potential(coil: Racetrack, points: FloatArray, through: "np.ndarray | None" = None) -> FloatArray:
    """Return Psi (n,) of one ampere in ``coil`` at ``points`` (n, 3), A; see `loop_potential`."""
    return loop_potential(points, Loops.gauss(coil), through)


def source_field(coil: Racetrack, points: FloatArray) -> FloatArray:
    """Return H (n, 3) of one ampere in ``coil`` at ``points`` (n, 3) outside the winding, A/m."""
    return loop_field(points, Loops.gauss(coil))


def mutual_matrix(first: Loops, second: Loops, floor: "FloatArray | float" = 1e-8) -> FloatArray:
    """Return the flux (l1, l2) in Wb of each loop of ``first``, per turn of both, per ampere in each of ``second``.

    ``floor`` is the least distance between two filaments, m: a filament sees itself at its geometric mean distance.

    Notes
    -----
    Neumann's integral over parallel straight filaments, closed form: M = mu0/(4 pi) sum of
    u asinh(u/d) - sqrt(u^2 + d^2) over the four differences of end points (Grover, Inductance Calculations,
    1946, ch. 6, from memory; checked against quadrature in the tests).
    """
    total = np.zeros((len(first.z), len(second.z)))
    dz = first.z[:, None] - second.z[None]
    for along in (0, 1):
        ca = (first.x, first.y)[along], (first.half_x, first.half_y)[along]
        cb = (second.x, second.y)[along], (second.half_x, second.half_y)[along]
        oa = (first.y, first.x)[along], (first.half_y, first.half_x)[along]
        ob = (second.y, second.x)[along], (second.half_y, second.half_x)[along]
        a1, a2 = (ca[0] - ca[1])[:, None], (ca[0] + ca[1])[:, None]
        b1, b2 = (cb[0] - cb[1])[None], (cb[0] + cb[1])[None]
        for sa in (1.0, -1.0):
            for sb in (1.0, -1.0):
                offset = (oa[0] + sa * oa[1])[:, None] - (ob[0] + sb * ob[1])[None]
                distance = np.maximum(np.sqrt(offset**2 + dz**2), floor)
                value = _pair(b2 - a1, distance) - _pair(b2 - a2, distance)
                value += _pair(b1 - a2, distance) - _pair(b1 - a1, distance)
                total += sa * sb * value
    return MU_0 / (4.0 * np.pi) * total


def _pair(u: FloatArray, d: FloatArray) -> FloatArray:
    out: FloatArray = u * np.arcsinh(u / d) - np.sqrt(u * u + d * d)
    return out


def inductance_in_air(coils: "list[Racetrack] | tuple[Racetrack, ...]") -> FloatArray:
    """Return the inductance matrix (w, w) in H of windings in air, signs by their sense.

    Neumann's integral between equal filaments; a filament's own at the geometric mean distance of its cell (Grover
    1946, from memory).
    """
    loops = [Loops.equal(coil) for coil in coils]
    out = np.empty((len(coils), len(coils)))
    for i, coil in enumerate(coils):
        width, height = coil.window
        gmd = SQUARE_GMD * (width / FILAMENTS[0] + height / FILAMENTS[1])
        for j in range(i + 1):
            floor = gmd * np.eye(len(loops[i].z)) + 1e-8 if i == j else 1e-8
            matrix = mutual_matrix(loops[i], loops[j], floor)
            out[i, j] = out[j, i] = float(loops[i].turns @ matrix @ loops[j].turns)
    return out
