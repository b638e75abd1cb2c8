"""String sets and the string between nut (or fret) and bridge: the one catalogue, which guitar files take theirs from.

Six strings of it at 25.5 in have the tensions of a public test table (``tests/published/test_string_tension.py``).
What a gauge weighs and how thick its core is: ``gauges.py``.
"""

import math
from dataclasses import dataclass, replace

from polepiece.constants import INCH
from polepiece.errors import InputError
from polepiece.strings.gauges import PLAIN, WOUND, StringGauge, string_of

USUAL_SCALE = 0.648  # m, 25.5 in: of a guitar that nobody measured; common practice, no source
YOUNG_MODULUS = 200e9  # Pa, music wire; handbook, from memory (spread 190-210 GPa)


@dataclass(frozen=True, slots=True, kw_only=True)
class StringSet:
    """A set; ``strings[0]`` is string 1, the thin one."""

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
        """Return the string stopped at ``fret`` (0 open): same tension, shorter; equal temperament.

        Definition of equal temperament.
        """
        if not 0 <= fret <= 24:
            raise InputError(f"fret is {fret}; allowed are 0 (open) to 24.")
        if fret == 0:
            return self
        ratio = 2.0 ** (fret / 12.0)
        return replace(
            self, pitch=self.pitch * ratio, length=self.length / ratio, scale_length=self.scale_length or self.length
        )


def tension(*, unit_mass: float, frequency: float, length: float) -> float:
    """Tension (N) of a flexible string: mu (2 L f)^2; kg/m, Hz, m. Mersenne's law (textbooks, from memory)."""
    if min(unit_mass, frequency, length) <= 0.0:
        raise InputError("tension needs a positive unit mass, frequency and length.")
    return unit_mass * (2.0 * length * frequency) ** 2


def plain(thousandths: float) -> StringGauge:
    """A plain steel string of the chart, by its gauge in thousandths of an inch."""
    return _gauge(thousandths, PLAIN, wound=False)


def round_wound(thousandths: float) -> StringGauge:
    """A nickel-plated round-wound string of the chart, by its gauge in thousandths of an inch."""
    return _gauge(thousandths, WOUND, wound=True)


def _gauge(thousandths: float, table: dict[float, float], *, wound: bool) -> StringGauge:
    if thousandths not in table:
        known = ", ".join(f"{key:g}" for key in sorted(table))
        raise InputError(
            f"no {'wound' if wound else 'plain'} string of gauge {thousandths:g} in the chart; "
            f"it has {known} (thousandths of an inch). `string_of` takes any other."
        )
    return string_of(thousandths * 1e-3 * INCH, wound=wound)


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
