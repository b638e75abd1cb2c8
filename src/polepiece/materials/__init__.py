"""What stuff is: magnets, steels and conductors as records in SI, with sources and spreads."""

from polepiece.materials import catalogue
from polepiece.materials.catalogue import Finish, constants_hash
from polepiece.materials.conductor import Conductor, Enamel, Wire
from polepiece.materials.curve import Hyperbola, KneeCurve, KneeShape, MajorCurve, energy_product_range
from polepiece.materials.magnet import MagnetMaterial, Source, from_constants
from polepiece.materials.steel import (
    LangevinSteel,
    LinearSteel,
    SteelLaw,
    SteelMaterial,
    TwoLangevinSteel,
)

__all__ = [
    "Conductor",
    "Enamel",
    "Finish",
    "Hyperbola",
    "KneeCurve",
    "KneeShape",
    "LangevinSteel",
    "LinearSteel",
    "MagnetMaterial",
    "MajorCurve",
    "Source",
    "SteelLaw",
    "SteelMaterial",
    "TwoLangevinSteel",
    "Wire",
    "catalogue",
    "constants_hash",
    "energy_product_range",
    "from_constants",
]
