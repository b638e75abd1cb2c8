"""Eddy currents as complex mean permeabilities, and the reversible permeability under bias.

Time goes as exp(+j w t). Skin effect in a long body with the flux along it; the mean permeability over the
section replaces the real one in the network.
"""

import numpy as np
from numpy.typing import ArrayLike

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.constants import MU_0
from polepiece.geometry import passage_permeances
from polepiece.later import special

NARROW_TERMS = 24  # odd terms: past a thickness of 37 skins they fall as n^-5


def round_permeability(
    frequency: ArrayLike, *, permeability: ArrayLike, resistivity: ArrayLike, radius: ArrayLike
) -> ComplexArray:
    """Return the mean relative permeability of a long round rod, flux along it.

    Parameters
    ----------
    frequency : array_like
        Hz, 0 or more. All arguments broadcast.
    permeability, resistivity, radius : array_like
        Relative; ohm m (infinite: no eddy currents); m.

    Notes
    -----
    mu 2 J1(k r) / (k r J0(k r)), k^2 = -j w mu mu0 / rho. Source: classical skin effect in a round wire with the
    roles of E and H exchanged (Bozorth, Ferromagnetism, 1951, ch. 17, from memory).
    """
    mu = np.asarray(permeability, dtype=float)
    omega = 2.0 * np.pi * np.asarray(frequency, dtype=float)
    kr = np.sqrt(-1j * omega * mu * MU_0 / np.asarray(resistivity, dtype=float)) * np.asarray(radius, dtype=float)
    small = abs(kr) < 1e-3
    safe = np.where(small, 1.0, kr)
    # scaled Bessel functions: the factor exp(-|Im|) cancels in the ratio
    ratio = 2.0 * special.jve(1, safe) / (safe * special.jve(0, safe))
    out: ComplexArray = mu * np.where(small, 1.0 + kr**2 / 8.0, ratio)
    return out


def flat_permeability(
    frequency: ArrayLike, *, permeability: ArrayLike, resistivity: ArrayLike, half_thickness: ArrayLike
) -> ComplexArray:
    """Return the mean relative permeability of a wide sheet, flux in its plane.

    Arguments as for `round_permeability`, with half the thickness in m.

    Notes
    -----
    mu tanh(q)/q, q = sqrt(j w mu mu0 / rho) (thickness / 2).
    Derived here: H = H0 cosh(g x)/cosh(g t/2), g^2 = j w mu mu0/rho, averaged over the thickness t.
    """
    mu = np.asarray(permeability, dtype=float)
    omega = 2.0 * np.pi * np.asarray(frequency, dtype=float)
    q = np.sqrt(1j * omega * mu * MU_0 / np.asarray(resistivity, dtype=float)) * np.asarray(half_thickness)
    small = abs(q) < 1e-3
    safe = np.where(small, 1.0, np.minimum(q.real, 300.0) + 1j * q.imag)
    tanh = np.where(small, 1.0 - q**2 / 3.0, np.tanh(safe) / np.where(small, 1.0, q))
    out: ComplexArray = mu * tanh
    return out


def narrow_face_permeability(
    frequency: ArrayLike, *, permeability: ArrayLike, resistivity: ArrayLike, half_thickness: ArrayLike,
    width: ArrayLike,
) -> ComplexArray:  # fmt: skip
    """Return what the narrow face at the end of a sheet's section adds to `flat_permeability`, over the end's width.

    Currents turn round there, so that flux along the face has its skin too.

    Parameters
    ----------
    frequency, permeability, resistivity, half_thickness : array_like
        As for `flat_permeability`.
    width : array_like
        m, of the piece of the section at the end that the mean is taken over; all arguments broadcast.

    Notes
    -----
    8 k^2 mu / (pi^2 w) sum over odd n of 1 / (n^2 b^3), k^2 = j w mu mu0 / rho, b^2 = k^2 + (n pi / t)^2: what a
    rectangle of thickness t, H given on its four sides, has more than a sheet, for each end. Derived here by Fourier's
    series across t, the other end far away. It is mu / (k w) where the skin is thin, and takes 0.63 t / length off the
    loss where it is thick, as the torsion of a bar has it (Timoshenko, Theory of Elasticity, from memory).
    """
    mu, t = np.asarray(permeability, dtype=float), 2.0 * np.asarray(half_thickness, dtype=float)
    k2 = 2j * np.pi * np.asarray(frequency, dtype=float) * mu * MU_0 / np.asarray(resistivity, dtype=float)
    total = np.zeros(np.broadcast(k2, t).shape, dtype=complex)
    for n in range(1, 2 * NARROW_TERMS, 2):
        total = total + 1.0 / (n**2 * np.sqrt(k2 + (n * np.pi / t) ** 2) ** 3)
    out: ComplexArray = mu * 8.0 * k2 / (np.pi**2 * np.asarray(width)) * total
    return out


def sheet_impedance(
    frequency: ArrayLike, *, permeability: ArrayLike, resistivity: ArrayLike, thickness: ArrayLike
) -> ComplexArray:
    """Return the impedance of a magnetic sheet to a current along it, over rho / thickness.

    Arguments as for `round_permeability`, with the whole thickness in m.

    Notes
    -----
    q coth q, q = sqrt(j w mu mu0 / rho) (thickness / 2). Derived here: a current K per width makes H = K sinh(g z) /
    (2 sinh(g t/2)) from face to face, E at both faces is rho dH/dz = rho g K coth(g t/2) / 2, and rho K / t at rest.
    It is the odd half of the field in the sheet; the even half is `flat_permeability`.
    """
    mu = np.asarray(permeability, dtype=float)
    omega = 2.0 * np.pi * np.asarray(frequency, dtype=float)
    q = np.sqrt(1j * omega * mu * MU_0 / np.asarray(resistivity, dtype=float)) * 0.5 * np.asarray(thickness)
    small = abs(q) < 1e-3
    safe = np.where(small, 1.0, np.minimum(q.real, 300.0) + 1j * q.imag)
    out: ComplexArray = np.where(small, 1.0 + q**2 / 3.0, np.where(small, 1.0, q) / np.tanh(safe))
    return out


