"""Kinds of pole, and the rows in which they stand: what every construction is put together from."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from polepiece.guitar.parts import Poles


@dataclass(frozen=True, slots=True, kw_only=True)
class Pole:
    """One kind of pole."""

    name: str  # plural; its part in the geometry, its row on a sheet
    keys: tuple[str, ...]  # attributes of a guitar file that only this kind has begin so
    tops: Callable[[Poles], tuple[float, ...]]  # z of every top as drawn, m, string 1 first
    turns: bool = False  # a screw: its height is set with a screwdriver
    is_magnet: bool = False  # a rod magnet; otherwise steel

    def tops_now(self, poles: Poles) -> tuple[float, ...]:
        """Return the z of every top with screws as they are turned, m, string 1 first."""
        drawn = self.tops(poles)
        return tuple(up + top for up, top in zip(poles.screw_raise, drawn, strict=True)) if self.turns else drawn


SCREWS = Pole(
    name="screws", keys=("poles.screw_", "poles.head_"), turns=True,
    tops=lambda poles: (poles.screw_top + poles.head_height,) * poles.count,
)  # fmt: skip
SLUGS = Pole(name="slugs", keys=("poles.slug_",), tops=lambda poles: (poles.slug_height,) * poles.count)
RODS = Pole(name="rods", keys=("poles.rod_",), tops=lambda poles: poles.rod_lengths, is_magnet=True)
KINDS = (SCREWS, SLUGS, RODS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of poles across the strings, and the coil round it."""

    pole: Pole
    side: Literal[-1, 0, 1] = 0  # at x = side * row_offset
    coil: str = "coil"  # what the coil round it is called

    def x(self, poles: Poles) -> float:
        """Return where the row stands in the pickup's own axes, m."""
        return self.side * poles.row_offset
