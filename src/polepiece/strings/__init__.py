"""String motion: sets and tension, partials and decay, plucks, and what a pickup senses of them."""

from polepiece.strings.height_table import HeightTable, chebyshev_heights, string_cuts
from polepiece.strings.modes import (
    LossModel,
    NeckResonance,
    StringModes,
    magnetic_detuning,
    partial_loss,
    stiff_partials,
    string_modes,
)
from polepiece.strings.muting import PalmMute
from polepiece.strings.pluck import Pluck, Spread, hand_deviates, humanised, modal_amplitudes, varied
from polepiece.strings.sensing import Rod, Sensed, StringSystem, sense, sense_draws
from polepiece.strings.sensing_across import Beside, moved_across
from polepiece.strings.sensing_record import FluxRows, StringSensing
from polepiece.strings.sets import (
    STANDARD_TUNING,
    STRING_SETS,
    SpeakingString,
    StringGauge,
    StringSet,
    core_from_unit_mass,
    note_frequency,
    plain,
    round_wound,
    string_set,
    tension,
    tuned_set,
    wound_core_diameter,
)

__all__ = [
    "STANDARD_TUNING",
    "STRING_SETS",
    "Beside",
    "FluxRows",
    "HeightTable",
    "LossModel",
    "NeckResonance",
    "PalmMute",
    "Pluck",
    "Rod",
    "Sensed",
    "SpeakingString",
    "Spread",
    "StringGauge",
    "StringModes",
    "StringSensing",
    "StringSet",
    "StringSystem",
    "chebyshev_heights",
    "core_from_unit_mass",
    "hand_deviates",
    "humanised",
    "magnetic_detuning",
    "modal_amplitudes",
    "moved_across",
    "note_frequency",
    "partial_loss",
    "plain",
    "round_wound",
    "sense",
    "sense_draws",
    "stiff_partials",
    "string_cuts",
    "string_modes",
    "string_set",
    "tension",
    "tuned_set",
    "varied",
    "wound_core_diameter",
]
