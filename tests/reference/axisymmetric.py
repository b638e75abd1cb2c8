"""Inductance of a round coil with coaxial steel rods and conducting discs: what can be checked closely.

The same magnetic network as a whole pickup has, with rings instead of panels: charge sits on cylindrical
bands and flat annuli of the steel, each slice of a rod has one potential, a rod's permeability is its complex
mean. Discs are sets of concentric ring currents.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike
from scipy import linalg, special

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.coil import round_permeability
from polepiece.constants import MU_0
from polepiece.errors import InputError
from tests.reference.circles import (
    Circles,
    RoundWinding,
    circle_mutual,
    circle_potential,
    inductance_of_winding,
)

SLICE = 0.35  # height of a rod's slices, of its radius
RINGS = (40, 200)  # of a disc, at least and at most
RING = 0.4  # width of a ring at most, of the distance to the nearest part
UNKNOWNS = 1600  # rings times layers at most
LAYER, LAYERS = 0.5, 10  # a disc's layers are no thicker than this share of its skin depth, but not more than so many
TOUCHING = 1e-9  # m
LEAST_CLEARANCE = 0.2e-3  # m; meshes are not made finer for parts that are nearer to the winding


@dataclass(frozen=True, slots=True, kw_only=True)
class CoreRod:
    """A solid steel cylinder on the z axis; m, ohm m (infinite: no eddy currents)."""

    radius: float
    bottom: float
    top: float
    permeability: float
    resistivity: float = np.inf

    def __post_init__(self) -> None:
        """Refuse what is not a rod of steel."""
        if not self.radius > 0.0 or not self.bottom < self.top:
            raise InputError(f"a rod needs a positive radius and its top above its bottom; got {self}.")
        if not 1.0 <= self.permeability < np.inf or not self.resistivity > 0.0:
            raise InputError(f"a rod needs a permeability of 1 or more and a resistivity above 0; got {self}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """A conducting, non-magnetic disc about the z axis, its middle plane at ``z``; m, ohm m."""

    outer_radius: float
    thickness: float
    z: float
    resistivity: float
    inner_radius: float = 0.0

    def __post_init__(self) -> None:
        """Refuse discs without section."""
        if not 0.0 <= self.inner_radius < self.outer_radius or not self.thickness > 0.0:
            raise InputError(f"a disc needs an inner radius below its outer one and a thickness; got {self}.")
        if not 0.0 < self.resistivity < np.inf:
            raise InputError(f"a disc's resistivity is {self.resistivity} ohm m; it must be a positive number.")


def inductance(
    winding: RoundWinding, rods: Sequence[CoreRod], sheets: Sequence[Disc], frequencies: ArrayLike
) -> ComplexArray:
    """Return the inductance of a round coil with what stands about its axis.

    Quasi-static and linear. A rod's flux is taken as axial with the mean permeability of a long rod; a disc
    is cut into layers where its skin depth asks for it.

    Parameters
    ----------
    winding : RoundWinding
    rods : sequence of CoreRod
        Steel on the axis; rods that touch end to end conduct flux from one to the next.
    sheets : sequence of Disc
    frequencies : array_like, shape (f,)
        Hz, 0 or more.

    Returns
    -------
    ndarray, shape (f,)
        Complex L in H: the coil's impedance is (its DC resistance) + j w L. Re L falls with frequency and
        Im L <= 0.

    Raises
    ------
    InputError
        When parts overlap or a frequency is negative or not finite.

    Notes
    -----
    See `polepiece.coil.induction` for the equations. Against an axisymmetric finite-element solution the core
    is within 1 % and the change that a disc makes within 5 % up to 20 kHz (docs/accuracy).
    """
    hertz = np.atleast_1d(np.asarray(frequencies, dtype=float))
    if hertz.ndim != 1 or not np.all(np.isfinite(hertz)) or np.any(hertz < 0.0):
        raise InputError(f"frequencies are {hertz}; they must be one list of finite values of 0 Hz or more.")
    clearance = _refuse_overlaps(winding, rods, sheets)
    sources = Circles.gauss(winding, clearance)
    strips = _strips(sheets, float(hertz.max(initial=0.0)), clearance)
    count = 1 + len(strips.radius)
    air, resistance = np.zeros((count, count)), np.zeros(count)
    air[0, 0] = inductance_of_winding(winding)
    if count > 1:
        coupling = circle_mutual(strips.radius[:, None], sources.radius[None], strips.z[:, None] - sources.z[None])
        air[1:, 0] = air[0, 1:] = coupling @ sources.turns
        air[1:, 1:] = strips.inductance()
        resistance[1:] = strips.resistance
    full = np.broadcast_to(air.astype(complex), (len(hertz), count, count)).copy()
    if rods:
        network = _Network(sorted(rods, key=lambda rod: rod.bottom))
        columns = [network.source(sources)]
        columns += [network.source(Circles.one(a, z)) for a, z in zip(strips.radius, strips.z)]
        full += MU_0 * network.reaction(np.concatenate(columns, axis=1), hertz)
    omega = 2.0 * np.pi * hertz
    out = full[:, 0, 0]
    if count > 1:
        own = np.diag(resistance[1:]) + 1j * omega[:, None, None] * full[:, 1:, 1:]
        currents = -np.linalg.solve(own, 1j * omega[:, None, None] * full[:, 1:, :1])
        out = out + (full[:, :1, 1:] @ currents)[:, 0, 0]
    result: ComplexArray = out
    return result


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Strips:
    """Ring currents of all discs."""

    radius: FloatArray
    z: FloatArray
    width: FloatArray
    thickness: FloatArray
    resistance: FloatArray  # ohm

    def inductance(self) -> FloatArray:
        """Inductance matrix (s, s), H: circles at the middles, the logarithm averaged over both strips' widths."""
        apart, distance = self.radius[:, None] - self.radius[None], self.z[:, None] - self.z[None]
        height = np.where(distance == 0.0, self.thickness[:, None] / np.pi, abs(distance))
        np.fill_diagonal(distance, self.width)  # any value: what it adds is taken back
        circles = circle_mutual(self.radius[:, None], self.radius[None], distance)
        excess = 0.5 * np.log(apart**2 + distance**2) - _mean_logarithm(apart, self.width, height)
        out: FloatArray = circles + MU_0 * np.sqrt(self.radius[:, None] * self.radius[None]) * excess
        return 0.5 * (out + out.T)


