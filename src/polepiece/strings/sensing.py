"""A steel string over a pickup: its magnetisation, the flux it links, the force on it.

The string is a thin rod along x. Its axial magnetisation makes the signal; it is solved by the same network as
the poles (slices with magnetic charge, thin-rod potentials) in the scalar potential of the pickup, with a
saturating law. What the string's charges induce in the poles comes back as a reaction potential (1-6 % of the flux).

    u_i = phi0(x_i, z) + sum_j (P_ij + G_ij(z)) q_j,   q_i = A (M_{i-1/2} - M_{i+1/2}),   M = law((u_i - u_{i+1}) / d)
    linkage = -mu0 sum_i q_i psi(x_i, z) + mu0 sum_i v_i (M_z h_z + M_y h_y)
    force_z = mu0 sum_i q_i H_z(x_i) + mu0 sum_i v_i (M_z dH_z/dz + M_y dH_y/dz)

with psi and h = -grad psi the coil's potential and field per ampere (coil + steel + magnet). Across the string a
round rod has the demagnetising factor 1/2, so M_z = 2 H_z and M_y = 2 H_y whatever its permeability (a few per cent
of the flux). Motion across the strings: `sensing_across`.
"""

from dataclasses import dataclass, replace

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.constants import MU_0
from polepiece.errors import ConvergenceError, InputError
from polepiece.strings._rods import magnetise_rods
from polepiece.strings.height_table import HeightTable
from polepiece.strings.sensing_across import STEP, AtRest, Beside, Seen, motion_across

TRANSVERSE = 2.0  # M across a thin round rod over the field there, for permeability well above 1


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
class StringSystem:
    """Self-potentials of k rods on one set of slices, factorised for any field."""

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
            a = 0.5 * max(rod.diameter, rod.wrap_diameter)
            p = np.arcsinh((x[:, None] - cuts[None, :-1]) / a) - np.arcsinh((x[:, None] - cuts[None, 1:]) / a)
            p /= 4.0 * np.pi * np.diff(cuts)
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
    """What a pickup has of k strings at rest. Displacement w is towards the pole (downwards), u across, towards +y."""

    linkage: FloatArray  # (k, coils) Wb at rest, change against no string
    sensitivity: FloatArray  # (k, coils) d linkage / dw, V s/m
    second: FloatArray  # (k, coils) V s/m2
    third: FloatArray  # (k, coils) V s/m3
    across: FloatArray  # (k, coils) V s/m, d linkage / du at the string's own place; odd in its offset from the pole
    across_slope: FloatArray  # (k, coils) V s/m2, d2 linkage / du dw
    sideways: FloatArray  # (k, coils) V s/m2, d2 linkage / du2
    sideways_slope: FloatArray  # (k, coils) V s/m3, d3 linkage / du2 dw
    force: FloatArray  # (k,) N, vertical, negative = towards the pickup
    stiffness: FloatArray  # (k,) N/m, d force_z / dz: positive lowers the pitch of vertical motion
    axial_field: FloatArray  # (k,) T, B in the string at its strongest
    profile: FloatArray  # (k, coils, n) V s/m of each slice's own displacement; adds up to sensitivity
    profile_across: FloatArray  # (k, coils, n) V s/m of each slice's own motion across; adds up to across
    functional: FloatArray  # (k, nx, nz) weights on psi tables whose sum is the sensitivity of a coil, M_y left out


