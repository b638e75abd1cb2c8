"""One coil as a record."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """One racetrack coil (rectangular, mitred corners) round a row of poles; lengths in m."""

    inner_half_x: float = 3.2e-3
    inner_half_y: float = 29.0e-3
    outer_half_x: float = 7.6e-3
    outer_half_y: float = 33.4e-3
    bottom: float = 4.5e-3
    top: float = 11.0e-3
    turns: float = 5000.0
    wire_awg: int = 42
    wire_build: Literal["single", "heavy"] = "single"
    resistance: float | None = None  # ohm at 20 degC, measured; None = from turns and wire
