"""What geometry says of one pickup and the air where its strings run: the record that `engine` makes and asks."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.coil import Alternating, WindingSet
from polepiece.geometry import Mesh
from polepiece.magnetics import Factors, MagnetState, Start
from polepiece.pickup.along import Along
from polepiece.pickup.anatomy import Anatomy
from polepiece.pickup.slopes import ExchangedSlopes, Slopes
from polepiece.strings import HeightTable


@dataclass(frozen=True, slots=True, kw_only=True)
class StringLayout:
    """Where the strings run: |y| of each table (mirrored) or y, and the modelled length; m."""

    y: tuple[float, ...]
    length: float
    low: float  # z of the lowest and highest string axis of the tables
    high: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kin:
    """A mirrored model of nearly the same shapes: where solutions may start from."""

    model: "PickupModel"
    start: Callable[[MagnetState], Start]  # from a state of that model


@dataclass(frozen=True, slots=True, kw_only=True, eq=False, weakref_slot=True)
class PickupModel:
    """Everything that geometry says of one pickup and the air where its strings run."""

    anatomy: Anatomy
    layout: StringLayout
    mesh: Mesh
    factors: Factors
    windings: WindingSet
    system: Alternating
    table: HeightTable
    along: Along  # potentials (tables * nz * nx) along the strings and their slopes across them
    slopes: "Slopes | ExchangedSlopes"
    kin: "Kin | None" = None  # the model that this one was made from by exchange
    stored_as: str | None = None  # its name in the cache on disk

    def table_of(self, y: FloatArray) -> np.ndarray:
        """Return which table serves strings at ``y`` (k,)."""
        ys = np.asarray(self.layout.y)
        wanted = np.abs(y) if self.mesh.mirrored else np.asarray(y)
        found = np.argmin(np.abs(wanted[:, None] - ys[None]), axis=1)
        if np.any(np.abs(wanted - ys[found]) > 1e-7):
            raise AssertionError("a string runs where no table was made")
        return np.asarray(found)

    def side_of(self, y: FloatArray) -> FloatArray:
        """Return -1.0 for strings (k,) that run where the mirror image of their table is, else 1.0."""
        return np.where(self.mesh.mirrored & (np.asarray(y) < 0.0), -1.0, 1.0)

    def shaped(self, values: np.ndarray) -> np.ndarray:
        """Return probe values (tables * nz * nx, ...) as (tables, nx, nz, ...)."""
        s, nz = len(self.layout.y), self.table.z.shape[1]
        return np.swapaxes(values.reshape(s, nz, -1, *values.shape[1:]), 1, 2)
