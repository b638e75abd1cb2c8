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
    raised: Callable[[Poles], tuple[float, ...]] | None = None  # of a screw: how far each is turned up, m
    turned_by: str = ""  # of a screw: the field of `Poles` that says so
    is_magnet: bool = False  # a rod magnet; otherwise steel
    is_blade: bool = False  # one long pole under all strings, not one for each

    @property
    def turns(self) -> bool:
        """A screw: its height is set with a screwdriver."""
        return self.raised is not None

    def tops_now(self, poles: Poles) -> tuple[float, ...]:
        """Return the z of every top with screws as they are turned, m, string 1 first."""
        drawn = self.tops(poles)
        return drawn if self.raised is None else tuple(u + t for u, t in zip(self.raised(poles), drawn, strict=True))


SCREWS = Pole(
    name="screws", keys=("poles.screw_", "poles.head_"), raised=lambda poles: poles.screw_raise,
    turned_by="screw_raise",
    tops=lambda poles: (poles.screw_top + poles.head_height,) * poles.count,
)  # fmt: skip
SECOND_SCREWS = Pole(  # of the other row where there are two: the same screws, turned by themselves
    name="second screws", keys=("poles.second_screw_",), raised=lambda poles: poles.second_screw_raise,
    tops=SCREWS.tops, turned_by="second_screw_raise",
)  # fmt: skip
SLUGS = Pole(name="slugs", keys=("poles.slug_",), tops=lambda poles: (poles.slug_height,) * poles.count)
RODS = Pole(name="rods", keys=("poles.rod_",), tops=lambda poles: poles.rod_lengths, is_magnet=True)
BLADES = Pole(  # one under all strings: where a string crosses it is its pole
    name="blades", keys=("poles.blade_",), tops=lambda poles: (poles.blade_top,) * poles.count, is_blade=True,
)  # fmt: skip
SECOND_BLADES = Pole(name="second blades", keys=("poles.blade_",), tops=BLADES.tops, is_blade=True)
KINDS = (SCREWS, SECOND_SCREWS, SLUGS, BLADES, SECOND_BLADES, RODS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of poles across the strings, and the coil round it."""

    pole: Pole
    side: Literal[-1, 0, 1] = 0  # at x = side * row_offset
    coil: str = "coil"  # what the coil round it is called
    half: Literal[-1, 0, 1] = 0  # 1: only the poles at y > 0 (of the thin strings), -1: those at y < 0

    def x(self, poles: Poles) -> float:
        """Return where the row stands in the pickup's own axes, m."""
        return self.side * poles.row_offset

    def numbers(self, poles: Poles) -> range:
        """Return which poles stand in it, counted from 0, string 1 first."""
        count = poles.count
        if self.half == 0:
            return range(count)
        return range(count // 2) if self.half > 0 else range((count + 1) // 2, count)

    def y(self, poles: Poles) -> float:
        """Return the y of its middle, m."""
        own = self.numbers(poles)
        middle = 0.5 * (own.start + own.stop - 1) if len(own) else 0.5 * (poles.count - 1)
        return (0.5 * (poles.count - 1) - middle) * poles.pole_spacing

    def half_length(self, poles: Poles) -> float:
        """Return half the distance from its first pole to its last, m."""
        return 0.5 * max(len(self.numbers(poles)) - 1, 0) * poles.pole_spacing
