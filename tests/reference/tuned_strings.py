"""Strings of a set in tune, and the cores that published weights imply: the second opinion on the table of cores."""

import math

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.strings import STANDARD_TUNING, SpeakingString, StringModes, note_frequency, string_set
from polepiece.strings.gauges import STEEL_DENSITY

POUND_FORCE = 0.45359237 * 9.80665  # N, exact by definition


def tuned_set(
    name: str = "10-46", *, scale_length: float = 0.648, tuning: tuple[str, ...] = STANDARD_TUNING
) -> tuple[SpeakingString, ...]:
    """Return the strings of a set in ``tuning`` (string 1 first) on a guitar of ``scale_length`` (m)."""
    gauges = string_set(name).strings
    if len(tuning) != len(gauges):
        raise InputError(f"tuning names {len(tuning)} notes; the set {name} has {len(gauges)} strings.")
    return tuple(
        SpeakingString(
            diameter=gauge.diameter,
            core_diameter=gauge.core_diameter,
            unit_mass=gauge.unit_mass,
            pitch=note_frequency(note),
            length=scale_length,
        )
        for gauge, note in zip(gauges, tuning, strict=True)
    )


def core_from_unit_mass(*, diameter: float, unit_mass: float, density: float = STEEL_DENSITY) -> float:
    """Core diameter (m) that a close-wound steel string of this weight would have.

    Notes
    -----
    Round core d_c and one layer of round wire that touches itself:
    mu = (pi/4) rho [d_c^2 + (pi/4)(d^2 - d_c^2)].
    Half a per cent of density moves the answer by 10 %: a second opinion, not a measurement.

    Raises
    ------
    InputError
        When no such core exists (the weight belongs to a plain string or to another metal).
    """
    solid = 0.25 * math.pi * density * diameter**2
    share = (unit_mass / solid - 0.25 * math.pi) / (1.0 - 0.25 * math.pi)
    if not 0.0 < share < 1.0:
        raise InputError(
            f"unit mass {unit_mass:g} kg/m does not fit a steel string wound to {diameter:g} m; "
            f"allowed are {0.25 * math.pi * solid:g} to {solid:g} kg/m."
        )
    return diameter * math.sqrt(share)


def decay_time(modes: StringModes) -> FloatArray:
    """Return the T60 of each mode (2, n), s: ln(1000) / sigma."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(1000.0) / modes.decay)
