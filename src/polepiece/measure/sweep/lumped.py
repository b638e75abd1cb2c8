"""A pickup between its leads as a few numbers with a physical meaning: what a fit turns."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.coil import flat_permeability, round_permeability
from polepiece.constants import MU_0
from polepiece.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """A number that a fit turns, positive, moved in its logarithm.

    ``low`` and ``high`` are the 90 % range of what is believed beforehand, ``usual`` its middle; ``least`` and
    ``most`` are walls.
    """

    name: str
    meaning: str
    unit: str
    usual: float
    low: float
    high: float
    least: float
    most: float
    source: str

    def __post_init__(self) -> None:
        if not self.least <= self.low <= self.usual <= self.high <= self.most or not 0.0 < self.low < self.high:
            raise InputError(f"parameter {self.name}: least, low, usual, high, most must rise and be positive.")


ASSUMED = "assumption"
# Eddy corners below are where a solid round pole has x = kr of size 1: f = rho / (2 pi mu0 mu r^2). Carbon steel of 17
# microohm cm, mu 280 (10 to 500), r 2.4 mm: 13 Hz (7 to 370 Hz).
LUMPED = (
    Parameter(name="resistance", meaning="resistance for direct current", unit="ohm", usual=8e3, low=2e3, high=30e3,
              least=100.0, most=100e3, source="accepted readings of pickups, common practice"),
    Parameter(name="inductance", meaning="inductance towards 0 Hz", unit="H", usual=4.0, low=0.8, high=20.0,
              least=0.05, most=100.0, source="accepted readings of pickups, common practice"),
    Parameter(name="capacitance", meaning="capacitance across the leads", unit="F", usual=120e-12, low=25e-12,
              high=600e-12, least=1e-13, most=5e-9, source="windings 15 to 200 pF, lead included; common practice"),
    Parameter(name="pole_share", meaning="share of the inductance that solid round poles carry", unit="1", usual=0.5,
              low=0.2, high=0.85, least=1e-3, most=0.95, source="iron carries 40 to 50 % (R. Stanley), widened"),
    Parameter(name="pole_corner", meaning="corner of the eddy currents in the poles", unit="Hz", usual=25.0, low=4.0,
              high=400.0, least=0.5, most=50e3, source="steel 10 to 500 permeability, radius 2.4 mm"),
    Parameter(name="pole_reluctance", meaning="share of the poles' reluctance that lies in their steel, not in air",
              unit="1", usual=0.1, low=0.01, high=0.8, least=1e-3, most=1.0,
              source="permeability 10 to 500, open rods of demagnetising factor 0.02 to 0.2"),
    Parameter(name="bar_share", meaning="share that flat conductors (keeper, bar) carry", unit="1", usual=0.05,
              low=0.005, high=0.4, least=1e-4, most=0.9, source=ASSUMED),
    Parameter(name="bar_corner", meaning="corner of the eddy currents in flat conductors", unit="Hz", usual=100.0,
              low=8.0, high=5e3, least=1.0, most=100e3, source=ASSUMED),
    Parameter(name="plate_share", meaning="share shielded by cover and base plate", unit="1", usual=0.02, low=0.001,
              high=0.3, least=1e-5, most=0.9, source=ASSUMED),
    Parameter(name="plate_corner", meaning="corner of the cover's and base plate's currents", unit="Hz", usual=4e3,
              low=500.0, high=30e3, least=50.0, most=1e6, source=ASSUMED),
    Parameter(name="loss_tangent", meaning="loss of the winding's insulation", unit="1", usual=0.02, low=0.002,
              high=0.1, least=1e-5, most=0.5, source="enamelled wire at audio frequencies; assumption"),
)  # fmt: skip
KEPT = 64  # a fit turns one parameter after the other: eddy currents whose corner stays are computed once


def round_share(frequency: FloatArray, corner: float) -> ComplexArray:
    """Return the mean permeability of a round conductor re its static one: 2 J1(x) / (x J0(x)), |x|^2 = f / corner.

    As `round_permeability` of the coil room (Bozorth 1951, from memory).
    """
    return _round_share(np.asarray(frequency, dtype=float).tobytes(), float(corner))


@lru_cache(maxsize=KEPT)
def _round_share(frequency: bytes, corner: float) -> ComplexArray:
    resistivity = 2.0 * np.pi * corner * MU_0  # of a rod of radius 1 m and permeability 1
    found = round_permeability(np.frombuffer(frequency), permeability=1.0, resistivity=resistivity, radius=1.0)
    found.flags.writeable = False
    return found


def flat_share(frequency: FloatArray, corner: float) -> ComplexArray:
    """Return the mean permeability of a sheet re its static one: tanh(q) / q, |q|^2 = f / corner.

    As `flat_permeability` of the coil room, derived there.
    """
    return _flat_share(np.asarray(frequency, dtype=float).tobytes(), float(corner))


@lru_cache(maxsize=KEPT)
def _flat_share(frequency: bytes, corner: float) -> ComplexArray:
    resistivity = 2.0 * np.pi * corner * MU_0
    found = flat_permeability(np.frombuffer(frequency), permeability=1.0, resistivity=resistivity, half_thickness=1.0)
    found.flags.writeable = False
    return found


def lumped_inductance(frequency: FloatArray, values: FloatArray) -> ComplexArray:
    """Return the complex inductance of the coil (f,), H, without capacitance; ``values`` in the order of `LUMPED`.

    Notes
    -----
    L = L0 (1 - a - b + a P / (d + (1 - d) P) + b S - c jf / (fc + jf)), P = P(f / fa), S = S(f / fb): air; round poles,
    of whose reluctance d lies in steel and the rest in air; flat conductors; and a plate as one loop of current that
    is pushed out of phase as the frequency rises.
    Derived here, as a model with few numbers: an assumption.
    """
    _, inductance, _, a, fa, d, b, fb, c, fc, _ = values
    pole = round_share(frequency, fa)
    iron = a * pole / (d + (1.0 - d) * pole) + b * flat_share(frequency, fb)
    plate = c * 1j * frequency / (fc + 1j * frequency)
    return np.asarray(inductance * (1.0 - a - b + iron - plate))


def lumped_impedance(frequency: FloatArray, values: FloatArray) -> ComplexArray:
    """Return the impedance between the leads (f,), ohm; ``values`` in the order of `LUMPED`.

    Kirchhoff: R + jwL with C across it.
    """
    jw = 2j * np.pi * frequency
    coil = values[0] + jw * lumped_inductance(frequency, values)
    return with_capacitance(frequency, coil, values[2], values[10])


def with_capacitance(frequency: FloatArray, coil: ComplexArray, capacitance: float, loss: float) -> ComplexArray:
    """Return a coil with a lossy capacitance across it (f,), ohm. Kirchhoff; loss tangent: definition."""
    jw = 2j * np.pi * frequency
    return np.asarray(1.0 / (1.0 / coil + jw * capacitance * (1.0 - 1j * loss)))