def _mean_logarithm(apart: FloatArray, width: FloatArray, height: FloatArray) -> FloatArray:
    """Mean logarithm of the distance between parallel strips, their middles ``apart`` and ``height`` from another."""
    half_sum, half_difference = 0.5 * (width[:, None] + width[None]), 0.5 * (width[:, None] - width[None])

    def twice(u: FloatArray) -> FloatArray:  # whose second derivative is ln(u^2 + height^2) / 2
        square: FloatArray = u * u
        return (
            0.25 * (square - height**2) * np.log(square + height**2)
            - 0.75 * square
            + height * u * np.arctan(u / height)
        )

    total = twice(apart + half_sum) + twice(apart - half_sum) - twice(apart + half_difference)
    out: FloatArray = (total - twice(apart - half_difference)) / (width[:, None] * width[None])
    return out


def _strips(sheets: Sequence[Disc], highest: float, clearance: float) -> _Strips:
    radius, z, width, thickness, resistivity = ([np.zeros(0)] for _ in range(5))
    for disc in sheets:
        depth = np.sqrt(disc.resistivity / (np.pi * MU_0 * highest)) if highest > 0.0 else np.inf
        layers = int(np.clip(np.ceil(disc.thickness / (LAYER * depth)), 1, LAYERS))
        wide = disc.outer_radius - disc.inner_radius
        rings = int(np.clip(np.ceil(wide / (RING * clearance)), RINGS[0], min(RINGS[1], UNKNOWNS // layers)))
        t = 0.5 * (1.0 - np.cos(np.pi * np.linspace(0.0, 1.0, rings + 1)))
        cuts = disc.inner_radius + (disc.outer_radius - disc.inner_radius) * t
        thin = disc.thickness / layers
        for layer in range(layers):
            radius.append(0.5 * (cuts[1:] + cuts[:-1]))
            width.append(np.diff(cuts))
            z.append(np.full(rings, disc.z - 0.5 * disc.thickness + (layer + 0.5) * thin))
            thickness.append(np.full(rings, thin))
            resistivity.append(np.full(rings, disc.resistivity))
    a, w, t = np.concatenate(radius), np.concatenate(width), np.concatenate(thickness)
    ohms = np.concatenate(resistivity) * 2.0 * np.pi * a / (w * t)
    return _Strips(radius=a, z=np.concatenate(z), width=w, thickness=t, resistance=ohms)


class _Network:
    """The steel rods' potentials: bands, shoulders and end faces; nodes are slices and interfaces."""

    def __init__(self, rods: Sequence[CoreRod]) -> None:
        self.rods = rods
        self.nodes = 0
        self.ends: list[tuple[float, float, float, float]] = []  # of each charged strip: rho, z to rho, z
        self.node_of: list[int] = []
        self.body_of: list[int] = []
        self.edges: list[tuple[int, int, float, int]] = []  # a, b, area over length, rod
        self.spans: list[list[float]] = []  # bottom, top and widest radius of each body
        below: tuple[int, float, float] | None = None  # interface node, height and radius of the rod below
        for index, rod in enumerate(rods):
            joined = below is not None and rod.bottom - below[1] < TOUCHING
            if joined and below is not None:
                start = below[0]
                self._annulus(min(below[2], rod.radius), max(below[2], rod.radius), rod.bottom, start)
                self.spans[-1] = [self.spans[-1][0], rod.top, max(self.spans[-1][2], rod.radius)]
            else:
                if below is not None:
                    self._annulus(0.0, below[2], below[1], below[0])
                self.spans.append([rod.bottom, rod.top, rod.radius])
                start = self._node()
                self._annulus(0.0, rod.radius, rod.bottom, start)
            below = (self._slices(rod, index, start), rod.top, rod.radius)
        if below is not None:
            self._annulus(0.0, below[2], below[1], below[0])
        self._factorise()

    def _node(self) -> int:
        self.nodes += 1
        return self.nodes - 1

    def _slices(self, rod: CoreRod, index: int, start: int) -> int:
        """Cut one rod into slices from the interface ``start``; return the interface at its top."""
        length = rod.top - rod.bottom
        count = int(np.clip(round(length / (SLICE * rod.radius)), 8, 90))
        t = np.linspace(0.0, 1.0, count + 1)
        cuts = rod.bottom + length * (0.3 * t + 0.35 * (1.0 - np.cos(np.pi * t)))
        area = np.pi * rod.radius**2
        previous, half = start, 0.0
        for low, high in pairwise(cuts):
            node = self._node()
            self._strip((rod.radius, low, rod.radius, high), node)
            self.edges.append((previous, node, area / (half + 0.5 * (high - low)), index))
            previous, half = node, 0.5 * (high - low)
        top = self._node()
        self.edges.append((previous, top, area / half, index))
        return top

    def _annulus(self, inner: float, outer: float, z: float, node: int) -> None:
        if outer - inner < TOUCHING:
            return
        cuts = inner + (outer - inner) * np.sin(0.5 * np.pi * np.linspace(0.0, 1.0, 7))
        for a, b in pairwise(cuts):
            self._strip((a, z, b, z), node)

    def _strip(self, ends: tuple[float, float, float, float], node: int) -> None:
        self.ends.append(ends)
        self.node_of.append(node)
        self.body_of.append(len(self.spans) - 1)

    def _factorise(self) -> None:
        ends, node_of = np.array(self.ends), np.array(self.node_of)
        self.middle, weight = _strip_points(ends)
        v = _strip_potentials(self.middle, weight, ends)
        factor = linalg.cho_factor(0.5 * (v + v.T))
        self.weight = weight / weight.sum(axis=1)[:, None]
        incidence = np.zeros((len(ends), self.nodes))
        incidence[np.arange(len(ends)), node_of] = 1.0
        self.incidence = incidence
        self.factor = factor
        self.network = incidence.T @ linalg.cho_solve(factor, incidence)

    def source(self, circles: Circles) -> FloatArray:
        """Mean source potential (strips, 1) of ``circles`` over each strip, continuous along the steel."""
        rho, z = self.middle[..., 0], self.middle[..., 1]
        span = np.array(self.spans)[self.body_of]
        out = np.zeros(rho.shape)
        for a, height, turns in zip(circles.radius, circles.z, circles.turns):
            through = (span[:, 0] < height) & (height < span[:, 1])
            inside = (through[:, None] & (z < height)).astype(float)
            out += turns * (circle_potential(a, rho, z - height) + inside)
        mean: FloatArray = (out * self.weight).sum(axis=1)[:, None]
        return mean

    def reaction(self, sources: FloatArray, hertz: FloatArray) -> ComplexArray:
        """Psi' R - b' Phi (f, w, w): what the steel adds to the inductances, over mu0."""
        charge = linalg.cho_solve(self.factor, sources)
        drive = self.incidence.T @ charge
        mean = np.array(
            [
                round_permeability(hertz, permeability=r.permeability, resistivity=r.resistivity, radius=r.radius)
                for r in self.rods
            ]
        )
        out = np.empty((len(hertz), sources.shape[1], sources.shape[1]), dtype=complex)
        direct = sources.T @ charge
        for k in range(len(hertz)):
            matrix = self.network.astype(complex)
            for a, b, weight, rod in self.edges:
                w = weight * (mean[rod, k] - 1.0)
                matrix[a, a] += w
                matrix[b, b] += w
                matrix[a, b] -= w
                matrix[b, a] -= w
            out[k] = direct - drive.T @ np.linalg.solve(matrix, drive.astype(complex))
        return out


def _strip_points(ends: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Four Gauss points (s, 4, 2) of each strip and their areas (s, 4)."""
    u, w = np.polynomial.legendre.leggauss(4)
    t = 0.5 * (u + 1.0)
    start, stop = ends[:, None, :2], ends[:, None, 2:]
    points = start + (stop - start) * t[None, :, None]
    length = np.linalg.norm(ends[:, 2:] - ends[:, :2], axis=1)
    weight = 0.5 * w[None] * length[:, None] * 2.0 * np.pi * points[..., 0]
    return points, weight


def _strip_potentials(points: FloatArray, weight: FloatArray, ends: FloatArray) -> FloatArray:
    """Potential (s, s) of 1 A m spread over strip j, averaged over strip i, 1/m.

    The logarithm at the nearest point of a source is tamed by splitting there and a cubic change of variable.
    """
    u, w = np.polynomial.legendre.leggauss(8)
    t, wt = (0.5 * (u + 1.0)) ** 3, 0.5 * w * 3.0 * (0.5 * (u + 1.0)) ** 2
    start, along = ends[:, :2], ends[:, 2:] - ends[:, :2]
    length2 = (along**2).sum(axis=1)
    area = 0.5 * (ends[:, 0] + ends[:, 2]) * 2.0 * np.pi * np.sqrt(length2)
    out = np.zeros((len(points), len(ends)))
    for g in range(points.shape[1]):
        at = points[:, g]
        nearest = np.clip(((at[:, None] - start[None]) * along[None]).sum(axis=2) / length2, 0.0, 1.0)
        for toward in (0.0, 1.0):
            s = nearest[..., None] + (toward - nearest)[..., None] * t
            jacobian = abs(toward - nearest)[..., None] * wt
            rho = start[None, :, None, 0] + along[None, :, None, 0] * s
            z = start[None, :, None, 1] + along[None, :, None, 1] * s
            far2 = (rho + at[:, None, None, 0]) ** 2 + (z - at[:, None, None, 1]) ** 2
            m = 4.0 * rho * at[:, None, None, 0] / far2
            ring = 2.0 * special.ellipk(np.minimum(m, 1.0 - 1e-15)) / (np.pi * np.sqrt(far2))
            charge = 2.0 * np.pi * rho * np.sqrt(length2)[None, :, None] * jacobian
            share = (weight[:, g] / weight.sum(axis=1))[:, None]
            out += share * (ring * charge).sum(axis=2) / (4.0 * np.pi * area[None])
    return out


def _refuse_overlaps(winding: RoundWinding, rods: Sequence[CoreRod], sheets: Sequence[Disc]) -> float:
    """Return the least distance of the winding from any other part, m; refuse two parts in one place."""
    boxes = [("the winding", winding.inner_radius, winding.outer_radius, winding.bottom, winding.top)]
    boxes += [(f"rod {k}", 0.0, r.radius, r.bottom, r.top) for k, r in enumerate(rods)]
    for k, d in enumerate(sheets):
        low, high = d.z - 0.5 * d.thickness, d.z + 0.5 * d.thickness
        boxes.append((f"disc {k}", d.inner_radius, d.outer_radius, low, high))
    nearest = winding.inner_radius
    for i, (name, a1, a2, z1, z2) in enumerate(boxes):
        for j, (other, b1, b2, y1, y2) in enumerate(boxes[:i]):
            beside, above = max(a1, b1) - min(a2, b2), max(z1, y1) - min(z2, y2)  # negative where they share a range
            if beside < -TOUCHING and above < -TOUCHING:
                raise InputError(
                    f"{name} and {other} overlap: both take radii {max(a1, b1)}-{min(a2, b2)} m at heights "
                    f"{max(z1, y1)}-{min(z2, y2)} m. Make a hole in the disc, or move a part."
                )
            if j == 0:
                nearest = min(nearest, float(np.hypot(max(beside, 0.0), max(above, 0.0))))
    return max(nearest, LEAST_CLEARANCE)
