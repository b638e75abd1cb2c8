"""Slopes across the strings of the potentials that a pickup and its coils make along them.

What motion across needs beside the tables of `engine`: d/dy of every potential at the same places, on fewer heights
(`HEIGHTS`; interpolated to the tables' own). Six Chebyshev heights hold a slope that falls off over 3 mm or more to
0.1 % of its largest value over the tables' 9 mm.
"""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.coil import Alternating, AlternatingSolution, Racetrack, source_field
from polepiece.magnetics import Factors, Linear, MagnetState, Match, Pairs, Parts, Whole
from polepiece.strings import Beside, HeightTable, chebyshev_heights

HEIGHTS = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slopes:
    """d potential / dy at the places of slopes (tables * HEIGHTS * nx): per node potential, and of each coil alone."""

    nodes: "FloatArray | Linear"  # (places, nodes) 1/m
    direct: FloatArray  # (places, coils) 1/m per ampere: the coil and the charges that it calls up at rest

    def of_state(self, state: MagnetState, table: HeightTable) -> FloatArray:
        """Return the slope (tables, nx, nz) in A/m of the static potential of a magnetised pickup."""
        return _shaped(self.nodes @ state.potential, table)

    def along(self, state: MagnetState, system: Alternating, found: AlternatingSolution, table: HeightTable) -> Beside:
        """Return the slopes along y of pickup (tables, nx, nz) and coils (coils, tables, nx, nz)."""
        nodes = len(state.potential)
        return Beside(pickup=self.of_state(state, table), coils=self.of_coils(system, found, nodes, table))

    def of_coils(self, system: Alternating, found: AlternatingSolution, nodes: int, table: HeightTable) -> FloatArray:
        """Return the slope (coils, tables, nx, nz) in 1/m of each coil's potential, at the lowest frequency.

        Sheets carry no current there (0 Hz).
        """
        reduced, steel = found.potential[0].real, system.steel_count
        potential = np.zeros((nodes, reduced.shape[1]))
        potential[system.steel_nodes] = reduced[:steel]
        potential[system.magnet_nodes] = system.basis @ reduced[steel:]
        return np.moveaxis(_shaped(self.nodes @ potential + self.direct, table), -1, 0)

    @classmethod
    def of(cls, factors: Factors, coils: "tuple[Racetrack, ...]", points: FloatArray) -> "Slopes":
        """Return the slopes of a geometry at ``points`` (places, 3), m."""
        seen = factors.elements.slopes_across(points)
        nodes = seen @ np.asarray(factors.charge_of_node)
        called = factors.source_charge @ np.eye(factors.sources.shape[1])[:, : len(coils)]
        return cls(nodes=nodes, direct=slopes_in_air(coils, points) - seen @ called)


def slopes_in_air(coils: "tuple[Racetrack, ...]", points: FloatArray) -> FloatArray:
    """Return d/dy (n, coils) of the potential of each coil alone at ``points`` (n, 3), 1/m per ampere."""
    return -np.stack([source_field(coil, points)[:, 1] for coil in coils], axis=1)


def _shaped(values: FloatArray, table: HeightTable) -> FloatArray:
    """Places (tables * HEIGHTS * nx, ...) as (tables, nx, nz, ...) on the table's own heights."""
    low, high = table.z[:, 0], table.z[:, -1]
    fewer = np.array([chebyshev_heights(a, b, HEIGHTS) for a, b in zip(low, high)])
    value, _, _ = HeightTable(cuts=table.cuts, z=fewer).weights(table.z)
    tall = values.reshape(len(fewer), HEIGHTS, -1, *values.shape[1:])
    return np.asarray(np.einsum("tzh,thx...->txz...", value, tall))


def beside_strings(beside: Beside, at: np.ndarray, side: FloatArray) -> Beside:
    """Return the slopes of each string: of table ``at`` (k,), turned over where ``side`` (k,) is -1."""
    return Beside(pickup=beside.pickup[at] * side[:, None, None], coils=beside.coils[:, at] * side[:, None, None])


# --- geometries made by exchange -----------------------------------------------------------------------
def outward(base: Whole, points: FloatArray) -> Parts:
    """Return the slopes away from y = 0 of both parities of a mirrored geometry at ``points`` (n, 3), y > 0."""
    near, far = (half.slopes_across(points) for half in base.halves)
    return near + far, near - far


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExchangedSlopes:
    """`Slopes.nodes` of a geometry made by exchange: from the charges of its elements, never written down."""

    base: Whole
    match: Match
    outward: Parts  # of the base
    rows: np.ndarray  # of the base's places and then their images
    shown: FloatArray  # slopes of the elements that come (places, comes)
    charge_of_node: "FloatArray | Linear"

    def __matmul__(self, potential: FloatArray, /) -> FloatArray:
        """Return the slopes of node potentials (nodes, ...)."""
        return self.of_charges(self.charge_of_node @ potential)

    def of_charges(self, charge: FloatArray) -> FloatArray:
        """Return the slopes (places, ...) of charges (elements, ...) of the new geometry."""
        base, match = self.base, self.match
        kept = np.zeros((base.elements.count, *charge.shape[1:]))
        kept[match.old[match.stays]] = charge[match.stays]
        count = len(self.outward[0])
        places = Pairs(near=np.arange(count), far=np.arange(count, 2 * count))
        out = places.join([one @ part for one, part in zip(self.outward, base.of_elements.split(kept))])
        out[count:] *= -1.0
        return np.asarray(out[self.rows] + self.shown @ charge[match.comes])
