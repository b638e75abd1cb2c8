"""Soft steels: anhysteretic magnetisation laws and named materials.

Hysteresis is left out: pole steel is biased by the magnet and works with small alternating fields, for which
``SteelMaterial.reversible_permeability`` is used, never the slope of these laws.
"""

import math
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.constants import MU_0
from polepiece.errors import InputError
from polepiece.materials.magnet import Source, Status

Array = NDArray[np.float64]


class SteelLaw(Protocol):
    """Anhysteretic magnetisation, odd in the field."""

    @property
    def saturation(self) -> float:
        """mu0 Ms in T; infinite for a linear law."""

    @property
    def initial_permeability(self) -> float:
        """Relative permeability at zero field."""

    def magnetization(self, field: ArrayLike) -> tuple[Array, Array]:
        """M in A/m and dM/dH at H = ``field`` in A/m, same shape."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearSteel:
    """Constant relative permeability."""

    permeability: float

    def __post_init__(self) -> None:
        if not 1.0 <= self.permeability <= 1e6:
            raise InputError(
                f"permeability is {self.permeability}; a relative permeability lies between 1 and 1e6. "
                "If that is in H/m, divide by 1.2566e-6."
            )

    @property
    def saturation(self) -> float:
        """Infinite, T."""
        return math.inf

    @property
    def initial_permeability(self) -> float:
        """The permeability."""
        return self.permeability

    def magnetization(self, field: ArrayLike) -> tuple[Array, Array]:
        """M in A/m and dM/dH at H = ``field`` in A/m, same shape."""
        strength = np.asarray(field, dtype=np.float64)
        susceptibility = self.permeability - 1.0
        return susceptibility * strength, np.full_like(strength, susceptibility)


@dataclass(frozen=True, slots=True, kw_only=True)
class LangevinSteel:
    """Langevin law M = Ms (coth(H/a) - a/H), with the initial permeability 1 + Ms/(3 a).

    Parameters
    ----------
    saturation : float
        mu0 Ms, T; 0 makes the material non-magnetic.
    a : float
        Field scale, A/m.

    Notes
    -----
    The law of paramagnets (Langevin 1905, from memory) taken for the shape of an anhysteretic curve: an assumption.
    """

    saturation: float
    a: float

    def __post_init__(self) -> None:
        _check_langevin(self.saturation, self.a)

    @classmethod
    def from_initial_permeability(cls, initial_permeability: float, saturation: float) -> "LangevinSteel":
        """The law with this relative initial permeability (above 1) and saturation mu0 Ms in T."""
        if not initial_permeability > 1.0:
            raise InputError(f"initial_permeability is {initial_permeability}; it is relative and above 1.")
        return cls(saturation=saturation, a=saturation / MU_0 / (3.0 * (initial_permeability - 1.0)))

    @property
    def initial_permeability(self) -> float:
        """Relative permeability at zero field."""
        return 1.0 + self.saturation / MU_0 / (3.0 * self.a)

    def magnetization(self, field: ArrayLike) -> tuple[Array, Array]:
        """M in A/m and dM/dH at H = ``field`` in A/m, same shape."""
        level, slope = langevin(np.asarray(field, dtype=np.float64) / self.a)
        top = self.saturation / MU_0
        return top * level, (top / self.a) * slope


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoLangevinSteel:
    """Sum of two Langevin laws: domain walls (small ``a``) and rotation (large ``second_a``).

    A single Langevin law misses published curves of low-carbon steel by 0.15 to 0.2 T, this one by 0.02 to
    0.07 T (``docs/theory/materials.md``).

    Parameters
    ----------
    first_saturation, second_saturation : float
        mu0 Ms of the two parts, T.
    a, second_a : float
        Field scales, A/m.

    Notes
    -----
    The sum is an assumption, fitted to read curves.
    """

    first_saturation: float
    a: float
    second_saturation: float
    second_a: float

    def __post_init__(self) -> None:
        _check_langevin(self.first_saturation, self.a)
        _check_langevin(self.second_saturation, self.second_a)
        _check_langevin(self.saturation, self.a)

    @property
    def saturation(self) -> float:
        """mu0 Ms, T."""
        return self.first_saturation + self.second_saturation

    @property
    def initial_permeability(self) -> float:
        """Relative permeability at zero field."""
        parts = self.first_saturation / self.a + self.second_saturation / self.second_a
        return 1.0 + parts / (3.0 * MU_0)

    def magnetization(self, field: ArrayLike) -> tuple[Array, Array]:
        """M in A/m and dM/dH at H = ``field`` in A/m, same shape."""
        strength = np.asarray(field, dtype=np.float64)
        level, slope = langevin(strength / self.a)
        second_level, second_slope = langevin(strength / self.second_a)
        top, second_top = self.first_saturation / MU_0, self.second_saturation / MU_0
        return (
            top * level + second_top * second_level,
            (top / self.a) * slope + (second_top / self.second_a) * second_slope,
        )


def _check_langevin(saturation: float, a: float) -> None:
    if not 0.0 <= saturation <= 2.6:
        raise InputError(
            f"saturation is {saturation} T; steels lie between 0 and 2.45 T (iron 2.16 T). "
            "If that is gauss, multiply by 1e-4; if A/m, by 1.2566e-6."
        )
    if not 0.1 <= a <= 1e7:
        raise InputError(f"the field scale a is {a} A/m; it must lie between 0.1 and 1e7 A/m.")


def langevin(x: Array) -> tuple[Array, Array]:
    """Langevin function L(x) = coth x - 1/x and its derivative.

    Parameters
    ----------
    x : ndarray
        Any shape, dimensionless.

    Returns
    -------
    level, slope : ndarray
        L and dL/dx, same shape; at 0 they are 0 and 1/3.

    Notes
    -----
    Below ``|x|`` = 0.15 the series x/3 - x^3/45 + 2 x^5/945 - x^7/4725 (error below 1e-11 relative there);
    above it the closed form, whose cancellation costs 1e-13 at most.
    Function: Langevin 1905 (from memory); the series is derived here.
    """
    x = np.asarray(x, dtype=np.float64)
    square = x * x
    small = square < 0.0225
    safe = np.where(small, 1.0, x)
    tangent = np.tanh(safe)
    inverse = 1.0 / safe
    cotangent = 1.0 / tangent
    level = cotangent - inverse
    slope = 1.0 - cotangent * cotangent + inverse * inverse
    series = 1.0 / 3 + square * (-1.0 / 45 + square * (2.0 / 945 + square * (-1.0 / 4725 + square * 2.0 / 93555)))
    series_slope = 1.0 / 3 + square * (
        -3.0 / 45 + square * (10.0 / 945 + square * (-7.0 / 4725 + square * 18.0 / 93555))
    )
    return np.where(small, x * series, level), np.where(small, series_slope, slope)


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelMaterial:
    """A named steel, SI.

    ``spread`` maps a quantity (``reversible_permeability``, ``resistivity``, and for string wire
    ``initial_permeability`` and ``saturation``) to the (low, high) of its 90 % range. ``fit_error`` is the
    largest and the root mean square error of the law against the published curve, T.
    """

    name: str
    law: SteelLaw
    reversible_permeability: float  # relative, small alternating fields
    resistivity: float  # ohm m
    density: float | None = None  # kg/m3
    status: Status = "read"
    note: str = ""
    fit_error: tuple[float, float] | None = None
    spread: dict[str, tuple[float, float]] = field(default_factory=dict, hash=False)
    sources: tuple[Source, ...] = ()

    def __post_init__(self) -> None:
        if not 1.0 <= self.reversible_permeability <= 1e5:
            raise InputError(
                f"{self.name}: reversible_permeability is {self.reversible_permeability}; it is relative and "
                "lies between 1 and 1e5 (280 for 1018)."
            )
        if not 1e-8 <= self.resistivity <= 1e-5:
            raise InputError(
                f"{self.name}: resistivity is {self.resistivity} ohm m; steels lie near 1e-7 to 1e-6. "
                "1 microohm cm is 1e-8 ohm m."
            )
