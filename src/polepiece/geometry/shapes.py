"""Parts of a pickup's magnetic circuit as plain shapes: where stuff is, SI.

A shape says nothing of its material: it names a ``part`` ("slugs", "screws", "keeper", "magnet"), and whoever
solves the circuit gives each part its law.
"""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A round section of a rod between two heights; m."""

    bottom: float
    top: float
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelRod:
    """A vertical round steel part of stacked sections; ``keeper`` tells that it passes through the keeper."""

    part: str
    x: float
    y: float
    sections: tuple[Section, ...]
    through: tuple[float, float] | None = None  # heights between which it is inside a keeper


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelBar:
    """A steel box along y: a keeper, a blade that stands in its coil, a plate that lies under rods, or a thin sheet.

    ``holes`` of a keeper are filled by rods; of a plate they are no holes but the places on which rods stand; of a
    sheet (base plate, cover) they are open. A sheet may have four walls of its own thickness, down from its rim.
    """

    part: str
    x_min: float
    x_max: float
    y_min: float
    y_max: float
    z_min: float
    z_max: float
    holes: tuple[tuple[float, float, float], ...] = ()  # (x, y, radius)
    role: Literal["keeper", "blade", "plate", "sheet"] = "keeper"
    skirt: float = 0.0  # of a sheet: from its upper face to the lower edge of its walls; 0: flat

    @property
    def is_blade(self) -> bool:
        """Flux goes up it; it is thin along x."""
        return self.role == "blade"


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetBox:
    """A magnet with the shape of a box; ``easy`` is its easy axis (0 x, 1 y, 2 z), ``sign`` its sense."""

    part: str
    x_min: float
    x_max: float
    y_min: float
    y_max: float
    z_min: float
    z_max: float
    easy: int = 0
    sign: float = 1.0
    marks: tuple[float, ...] = ()  # y of the poles beside it: cells are finer there
    blade: tuple[float, float] | None = None  # x between which a blade stands on it: cells begin and end there


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetRod:
    """A vertical round magnet, easy axis z."""

    part: str
    x: float
    y: float
    radius: float
    bottom: float
    top: float
    sign: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """Everything magnetic in one pickup."""

    rods: tuple[SteelRod, ...] = ()
    bars: tuple[SteelBar, ...] = ()
    magnets: tuple[MagnetBox | MagnetRod, ...] = ()

    @property
    def steels(self) -> frozenset[str]:
        """The names of its steel parts."""
        return frozenset(rod.part for rod in self.rods) | frozenset(bar.part for bar in self.bars)

    def is_mirrored(self) -> bool:
        """True when the assembly equals its own image in the plane y = 0 and no rod stands on that plane."""

        def key(y: float) -> int:
            return round(y * 1e9)

        rods = {(r.part, key(r.x), key(r.y), r.sections, r.through) for r in self.rods}
        round_magnets = {
            (m.part, key(m.x), key(m.y), m.radius, m.bottom, m.top, m.sign)
            for m in self.magnets
            if isinstance(m, MagnetRod)
        }
        boxes: list[SteelBar | MagnetBox] = [
            *self.bars,
            *(m for m in self.magnets if isinstance(m, MagnetBox)),
        ]
        return (
            all((p, x, -y, s, t) in rods and y != 0 for p, x, y, s, t in rods)
            and all((p, x, -y, r, b, t, s) in round_magnets and y != 0 for p, x, y, r, b, t, s in round_magnets)
            and all(key(b.y_min) == -key(b.y_max) for b in boxes)
            and all(
                (key(x), -key(y), r) in {(key(u), key(v), w) for u, v, w in b.holes}
                for b in self.bars
                for x, y, r in b.holes
            )
        )


def equal_area_polygon(radius: float, sectors: int) -> FloatArray:
    """Return the corners (sectors, 2) of the regular polygon with the area of a circle of ``radius``.

    The first corner lies at the angle -pi/sectors, so that a side, not a corner, faces +x.
    """
    if sectors < 3 or not radius > 0.0:
        raise InputError(f"a polygon needs at least 3 sides and a positive radius; got {sectors}, {radius}.")
    scale = math.sqrt(2.0 * math.pi / (sectors * math.sin(2.0 * math.pi / sectors)))
    angle = (np.arange(sectors) - 0.5) * 2.0 * math.pi / sectors
    return radius * scale * np.column_stack([np.cos(angle), np.sin(angle)])
