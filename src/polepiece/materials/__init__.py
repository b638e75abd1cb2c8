"""What stuff is: magnets, steels and conductors as records in SI, with sources and spreads."""

from polepiece.materials import catalogue, pickup_bars
from polepiece.materials.catalogue import constants_hash, copper_factor, published_hash
from polepiece.materials.conductor import Build
from polepiece.materials.curve import Hyperbola, KneeCurve, KneeShape, MajorCurve
from polepiece.materials.magnet import MagnetMaterial, from_constants
from polepiece.materials.pooled import (
    PUBLISHED,
    QUANTITIES,
    PooledConstants,
    PooledGrade,
    constants_words,
    in_use,
)
from polepiece.materials.rare_earth import NEODYMIUM, SAMARIUM_COBALT, RareEarth
from polepiece.materials.steel import LangevinSteel, LinearSteel, SteelLaw, TwoLangevinSteel