def sense(
    system: StringSystem,
    table: HeightTable,
    *,
    height: FloatArray,
    pickup: FloatArray,
    coils: FloatArray,
    beside: Beside | None = None,
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
    beside : Beside, optional
        The slopes of both across the strings; default: none, strings over the middle of poles in a symmetric field.

    Returns
    -------
    Sensed
    """
    steps = np.arange(-2, 3) * STEP
    weights = table.weights(height[:, None] + steps[None])
    beside = beside or Beside.none(pickup, coils)
    phi, psi = Seen.of(weights, pickup, beside.pickup), Seen.of(weights, coils, beside.coils)
    n = system.at(weights[0])
    m, slope, bend = system.magnetised(phi.value, n)
    q = system.charges(m)
    volume = np.array([r.outer_area for r in system.rods])[:, None] * np.diff(table.cuts)[None]
    turned = TRANSVERSE * volume * system.is_magnetic[:, None]
    linked = np.einsum("kn,khn,ckhn->kch", turned, phi.z, psi.z) + np.einsum("kn,khn,ckhn->kch", turned, phi.u, psi.u)
    linkage = MU_0 * (linked - np.einsum("khn,ckhn->kch", q, psi.value))
    drawn = np.einsum("kn,khn->kh", turned, phi.z * phi.zz + phi.u * phi.uz)
    force = MU_0 * (drawn - np.einsum("khn,khn->kh", q, phi.z))
    rest = 2
    back = np.stack([
        system.response(slope[:, rest : rest + 1], n[:, rest : rest + 1], one[:, rest : rest + 1])[:, 0]
        for one in psi.value
    ], axis=1)  # fmt: skip
    fit = np.polynomial.polynomial.polyfit(steps, linkage.reshape(-1, 5).T, 4)
    c = fit.T.reshape(*linkage.shape[:2], 5)
    steep = None if system.reply_slope is None else np.einsum("khz,kzij->khij", weights[0], system.reply_slope)
    still = AtRest(charge=q, slope=slope, bend=bend, n=n, turned=turned, back=back, reply=steep)
    moved = motion_across(system, table, phi, psi, still)
    return Sensed(
        linkage=linkage[:, :, rest],
        sensitivity=-c[:, :, 1],
        second=2.0 * c[:, :, 2],
        third=-6.0 * c[:, :, 3],
        across=moved.profile.sum(axis=-1),
        across_slope=moved.slope,
        sideways=moved.second,
        sideways_slope=moved.second_slope,
        force=force[:, rest],
        stiffness=np.polynomial.polynomial.polyfit(steps, force.T, 2)[1],
        axial_field=MU_0 * abs(m[:, rest]).max(axis=-1),
        profile=_profile(phi, psi, still, rest),
        profile_across=moved.profile,
        functional=_functional(system, weights, phi, still, rest),
    )


def _profile(phi: Seen, psi: Seen, still: AtRest, rest: int) -> FloatArray:
    """Moving one slice down changes what it sees and what it links: (k, coils, n), V s/m."""
    dphi, ddphi, q = phi.z[:, rest][:, None], phi.zz[:, rest][:, None], still.charge[:, rest][:, None]
    dlink, ddlink = (one[:, :, rest].swapaxes(0, 1) for one in (psi.z, psi.zz))
    side, dside = phi.u[:, rest][:, None], phi.uz[:, rest][:, None]
    link_u, dlink_u = (one[:, :, rest].swapaxes(0, 1) for one in (psi.u, psi.uz))
    turned = ddphi * dlink + dphi * ddlink + dside * link_u + side * dlink_u
    return np.asarray(MU_0 * (q * dlink + still.back * dphi - still.turned[:, None] * turned))


def _functional(
    system: StringSystem, weights: tuple[FloatArray, FloatArray, FloatArray], phi: Seen, still: AtRest, rest: int
) -> FloatArray:
    """Weights (k, nx, nz) on a coil's table whose sum is its d linkage / dw."""
    value, first, second = (one[:, rest, None, :] for one in weights)
    at = slice(rest, rest + 1)
    reply = system.response(still.slope[:, at], still.n[:, at], phi.z[:, at])[:, 0]  # dq/dz for a uniform rise
    q, turned = still.charge[:, rest], still.turned
    return np.asarray(
        MU_0
        * (
            reply[:, :, None] * value
            + (q - turned * phi.zz[:, rest])[:, :, None] * first
            - (turned * phi.z[:, rest])[:, :, None] * second
        )
    )


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
    rods : list of d tuples of k rods; of another section where it differs, but of the system's diameters in how they
        act on themselves (a logarithm)
    """
    areas = np.array([[r.area for r in one] for one in rods]).T / np.array([r.area for r in system.rods])[:, None]
    laws = RodLaws.of(rods).thicker(areas)
    value, first, second = table.weights(height)
    phi = np.einsum("kdz,dkxz->kdx", value, pickup)
    dphi = np.einsum("kdz,dkxz->kdx", first, pickup)
    ddphi = np.einsum("kdz,dkxz->kdx", second, pickup)
    n = system.at(table.weights(height.mean(axis=1)[:, None])[0])
    m, slope = _solve(phi, n, system.spacing, laws)
    q = system.charges(m)
    reply = system.response(slope, n, dphi)  # change of the charges for a rise of the string
    outer = np.array([[r.outer_area for r in one] for one in rods]).T
    across = TRANSVERSE * (outer * laws.magnetic)[:, :, None] * np.diff(table.cuts)
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
