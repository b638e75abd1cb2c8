"""One string over the pickups, as a record."""

from dataclasses import dataclass
from typing import Annotated, Literal

from polepiece.guitar.checks import Checked
from polepiece.guitar.parameter import NEEDED, choice, flag, gram_per_metre, hertz, mm, number, tesla, text

Wrap = Literal["none", "nickel-plated-steel", "pure-nickel", "stainless", "bronze"]

# fmt: off
GAUGE = text(
    NEEDED, 'as on the packet, in place of diameter: 10, 0.010, ".046", "24w" (wound), "20p" (plain)', kind="gauge",
    stem="gauge", attr="_gauge")
WOUND = flag(
    NEEDED, "left out = above .020 in (0.508 mm), or as core_diameter or wrap say", stem="wound", attr="_wound")


@dataclass(frozen=True, slots=True, kw_only=True)
class String(Checked):
    """One string over the pickups; ``height`` overrides what the gaps say (verification)."""

    diameter: Annotated[  # outer
        float, mm(NEEDED, 0.15, 3.8, "strings lie", "outer", usual=(0.17, 3.5), other_ways=(GAUGE, WOUND))]
    core_diameter: Annotated[  # equal to diameter for a plain string
        float, mm(NEEDED, 0.1, 2.5, "cores lie", "core; left out = by its gauge")]
    unit_mass: float | None = gram_per_metre(
        None, 0.05, 100, "strings lie", 'mass a metre; left out = by gauge and wrap; "none": a test string',
        none="none", say_none=True)
    pitch: float | None = hertz(
        None, 20, 1200, "strings lie", 'open string; left out = its note of tuning; "none": a test string',
        none="none", say_none=True)
    permeability: float | None = number(None, 1, 5000, "strings lie", "linear law", none="none")
    saturation: float = tesla(1.8, 0, 2.5, "strings lie", "of the saturating law")
    initial_permeability: float = number(245.0, 1, 5000, "strings lie", "of the saturating law")
    y: float | None = mm(None, -60, 60, "strings lie", "across the strings; left out = over its pole", none="unknown")
    height: float | None = mm(
        None, -20, 60, "strings lie", "axis above the pickup's z = 0; left out = from the gaps", none="unknown")
    length: float = mm(50.0, 5, 300, "it lies", "magnetised length that is modelled")  # centred on x = 0
    wrap: Wrap = choice("none", "wrap wire; none = plain")
