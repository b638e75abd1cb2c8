"""What a string of a gauge is made of: wound or not, mass a metre, core.

Unit weights (lb/in) are those of one string maker's public tension chart for plain steel and nickel-plated round-wound
singles, as transcribed in two independent public code repositories (status: read second-hand); .085 and thicker are
its bass strings. Between two gauges the share of solid steel is taken as a straight line. Leaving out one gauge of the
chart and taking it from its neighbours misses its weight by 0.1 to 1 % on most, by 2.5 % at worst up to .080 and by
5.4 % among bass strings (`mass_spread`).

Cores are NOT published with the chart. `wound_core_diameter` is a table from round-wound strings on the bench
(assumption); the cores that the published weights imply (a close-wound layer of round wire, see the tests) are the
second opinion, and `core_spread` is wide enough to hold nine of ten of them.
"""

import math
import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from polepiece.constants import INCH
from polepiece.errors import InputError

THOUSANDTH = 1e-3 * INCH  # m
POUND_PER_INCH = 0.45359237 / INCH  # kg/m, exact by definition
STEEL_DENSITY = 7850.0  # kg/m3; handbook, from memory. The chart's plain strings imply 7806.
MASS_SPREAD, BASS_MASS_SPREAD = 0.03, 0.06  # relative, 90 %, of a weight from neighbours: what leaving out misses
BASS_OVER = 80.0  # thousandths: thicker ones are bass strings
CORE_SPREAD, THICK_CORE_SPREAD = 0.20, 0.40  # relative, 90 %; up to and above `THICK`
MOST_STRINGS = 12  # of an instrument that is covered
THICK = 56.0  # thousandths: above it bass strings may have two layers of wrap
# Of third strings both are sold between .018 and .024 (common practice, no source): a plain .020 is usual in sets
# for solid guitars, thicker ones are wound more often than not.
PLAIN_UP_TO, EITHER_FROM, EITHER_TO = 20.0, 17.0, 24.0  # thousandths

# densities of wrap wires against the steel of the chart, kg/m3; handbook values, from memory
WRAP_DENSITY = {
    "nickel-plated-steel": STEEL_DENSITY, "stainless": 7900.0, "pure-nickel": 8900.0, "bronze": 8800.0,
}  # fmt: skip

