"""Elements of a network for the nodal analysis (`tests.reference.nodal`), and the impedance matrix of lumped coils."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from polepiece.arrays import ComplexArray
from polepiece.circuit.parts import _frozen, _not_negative
from polepiece.errors import InputError

GROUND = "0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistor:
    """Resistance between two nodes; 0 joins them, ``math.inf`` parts them."""

    name: str
    a: str
    b: str
    resistance: float  # ohm

    def __post_init__(self) -> None:
        _not_negative(f"resistor {self.name}", self.resistance, "ohm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacitor:
    """Capacitance between two nodes."""

    name: str
    a: str
    b: str
    capacitance: float  # F

    def __post_init__(self) -> None:
        _not_negative(f"capacitor {self.name}", self.capacitance, "F")
        if math.isinf(self.capacitance):
            raise InputError(f"capacitor {self.name} is infinite; join its nodes with a Resistor of 0 ohm.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Inductor:
    """Inductance between two nodes; its dot is at ``a``."""

    name: str
    a: str
    b: str
    inductance: float  # H

    def __post_init__(self) -> None:
        _not_negative(f"inductor {self.name}", self.inductance, "H")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Impedance:
    """Impedance between two nodes, one value a frequency; its dot is at ``a``."""

    name: str
    a: str
    b: str
    impedance: ComplexArray  # (f,), ohm

    def __post_init__(self) -> None:
        object.__setattr__(self, "impedance", _frozen(self.impedance, 1, f"impedance {self.name}"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mutual:
    """Coupling of two branches (Inductor or Impedance): give an inductance, or an impedance a frequency."""

    first: str
    second: str
    inductance: float | None = None  # H, positive when fluxes of currents from a to b add
    impedance: ComplexArray | None = None  # (f,), ohm

    def __post_init__(self) -> None:
        if (self.inductance is None) == (self.impedance is None):
            raise InputError(f"mutual {self.first}-{self.second}: give an inductance or an impedance, one of the two.")
        if self.impedance is not None:
            object.__setattr__(self, "impedance", _frozen(self.impedance, 1, f"mutual {self.first}-{self.second}"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Ideal source of voltage: node ``a`` stands ``volts`` above node ``b``."""

    name: str
    a: str
    b: str
    volts: complex = 1.0


Element = Resistor | Capacitor | Inductor | Impedance | Mutual | Source


def coil_impedance(frequency: ArrayLike, resistance: ArrayLike, inductance: ArrayLike) -> ComplexArray:
    """Impedance matrix of coils from resistances and inductances.

    Parameters
    ----------
    frequency : array_like, shape (f,)
        Hz.
    resistance : array_like, shape (), (n,) or (n, n, f)
        Ohm: of each coil, or the real part of the whole matrix a frequency.
    inductance : array_like, shape (), (n, n) or (n, n, f)
        H: self inductances on the diagonal, mutual ones beside it, all coils the same way round.

    Returns
    -------
    ndarray, shape (n, n, f)
        Z = R + j 2 pi f L, ohm.

    Raises
    ------
    InputError
        When the shapes do not fit.
    """
    omega = 2.0 * np.pi * np.asarray(frequency, dtype=float)
    ohms, henries = np.asarray(resistance, dtype=float), np.asarray(inductance, dtype=float)
    if henries.ndim == 0:
        henries = henries.reshape(1, 1)
    if henries.ndim == 2:
        henries = henries[:, :, None]
    coils = henries.shape[0]
    if ohms.ndim < 2:
        if ohms.size != coils:
            raise InputError(f"{ohms.size} resistances are given for {coils} coils; one a coil is needed.")
        ohms = np.diag(ohms.reshape(coils))[:, :, None]
    try:
        return np.asarray(ohms + 1j * omega * henries, dtype=np.complex128)
    except ValueError as fault:
        raise InputError(
            f"frequency {omega.shape}, resistance {ohms.shape} and inductance {henries.shape} do not fit; "
            "frequency comes last."
        ) from fault
