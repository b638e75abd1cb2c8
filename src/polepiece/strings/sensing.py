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

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.constants import MU_0
from polepiece.strings.height_table import HeightTable
from polepiece.strings.sensing_across import STEP, AtRest, Beside, Seen, motion_across
from polepiece.strings.string_system import Rod, RodLaws, StringSystem, interpolated, solve_rods

NODES = np.arange(-2.0, 3.0)  # the five heights over `STEP`
POWERS = np.linalg.inv(np.vander(NODES, increasing=True)) / STEP ** np.arange(5.0)[:, None]  # values -> coefficients
TRANSVERSE = 2.0  # M across a thin round rod over the field there, for permeability well above 1


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

    Notes
    -----
    The equations of the module, derived in docs/theory/sensing.md.
    """
    weights = table.weights(height[:, None] + STEP * NODES)
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
    at = slice(rest, rest + 1)
    asked = np.concatenate([psi.value[:, :, at], phi.z[None, :, at]])  # of each coil, and of a uniform rise
    *answers, rise = system.responses(slope[:, at], n[:, at], asked)[:, :, 0]
    back = np.stack(answers, axis=1)
    c = linkage @ POWERS.T
    steep = None if system.reply_slope is None else interpolated(weights[0], system.reply_slope)
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
        stiffness=force @ (NODES / (STEP * float(NODES @ NODES))),  # of the least squares' parabola
        axial_field=MU_0 * abs(m[:, rest]).max(axis=-1),
        profile=_profile(phi, psi, still, rest),
        profile_across=moved.profile,
        functional=_functional(weights, phi, still, rise, rest),
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
    weights: tuple[FloatArray, FloatArray, FloatArray], phi: Seen, still: AtRest, reply: FloatArray, rest: int
) -> FloatArray:
    """Weights (k, nx, nz) on a coil's table whose sum is its d linkage / dw; ``reply``: dq/dz for a uniform rise."""
    value, first, second = (one[:, rest, None, :] for one in weights)
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

    Notes
    -----
    The equations of the module, derived in docs/theory/sensing.md.
    """
    areas = np.array([[r.area for r in one] for one in rods]).T / np.array([r.area for r in system.rods])[:, None]
    laws = RodLaws.of(rods).thicker(areas)
    value, first, second = table.weights(height)
    phi = np.einsum("kdz,dkxz->kdx", value, pickup)
    dphi = np.einsum("kdz,dkxz->kdx", first, pickup)
    ddphi = np.einsum("kdz,dkxz->kdx", second, pickup)
    n = system.at(table.weights(height.mean(axis=1)[:, None])[0])
    m, slope = solve_rods(phi, n, system.spacing, laws)
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
