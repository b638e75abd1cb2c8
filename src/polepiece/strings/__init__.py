"""String motion: sets and tension, partials and decay, plucks, and what a pickup senses of them."""

from polepiece.strings.modes import (
    LossModel,
    StringModes,
    magnetic_detuning,
    partial_loss,
    stiff_partials,
    string_modes,
)
from polepiece.strings.pluck import Pluck, Spread, humanised, modal_amplitudes
from polepiece.strings.sensing_record import StringSensing
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
    "LossModel",
    "Pluck",
    "SpeakingString",
    "Spread",
    "StringGauge",
    "StringModes",
    "StringSensing",
    "StringSet",
    "core_from_unit_mass",
    "humanised",
    "magnetic_detuning",
    "modal_amplitudes",
    "note_frequency",
    "partial_loss",
    "plain",
    "round_wound",
    "stiff_partials",
    "string_modes",
    "string_set",
    "tension",
    "tuned_set",
    "wound_core_diameter",
]
