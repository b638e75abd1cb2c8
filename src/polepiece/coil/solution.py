"""Solve the alternating network of a pickup: potentials, sheets' currents and inductances at some frequencies.

The equations are those of `induction`. A small network is solved as it is, one of many unknowns by `projected`.
"""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.coil.induction import Alternating
from polepiece.coil.projected import Network, projected
from polepiece.constants import MU_0

PROJECTED_FROM = 400  # unknowns, from where directions cost less than a complex solution at each frequency


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AlternatingSolution:
    """Fields and inductances of the coils at some frequencies, sheets' currents included."""

    frequency: FloatArray  # (f,) Hz
    inductance: ComplexArray  # (coils, coils, f), H: induced voltage over (j w I), sheets included
    potential: ComplexArray  # reduced node potentials per ampere (f, m, coils)
    currents: ComplexArray  # of the sheets' unknowns per ampere in each coil (f, w - coils, coils)


def solve_alternating(
    system: Alternating,
    frequency: FloatArray,
    *,
    steel: ComplexArray,
    magnet_flat: ComplexArray,
    magnet_up: ComplexArray,
    sheets: "ComplexArray | None" = None,
) -> AlternatingSolution:
    """Solve for the coils at each frequency.

    Parameters
    ----------
    system : Alternating
    frequency : ndarray, shape (f,)
        Hz, 0 or more.
    steel : ndarray, shape (steel edges, f)
        Complex mean relative permeability of each steel edge.
    magnet_flat, magnet_up : ndarray, shape (f,)
        Complex mean relative permeability of the magnets along x and y, and along z.
    sheets : ndarray, shape (sheets, f), optional
        Impedance of each sheet to currents along it, over rho / thickness (`sheet_impedance`). Default: 1.

    Notes
    -----
    The equations of `induction`, derived in docs/theory/coil.md; sheets by Kirchhoff's and Faraday's laws,
    (R + jwL) i = -jw M.
    """
    resistances = system.windings.resistances
    network = Network.of(
        system, frequency, steel, magnet_flat, magnet_up,
        np.ones((len(resistances), len(frequency)), dtype=complex) if sheets is None else sheets,
    )  # fmt: skip
    potential, currents = (projected if is_large(system) else directly)(network)
    coils, drive = len(system.windings.coils), system.drive
    full = system.windings.air + system.factor * MU_0 * system.direct
    inductance = full[:coils, :coils] - system.factor * MU_0 * (drive[:, :coils].T @ potential)
    inductance = inductance + full[:coils, coils:] @ currents
    return AlternatingSolution(
        frequency=np.asarray(frequency, dtype=float), inductance=inductance.transpose(1, 2, 0),
        potential=potential, currents=currents,
    )  # fmt: skip


def is_large(system: Alternating) -> bool:
    """Return whether a network has so many unknowns that it is solved in a few directions."""
    return len(system.network) >= PROJECTED_FROM


def directly(network: Network) -> tuple[ComplexArray, ComplexArray]:
    """Return what `projected` returns, solved for all unknowns at each frequency.

    Kirchhoff's and Faraday's laws: docs/theory/coil.md.
    """
    system, coils, count = network.system, network.coils, len(network.omega)
    m, s = len(system.network), system.steel_count
    matrix = np.broadcast_to(system.network.astype(complex), (count, m, m)).copy()
    at = np.arange(count)[:, None]
    a, b, weight = system.edge_a[None], system.edge_b[None], network.weight.T
    np.add.at(matrix, (at, a, a), weight)
    np.add.at(matrix, (at, b, b), weight)
    np.add.at(matrix, (at, a, b), -weight)
    np.add.at(matrix, (at, b, a), -weight)
    matrix[:, s:, s:] += network.flat[:, None, None] * system.magnet_flat
    matrix[:, s:, s:] += network.up[:, None, None] * system.magnet_up
    potential: ComplexArray = np.asarray(np.linalg.solve(matrix, system.drive.astype(complex)), dtype=complex)
    loops = system.drive.shape[1] - coils
    if not loops:
        return potential, np.zeros((count, 0, coils), dtype=complex)
    full = system.windings.air + system.factor * MU_0 * (system.direct - system.drive.T @ potential)
    omega = network.omega[:, None, None]
    own = network.impedance + 1j * omega * full[:, coils:, coils:]
    currents = np.asarray(-np.linalg.solve(own, 1j * omega * full[:, coils:, :coils]), dtype=complex)
    return potential[:, :, :coils] + potential[:, :, coils:] @ currents, currents
