"""Slopes across the strings of the potentials that a pickup and its coils make along them.

What motion across needs beside the tables of `engine`: d/dy of every potential at the same places, on six of their
eight heights. Between them a polynomial holds the slope of a humbucker's field to 0.3 % of its largest value at that
height from 1.8 to 8 mm over the poles, to 0.8 % elsewhere.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from polepiece.arrays import FloatArray, IntArray
from polepiece.coil import Racetrack, source_field
from polepiece.magnetics import Factors, Match, Pairs, Parts, Whole
from polepiece.strings import Beside, HeightTable, chebyshev_heights

TABLE_HEIGHTS = 8  # of the tables of `engine`
OF_TABLE = (0, 2, 3, 4, 5, 7)  # which heights of a table carry slopes
HEIGHTS = len(OF_TABLE)


def sloped(tables: int) -> IntArray:
    """Return which groups of probes (tables * TABLE_HEIGHTS) carry slopes."""
    return np.asarray((np.arange(tables)[:, None] * TABLE_HEIGHTS + np.array(OF_TABLE)).ravel(), dtype=np.int64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slopes:
    """d potential / dy at the places of slopes (tables * HEIGHTS * nx): per node potential, and of each coil alone."""

    nodes: FloatArray  # (places, nodes) 1/m
    direct: FloatArray  # (places, coils) 1/m per ampere: the coil and the charges that it calls up at rest
    reply: FloatArray  # (tables * HEIGHTS, nx, nx) d/dy at slice i of what the pickup gives back per charge on slice j

    @classmethod
    def of(cls, factors: Factors, in_air: FloatArray) -> "Slopes":
        """Return the slopes of a geometry at the places where `slopes_in_air` of its coils is ``in_air``."""
        known = factors.beside
        assert known is not None
        return cls(nodes=known.nodes, direct=in_air + known.sources[:, : in_air.shape[1]], reply=known.reply)


def slopes_in_air(coils: "tuple[Racetrack, ...]", points: FloatArray) -> FloatArray:
    """Return d/dy (n, coils) of the potential of each coil alone at ``points`` (n, 3), 1/m per ampere."""
    return -np.stack([source_field(coil, points)[:, 1] for coil in coils], axis=1)


def reply_along(reply: FloatArray, table: HeightTable) -> FloatArray:
    """Return the slope of a reply (tables * HEIGHTS, nx, nx) on all heights of the table (tables, nz, nx, nx), 1/m2."""
    tall = reply.reshape(len(table.z), HEIGHTS, *reply.shape[1:])
    return np.asarray(np.einsum("zh,thij->tzij", _all_heights(), tall))


def shaped(values: FloatArray, table: HeightTable) -> FloatArray:
    """Places (tables * HEIGHTS * nx, ...) as (tables, nx, nz, ...) on all heights of the table."""
    tall = values.reshape(len(table.z), HEIGHTS, -1, *values.shape[1:])
    return np.asarray(np.einsum("zh,thx...->txz...", _all_heights(), tall))


@lru_cache(maxsize=1)
def _all_heights() -> FloatArray:
    """Weights (nz, HEIGHTS) of the polynomial through the heights that carry slopes at all heights of a table."""
    t = chebyshev_heights(-1.0, 1.0, TABLE_HEIGHTS)
    vander = np.polynomial.chebyshev.chebvander(t, HEIGHTS - 1)
    return np.asarray(vander @ np.linalg.inv(vander[list(OF_TABLE)]))


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
    """`Slopes` of a geometry made by exchange: of the charges of its elements.

    Derived in the module `magnetics.exchange`.
    """

    base: Whole
    match: Match
    outward: Parts  # of the base
    rows: np.ndarray  # of the base's places and then their images
    shown: FloatArray  # slopes of the elements that come (places, comes)
    air: FloatArray  # (places, coils) 1/m per ampere: each coil alone
    reply: FloatArray  # as in `Slopes`

    def of_charges(self, charge: FloatArray) -> FloatArray:
        """Return the slopes (places, ...) of charges (elements, ...) of the new geometry."""
        base, match = self.base, self.match
        kept = np.zeros((base.elements.count, *charge.shape[1:]))
        kept[match.old[match.kept]] = charge[match.kept]
        count = len(self.outward[0])
        places = Pairs(near=np.arange(count), far=np.arange(count, 2 * count))
        out = places.join([one @ part for one, part in zip(self.outward, base.of_elements.split(kept))])
        out[count:] *= -1.0
        return np.asarray(out[self.rows] + self.shown @ charge[match.added])
