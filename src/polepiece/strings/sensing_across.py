"""Motion of a string across the strings: what its sideways displacement u does to the flux that a pickup links.

Derivatives are taken at the string's own place, over the middle of its pole or beside it. With phi and psi the
potential of the pickup and of a coil per ampere, A twice the magnetised volume of a slice and q its charge,

    lambda_u = mu0 sum [ A (phi_z psi_z + phi_u psi_u)_u - q_u psi - q psi_u ],        q_u = answer of the law to phi_u

The slopes phi_u and psi_u come from the solved field (`Beside`); the second derivatives need no table: potentials in
air have no Laplacian, so phi_uu = -(phi_xx + phi_zz). What the poles give back to the string changes with u to the
first order; its second derivative is left out (2 % of lambda_uu).
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.constants import MU_0
from polepiece.strings.height_table import HeightTable
from polepiece.strings.string_system import StringSystem

STEP = 0.15e-3  # m, spacing of the five heights from which derivatives are taken
INNER = slice(1, 4)  # the outer two heights only carry vertical differences


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Beside:
    """Slopes of the tabled potentials across the strings: d/du at each string's own place, u towards +y."""

    pickup: FloatArray  # (k, nx, nz) A/m
    coils: FloatArray  # (c, k, nx, nz) 1/m, per ampere

    @classmethod
    def none(cls, pickup: FloatArray, coils: FloatArray) -> "Beside":
        """Return the slopes of strings over the middle of their poles in a symmetric field: none."""
        return cls(pickup=np.zeros_like(pickup), coils=np.zeros_like(coils))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """A potential (..., k, h, n) along the strings at the five heights, with its derivatives."""

    value: FloatArray
    z: FloatArray
    zz: FloatArray
    u: FloatArray
    uz: FloatArray
    uzz: FloatArray

    @classmethod
    def of(cls, weights: tuple[FloatArray, FloatArray, FloatArray], table: FloatArray, beside: FloatArray) -> "Seen":
        """Return what ``table`` and ``beside`` (..., k, nx, nz) have at heights given by `HeightTable.weights`."""
        every = np.concatenate(weights, axis=1)
        value, z, zz, u, uz, uzz = (
            one for of in (table, beside) for one in np.split(every @ of.swapaxes(-1, -2), len(weights), axis=-2)
        )
        return cls(value=value, z=z, zz=zz, u=u, uz=uz, uzz=uzz)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AtRest:
    """The strings' magnetisation at the five heights."""

    charge: FloatArray  # (k, h, n) A m
    slope: FloatArray  # (k, h, e) dM/dH
    bend: FloatArray  # (k, h, e) d2M/dH2, m/A
    n: FloatArray  # (k, h, e, e)
    turned: FloatArray  # (k, n) m3: A, twice the volume that is magnetised across
    back: FloatArray  # (k, c, n) the charges' answer to the potential of each coil, at the middle height
    reply: FloatArray | None  # (k, h, n, n) slope across, at slice i alone, of what comes back per charge on slice j

    def given_back(self, charge: FloatArray) -> FloatArray:
        """Return the slope across (k, 3, n), at the inner heights, of what the pickup gives back of ``charge``."""
        if self.reply is None:
            return np.zeros_like(charge)
        both = self.reply[:, INNER] + self.reply[:, INNER].swapaxes(-1, -2)  # what sees and what is seen both move
        return np.asarray(np.einsum("khij,khj->khi", both, charge))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Across:
    """Derivatives of the linkage in u, and in u and the displacement w towards the pole."""

    profile: FloatArray  # (k, c, n) V s/m
    slope: FloatArray  # (k, c) V s/m2, d2 / du dw
    second: FloatArray  # (k, c) V s/m2, d2 / du2
    second_slope: FloatArray  # (k, c) V s/m3, d3 / du2 dw


def _along(table: HeightTable, values: FloatArray) -> FloatArray:
    """Second derivative along the string (.., n) of potentials at the slice centres, per m2; ends repeat."""
    x = table.x
    left, right = np.diff(x)[:-1], np.diff(x)[1:]
    out = np.empty_like(values)
    rise, fall = (values[..., 2:] - values[..., 1:-1]) / right, (values[..., 1:-1] - values[..., :-2]) / left
    out[..., 1:-1] = 2.0 * (rise - fall) / (left + right)
    out[..., 0], out[..., -1] = out[..., 1], out[..., -2]
    return out


