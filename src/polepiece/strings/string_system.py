"""Magnetised rods as strings: their law, and the self-potentials of their slices, factorised for any field."""

from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from polepiece.arrays import FloatArray
from polepiece.constants import MU_0
from polepiece.errors import ConvergenceError, InputError
from polepiece.later import is_compiled
from polepiece.strings._rods import magnetise_rods
from polepiece.strings.few_rods import FIRST, magnetise_few

Shared = TypeVar("Shared", np.float64, np.int64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rod:
    """The magnetic part of a string: a solid rod of ``diameter`` (m), linear or saturating.

    ``initial_permeability`` is relative; ``saturation`` = mu0 Ms in T, infinite for a linear rod (then the
    permeability holds everywhere). ``wrap_diameter`` and ``wrap_permeability`` describe a wound string's sheath:
    a second, linear magnetic path of that axial permeability between core and outer diameter.

    Sections of circles and rings; the wrap as a sheath in parallel with the core: an assumption.
    """

    diameter: float
    initial_permeability: float
    saturation: float = np.inf
    wrap_diameter: float = 0.0  # outer diameter of the wrap, m; 0 without
    wrap_permeability: float = 1.0

    def __post_init__(self) -> None:
        """Check ranges."""
        if not 1e-5 < self.diameter < 5e-3:
            raise InputError(f"string diameter is {self.diameter} m; it lies between 0.00001 and 0.005 m.")
        if not self.initial_permeability >= 1.0 or self.saturation < 0.0:
            raise InputError("a string needs a relative permeability of at least 1 and a saturation of at least 0 T.")

    @property
    def area(self) -> float:
        """Section of the rod, m2."""
        return 0.25 * np.pi * self.diameter**2

    @property
    def wrap_share(self) -> float:
        """Susceptibility of the wrap times its section over the rod's: what it adds to the axial M of the rod."""
        extra = max(self.wrap_diameter, self.diameter) ** 2 / self.diameter**2 - 1.0
        return extra * (self.wrap_permeability - 1.0)

    @property
    def outer_area(self) -> float:
        """Section that is magnetised across, m2: with the wrap where that is magnetic."""
        wide = self.wrap_diameter if self.wrap_permeability > 1.0 else 0.0
        return 0.25 * np.pi * max(wide, self.diameter) ** 2


def mean_potentials(cuts: FloatArray, radius: float) -> FloatArray:
    """Return the mean potential (n, n), 1/m, over slice i of a tube of ``radius`` of 1 A m spread over slice j.

    On the axis: the double integral of 1 / (4 pi sqrt(u^2 + a^2)), whose second antiderivative is u arsinh(u/a) -
    sqrt(u^2 + a^2). Taken at the middle of the slice instead, thirty slices leave a string's moment 3 % short. Derived
    here; beside finite elements in docs/accuracy.md, "Every construction".
    """
    u = (cuts[:, None] - cuts[None, :]) / radius
    twice = radius * (u * np.arcsinh(u) - np.sqrt(u * u + 1.0))
    each = twice[1:, :-1] - twice[1:, 1:] - twice[:-1, :-1] + twice[:-1, 1:]
    width = np.diff(cuts)
    return np.asarray(each / (4.0 * np.pi * width[:, None] * width))


def interpolated(weights: FloatArray, table: FloatArray) -> FloatArray:
    """Return a table of matrices (k, nz, i, j) read at h heights by ``weights`` (k, h, nz): (k, h, i, j).

    Definition of an interpolation.
    """
    k, nz, i, j = table.shape
    return np.asarray((weights @ table.reshape(k, nz, i * j)).reshape(k, -1, i, j))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringSystem:
    """Self-potentials of k rods on one set of slices, factorised for any field.

    Slices of a thin rod with magnetic charge: derived in docs/theory/sensing.md.
    """

    cuts: FloatArray
    rods: tuple[Rod, ...]
    demagnetisation: FloatArray  # N (k, e, e): H_self = -N M on the inner boundaries
    reaction: FloatArray | None  # the same from the pickup's reply, at the table's heights (k, nz, e, e)
    spacing: FloatArray  # (e,) distance between slice centres
    reply_slope: FloatArray | None = None  # (k, nz, n, n) slope across, at slice i, of the reply per charge on slice j

    @classmethod
    def of(
        cls,
        cuts: FloatArray,
        rods: "tuple[Rod, ...]",
        reply: "FloatArray | None" = None,
        reply_slope: "FloatArray | None" = None,
    ) -> "StringSystem":
        """Return the system of ``rods`` cut at ``cuts``.

        ``reply`` (k, nz, n, n) is the potential on slice i that the pickup gives back per charge on slice j, at
        the heights of the table, A per A m; ``reply_slope`` its d/du at slice i alone, u across the strings.
        """
        x = 0.5 * (cuts[1:] + cuts[:-1])
        d = np.diff(x)
        n = len(x)
        grad = np.zeros((n - 1, n))
        grad[np.arange(n - 1), np.arange(n - 1)] = 1.0 / d
        grad[np.arange(n - 1), np.arange(1, n)] = -1.0 / d
        bring = np.zeros((n, n - 1))  # charge of slice per M on the boundary to its right (-) and left (+)
        bring[np.arange(n - 1), np.arange(n - 1)] = -1.0
        bring[np.arange(1, n), np.arange(n - 1)] = 1.0
        out = np.empty((len(rods), n - 1, n - 1))
        for k, rod in enumerate(rods):
            p = mean_potentials(cuts, 0.5 * max(rod.diameter, rod.wrap_diameter))
            out[k] = -grad @ p @ bring * rod.area
        back = None
        if reply is not None:
            area = np.array([r.area for r in rods])[:, None, None, None]
            back = -(grad @ reply @ bring) * area
        return cls(cuts=cuts, rods=rods, demagnetisation=out, reaction=back, spacing=d, reply_slope=reply_slope)

    def at(self, weights: FloatArray) -> FloatArray:
        """Return N (k, h, e, e) at heights given by interpolation ``weights`` (k, h, nz)."""
        n = np.broadcast_to(self.demagnetisation[:, None], (*weights.shape[:2], *self.demagnetisation.shape[1:]))
        if self.reaction is None:
            return n
        return np.asarray(n + interpolated(weights, self.reaction))

    @property
    def is_magnetic(self) -> FloatArray:
        """1.0 for rods that can be magnetised, else 0.0; (k,)."""
        return np.array([float(r.saturation > 0.0 and r.initial_permeability > 1.0) for r in self.rods])

    def magnetise(self, phi: FloatArray, n: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Solve the axial magnetisation.

        Parameters
        ----------
        phi : ndarray, shape (k, h, n)
            Potential of the pickup along each string at h heights, A.
        n : ndarray, shape (k, h, n - 1, n - 1)
            Self-demagnetisation at these heights, from `at`.

        Returns
        -------
        m, slope : ndarray, shape (k, h, n - 1)
            M in A/m between slices and dM/dH there.

        Raises
        ------
        ConvergenceError
        """
        return solve_rods(phi, n, self.spacing, RodLaws.of([self.rods]))

    def magnetised(self, phi: FloatArray, n: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return M, dM/dH and d2M/dH2 (k, h, n - 1) between slices, as `magnetise`."""
        m, slope = self.magnetise(phi, n)
        h = (phi[..., :-1] - phi[..., 1:]) / self.spacing - np.einsum("khij,khj->khi", n, m)
        return m, slope, RodLaws.of([self.rods]).bend(h)

    def charges(self, m: FloatArray) -> FloatArray:
        """Magnetic charge (k, h, n) in A m of the slices."""
        area = np.array([r.area for r in self.rods])[:, None, None]
        flux = m * area
        q = np.zeros((*m.shape[:2], m.shape[2] + 1))
        q[..., :-1] -= flux
        q[..., 1:] += flux
        return q

    def response(self, slope: FloatArray, n: FloatArray, dphi: FloatArray) -> FloatArray:
        """Change of the charges (k, h, n) for a small change ``dphi`` (k, h, n) of the potential."""
        return np.asarray(self.responses(slope, n, dphi[None])[0])

    def responses(self, slope: FloatArray, n: FloatArray, dphi: FloatArray) -> FloatArray:
        """Change of the charges (c, k, h, n) for several small changes ``dphi`` (c, k, h, n) of the potential."""
        dh0 = (dphi[..., :-1] - dphi[..., 1:]) / self.spacing
        jacobian = np.eye(dh0.shape[-1]) + n * slope[:, :, None, :]
        dh = np.moveaxis(np.linalg.solve(jacobian, np.moveaxis(dh0, 0, -1)), -1, 0)
        return np.stack([self.charges(slope * one) for one in dh])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RodLaws:
    """Constants of rods by string and draw, (k, d): saturation magnetisation A/m, susceptibility, wrap.

    Langevin 1905 (from memory) as the shape of the law: an assumption.
    """

    ms: FloatArray
    chi: FloatArray
    wrap: FloatArray
    magnetic: FloatArray

    @classmethod
    def of(cls, draws: "list[tuple[Rod, ...]]") -> "RodLaws":
        """Return the constants of ``draws``, each the rods of all strings."""
        ms = np.array([[r.saturation / MU_0 for r in rods] for rods in draws]).T
        chi = np.array([[r.initial_permeability - 1.0 for r in rods] for rods in draws]).T
        magnetic = ((ms > 0.0) & (chi > 0.0)).astype(float)
        wrap = np.array([[r.wrap_share for r in rods] for rods in draws]).T * magnetic
        off = magnetic == 0.0
        return cls(ms=np.where(off, 1e-30, ms), chi=np.where(off, 1e-30, chi), wrap=wrap, magnetic=magnetic)

    def bend(self, h: FloatArray) -> FloatArray:
        """Return d2M/dH2 (k, d, ...) of the Langevin law at ``h`` (k, d, ...), m/A; 0 for a linear rod."""
        ms, chi = self.ms[..., None], self.chi[..., None]
        t = 3.0 * chi * h / ms
        near = np.abs(t) < 0.05
        far = np.where(near, 1.0, t)
        coth = 1.0 / np.tanh(far)
        curve = np.where(near, -2.0 * t / 15.0 + 8.0 * t**3 / 189.0, 2.0 * coth * (coth**2 - 1.0) - 2.0 / far**3)
        return np.asarray(9.0 * chi**2 / ms * curve)

    def thicker(self, share: FloatArray) -> "RodLaws":
        """Return the laws of rods with ``share`` (k, d) times the section, as a magnetisation of the section that was.

        Charges and demagnetisation go with section times M, so a thicker rod is one of so much more M at the same H.
        """
        return replace(self, ms=share * self.ms, chi=share * self.chi, wrap=share * self.wrap)


def solve_rods(phi: FloatArray, n: FloatArray, spacing: FloatArray, laws: RodLaws) -> tuple[FloatArray, FloatArray]:
    """Magnetise: phi (k, h, n), N (k, h or 1, e, e), laws (k, h or 1). The equations of docs/theory/sensing.md."""
    h0 = (phi[..., :-1] - phi[..., 1:]) / spacing
    k, heights, e = h0.shape
    matrices = np.require(n.reshape(-1, e, e), requirements=("C", "W"))  # as `flat`
    which = np.arange(k)[:, None] * n.shape[1] + (np.arange(heights)[None] if n.shape[1] > 1 else 0)

    def flat(values: NDArray[Shared]) -> NDArray[Shared]:
        """Return one value a row: a copy, for a view may not be written and would be compiled for once more."""
        return np.array(np.broadcast_to(values, (k, heights))).ravel()

    few = not is_compiled(magnetise_rods) and FIRST.takes(k * heights)
    m, slope, left = (magnetise_few if few else magnetise_rods)(
        np.ascontiguousarray(h0.reshape(-1, e)),
        flat(which),
        matrices,
        flat(laws.ms),
        flat(laws.chi),
        flat(laws.wrap),
    )
    if left.max() > 1e-5:
        raise ConvergenceError("the string's magnetisation did not converge.", [float(left.max())])
    return m.reshape(h0.shape), slope.reshape(h0.shape)
