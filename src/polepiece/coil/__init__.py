"""From turns to inductance and impedance."""

from polepiece.coil.eddy import (
    biased_permeability,
    flat_permeability,
    narrow_face_permeability,
    passage_permeabilities,
    round_permeability,
    sheet_impedance,
    step_permeability,
)
from polepiece.coil.induction import (
    Alternating,
    WindingSet,
    alternating,
    parity_basis,
    source_potentials,
    winding_set,
)
from polepiece.coil.plates import Plate
from polepiece.coil.resistance import Wiring, between_leads, winding_capacitance, winding_resistance
from polepiece.coil.solution import AlternatingSolution, is_large, solve_alternating
from polepiece.coil.winding import (
    Loops,
    Racetrack,
    inductance_in_air,
    loop_field,
    source_field,
    source_potential,
)
