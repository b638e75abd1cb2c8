"""What a winder knows of a coil: any of resistance, turns, gauge, insulation, fill and inductance; checked."""

import math
from dataclasses import dataclass

from polepiece.errors import InputError
from polepiece.guitar import parameter_of
from polepiece.materials import Build

QUANTITIES = ("resistance", "turns", "fill", "inductance")
WORDS = {"resistance": "resistance", "turns": "turns", "fill": "fill", "inductance": "inductance"}
FILL = (0.02, 1.3)  # of a window; what wire can fill at most is `guitar.windings.MOST_FILL`, judged with its reason
NEARLY_DC = (50.0, 2000.0)  # Hz of an inductance meter: above, the winding's capacitance is most of what it shows


@dataclass(frozen=True, slots=True, kw_only=True)
class Knowns:
    """What is known; None is not known. SI, fill as a share of the window.

    ``resistance`` is between the leads at ``temperature`` (degrees C), ``turns`` of each coil (of the first, where
    coils differ: the others keep their ratio), ``inductance`` between the leads at ``frequency`` (Hz), in series mode.

    Raises
    ------
    InputError
        For a value that no pickup has, with the likely slip, and when fewer than two things are known.
    """

    resistance: float | None = None
    temperature: float = 20.0
    turns: float | None = None
    gauge: int | None = None
    build: Build | None = None
    fill: float | None = None
    inductance: float | None = None
    frequency: float = 120.0

    def __post_init__(self) -> None:
        """Refuse what cannot be meant."""
        _between("resistance", self.resistance, parameter_of("resistance").low, 30.0, 1e-3, "kohm", "7.9k, or 7900 ohm")
        _between("turns", self.turns, *_limits("coil.turns"), 1.0, "turns", "those of one coil")
        _between("fill", self.fill, 100.0 * FILL[0], 100.0 * FILL[1], 100.0, "% of the window", "92% or 0.92")
        _between("inductance", self.inductance, *_limits("inductance"), 1.0, "H", "4.5H or 4500mH")
        _between("test frequency", self.frequency, *NEARLY_DC, 1.0, "Hz", "120 or 1000, as the meter says")
        _between("temperature", self.temperature, -10.0, 50.0, 1.0, "degrees C", "68 degF is 20 degC")
        _between("gauge", self.gauge, 40, 46, 1.0, "AWG", "a diameter in mm is no gauge")
        if len(self.measured) + (self.gauge is not None) < 2:
            raise InputError(
                "two things at least must be known of a coil: say two or more of resistance, turns, gauge, fill and "
                "inductance."
            )
        if len(self.measured) < 1:
            raise InputError("a gauge alone makes no coil: say its resistance, turns, fill or inductance as well.")

    @property
    def measured(self) -> tuple[str, ...]:
        """Names of the quantities that are known."""
        return tuple(name for name in QUANTITIES if getattr(self, name) is not None)


def _limits(attr: str) -> tuple[float, float]:
    line = parameter_of(attr)
    assert line.low is not None and line.high is not None
    return line.low, line.high


def _between(
    name: str, value: float | None, low: float | None, high: float, scale: float, unit: str, slip: str
) -> None:
    """Refuse a value whose ``scale`` multiple lies outside (low, high) in ``unit``."""
    if value is None or low is None:
        return
    if not math.isfinite(value) or not low <= scale * value <= high:
        raise InputError(f"{name} is {scale * value:.4g} {unit}; allowed are {low:g} to {high:g} {unit}: {slip}.")
