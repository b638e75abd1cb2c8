"""Steel that faces a bar magnet across a gap narrower than its own panels.

Charges on both faces of such a gap mirror each other, and what they leave over is as fine as the gap. Panels that
begin and end where the bar's do see their own partner; others would carry the difference of two large numbers.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.geometry.shapes import MagnetBox

SLIVER = 0.1e-3  # m: a cut nearer than this to an end is none


@dataclass(frozen=True, slots=True, kw_only=True)
class BarFace:
    """A bar's two faces across x, and where it is cut."""

    x: tuple[float, float]
    y: tuple[float, float]
    z: tuple[float, float]
    cuts_y: FloatArray
    cuts_z: FloatArray

    @classmethod
    def of(cls, magnet: MagnetBox, cuts: list[FloatArray]) -> "BarFace":
        """Return the faces of ``magnet``, cut along x, y and z as ``cuts`` say."""
        return cls(
            x=(magnet.x_min, magnet.x_max), y=(magnet.y_min, magnet.y_max), z=(magnet.z_min, magnet.z_max),
            cuts_y=cuts[1], cuts_z=cuts[2],
        )  # fmt: skip

    def gap(self, x_min: float, x_max: float) -> float:
        """Return how far a part between ``x_min`` and ``x_max`` is from the bar along x, m; 0 when they overlap."""
        return max(x_min - self.x[1], self.x[0] - x_max, 0.0)

    def towards(self, x: float) -> float:
        """Return 1.0 where the bar's middle lies to the right of ``x``, else -1.0."""
        return 1.0 if 0.5 * sum(self.x) > x else -1.0

    def is_near(self, x_min: float, x_max: float, z_min: float, z_max: float, reach: float) -> bool:
        """Tell whether a part is beside the bar, nearer to it than ``reach``."""
        beside = self.gap(x_min, x_max) < reach and not (x_min < self.x[1] - SLIVER and x_max > self.x[0] + SLIVER)
        return beside and z_min < self.z[1] - SLIVER and z_max > self.z[0] + SLIVER


def between(cuts: FloatArray, low: float, high: float) -> FloatArray:
    """Return ``low``, those of ``cuts`` that lie between and leave no sliver, and ``high``."""
    inside = [c for c in cuts if low + SLIVER < c < high - SLIVER]
    return np.array([low, *inside, high])


def rectangles(x: float, ys: FloatArray, zs: FloatArray) -> list[FloatArray]:
    """Return the panels (4, 3) of a face of constant ``x`` between the cuts ``ys`` and ``zs``."""
    return [np.array([[x, a, c], [x, b, c], [x, b, d], [x, a, d]]) for a, b in pairwise(ys) for c, d in pairwise(zs)]