PLAIN: dict[float, float] = {  # thousandths of an inch: lb/in
    8: 1.418e-5, 9: 1.794e-5, 9.5: 1.999e-5, 10: 2.215e-5, 10.5: 2.442e-5, 11: 2.680e-5, 11.5: 2.930e-5,
    12: 3.190e-5, 13: 3.744e-5, 14: 4.342e-5, 15: 4.984e-5, 16: 5.671e-5, 17: 6.402e-5, 18: 7.177e-5,
    19: 7.997e-5, 20: 8.861e-5, 22: 10.722e-5, 24: 12.760e-5,
}  # fmt: skip
WOUND: dict[float, float] = {
    17: 5.524e-5, 18: 6.215e-5, 20: 7.495e-5, 22: 9.184e-5, 24: 10.857e-5, 26: 12.671e-5, 28: 14.666e-5,
    30: 17.236e-5, 32: 19.347e-5, 34: 21.590e-5, 36: 23.964e-5, 38: 26.471e-5, 39: 27.932e-5, 42: 32.279e-5,
    44: 35.182e-5, 46: 38.216e-5, 48: 41.382e-5, 49: 43.014e-5, 52: 48.109e-5, 54: 53.838e-5, 56: 57.598e-5,
    59: 64.191e-5, 60: 66.542e-5, 62: 70.697e-5, 64: 74.984e-5, 66: 79.889e-5, 68: 84.614e-5, 70: 89.304e-5,
    72: 94.124e-5, 74: 98.869e-5, 80: 115.011e-5, 85: 133.702e-5, 90: 150.277e-5, 95: 169.349e-5,
    100: 179.687e-5, 105: 198.395e-5, 110: 227.440e-5, 120: 250.280e-5, 125: 274.810e-5, 130: 301.941e-5,
    135: 315.944e-5, 145: 363.204e-5,
}  # fmt: skip
# core of a round-wound string by gauge, both in thousandths: assumption from strings on the bench; the ends go on
# with the slope that the table has there
CORES: dict[float, float] = {
    17: 10.5, 24: 13, 26: 14, 28: 14, 32: 15, 36: 16, 38: 16, 42: 17, 46: 18, 49: 18, 54: 19, 145: 37.2,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class StringGauge:
    """One string as it is sold: diameters in m, unit mass in kg/m."""

    diameter: float
    core_diameter: float  # equal to ``diameter`` for a plain string
    unit_mass: float

    def __post_init__(self) -> None:
        if not 0.1e-3 <= self.diameter <= 4e-3:
            raise InputError(
                f"string diameter is {self.diameter:g} m; strings lie between 0.0001 and 0.004 m. "
                "If that is thousandths of an inch, multiply by 2.54e-5."
            )
        if not 0.05e-3 <= self.core_diameter <= self.diameter:
            raise InputError(
                f"core diameter is {self.core_diameter:g} m; it lies between 0.00005 m and the outer "
                f"diameter {self.diameter:g} m (equal for a plain string)."
            )
        if not 5e-5 <= self.unit_mass <= 0.1:
            raise InputError(
                f"unit mass is {self.unit_mass:g} kg/m; strings lie between 0.00005 and 0.1 kg/m. "
                f"If that is lb/in, multiply by {POUND_PER_INCH:.4f}."
            )

    @property
    def wound(self) -> bool:
        """True when a wrap lies round the core."""
        return self.core_diameter < self.diameter


def is_wound(diameter: float) -> bool:
    """Tell whether a string of this outer diameter (m) is wound, where nobody said: above `PLAIN_UP_TO`."""
    return diameter / THOUSANDTH > PLAIN_UP_TO + 1e-6


def may_be_either(diameter: float) -> bool:
    """Tell whether strings of this outer diameter (m) are sold both plain and wound. Common practice, no source."""
    return EITHER_FROM + 1e-6 < diameter / THOUSANDTH < EITHER_TO + 0.5


def string_of(diameter: float, *, wound: bool | None = None, wrap: str = "nickel-plated-steel") -> StringGauge:
    """Return a string of any outer diameter (m) as it is sold.

    Parameters
    ----------
    diameter : float
    wound : bool, optional
        None: by `is_wound`.
    wrap : str
        Of `WRAP_DENSITY`; the wrap's share of the weight goes with its density.

    Raises
    ------
    InputError
        When no such string exists.

    Notes
    -----
    Weights: the chart of the module (read second-hand); cores: an assumption.
    """
    if wound is None:
        wound = is_wound(diameter)
    if not wound:
        mass = _between(PLAIN, diameter / THOUSANDTH) * 0.25 * math.pi * STEEL_DENSITY * diameter**2
        return StringGauge(diameter=diameter, core_diameter=diameter, unit_mass=mass)
    core = wound_core_diameter(diameter)
    return StringGauge(diameter=diameter, core_diameter=core, unit_mass=wound_unit_mass(diameter, core, wrap))


def wound_unit_mass(diameter: float, core_diameter: float, wrap: str = "nickel-plated-steel") -> float:
    """Return the mass a metre (kg/m) of a wound string, m; of a wrap that is not steel with its density.

    Weights: the chart of the module (read second-hand). The wrap has what the core leaves (derived here).
    """
    whole = _between(WOUND, diameter / THOUSANDTH) * 0.25 * math.pi * STEEL_DENSITY * diameter**2
    ratio = WRAP_DENSITY.get(wrap, STEEL_DENSITY) / STEEL_DENSITY
    if ratio == 1.0:
        return whole
    return whole + (ratio - 1.0) * max(whole - 0.25 * math.pi * STEEL_DENSITY * core_diameter**2, 0.0)


def wound_core_diameter(diameter: float) -> float:
    """Core diameter (m) of a round-wound string of outer ``diameter`` (m): straight lines through `CORES`.

    A hexagonal core is taken as round. Spread: `core_spread`.

    An assumption, see the module.
    """
    gauge = diameter / THOUSANDTH
    nodes = sorted(CORES.items())
    place = min(max(bisect_right([g for g, _ in nodes], gauge) - 1, 0), len(nodes) - 2)
    (g0, c0), (g1, c1) = nodes[place], nodes[place + 1]
    core = c0 + (c1 - c0) * (gauge - g0) / (g1 - g0)
    return min(max(core, 4.0), 0.9 * gauge) * THOUSANDTH


def mass_spread(diameter: float) -> float:
    """Return the relative 90 % spread of the mass of a string of this outer diameter (m)."""
    return MASS_SPREAD if diameter / THOUSANDTH <= BASS_OVER + 1e-6 else BASS_MASS_SPREAD


def core_spread(diameter: float) -> tuple[float, float]:
    """Return the 90 % range of a core's diameter over `wound_core_diameter`. An assumption, see the module."""
    part = CORE_SPREAD if diameter / THOUSANDTH <= THICK + 1e-6 else THICK_CORE_SPREAD
    return 1.0 / (1.0 + part), 1.0 + part


def _between(table: dict[float, float], gauge: float) -> float:
    """Return the share of solid steel at a gauge (thousandths): straight lines between gauges, level beyond."""
    solid = 0.25 * math.pi * STEEL_DENSITY * THOUSANDTH**2 / POUND_PER_INCH  # lb/in of a string of 0.001 in
    nodes = [(g, weight / (solid * g * g)) for g, weight in sorted(table.items())]
    if gauge <= nodes[0][0]:
        return nodes[0][1]
    for (g0, a), (g1, b) in pairwise(nodes):
        if gauge <= g1:
            return a + (b - a) * (gauge - g0) / (g1 - g0)
    return nodes[-1][1]


_NOTE = re.compile(r"^([A-Ga-g])([#b♯♭]{0,2})([0-8])$")
_SEMITONE = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def note_frequency(name: str, *, a4: float = 440.0) -> float:
    """Frequency (Hz) of a note such as ``E2`` or ``Bb3`` in equal temperament; A4 = 440 Hz (ISO 16)."""
    match = _NOTE.match(name.strip())
    if match is None:
        raise InputError(f"{name!r} is not a note; write a letter, an optional # or b, and the octave: E2, Bb3, F#4.")
    letter, accidentals, octave = match.groups()
    shift = sum({"#": 1, "♯": 1, "b": -1, "♭": -1}[one] for one in accidentals)
    semitones = _SEMITONE[letter.upper()] + shift + 12 * (int(octave) - 4) - 9
    return float(a4 * 2.0 ** (semitones / 12.0))


STANDARD_TUNING = ("E4", "B3", "G3", "D3", "A2", "E2")  # string 1 first
# usual tunings by the number of strings (common practice, no source)
_GUITARS: dict[int, tuple[str, ...]] = {
    6: STANDARD_TUNING,
    7: (*STANDARD_TUNING, "B1"),
    8: (*STANDARD_TUNING, "B1", "F#1"),
    9: (*STANDARD_TUNING, "B1", "F#1", "C#1"),
    12: ("E4", "E4", "B3", "B3", "G4", "G3", "D4", "D3", "A3", "A2", "E3", "E2"),
}
_BASSES = {4: ("G2", "D2", "A1", "E1"), 5: ("G2", "D2", "A1", "E1", "B0"), 6: ("C3", "G2", "D2", "A1", "E1", "B0")}
USUAL_TUNINGS = _GUITARS | {count: _BASSES[count] for count in (4, 5)}  # where nobody says which instrument it is
BASS_FROM = 24.5 * THOUSANDTH  # m; the thinnest string of a bass set is thicker than that (common practice, no source)


def usual_tuning(diameters: Sequence[float]) -> tuple[str, ...] | None:
    """Return the usual tuning of strings of these diameters (m), string 1 first; None where there is none."""
    bass = bool(diameters) and min(diameters) > BASS_FROM
    return (_BASSES if bass else _GUITARS).get(len(diameters))
