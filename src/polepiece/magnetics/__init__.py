"""Magnets, steel and their fields."""

from polepiece.magnetics import cache
from polepiece.magnetics.charge import MagnetLaw, MagnetState, SteelCurve, bare_state, solve_state
from polepiece.magnetics.elements import Elements
from polepiece.magnetics.reluctance import Factors, factorise, laplacian

__all__ = [
    "Elements",
    "Factors",
    "MagnetLaw",
    "MagnetState",
    "SteelCurve",
    "bare_state",
    "cache",
    "factorise",
    "laplacian",
    "solve_state",
]