def motion_across(system: StringSystem, table: HeightTable, phi: Seen, psi: Seen, rest: AtRest) -> Across:
    """Return what motion across the strings does; ``phi`` is (k, h, n), ``psi`` (c, k, h, n).

    The equations of the module, derived in docs/theory/sensing.md, "Motion across the strings".
    """
    phi_uu, psi_uu = (-(_along(table, one.value) + one.zz) for one in (phi, psi))
    phi_uuz, psi_uuz = ((one[..., 2:, :] - one[..., :-2, :]) / (2.0 * STEP) for one in (phi_uu, psi_uu))
    phi_uuu, psi_uuu = (-(_along(table, one.u[..., INNER, :]) + one.uzz[..., INNER, :]) for one in (phi, psi))
    q, turned = rest.charge[:, INNER], rest.turned
    once, twice = _answers(system, rest, phi.u[:, INNER] + rest.given_back(q), phi_uu[:, INNER])
    of_phi = {"z": phi.z, "u": phi.u, "uz": phi.uz, "uu": phi_uu}
    p = {name: one[:, INNER] for name, one in of_phi.items()} | {"uuz": phi_uuz, "uuu": phi_uuu}
    of_psi = {"": psi.value, "z": psi.z, "u": psi.u, "uz": psi.uz, "uu": psi_uu}
    s = {name: one[:, :, INNER] for name, one in of_psi.items()} | {"uuz": psi_uuz, "uuu": psi_uuu}
    first_turned = p["uz"] * s["z"] + p["z"] * s["uz"] + p["uu"] * s["u"] + p["u"] * s["uu"]
    second_turned = p["uuz"] * s["z"] + 2.0 * p["uz"] * s["uz"] + p["z"] * s["uuz"]
    second_turned += p["uuu"] * s["u"] + 2.0 * p["uu"] * s["uu"] + p["u"] * s["uuu"]

    def summed(axial: FloatArray, across: FloatArray) -> FloatArray:
        return np.asarray(MU_0 * (np.einsum("kn,ckhn->kch", turned, across) - axial.sum(axis=-1).swapaxes(0, 1)))

    first = summed(once * s[""] + q * s["u"], first_turned)
    second = summed(twice * s[""] + 2.0 * once * s["u"] + q * s["uu"], second_turned)
    middle = turned[:, None] * first_turned[:, :, 1].swapaxes(0, 1)
    axial = q[:, None, 1] * s["u"][:, :, 1].swapaxes(0, 1) + rest.back * p["u"][:, None, 1]
    if rest.reply is not None:
        steep = rest.reply[:, 2]
        axial = axial + rest.back * np.einsum("kij,kj->ki", steep, q[:, 1])[:, None]
        axial = axial + q[:, None, 1] * np.einsum("kij,kcj->kci", steep, rest.back)
    return Across(
        profile=MU_0 * (middle - axial), slope=_towards(first), second=second[:, :, 1], second_slope=_towards(second)
    )


def _towards(values: FloatArray) -> FloatArray:
    """Slope (k, c) towards the pole of what is given at the three inner heights (k, c, 3)."""
    return -(values[:, :, 2] - values[:, :, 0]) / (2.0 * STEP)


def _answers(
    system: StringSystem, rest: AtRest, phi_u: FloatArray, phi_uu: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """First and second derivative in u of the charges (k, h, n); the law bends where the string saturates."""
    slope, bend, n = rest.slope[:, INNER], rest.bend[:, INNER], rest.n[:, INNER]
    jacobian = np.eye(slope.shape[-1]) + n * slope[:, :, None, :]
    h0_u, h0_uu = ((one[..., :-1] - one[..., 1:]) / system.spacing for one in (phi_u, phi_uu))
    h_u = np.linalg.solve(jacobian, h0_u[..., None])[..., 0]
    bent, once = bend * h_u**2, system.charges(slope * h_u)
    steep = 2.0 * rest.given_back(once)
    h0_uu = h0_uu + (steep[..., :-1] - steep[..., 1:]) / system.spacing - np.einsum("khij,khj->khi", n, bent)
    h_uu = np.linalg.solve(jacobian, h0_uu[..., None])[..., 0]
    return once, system.charges(slope * h_uu + bent)


class _Derivatives(Protocol):
    """The part of `sensing.Sensed` that a string beside its pole changes."""

    @property
    def sensitivity(self) -> FloatArray: ...
    @property
    def across(self) -> FloatArray: ...
    @property
    def across_slope(self) -> FloatArray: ...
    @property
    def sideways(self) -> FloatArray: ...
    @property
    def sideways_slope(self) -> FloatArray: ...


def moved_across(sensed: _Derivatives, offset: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the sensitivities towards the pole and across (k, coils, ...), V s/m, of strings moved aside.

    ``offset`` (k, ...) is how far each string lies from the place where ``sensed`` was taken, towards +y, m. Taylor's
    series of the linkage about that place, to the second order in the offset towards the pole and to the first across:
    good for the millimetre by which strings miss their poles.

    Derived in docs/theory/sensing.md.
    """
    u = np.asarray(offset, dtype=float)[:, None]
    more = (slice(None), slice(None), *(None,) * (u.ndim - 2))
    towards = sensed.sensitivity[more] + sensed.across_slope[more] * u + 0.5 * sensed.sideways_slope[more] * u**2
    return towards, sensed.across[more] + sensed.sideways[more] * u
