"""From turns to inductance and impedance."""

from polepiece.coil.induction import (
    Alternating,
    AlternatingSolution,
    WindingSet,
    alternating,
    solve_alternating,
    winding_set,
)
from polepiece.coil.eddy import biased_permeability, flat_permeability, round_permeability
from polepiece.coil.plates import LoopGrid, Plate, grid_potential, loop_grid
from polepiece.coil.winding import Loops, Racetrack, inductance_in_air, source_field, source_potential

__all__ = [
    "Alternating",
    "AlternatingSolution",
    "LoopGrid",
    "Loops",
    "Plate",
    "Racetrack",
    "WindingSet",
    "alternating",
    "biased_permeability",
    "flat_permeability",
    "grid_potential",
    "inductance_in_air",
    "loop_grid",
    "round_permeability",
    "solve_alternating",
    "source_field",
    "source_potential",
    "winding_set",
]
