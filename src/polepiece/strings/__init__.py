"""String motion: sets and tension, partials and decay, plucks, and what a pickup senses of them."""

from polepiece.strings.few_rods import spare_the_compiler
from polepiece.strings.gauges import (
    MOST_STRINGS,
    STANDARD_TUNING,
    THOUSANDTH,
    USUAL_TUNINGS,
    StringGauge,
    core_spread,
    is_wound,
    mass_spread,
    may_be_either,
    note_frequency,
    string_of,
    usual_tuning,
    wound_core_diameter,
    wound_unit_mass,
)
from polepiece.strings.height_table import HeightTable, chebyshev_heights, string_cuts
from polepiece.strings.losses import LossModel
from polepiece.strings.modes import OpenStrings, Partials, StringModes, magnetic_detuning, string_modes
from polepiece.strings.muting import PalmMute
from polepiece.strings.pluck import (
    Pluck,
    Spread,
    hand_deviates,
    modal_amplitudes,
    varied,
)
from polepiece.strings.sensing import Sensed, sense, sense_draws
from polepiece.strings.sensing_across import Beside, moved_across
from polepiece.strings.sensing_record import FluxRows, StringSensing
from polepiece.strings.sets import STRING_SETS, USUAL_SCALE, SpeakingString, string_set, tension
from polepiece.strings.string_system import Rod, StringSystem
from polepiece.strings.swing import Swing, swing
