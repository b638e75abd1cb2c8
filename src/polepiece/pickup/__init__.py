"""From the record of a pickup to what its strings see: shapes, solved geometry, magnets, coils and controls."""

from polepiece.pickup.anatomy import (
    Anatomy,
    anatomy,
    magnet_law,
    magnet_material,
    row_positions,
    steel_parts,
    steel_records,
)
from polepiece.pickup.charge_lost import charge_lost, comes_back_whole
from polepiece.pickup.electrics import (
    AT_120,
    LEAD_CAPACITANCE,
    STILL,
    CoilMove,
    CoilSolution,
    coil_capacitances,
    coil_resistances,
    coil_senses,
    flattest,
    inductance_of,
    over_frequency,
    pickup_circuit,
    pickup_resistance,
    rewired_resistance,
    turns,
    wire_spread,
)
from polepiece.pickup.grid import AT_1KHZ, GRID, Reading
from polepiece.pickup.hum import hum_left_db
from polepiece.pickup.magnetised import Magnetised, magnet_for_sound, magnetise, near_start
from polepiece.pickup.model import PickupModel, StringLayout
from polepiece.pickup.offsets import string_offsets
from polepiece.pickup.stringing import (
    open_strings,
    own_poles,
    string_layout,
    string_places,
    string_rods,
    tuned_strings,
    wound_strings,
)
from polepiece.pickup.swinging import string_swing
from polepiece.pickup.turning import pickup_model
from polepiece.pickup.wired_guitar import (
    circuit_load,
    control_circuit,
    guitar_responses,
    position_net,
    position_responses,
)
