"""A steel string over a pickup: its magnetisation, the flux it links, the force on it.

The string is a thin rod along x. Its axial magnetisation makes the signal; it is solved by the same network as
the poles (slices with magnetic charge, thin-rod potentials) in the scalar potential of the pickup, with a
saturating law. What the string's charges induce in the poles comes back as a reaction potential (1-6 % of the flux).

    u_i = phi0(x_i, z) + sum_j (P_ij + G_ij(z)) q_j,   q_i = A (M_{i-1/2} - M_{i+1/2}),   M = law((u_i - u_{i+1}) / d)
    linkage = -mu0 sum_i q_i psi(x_i, z) + mu0 sum_i v_i M_z h_z
    force_z = mu0 sum_i q_i H_z(x_i) + mu0 sum_i v_i M_z dH_z/dz

with psi and h = -grad psi the coil's potential and field per ampere (coil + steel + magnet). Across the string a
round rod has the demagnetising factor 1/2, so M_z = 2 H_z whatever its permeability (a few per cent of the flux).
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.constants import MU_0
from polepiece.errors import ConvergenceError, InputError
from polepiece.strings._rods import magnetise_rods

TRANSVERSE = 2.0  # M across a thin round rod over the field there, for permeability well above 1
STEP = 0.15e-3  # m, spacing of the five heights from which derivatives are taken


@dataclass(frozen=True, slots=True, kw_only=True)
class Rod:
    """The magnetic part of a string: a solid rod of ``diameter`` (m), linear or saturating.

    ``initial_permeability`` is relative; ``saturation`` = mu0 Ms in T, infinite for a linear rod (then the
    permeability holds everywhere). ``wrap_diameter`` and ``wrap_permeability`` describe a wound string's sheath:
    a second, linear magnetic path of that axial permeability between core and outer diameter.
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeightTable:
    """Scalar potentials along strings on a grid of heights; polynomials in between.

    ``x`` (nx,) slice centres, ``cuts`` (nx + 1,), ``z`` (k, nz) heights of each string's nodes, from
    `chebyshev_heights`.
    """

    cuts: FloatArray
    z: FloatArray

    @property
    def x(self) -> FloatArray:
        """Slice centres, m."""
        return 0.5 * (self.cuts[1:] + self.cuts[:-1])

    def weights(self, height: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return interpolation weights (k, h, nz) for value, first and second derivative at ``height`` (k, h)."""
        value = np.empty((*height.shape, self.z.shape[1]))
        first, second = np.empty_like(value), np.empty_like(value)
        for s in range(len(height)):
            low, high = float(self.z[s, 0]), float(self.z[s, -1])
            if np.any((height[s] < low - 1e-9) | (height[s] > high + 1e-9)):
                raise InputError(
                    f"a string height of {1e3 * height[s].min():.2f}-{1e3 * height[s].max():.2f} mm is outside "
                    f"{1e3 * low:.2f}-{1e3 * high:.2f} mm above the pickup's base."
                )
            inverse, slope = _nodal(self.z.shape[1])
            t = (2.0 * height[s] - low - high) / (high - low)
            value[s] = np.polynomial.chebyshev.chebvander(t, self.z.shape[1] - 1) @ inverse
            first[s] = value[s] @ slope * (2.0 / (high - low))
            second[s] = first[s] @ slope * (2.0 / (high - low))
        return value, first, second


@lru_cache(maxsize=8)
def _nodal(count: int) -> tuple[FloatArray, FloatArray]:
    """Return, for ``count`` Chebyshev nodes on -1..1, values -> coefficients, and the differentiation matrix."""
    t = chebyshev_heights(-1.0, 1.0, count)
    vander = np.polynomial.chebyshev.chebvander(t, count - 1)
    inverse = np.linalg.inv(vander)
    columns = [np.polynomial.chebyshev.chebval(t, np.polynomial.chebyshev.chebder(row)) for row in np.eye(count)[1:]]
    return np.asarray(inverse, dtype=float), np.asarray(np.column_stack([np.zeros(count), *columns]) @ inverse)


def chebyshev_heights(low: float, high: float, count: int) -> FloatArray:
    """Return Chebyshev-Lobatto heights (count,) from ``low`` to ``high``, m."""
    return 0.5 * (low + high) - 0.5 * (high - low) * np.cos(np.pi * np.arange(count) / (count - 1))


def string_cuts(length: float, rows: "tuple[float, ...]", fine: float = 0.8e-3) -> FloatArray:
    """Return slice boundaries (n + 1,) of a string of ``length`` m centred on x = 0, fine near pole ``rows``."""
    half = 0.5 * length
    inner = min(half, max([abs(r) for r in rows] + [0.0]) + 6e-3)
    middle = np.linspace(-inner, inner, 2 * max(4, round(inner / fine)) + 1)
    if half - inner < 1e-6:
        return middle
    steps, width = [inner], fine
    while steps[-1] < half:
        width *= 1.25
        steps.append(steps[-1] + width)
    outer = inner + (np.array(steps[1:]) - inner) * (half - inner) / (steps[-1] - inner)
    return np.concatenate([-outer[::-1], middle, outer])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringSystem:
    """Self-potentials of k rods on one set of slices, factorised for any field."""

    cuts: FloatArray
    rods: tuple[Rod, ...]
    demagnetisation: FloatArray  # N (k, e, e): H_self = -N M on the inner boundaries
    reaction: FloatArray | None  # the same from the pickup's reply, at the table's heights (k, nz, e, e)
    spacing: FloatArray  # (e,) distance between slice centres

    @classmethod
    def of(cls, cuts: FloatArray, rods: "tuple[Rod, ...]", reply: "FloatArray | None" = None) -> "StringSystem":
        """Return the system of ``rods`` cut at ``cuts``.

        ``reply`` (k, nz, n, n) is the potential on slice i that the pickup gives back per charge on slice j, at
        the heights of the table, A per A m.
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
            a = 0.5 * max(rod.diameter, rod.wrap_diameter)
            p = np.arcsinh((x[:, None] - cuts[None, :-1]) / a) - np.arcsinh((x[:, None] - cuts[None, 1:]) / a)
            p /= 4.0 * np.pi * np.diff(cuts)
            out[k] = -grad @ p @ bring * rod.area
        back = None
        if reply is not None:
            area = np.array([r.area for r in rods])[:, None, None, None]
            back = -(grad @ reply @ bring) * area
        return cls(cuts=cuts, rods=rods, demagnetisation=out, reaction=back, spacing=d)

    def at(self, weights: FloatArray) -> FloatArray:
        """Return N (k, h, e, e) at heights given by interpolation ``weights`` (k, h, nz)."""
        n = np.broadcast_to(self.demagnetisation[:, None], (*weights.shape[:2], *self.demagnetisation.shape[1:]))
        if self.reaction is None:
            return n
        out: FloatArray = n + np.einsum("khz,kzij->khij", weights, self.reaction)
        return out

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
        return _solve(phi, n, self.spacing, RodLaws.of([self.rods]))

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
        dh0 = (dphi[..., :-1] - dphi[..., 1:]) / self.spacing
        jacobian = np.eye(dh0.shape[-1]) + n * slope[:, :, None, :]
        dh = np.linalg.solve(jacobian, dh0[..., None])[..., 0]
        return self.charges(slope * dh)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RodLaws:
    """Constants of rods by string and draw, (k, d): saturation magnetisation A/m, susceptibility, wrap."""

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


def _solve(phi: FloatArray, n: FloatArray, spacing: FloatArray, laws: RodLaws) -> tuple[FloatArray, FloatArray]:
    """Magnetise: phi (k, h, n), N (k, h or 1, e, e), laws (k, h or 1)."""
    h0 = (phi[..., :-1] - phi[..., 1:]) / spacing
    k, heights, e = h0.shape
    matrices = np.ascontiguousarray(n.reshape(-1, e, e))
    which = np.arange(k)[:, None] * n.shape[1] + (np.arange(heights)[None] if n.shape[1] > 1 else 0)
    which = np.broadcast_to(which, (k, heights)).ravel()

    def flat(values: FloatArray) -> FloatArray:
        return np.ascontiguousarray(np.broadcast_to(values, (k, heights)).ravel())

    m, slope, left = magnetise_rods(
        np.ascontiguousarray(h0.reshape(-1, e)),
        which,
        matrices,
        flat(laws.ms),
        flat(laws.chi),
        flat(laws.wrap),
    )
    if left.max() > 1e-5:
        raise ConvergenceError("the string's magnetisation did not converge.", [float(left.max())])
    return m.reshape(h0.shape), slope.reshape(h0.shape)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sensed:
    """What a pickup has of k strings at rest. Displacement w is towards the pole (downwards)."""

    linkage: FloatArray  # (k, coils) Wb at rest, change against no string
    sensitivity: FloatArray  # (k, coils) d linkage / dw, V s/m
    second: FloatArray  # (k, coils) V s/m2
    third: FloatArray  # (k, coils) V s/m3
    sideways: FloatArray  # (k, coils) V s/m2, d2 linkage / du2, u the displacement across the strings
    sideways_slope: FloatArray  # (k, coils) V s/m3, d3 linkage / du2 dw
    force: FloatArray  # (k,) N, vertical, negative = towards the pickup
    stiffness: FloatArray  # (k,) N/m, d force_z / dz: positive lowers the pitch of vertical motion
    axial_field: FloatArray  # (k,) T, B in the string at its strongest
    profile: FloatArray  # (k, coils, n) V s/m of each slice's own displacement; adds up to sensitivity
    functional: FloatArray  # (k, nx, nz) weights on psi tables whose sum is the sensitivity of a coil


def sense(
    system: StringSystem,
    table: HeightTable,
    *,
    height: FloatArray,
    pickup: FloatArray,
    coils: FloatArray,
) -> Sensed:
    """Sense k strings at rest.

    Parameters
    ----------
    system : StringSystem
    table : HeightTable
    height : ndarray, shape (k,)
        Height of each string's axis, m.
    pickup : ndarray, shape (k, nx, nz)
        Static potential of the pickup on the table, A.
    coils : ndarray, shape (c, k, nx, nz)
        Potential per ampere of each coil on the table (quasi-static), dimensionless.

    Returns
    -------
    Sensed
    """
    steps = np.arange(-2, 3) * STEP
    at = height[:, None] + steps[None]
    value, first, second = table.weights(at)
    phi = np.einsum("khz,knz->khn", value, pickup)
    n = system.at(value)
    m, slope = system.magnetise(phi, n)
    q = system.charges(m)
    psi = np.einsum("khz,cknz->ckhn", value, coils)
    dphi = np.einsum("khz,knz->khn", first, pickup)
    dpsi_all = np.einsum("khz,cknz->ckhn", first, coils)
    volume = np.array([r.outer_area for r in system.rods])[:, None] * np.diff(table.cuts)[None]
    across = TRANSVERSE * volume * system.is_magnetic[:, None]
    linkage = MU_0 * (np.einsum("kn,khn,ckhn->kch", across, dphi, dpsi_all) - np.einsum("khn,ckhn->kch", q, psi))
    ddphi = np.einsum("khz,knz->khn", second, pickup)
    rest = 2
    hz, dhz = -dphi, -ddphi
    force = MU_0 * (np.einsum("khn,khn->kh", q, hz) + np.einsum("kn,khn,khn->kh", across, hz, dhz))
    # profile: moving one slice down changes what it sees and what it links
    qr, sr = q[:, rest : rest + 1], slope[:, rest : rest + 1]
    nr = n[:, rest : rest + 1]
    reply = system.response(sr, nr, dphi[:, rest : rest + 1])  # dq/dz for a uniform rise
    value_r, first_r, second_r = value[:, rest], first[:, rest], second[:, rest]
    functional = MU_0 * (
        reply[:, 0, :, None] * value_r[:, None, :]
        + (qr[:, 0] - across * ddphi[:, rest])[:, :, None] * first_r[:, None, :]
        - (across * dphi[:, rest])[:, :, None] * second_r[:, None, :]
    )  # d linkage / dw = - d linkage / dz
    dpsi = dpsi_all[:, :, rest]
    ddpsi = np.einsum("kz,cknz->ckn", second_r, coils)
    profile = np.empty((len(system.rods), len(coils), len(table.x)))
    for k_coil in range(len(coils)):
        back = system.response(sr, nr, psi[k_coil][:, rest : rest + 1])[:, 0]
        turned = across * (ddphi[:, rest] * dpsi[k_coil] + dphi[:, rest] * ddpsi[k_coil])
        profile[:, k_coil] = MU_0 * (qr[:, 0] * dpsi[k_coil] + back * dphi[:, rest] - turned)
    fit = np.polynomial.polynomial.polyfit(steps, linkage.reshape(-1, 5).T, 4)
    c = fit.T.reshape(*linkage.shape[:2], 5)
    stiffness = np.polynomial.polynomial.polyfit(steps, force.T, 2)[1]
    bent = _sideways(system, table, (phi, dphi, ddphi), (psi, dpsi_all), (q, slope, n), across)
    return Sensed(
        linkage=linkage[:, :, rest],
        sensitivity=-c[:, :, 1],
        second=2.0 * c[:, :, 2],
        third=-6.0 * c[:, :, 3],
        sideways=bent[0],
        sideways_slope=bent[1],
        force=force[:, rest],
        stiffness=stiffness,
        axial_field=MU_0 * abs(m[:, rest]).max(axis=-1),
        profile=profile,
        functional=functional,
    )


def _along(table: HeightTable, values: FloatArray) -> FloatArray:
    """Second derivative along the string (.., n) of potentials at the slice centres, per m2; ends repeat."""
    x = table.x
    left, right = np.diff(x)[:-1], np.diff(x)[1:]
    out = np.empty_like(values)
    rise, fall = (values[..., 2:] - values[..., 1:-1]) / right, (values[..., 1:-1] - values[..., :-2]) / left
    out[..., 1:-1] = 2.0 * (rise - fall) / (left + right)
    out[..., 0], out[..., -1] = out[..., 1], out[..., -2]
    return out


def _sideways(
    system: StringSystem,
    table: HeightTable,
    field: tuple[FloatArray, FloatArray, FloatArray],
    coils: tuple[FloatArray, FloatArray],
    state: tuple[FloatArray, FloatArray, FloatArray],
    across: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Return d2 linkage/du2 (k, coils) and its slope towards the pole, u across the strings.

    No table beside the string is needed: potentials in air have no Laplacian, so over the middle of a pole, where
    they are even in u, d2 phi/du2 = -(d2 phi/dx2 + d2 phi/dz2). What the poles give back is held at u = 0.

    ``field`` is potential and its first and second vertical derivative (k, h, n) at the five heights, ``coils``
    potential and vertical derivative (c, k, h, n), ``state`` charges, dM/dH and N at rest of each height.
    """
    phi, dphi, ddphi = field
    psi, dpsi = coils
    q, slope, n = state
    ddpsi = np.gradient(dpsi, STEP, axis=2)
    phi_uu, psi_uu = -(_along(table, phi) + ddphi), -(_along(table, psi) + ddpsi)
    inner = slice(1, 4)  # the outer two only carry the vertical differences
    reply = system.response(slope[:, inner], n[:, inner], phi_uu[:, inner])
    axial = np.einsum("khn,ckhn->kch", reply, psi[:, :, inner]) + np.einsum(
        "khn,ckhn->kch", q[:, inner], psi_uu[:, :, inner]
    )
    turned = (
        np.gradient(phi_uu, STEP, axis=1)[:, inner] * dpsi[:, :, inner]
        + dphi[:, inner] * np.gradient(psi_uu, STEP, axis=2)[:, :, inner]
        + 2.0 * phi_uu[:, inner] * psi_uu[:, :, inner]
    )
    bent = MU_0 * (np.einsum("kn,ckhn->kch", across, turned) - axial)
    return bent[:, :, 1], -(bent[:, :, 2] - bent[:, :, 0]) / (2.0 * STEP)


def sense_draws(
    system: StringSystem,
    table: HeightTable,
    *,
    height: FloatArray,
    pickup: FloatArray,
    coils: FloatArray,
    rods: "list[tuple[Rod, ...]]",
) -> tuple[FloatArray, FloatArray]:
    """Return sensitivity (k, coils, d) and force (k, d) for d draws of strings, heights and fields.

    For ratios to the nominal draw: the reply of the poles is taken at the mean height of each string, so that
    the sensitivity leaves out how the reply changes with height (a few per cent, alike in all draws).

    Parameters
    ----------
    height : ndarray, shape (k, d)
    pickup : ndarray, shape (d, k, nx, nz)
    coils : ndarray, shape (c, k, nx, nz)
    rods : list of d tuples of k rods, of the system's diameters
    """
    laws = RodLaws.of(rods)
    value, first, second = table.weights(height)
    phi = np.einsum("kdz,dkxz->kdx", value, pickup)
    dphi = np.einsum("kdz,dkxz->kdx", first, pickup)
    ddphi = np.einsum("kdz,dkxz->kdx", second, pickup)
    n = system.at(table.weights(height.mean(axis=1)[:, None])[0])
    m, slope = _solve(phi, n, system.spacing, laws)
    q = system.charges(m)
    reply = system.response(slope, n, dphi)  # change of the charges for a rise of the string
    volume = np.array([r.outer_area for r in system.rods])[:, None] * np.diff(table.cuts)[None]
    across = TRANSVERSE * volume[:, None, :] * laws.magnetic[:, :, None]
    psi = np.einsum("kdz,ckxz->ckdx", value, coils)
    dpsi = np.einsum("kdz,ckxz->ckdx", first, coils)
    ddpsi = np.einsum("kdz,ckxz->ckdx", second, coils)
    sensitivity = MU_0 * (
        np.einsum("kdx,ckdx->kcd", reply, psi)
        + np.einsum("kdx,ckdx->kcd", q - across * ddphi, dpsi)
        - np.einsum("kdx,ckdx->kcd", across * dphi, ddpsi)
    )
    force = -MU_0 * np.einsum("kdx,kdx->kd", q, dphi) + MU_0 * np.einsum("kdx,kdx,kdx->kd", across, dphi, ddphi)
    return sensitivity, force
