"""Conductors: copper wire and the sheets of covers and base plates."""

import math
from dataclasses import dataclass, field
from typing import Literal

from polepiece.errors import InputError
from polepiece.materials.magnet import Source, Status

Build = Literal["single", "heavy"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Conductor:
    """A non-magnetic conductor, SI; ``spread`` maps a quantity to the (low, high) of its 90 % range."""

    name: str
    resistivity: float  # ohm m at 20 degrees C
    temperature_coefficient: float  # 1/K at 20 degrees C
    density: float | None = None  # kg/m3
    status: Status = "read"
    note: str = ""
    spread: dict[str, tuple[float, float]] = field(default_factory=dict, hash=False)
    sources: tuple[Source, ...] = ()

    def __post_init__(self) -> None:
        if not 1e-8 <= self.resistivity <= 1e-5:
            raise InputError(
                f"{self.name}: resistivity is {self.resistivity} ohm m; metals lie between 1e-8 and 1e-5. "
                "1 microohm cm is 1e-8 ohm m."
            )

    def resistivity_at(self, celsius: float) -> float:
        """Resistivity in ohm m at a temperature in degrees C, linear in the temperature.

        The definition of the coefficient.
        """
        return self.resistivity * (1.0 + self.temperature_coefficient * (celsius - 20.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """One size of enamelled copper wire; diameters in m as (minimum, nominal, maximum)."""

    awg: int
    build: Build
    bare: tuple[float, float, float]
    overall: tuple[float, float, float]
    copper: Conductor
    sources: tuple[Source, ...] = ()

    def __post_init__(self) -> None:
        for name, triple in (("bare", self.bare), ("overall", self.overall)):
            if not 0.0 < triple[0] <= triple[1] <= triple[2] < 1e-2:
                raise InputError(f"wire {self.awg} {self.build}: {name} is {triple}; diameters in m, smallest first.")
        if self.overall[1] <= self.bare[1]:
            raise InputError(f"wire {self.awg} {self.build}: overall diameter is not above the bare one.")

    def resistance_per_metre(self, celsius: float = 20.0) -> float:
        """Direct-current resistance in ohm/m of the nominal bare diameter at a temperature in degrees C."""
        return _resistance_per_metre(self.bare[1], self.copper.resistivity_at(celsius))

    @property
    def resistance_spread(self) -> tuple[float, float]:
        """Resistance in ohm/m at 20 degrees C of the thickest and the thinnest wire allowed."""
        thin, _, thick = self.bare
        resistivity = self.copper.resistivity
        return _resistance_per_metre(thick, resistivity), _resistance_per_metre(thin, resistivity)


def _resistance_per_metre(diameter: float, resistivity: float) -> float:
    return resistivity / (math.pi * diameter**2 / 4.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Enamel:
    """Wire enamel, for the winding's capacitance: relative permittivity and its 90 % range."""

    name: str
    permittivity: float
    spread: tuple[float, float]
    status: Status = "memory"
    note: str = ""
