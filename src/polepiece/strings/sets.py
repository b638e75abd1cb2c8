"""String sets, note names and the string between nut (or fret) and bridge.

Unit weights (kg/m) are those of one string maker's public tension chart for plain steel and nickel-plated
round-wound singles, as transcribed in two independent public code repositories (status: read second-hand;
1 lb/in = 17.857967 kg/m by definition of the pound and the inch). Six of them at 25.5 in give the tensions
of a third repository's test table (``tests/published/test_string_tension.py``).

Core diameters of wound strings are NOT published with the chart. :func:`wound_core_diameter` is a rule of
thumb (common practice, no source); :func:`core_from_unit_mass` derives a second opinion from the weight.
"""

import math
import re
from dataclasses import dataclass, replace

from polepiece.constants import INCH
from polepiece.errors import InputError

POUND_PER_INCH = 0.45359237 / INCH  # kg/m, exact by definition
POUND_FORCE = 0.45359237 * 9.80665  # N, exact by definition
STEEL_DENSITY = 7850.0  # kg/m3; handbook, from memory. The chart's plain strings imply 7806.
YOUNG_MODULUS = 200e9  # Pa, music wire; handbook, from memory (spread 190-210 GPa)
CORE_SPREAD = 0.35  # relative, how far the two opinions on the core of a wound string may lie apart

