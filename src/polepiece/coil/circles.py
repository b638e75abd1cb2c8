"""Circles about one axis: mutual inductance and scalar potential in closed form."""

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from polepiece.arrays import FloatArray
from polepiece.constants import MU_0


def circle_mutual(first: ArrayLike, second: ArrayLike, distance: ArrayLike) -> FloatArray:
    """Return the mutual inductance, H, of coaxial circles of radii ``first``, ``second``, ``distance`` apart.

    Notes
    -----
    M = mu0 sqrt(a b) ((2/k - k) K - (2/k) E), k^2 = 4 a b / ((a + b)^2 + d^2): Maxwell, Treatise, art. 701;
    in the form of DLMF 19.34. Infinite where the circles coincide.
    """
    a, b, d = (np.asarray(value, dtype=float) for value in (first, second, distance))
    m = 4.0 * a * b / ((a + b) ** 2 + d**2)
    k = np.sqrt(m)
    out: FloatArray = MU_0 * np.sqrt(a * b) * ((2.0 / k - k) * special.ellipk(m) - 2.0 / k * special.ellipe(m))
    return out


def circle_potential(radius: ArrayLike, rho: ArrayLike, z: ArrayLike) -> FloatArray:
    """Return Omega / 4 pi of a circle of ``radius`` in the plane z = 0, seen from (rho, z): A per ampere.

    Positive above; it jumps by one across the circle's disc, where the value of the upper side is returned.

    Notes
    -----
    F. Paxton, Rev. Sci. Instrum. 30, 254 (1959), in complete elliptic integrals (from memory; the tests
    compare it with the axis and with the field by quadrature).
    """
    a, r, height = np.broadcast_arrays(*(np.asarray(value, dtype=float) for value in (radius, rho, z)))
    far2 = (a + r) ** 2 + height**2
    m = 4.0 * a * r / far2
    rest = ((a - r) / (a + r)) ** 2  # 1 - n, the characteristic's complement
    on_wall = rest < 1e-24
    rest = np.where(on_wall, 1.0, rest)
    first = special.ellipk(m)
    third = special.elliprf(0.0, 1.0 - m, 1.0) + (1.0 - rest) / 3.0 * special.elliprj(0.0, 1.0 - m, 1.0, rest)
    base = np.where(on_wall, np.pi, np.where(r < a, 2.0 * np.pi, 0.0))
    up = abs(height)
    skew = np.where(on_wall, 0.0, (r - a) / (r + a) * third)
    omega = base + 2.0 * up / np.sqrt(far2) * (skew - first)
    out: FloatArray = np.where(height < 0.0, -omega, omega) / (4.0 * np.pi)
    return out
