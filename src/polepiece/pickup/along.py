"""What a pickup's solutions make along its strings: written down for a geometry, worked out for an exchanged one.

Potentials at the probes of `engine.string_probes` and their slopes across the strings at `engine.slope_points`. Of a
geometry made by exchange there are only few solutions to ask for, so that their charges are found first and summed;
the matrices that a mirrored geometry keeps would cost more than the exchange.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.coil import Alternating, AlternatingSolution
from polepiece.later import sparse
from polepiece.magnetics import Factors, Linear, MagnetState, Product, Seen
from polepiece.pickup.slopes import ExchangedSlopes, Slopes


class Along(Protocol):
    """Potentials at g probes and slopes at p places.

    Sums over charges and currents (Coulomb, Biot-Savart): docs/theory/sensing.md, "Motion across the strings".
    """

    def solved(self, state: MagnetState, found: AlternatingSolution) -> tuple[FloatArray, FloatArray]:
        """Return potentials (g, 1 + coils) and slopes (p, 1 + coils): of the magnets, A, then of each coil per ampere.

        The coils' are those at the lowest frequency.
        """

    def felt(self, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return weights (k, g) of the probes as weights of the reduced unknowns (k, m) and of the windings (k, w)."""


def node_potentials(system: Alternating, found: AlternatingSolution, nodes: int) -> FloatArray:
    """Return the node potentials (nodes, coils) of each coil at the lowest frequency, per ampere."""
    reduced, steel = found.potential[0].real, system.steel_count
    out = np.zeros((nodes, reduced.shape[1]))
    out[system.steel_nodes] = reduced[:steel]
    out[system.magnet_nodes] = system.basis @ reduced[steel:]
    return out


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Written:
    """Matrices written down. Derived in docs/theory/sensing.md."""

    nodes: FloatArray  # (g, nodes) potential per node potential
    reduced: FloatArray  # (g, m) per reduced unknown
    direct: FloatArray  # (g, w) what the windings alone make, with the charges that they call up
    slopes: Slopes
    system: Alternating

    def solved(self, state: MagnetState, found: AlternatingSolution) -> tuple[FloatArray, FloatArray]:
        """See `Along`."""
        coils = found.potential.shape[2]
        psi = self.reduced @ found.potential[0].real
        psi += self.direct[:, :coils] + self.direct[:, coils:] @ found.currents[0].real
        across = self.slopes.nodes @ node_potentials(self.system, found, len(state.potential)) + self.slopes.direct
        return (
            np.column_stack([self.nodes @ state.potential, psi]),
            np.column_stack([self.slopes.nodes @ state.potential, across]),
        )

    def felt(self, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
        """See `Along`."""
        return weight @ self.reduced, weight @ self.direct


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Exchanged:
    """Of a geometry made by exchange; derived in the module `magnetics.exchange`."""

    factors: Factors
    seen: Seen
    inverse: Linear  # V^-1 of its elements
    air: FloatArray  # (g, w) what the windings alone make in air
    slopes: ExchangedSlopes
    system: Alternating
    gather: "sparse.csr_array"  # P' (nodes, elements)

    @classmethod
    def of(cls, factors: Factors, air: FloatArray, slopes: ExchangedSlopes, system: Alternating) -> "Exchanged":
        """Return the same of ``factors`` that `magnetics.exchange` made."""
        called, seen = factors.charge_of_node, factors.probe_nodes
        assert isinstance(called, Product) and isinstance(seen, Product) and isinstance(seen.first, Seen)
        assert isinstance(called.second, sparse.csr_array)
        gather = sparse.csr_array(called.second.T)
        return cls(
            factors=factors, seen=seen.first, inverse=called.first, air=air, slopes=slopes, system=system, gather=gather
        )

    def solved(self, state: MagnetState, found: AlternatingSolution) -> tuple[FloatArray, FloatArray]:
        """See `Along`."""
        coils, sources = found.potential.shape[2], self.factors.sources
        wound, currents = [np.zeros((len(sources), 1)), sources[:, :coils]], found.currents[0].real
        wound[1] = wound[1] + sources[:, coils:] @ currents
        node = np.column_stack([state.potential, node_potentials(self.system, found, len(state.potential))])
        charge = self.inverse @ (np.asarray(self.gather.T @ node) - np.column_stack(wound))
        potential, slope = self.seen @ charge, self.slopes.of_charges(charge)
        potential[:, 1:] += self.air[:, :coils] + self.air[:, coils:] @ currents
        slope[:, 1:] += self.slopes.air
        return potential, slope

    def felt(self, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
        """See `Along`."""
        charge = self.inverse @ self.seen.felt(weight.T)
        of_nodes = np.asarray(self.gather @ charge).T
        return self.system.reduce(of_nodes), weight @ self.air - charge.T @ self.factors.sources
