"""Alternating fields of a network of many unknowns, in a few real directions that are found by its own residual.

With S(f) the network with its permeances at a frequency, Z(f) what the sheets' currents meet and b, D, m the drives,

    [ S(f)  -D  ] [ Phi ]   [  b ]
    [ -D'  Z(f) ] [  i  ] = [ -m ]

is symmetric and its real part positive definite. Phi is sought among a few directions V, the currents i as they are
(Galerkin's method). What is left over, b + D i - S Phi, at the frequencies that are looked at is answered by one real
factor F of the network with permeances between those at the lowest and the highest frequency: F^-1 of its strongest
parts are the next directions. One factor and products of matrices take the place of a complex solution of all unknowns
at each frequency. It ends when nothing is left above `TOLERANCE` at any frequency; of L, a quadratic form, the error is
the square of that.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.coil.induction import Alternating
from polepiece.constants import MU_0
from polepiece.errors import ConvergenceError
from polepiece.later import sparse
from polepiece.magnetics import cholesky
from polepiece.threads import side_by_side

TOLERANCE = 2e-5  # of what is left over, in the energy that F measures, against a coil's own drive
STRONGEST = 0.01  # of what is left over, share of its largest part below which it is no next direction
LOOKED_AT = 5  # frequencies, evenly among all, that directions are first found at; the others are looked at in the end
ROUNDS = 40  # 7 to 9 are usual


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Network:
    """S(f) and Z(f) of one state, at all frequencies."""

    system: Alternating
    weight: ComplexArray  # (edges, f) (mu - 1) area / length of the steel edges
    flat: ComplexArray  # (f,) mu - 1 of the magnets along x and y
    up: ComplexArray  # (f,) and along z
    omega: FloatArray  # (f,) rad/s
    impedance: ComplexArray  # (f, loops, loops) R(f), ohm
    differences: "sparse.csr_array"  # D' (edges, m)

    @classmethod
    def of(
        cls, system: Alternating, frequency: FloatArray, steel: ComplexArray, flat: ComplexArray, up: ComplexArray,
        sheets: ComplexArray,
    ) -> "Network":  # fmt: skip
        """Take the arguments of `solve_alternating`, relative permeabilities (edges, f) and (f,) all.

        The equations of the module: docs/theory/coil.md, "Many unknowns".
        """
        edges, coils = len(system.edges), len(system.windings.coils)
        rows = np.arange(edges)
        ones = np.concatenate([np.ones(edges), -np.ones(edges)])
        ends = np.concatenate([rows, rows]), np.concatenate([system.edge_a, system.edge_b])
        return cls(
            system=system, weight=(steel - 1.0) * system.edge_weight[:, None], flat=flat - 1.0, up=up - 1.0,
            omega=2.0 * np.pi * np.asarray(frequency),
            impedance=np.einsum("sf,sij->fij", sheets, system.windings.resistances[:, coils:, coils:]),
            differences=sparse.csr_array((ones, ends), shape=(edges, len(system.network))),
        )  # fmt: skip

    @property
    def coils(self) -> int:
        """Number of coils."""
        return len(self.system.windings.coils)

    def factor(self) -> FloatArray:
        """Return F (m, m): the lower factor of the network with permeances between the first and the last frequency's.

        Derived in docs/theory/coil.md, "Many unknowns".
        """
        between = np.sqrt(abs(self.weight[:, 0]) * abs(self.weight[:, -1]))
        own = self.differences.T @ (sparse.diags_array(between) @ self.differences)
        matrix, s = self.system.network + own.toarray(), self.system.steel_count
        for share, magnet in ((self.flat, self.system.magnet_flat), (self.up, self.system.magnet_up)):
            matrix[s:, s:] += np.sqrt(abs(share[0]) * abs(share[-1])) * magnet
        return cholesky.lower_factor(matrix)

    def loops(self, at: int) -> ComplexArray:
        """Return Z over mu0 s (loops, loops) at a frequency above 0: resistance over jw and inductance.

        Faraday's law of the sheets' currents: docs/theory/coil.md, "Many unknowns".
        """
        windings, c = self.system.windings, self.system.factor * MU_0
        own = windings.air[self.coils :, self.coils :] / c + self.system.direct[self.coils :, self.coils :]
        return np.asarray(self.impedance[at] / (1j * self.omega[at] * c) + own)


@dataclass(slots=True, kw_only=True, eq=False)
class _Directions:
    """The directions so far, and the network in them."""

    network: Network
    own: FloatArray  # V (m, k), orthonormal
    still: FloatArray  # N V (m, k), N the network without permeances
    magnets: tuple[FloatArray, FloatArray]  # the magnets' two matrices times V's part in them
    drops: FloatArray  # D' V (edges, k)
    inside: list[ComplexArray]  # V' S(f) V (k, k) at each frequency
    driven: FloatArray  # V' [b D] (k, w)
    apart: "dict[int, tuple[ComplexArray, ComplexArray]]" = field(default_factory=dict)

    @classmethod
    def none(cls, network: Network) -> "_Directions":
        """Return no directions yet."""
        system = network.system
        m, r, count = len(system.network), len(system.magnet_flat), len(network.omega)
        return cls(
            network=network, own=np.zeros((m, 0)), still=np.zeros((m, 0)),
            magnets=(np.zeros((r, 0)), np.zeros((r, 0))), drops=np.zeros((len(system.edges), 0)),
            inside=[np.zeros((0, 0), dtype=complex)] * count, driven=np.zeros((0, system.drive.shape[1])),
        )  # fmt: skip

    def add(self, found: FloatArray) -> None:
        """Add what ``found`` (m, n) has beyond the directions that are there."""
        system, old = self.network.system, self.own.shape[1]
        for _ in range(2):  # once is not enough in floating point
            found = found - self.own @ (self.own.T @ found)
        new, _ = np.linalg.qr(found)
        s = system.steel_count
        self.own = np.concatenate([self.own, new], axis=1)
        self.still = np.concatenate([self.still, system.network @ new], axis=1)
        self.magnets = tuple(  # type: ignore[assignment]
            np.concatenate([seen, matrix @ new[s:]], axis=1)
            for seen, matrix in zip(self.magnets, (system.magnet_flat, system.magnet_up))
        )
        self.drops = np.concatenate([self.drops, self.network.differences @ new], axis=1)
        self.driven = self.own.T @ system.drive
        rest = self.own.T @ self.still[:, old:]
        flat, up = (self.own[s:].T @ seen[:, old:] for seen in self.magnets)
        mine = np.ascontiguousarray(self.drops[:, old:])

        def grown(at: int) -> ComplexArray:
            weight = self.network.weight[:, at, None]
            real, imaginary = (self.drops.T @ (part * mine) for part in (weight.real, weight.imag))
            side = rest + real + 1j * imaginary + self.network.flat[at] * flat + self.network.up[at] * up
            return np.block([[self.inside[at], side[:old]], [side[:old].T, side[old:]]])

        self.inside = side_by_side(grown, range(len(self.inside)))

    def solved(self, at: int) -> tuple[ComplexArray, ComplexArray]:
        """Return (k, coils) potentials in the directions and (loops, coils) currents at a frequency."""
        coils = self.network.coils
        drive, through = self.driven[:, :coils].astype(complex), self.driven[:, coils:]
        if self.network.omega[at] == 0.0 or not through.shape[1]:
            found = np.asarray(np.linalg.solve(self.inside[at], drive), dtype=complex)
            return found, np.zeros((through.shape[1], coils), dtype=complex)
        back, alone = self._apart(at)
        shut = self.inside[at] - through @ (back @ through.T)
        potential = np.asarray(np.linalg.solve(shut, drive + through @ alone), dtype=complex)
        return potential, alone + back @ (through.T @ potential)

    def _apart(self, at: int) -> tuple[ComplexArray, ComplexArray]:
        """Return Z^-1 (loops, loops) and the currents -Z^-1 m (loops, coils) without any magnetic body."""
        if at not in self.apart:
            windings, coils = self.network.system.windings, self.network.coils
            c = self.network.system.factor * MU_0
            inverse = np.asarray(np.linalg.inv(self.network.loops(at)), dtype=complex)
            met = windings.air[coils:, :coils] / c + self.network.system.direct[coils:, :coils]
            self.apart[at] = inverse, np.asarray(-(inverse @ met), dtype=complex)
        return self.apart[at]

    def left_over(self, at: int) -> FloatArray:
        """Return what is left over at a frequency: real parts, then imaginary ones (m, 2 coils)."""
        potential, currents = self.solved(at)
        system, network, s = self.network.system, self.network, self.network.system.steel_count
        out = system.drive[:, : network.coils] + system.drive[:, network.coils :] @ currents
        out -= self.still @ potential
        out -= np.asarray(network.differences.T @ (network.weight[:, at, None] * (self.drops @ potential)))
        out[s:] -= network.flat[at] * (self.magnets[0] @ potential) + network.up[at] * (self.magnets[1] @ potential)
        return np.concatenate([out.real, out.imag], axis=1)


def projected(network: Network) -> tuple[ComplexArray, ComplexArray]:
    """Return the reduced node potentials (f, m, coils) and the sheets' currents (f, loops, coils), per ampere.

    Raises
    ------
    ConvergenceError
        When something is left over after `ROUNDS`.

    Notes
    -----
    The equations of the module. Galerkin's method in a rational Krylov space whose one pole is real: derived in
    docs/theory/coil.md, "Many unknowns".
    """
    factor = network.factor()
    drive = network.system.drive[:, : network.coils]
    first = cholesky.triangular(factor, drive)
    scale = np.maximum(np.linalg.norm(first, axis=0), 1e-300)
    directions, every = _Directions.none(network), range(len(network.omega))
    looked_at: Sequence[int] = sorted(set(np.linspace(0, len(every) - 1, LOOKED_AT).round().astype(int).tolist()))
    found = cholesky.triangular(factor, first / scale, transposed=True)
    for _ in range(ROUNDS):
        directions.add(found)
        strong, found = _strongest(factor, scale, directions, looked_at)
        if strong < TOLERANCE and len(looked_at) < len(every):
            looked_at = every
            strong, found = _strongest(factor, scale, directions, looked_at)
        if strong < TOLERANCE:
            solved = side_by_side(directions.solved, every)
            return np.array([directions.own @ y for y, _ in solved]), np.array([i for _, i in solved])
    raise ConvergenceError(
        f"alternating fields: after {ROUNDS} rounds {strong:.1e} of a coil's drive is left over, {TOLERANCE:.0e} is "
        "allowed; is a permeability out of all range?"
    )


def _strongest(
    factor: FloatArray, scale: FloatArray, directions: _Directions, at: Sequence[int]
) -> tuple[float, FloatArray]:
    """Return how much is left over at the frequencies ``at``, and what answers its strongest parts (m, n)."""
    left = np.concatenate(side_by_side(directions.left_over, at), axis=1)
    seen = cholesky.triangular(factor, left / np.tile(scale, 2 * len(at)))
    values, turned = np.linalg.eigh(seen.T @ seen)
    kept = values > STRONGEST**2 * values[-1]
    largest = float(np.linalg.norm(seen, axis=0).max())
    return largest, cholesky.triangular(factor, seen @ (turned[:, kept] / np.sqrt(values[kept])), transposed=True)