def step_permeability(
    frequency: ArrayLike,
    inside: ArrayLike,
    *,
    permeability: ArrayLike,
    resistivity: float,
    logarithm: ArrayLike,
    thickness: ArrayLike,
    permeance: ArrayLike,
) -> ComplexArray:
    """Return the mean permeability of an edge from a rod's shaft into its head.

    Flux that comes up the shaft's skin has to go outwards in the skin of the head's underside: a disc of thickness t
    with the flux along its radius, entered from one face, has the permeance per width mu tanh(g t)/g, g = sqrt(jw mu
    mu0/rho), instead of mu t. What the ring from the shaft's radius to the head's has more of reluctance than at rest,
    ln(b/a) (g coth(g t) - 1/t) / (2 pi mu), is in series with the rest of the edge.

    Parameters
    ----------
    frequency : array_like
        Hz. Arguments broadcast.
    inside : array_like
        Mean permeability of the edge without that (`round_permeability`).
    permeability, resistivity : array_like, float
        Relative; ohm m.
    logarithm, thickness, permeance : array_like
        ln(b/a); t, m; area over length of the edge, m.

    Notes
    -----
    Derived here.
    """
    mu, t = np.asarray(permeability, dtype=float), np.asarray(thickness, dtype=float)
    radial = flat_permeability(frequency, permeability=mu, resistivity=resistivity, half_thickness=t) * t
    more = np.asarray(logarithm) / (2.0 * np.pi) * (1.0 / radial - 1.0 / (mu * t))
    out: ComplexArray = 1.0 / (1.0 / np.asarray(inside) + np.asarray(permeance) * more)
    return out


def passage_permeabilities(
    frequency: FloatArray,
    shape: FloatArray,
    *,
    rod: FloatArray,
    keeper: FloatArray,
    rod_resistivity: float,
    keeper_resistivity: float,
) -> ComplexArray:
    """Return the complex permeabilities (p, 5, f) of the edges of rods' passages through a keeper.

    Parameters
    ----------
    frequency : ndarray, shape (f,)
        Hz.
    shape : ndarray, shape (p, 5)
        As ``Mesh.passage_shape``, m.
    rod, keeper : ndarray, shape (p,)
        Relative permeabilities at rest.
    rod_resistivity, keeper_resistivity : float
        ohm m.

    Notes
    -----
    Each is the permeance of that edge (`polepiece.geometry.passage_permeances`: a shorted ring and the skin effect in
    the rod) over the one that the mesh's area and length give it: its own at permeability 1 and frequency 0.
    Derived in docs/theory/coil.md, "Keeper".
    """
    radius, ring, height, above, below = (column[:, None] for column in shape.T)
    area = np.pi * radius**2
    omega = 2.0 * np.pi * np.asarray(frequency, dtype=float)[None]
    inside = round_permeability(frequency[None], permeability=rod[:, None], resistivity=rod_resistivity, radius=radius)
    line = 1.0 / (inside * area) + 1j * omega * MU_0 * ring / (2.0 * np.pi * keeper_resistivity)
    across = 2.0 * np.pi * keeper[:, None] / ring
    halves = [inside * area / length for length in (above, below)]
    found = passage_permeances(line, across + 0j, height, *halves)
    still = passage_permeances(1.0 / area, 2.0 * np.pi / ring, height, area / above, area / below)
    # an edge that leads to an end which is not there carries nothing
    out: ComplexArray = np.where(still > 0.0, found / np.where(still > 0.0, still, 1.0), 1.0)
    return out.transpose(0, 2, 1)


def biased_permeability(initial: float, bias: FloatArray, saturation: float) -> FloatArray:
    """Return the reversible relative permeability at a magnetic bias.

    Parameters
    ----------
    initial : float
        Reversible permeability without bias.
    bias : ndarray
        |M|, A/m.
    saturation : float
        mu0 Ms, T; infinite: no influence.

    Notes
    -----
    Gans' curve: chi_rev / chi_0 = 3 (1/a^2 - 1/sinh^2 a) where M/Ms = coth a - 1/a. It holds whatever the
    material's coercivity, as far as measured. Source: R. Gans, Ann. Phys. 332, 1065 (1909/1911); quoted in
    Bozorth, Ferromagnetism (1951), ch. 11 (from memory).
    """
    if not np.isfinite(saturation) or saturation <= 0.0:
        return np.full(np.shape(bias), float(initial))
    share = np.clip(np.abs(np.asarray(bias, dtype=float)) * MU_0 / saturation, 0.0, 0.999)
    a = 3.0 * share / (1.0 - share) ** 0.35 + 1e-4  # start; Newton on coth a - 1/a = share
    for _ in range(30):
        value = 1.0 / np.tanh(a) - 1.0 / a
        slope = 1.0 / a**2 - 1.0 / np.sinh(np.minimum(a, 300.0)) ** 2
        a = np.maximum(a - (value - share) / np.maximum(slope, 1e-12), 0.25 * a)
    factor = np.where(a < 0.02, 1.0, 3.0 * (1.0 / a**2 - 1.0 / np.sinh(np.minimum(a, 300.0)) ** 2))
    out: FloatArray = 1.0 + (initial - 1.0) * np.clip(factor, 0.0, 1.0)
    return out