_PLAIN: dict[float, float] = {  # thousandths of an inch: lb/in
    8: 1.418e-5,
    9: 1.794e-5,
    9.5: 1.999e-5,
    10: 2.215e-5,
    10.5: 2.442e-5,
    11: 2.680e-5,
    11.5: 2.930e-5,
    12: 3.190e-5,
    13: 3.744e-5,
    14: 4.342e-5,
    15: 4.984e-5,
    16: 5.671e-5,
    17: 6.402e-5,
    18: 7.177e-5,
    19: 7.997e-5,
    20: 8.861e-5,
    22: 10.722e-5,
    24: 12.760e-5,
}
_WOUND: dict[float, float] = {
    17: 5.524e-5,
    18: 6.215e-5,
    20: 7.495e-5,
    22: 9.184e-5,
    24: 10.857e-5,
    26: 12.671e-5,
    28: 14.666e-5,
    30: 17.236e-5,
    32: 19.347e-5,
    34: 21.590e-5,
    36: 23.964e-5,
    38: 26.471e-5,
    42: 32.279e-5,
    44: 35.182e-5,
    46: 38.216e-5,
    48: 41.382e-5,
    49: 43.014e-5,
    52: 48.109e-5,
    54: 53.838e-5,
    56: 57.598e-5,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StringGauge:
    """One string as it is sold: diameters in m, unit mass in kg/m."""

    diameter: float
    core_diameter: float  # equal to ``diameter`` for a plain string
    unit_mass: float

    def __post_init__(self) -> None:
        if not 0.1e-3 <= self.diameter <= 2.5e-3:
            raise InputError(
                f"string diameter is {self.diameter:g} m; strings lie between 0.0001 and 0.0025 m. "
                "If that is thousandths of an inch, multiply by 2.54e-5."
            )
        if not 0.05e-3 <= self.core_diameter <= self.diameter:
            raise InputError(
                f"core diameter is {self.core_diameter:g} m; it lies between 0.00005 m and the outer "
                f"diameter {self.diameter:g} m (equal for a plain string)."
            )
        if not 1e-4 <= self.unit_mass <= 3e-2:
            raise InputError(
                f"unit mass is {self.unit_mass:g} kg/m; strings lie between 0.0001 and 0.03 kg/m. "
                f"If that is lb/in, multiply by {POUND_PER_INCH:.4f}."
            )

    @property
    def wound(self) -> bool:
        """True when a wrap lies round the core."""
        return self.core_diameter < self.diameter


@dataclass(frozen=True, slots=True, kw_only=True)
class StringSet:
    """A set of six; ``strings[0]`` is string 1, the thin one."""

    name: str
    strings: tuple[StringGauge, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeakingString:
    """A string in tune between two ends: what the modes are computed from. SI units.

    ``pitch`` is the fundamental of the flexible string, f0 = sqrt(T/mu)/(2 L); ``young_modulus`` belongs to
    the core. ``scale_length`` is the length of the open string where this one is fretted.
    """

    diameter: float
    core_diameter: float
    unit_mass: float  # kg/m
    pitch: float  # Hz
    length: float  # m, from the nut or fret to the bridge
    young_modulus: float = YOUNG_MODULUS
    scale_length: float | None = None  # m; None: this is the open string

    def __post_init__(self) -> None:
        StringGauge(diameter=self.diameter, core_diameter=self.core_diameter, unit_mass=self.unit_mass)
        if not 20.0 <= self.pitch <= 5000.0:
            raise InputError(f"string pitch is {self.pitch:g} Hz; allowed are 20 to 5000 Hz.")
        if not 0.05 <= self.length <= 1.2:
            raise InputError(f"speaking length is {self.length:g} m; allowed are 0.05 to 1.2 m. Is it in mm or inches?")
        if not 1e9 <= self.young_modulus <= 1e12:
            raise InputError(f"Young's modulus is {self.young_modulus:g} Pa; steel has about 2e11 Pa.")

    @property
    def wound(self) -> bool:
        """True when a wrap lies round the core."""
        return self.core_diameter < self.diameter

    @property
    def stop(self) -> float:
        """Speaking length over the scale, 1 for an open string."""
        return 1.0 if self.scale_length is None else self.length / self.scale_length

    @property
    def tension(self) -> float:
        """Tension in N, mu (2 L f0)^2."""
        return tension(unit_mass=self.unit_mass, frequency=self.pitch, length=self.length)

    @property
    def wave_impedance(self) -> float:
        """Characteristic impedance sqrt(T mu), N s/m."""
        return math.sqrt(self.tension * self.unit_mass)

    @property
    def inharmonicity(self) -> float:
        """B of f_n = n f0 sqrt(1 + B n^2): pi^3 E d_core^4 / (64 T L^2) (Fletcher 1964)."""
        return math.pi**3 * self.young_modulus * self.core_diameter**4 / (64.0 * self.tension * self.length**2)

    def fretted(self, fret: int) -> "SpeakingString":
        """Return the string stopped at ``fret`` (0 open): same tension, shorter; equal temperament."""
        if not 0 <= fret <= 24:
            raise InputError(f"fret is {fret}; allowed are 0 (open) to 24.")
        if fret == 0:
            return self
        ratio = 2.0 ** (fret / 12.0)
        return replace(
            self, pitch=self.pitch * ratio, length=self.length / ratio, scale_length=self.scale_length or self.length
        )


def wound_core_diameter(diameter: float) -> float:
    """Core diameter of a round-wound string of outer ``diameter`` (m), by a rule of thumb.

    Notes
    -----
    0.25 d + 0.165 mm: 0.013 in under 0.026, 0.018 in under 0.046. Common practice, no source; a hexagonal
    core is taken as round. See :func:`core_from_unit_mass` for what the weight says.
    """
    return 0.25 * diameter + 0.165e-3


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


def tension(*, unit_mass: float, frequency: float, length: float) -> float:
    """Tension (N) of a flexible string: mu (2 L f)^2; kg/m, Hz, m."""
    if min(unit_mass, frequency, length) <= 0.0:
        raise InputError("tension needs a positive unit mass, frequency and length.")
    return unit_mass * (2.0 * length * frequency) ** 2


_NOTE = re.compile(r"^([A-Ga-g])([#b]*)(-?\d+)$")
_SEMITONE = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def note_frequency(name: str, *, a4: float = 440.0) -> float:
    """Frequency (Hz) of a note such as ``E2`` or ``Bb3`` in equal temperament; A4 = 440 Hz (ISO 16)."""
    match = _NOTE.match(name.strip())
    if match is None:
        raise InputError(f"{name!r} is not a note; write a letter, an optional # or b, and the octave: E2, Bb3, F#4.")
    letter, accidentals, octave = match.groups()
    shift = accidentals.count("#") - accidentals.count("b")
    semitones = _SEMITONE[letter.upper()] + shift + 12 * (int(octave) - 4) - 9
    return float(a4 * 2.0 ** (semitones / 12.0))


STANDARD_TUNING = ("E4", "B3", "G3", "D3", "A2", "E2")  # string 1 first


def plain(thousandths: float) -> StringGauge:
    """A plain steel string of the chart, by its gauge in thousandths of an inch."""
    return _gauge(thousandths, _PLAIN, wound=False)


def round_wound(thousandths: float) -> StringGauge:
    """A nickel-plated round-wound string of the chart, by its gauge in thousandths of an inch."""
    return _gauge(thousandths, _WOUND, wound=True)


def _gauge(thousandths: float, table: dict[float, float], *, wound: bool) -> StringGauge:
    weight = table.get(thousandths)
    if weight is None:
        known = ", ".join(f"{key:g}" for key in sorted(table))
        raise InputError(
            f"no {'wound' if wound else 'plain'} string of gauge {thousandths:g} in the chart; "
            f"it has {known} (thousandths of an inch). Give diameter and unit mass yourself for another one."
        )
    diameter = thousandths * 1e-3 * INCH
    return StringGauge(
        diameter=diameter,
        core_diameter=wound_core_diameter(diameter) if wound else diameter,
        unit_mass=weight * POUND_PER_INCH,
    )


def _make_set(name: str, plains: tuple[float, ...], wounds: tuple[float, ...]) -> StringSet:
    return StringSet(name=name, strings=(*(plain(g) for g in plains), *(round_wound(g) for g in wounds)))


STRING_SETS = {  # gauges of the usual sets: common practice, no source
    "9-42": _make_set("9-42", (9, 11, 16), (24, 32, 42)),
    "10-46": _make_set("10-46", (10, 13, 17), (26, 36, 46)),
    "11-49": _make_set("11-49", (11, 14, 18), (28, 38, 49)),
    "12-54": _make_set("12-54", (12, 16, 20), (32, 42, 54)),
}


def string_set(name: str) -> StringSet:
    """Return the set called ``name`` (``"10-46"``)."""
    found = STRING_SETS.get(name)
    if found is None:
        raise InputError(f"there is no string set {name!r}; known are {', '.join(STRING_SETS)}.")
    return found


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
