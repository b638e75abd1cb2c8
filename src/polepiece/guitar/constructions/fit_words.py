"""What to do with a bar of another size than the old one: one sentence for each dimension and how it sits.

Common practice without a source; ferrite and alnico are brittle, so nothing is ever forced, ground or cut.
"""

from collections.abc import Mapping
from typing import Literal, get_args

Dimension = Literal["length", "width", "thickness"]
Seat = Literal["fits", "shim", "too large"]
FitWords = Mapping[tuple[Dimension, Seat], str]
EVERY: frozenset[tuple[str, str]] = frozenset((d, s) for d in get_args(Dimension) for s in get_args(Seat))

BESIDE_POLES: FitWords = {  # a bar that touches poles or keeper with its long edges
    ("length", "fits"): "slides in between the ends",
    ("length", "shim"): "short: centre it, brass or card at both ends, check the outer strings",
    ("length", "too large"): "too long: do not force or cut it (it chips), take another bar",
    ("width", "fits"): "touches the poles on both sides",
    ("width", "shim"): (
        "narrow: it must touch on both sides; a steel strip changes the circuit, brass leaves a gap that weakens it"
    ),
    ("width", "too large"): "too wide: do not force it between slugs and keeper, take another bar",
    ("thickness", "fits"): "bobbins sit flat on it",
    ("thickness", "shim"): "thin: brass or card under it so that it cannot rattle; a steel shim changes the circuit",
    ("thickness", "too large"): (
        "too thick: do not pull the bobbins down on it (they tilt, a cover will not seat), take another bar"
    ),
}
BESIDE_SLUGS: FitWords = {  # a bar that touches slugs in the open, with one long edge
    **BESIDE_POLES,
    ("length", "fits"): "reaches past the outer slugs",
    ("length", "shim"): "short: centre it, check the outer strings",
    ("width", "fits"): "lies as the old one did",
    ("width", "shim"): "narrow: it must touch the slugs; what is free is its far side",
    ("width", "too large"): "too wide: it stands out beside the coil, take another bar",
    ("thickness", "fits"): "lies under the coil",
    ("thickness", "shim"): "thin: brass or card under it; it must touch the slugs",
    ("thickness", "too large"): "too thick: it would press on the coil; do not force it, take another bar",
}
BETWEEN_BLADES: FitWords = {
    **BESIDE_POLES,
    ("length", "fits"): "as long as the blades",
    ("width", "fits"): "touches both blades",
    ("width", "too large"): "too wide: do not force it between the blades, take another bar",
    ("thickness", "fits"): "coils sit flat on it",
    ("thickness", "too large"): "too thick: do not pull the coils down on it, take another bar",
}
UNDER_POLES: FitWords = {  # a bar that lies flat under its poles
    **BESIDE_POLES,
    ("width", "fits"): "lies under all poles",
    ("width", "shim"): "narrow: centre it under the row, every pole must stand on it",
    ("width", "too large"): "too wide: do not force it past the legs of the base plate, take another bar",
    ("thickness", "fits"): "poles stand on it",
    ("thickness", "shim"): "thin: brass or card under it; the poles must touch it",
    ("thickness", "too large"): "too thick: the base plate will not close; do not force it, take another bar",
}
