"""Major demagnetisation curves of permanent magnets, as values.

Field and magnetisation are signed components along the easy axis: ``field`` is H in A/m, negative where it
demagnetises. A curve knows nothing of history; recoil and charge state live in ``magnetics``.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Protocol, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.constants import MU_0
from polepiece.errors import InputError

Array = NDArray[np.float64]

SMALLEST_SHOULDER = 1.01  # relative permeability; keeps dM/dH > 0 everywhere, so that M(H) can be inverted
LARGEST_FALL = 0.98  # of Br along the shoulder from H = 0 to -Hc; the rest is left for the knee
LIMIT_MARGIN = 1e-3  # a limited (BH)max stays this far inside the possible range, relative


class MajorCurve(Protocol):
    """Second-quadrant major curve, continued by its tangents outside ``-coercivity <= field <= 0``."""

    @property
    def remanence(self) -> float:
        """Br, T."""

    @property
    def coercivity(self) -> float:
        """HcB, A/m, positive."""

    @property
    def energy_product(self) -> float:
        """(BH)max, J/m3."""

    def flux_density(self, field: ArrayLike) -> Array:
        """B in T at H = ``field`` in A/m, same shape."""

    def magnetization(self, field: ArrayLike) -> tuple[Array, Array]:
        """M in A/m and dM/dH at H = ``field`` in A/m, same shape."""

    def scaled(
        self,
        *,
        remanence: float | None = None,
        coercivity: float | None = None,
        energy_product: float | None = None,
        limit: bool = False,
    ) -> Self:
        """Same shape with new constants."""


def _check_triple(remanence: float, coercivity: float, energy_product: float) -> None:
    if not 0.05 <= remanence <= 1.6:
        raise InputError(
            f"remanence is {remanence} T; magnets lie between 0.05 and 1.6 T. If that is gauss, multiply by 1e-4."
        )
    if not 1e3 <= coercivity <= 2e6:
        raise InputError(
            f"coercivity is {coercivity} A/m; magnets lie between 1e3 and 2e6 A/m. "
            "If that is kA/m multiply by 1000, if oersted by 79.577."
        )
    fullness = energy_product / (remanence * coercivity)
    if not 0.0 < fullness < 1.0:
        raise InputError(
            f"energy_product is {energy_product} J/m3; it must lie between 0 and remanence * coercivity = "
            f"{remanence * coercivity:.6g} J/m3. If that is kJ/m3 multiply by 1000, if MGOe by 7957.7."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Hyperbola:
    """Rectangular hyperbola through Br and -Hc with the given (BH)max: the verification law.

    Near Br its slope can fall below mu0 on square curves (dM/dH < 0), and it misses the knee of oriented
    grades and ferrite by 0.03 to 0.3 T. Use it to compare with solutions that used it.

    Parameters
    ----------
    remanence : float
        Br, T.
    coercivity : float
        HcB, A/m, positive.
    energy_product : float
        (BH)max, J/m3.

    Raises
    ------
    InputError
        If the three constants cannot belong to one magnet.

    Notes
    -----
    With h = -H: B(h) = Br (Hc - h) / (Hc - c h), c = (2 sqrt(g) - 1)/g, g = (BH)max/(Br Hc). Its (BH)max
    lies at B/Br = h/Hc = sqrt(g).

    References
    ----------
    Gieras, Piech, Tomczuk, Linear Synchronous Motors, 2nd ed., appendix A, (A.1) to (A.4) (read).
    """

    remanence: float
    coercivity: float
    energy_product: float

    def __post_init__(self) -> None:
        _check_triple(self.remanence, self.coercivity, self.energy_product)

    @property
    def curvature(self) -> float:
        """c, the ratio of Br to the level that the hyperbola tends to; dimensionless."""
        fullness = self.energy_product / (self.remanence * self.coercivity)
        return (2.0 * math.sqrt(fullness) - 1.0) / fullness

    def flux_density(self, field: ArrayLike) -> Array:
        """B in T at H = ``field`` in A/m, same shape."""
        return self._level_and_slope(field)[0]

    def magnetization(self, field: ArrayLike) -> tuple[Array, Array]:
        """M in A/m and dM/dH at H = ``field`` in A/m, same shape."""
        level, slope = self._level_and_slope(field)
        return level / MU_0 - np.asarray(field, dtype=np.float64), slope / MU_0 - 1.0

    def _level_and_slope(self, field: ArrayLike) -> tuple[Array, Array]:
        depth = np.asarray(field, dtype=np.float64) * (-1.0 / self.coercivity)
        inside = np.minimum(np.maximum(depth, 0.0), 1.0)
        c = self.curvature
        remaining = 1.0 / (1.0 - c * inside)
        steepness = (self.remanence * (1.0 - c)) * remaining * remaining  # -dB/d(depth)
        level = self.remanence * (1.0 - inside) * remaining - steepness * (depth - inside)
        return level, steepness / self.coercivity

    def scaled(
        self,
        *,
        remanence: float | None = None,
        coercivity: float | None = None,
        energy_product: float | None = None,
        limit: bool = False,
    ) -> "Hyperbola":
        """Same law with new constants.

        Parameters
        ----------
        remanence, coercivity, energy_product : float, optional
            New constants (T, A/m, J/m3). Without ``energy_product`` the fullness (BH)max/(Br Hc) is kept.
        limit : bool
            Lower an impossible ``energy_product`` to just below Br Hc instead of refusing it.

        Returns
        -------
        Hyperbola
        """
        new_remanence = self.remanence if remanence is None else remanence
        new_coercivity = self.coercivity if coercivity is None else coercivity
        box = new_remanence * new_coercivity
        if energy_product is None:
            energy_product = self.energy_product / (self.remanence * self.coercivity) * box
        if limit:
            energy_product = min(energy_product, (1.0 - LIMIT_MARGIN) * box)
        return Hyperbola(remanence=new_remanence, coercivity=new_coercivity, energy_product=energy_product)


@dataclass(frozen=True, slots=True, kw_only=True)
class KneeShape:
    """Shape of a ``KneeCurve`` as fitted to a published curve.

    Parameters
    ----------
    shoulder_permeability : float
        Slope of the shoulder in units of mu0, above 1.01.
    sharpness : float
        p, 1 to 60; how late the knee comes. From 2 on dM/dH has a finite slope at Br (good for Newton).
    knee : float
        d, 0 < d <= p; how far before the coercivity it begins (small: just before it).
    """

    shoulder_permeability: float
    sharpness: float
    knee: float

    def __post_init__(self) -> None:
        if not SMALLEST_SHOULDER < self.shoulder_permeability <= 20.0:
            raise InputError(
                f"shoulder_permeability is {self.shoulder_permeability}; it must lie between "
                f"{SMALLEST_SHOULDER} and 20 (a shoulder flatter than mu0 is not possible)."
            )
        if not 1.0 <= self.sharpness <= 60.0:
            raise InputError(f"sharpness is {self.sharpness}; it must lie between 1 and 60.")
        if not 0.0 < self.knee <= self.sharpness:
            raise InputError(f"knee is {self.knee}; it must lie between 0 and the sharpness, {self.sharpness}.")

    def softened(self, softness: float) -> "KneeShape":
        """Shoulder slope above mu0 times ``softness``, knee times its square root.

        Derived in docs/theory/materials.md, "The law".
        """
        return KneeShape(
            shoulder_permeability=1.0 + softness * (self.shoulder_permeability - 1.0),
            sharpness=self.sharpness,
            knee=self.knee * math.sqrt(softness),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class KneeCurve:
    """Straight shoulder plus knee, through Br and -Hc with the given (BH)max: the law for predictions.

    Parameters
    ----------
    remanence : float
        Br, T.
    coercivity : float
        HcB, A/m, positive.
    energy_product : float
        (BH)max, J/m3, within ``energy_product_range``.
    shape : KneeShape
        Shape of a published curve of the grade. The curve wears it ``softened`` so far that its (BH)max is
        the given one (softness 1 for the constants of that published curve).

    Attributes
    ----------
    own : KneeShape
        The shape with the given (BH)max.

    Raises
    ------
    InputError
        If the constants cannot belong to one curve of this kind.

    Notes
    -----
    With u = -H/Hc, w = u^p and m = mu0 mu_s Hc / Br: B/Br = 1 - m u - (1 - m) f, f = d w/(1 - w + d w).
    f rises from 0 to 1 (its odds are d times those of w), so B falls at least as fast as the shoulder, never
    slower than 1.01 mu0, and M(H) is monotone. m = 0, p = 1 is the rectangular hyperbola.
    Softness s: mu_s - 1 is proportional to s, d to sqrt(s). d <= p keeps f below u, so that u B falls as m
    or d grows: (BH)max falls as s grows, and s is the only root of one equation.
    The law is ours; its errors against published curves are in ``docs/theory/materials.md``.
    """

    remanence: float
    coercivity: float
    energy_product: float
    shape: KneeShape
    _own: "KneeShape | None" = field(init=False, default=None, compare=False, repr=False)

    def __post_init__(self) -> None:
        _check_triple(self.remanence, self.coercivity, self.energy_product)
        low, high = energy_product_range(remanence=self.remanence, coercivity=self.coercivity, shape=self.shape)
        if not low <= self.energy_product <= high:
            raise InputError(
                f"energy_product is {self.energy_product:.6g} J/m3; with remanence {self.remanence:.4g} T, "
                f"coercivity {self.coercivity:.6g} A/m and this shape it must lie between {low:.6g} and "
                f"{high:.6g} J/m3. Constants of different sources often do not fit together."
            )

    @property
    def own(self) -> KneeShape:
        """The shape with the given (BH)max; found when it is first asked for: most grades are only ever named."""
        if self._own is None:
            object.__setattr__(self, "_own", self._softened())
        assert self._own is not None
        return self._own

    def _softened(self) -> KneeShape:
        unit = MU_0 * self.coercivity / self.remanence
        fullness = self.energy_product / (self.remanence * self.coercivity)
        softest, hardest = _softness_limits(unit, self.shape)
        softness = _root(
            lambda log_softness: _fullness(unit, self.shape.softened(math.exp(log_softness))) - fullness,
            math.log(hardest),
            math.log(softest),
        )
        return self.shape.softened(math.exp(softness))

    def flux_density(self, field: ArrayLike) -> Array:
        """B in T at H = ``field`` in A/m, same shape."""
        magnetization, _ = self.magnetization(field)
        return MU_0 * (magnetization + np.asarray(field, dtype=np.float64))

    def magnetization(self, field: ArrayLike) -> tuple[Array, Array]:
        """M in A/m and dM/dH at H = ``field`` in A/m, same shape."""
        depth = np.asarray(field, dtype=np.float64) * (-1.0 / self.coercivity)
        inside = np.minimum(np.maximum(depth, 0.0), 1.0)
        shoulder, sharpness, knee = self.own.shoulder_permeability, self.own.sharpness, self.own.knee
        drop = self.remanence / MU_0 - shoulder * self.coercivity  # of the knee, A/m
        before = inside ** (sharpness - 1.0)  # u^(p-1); 0**0 is 1
        power = before * inside
        odds = 1.0 / (1.0 + (knee - 1.0) * power)
        steepness = (sharpness * knee * drop) * before * odds * odds  # of the knee, per unit depth
        fallen = (knee * drop) * power * odds + steepness * (depth - inside)
        tilt = shoulder - 1.0  # the shoulder of M, per unit H
        level = self.remanence / MU_0 - (tilt * self.coercivity) * depth - fallen
        return level, steepness / self.coercivity + tilt

    def scaled(
        self,
        *,
        remanence: float | None = None,
        coercivity: float | None = None,
        energy_product: float | None = None,
        limit: bool = False,
    ) -> "KneeCurve":
        """Same shape with new constants.

        Parameters
        ----------
        remanence, coercivity, energy_product : float, optional
            New constants (T, A/m, J/m3). Without ``energy_product`` the softness is kept and (BH)max follows:
            the three constants of a ferrite are not independent.
        limit : bool
            Move an impossible ``energy_product`` to the nearest possible one instead of refusing it.

        Returns
        -------
        KneeCurve

        Raises
        ------
        InputError
            If no curve of this shape has the new constants.
        """
        new_remanence = self.remanence if remanence is None else remanence
        new_coercivity = self.coercivity if coercivity is None else coercivity
        if energy_product is None:
            unit = MU_0 * new_coercivity / new_remanence
            energy_product = new_remanence * new_coercivity * _fullness(unit, self.own)
        if limit:
            low, high = energy_product_range(remanence=new_remanence, coercivity=new_coercivity, shape=self.shape)
            energy_product = min(max(energy_product, low * (1.0 + LIMIT_MARGIN)), high * (1.0 - LIMIT_MARGIN))
        return replace(self, remanence=new_remanence, coercivity=new_coercivity, energy_product=energy_product)


def energy_product_range(*, remanence: float, coercivity: float, shape: KneeShape) -> tuple[float, float]:
    """Smallest and largest (BH)max that a ``KneeCurve`` with these constants can have, J/m3.

    Parameters
    ----------
    remanence : float
        Br, T.
    coercivity : float
        HcB, A/m.
    shape : KneeShape
        Shape of the grade.

    Returns
    -------
    low, high : float
        Of the softest curve (d = p, or nearly a straight line from Br to -Hc) and of the hardest, whose
        shoulder has the slope 1.01 mu0.

    Raises
    ------
    InputError
        If a line of slope 1.01 mu0 from Br reaches B = 0 before the coercivity.

    Notes
    -----
    Derived in docs/theory/materials.md, "The law": (BH)max falls as the shape softens.
    """
    unit = MU_0 * coercivity / remanence
    if unit * SMALLEST_SHOULDER >= LARGEST_FALL:
        raise InputError(
            f"coercivity is {coercivity:.6g} A/m; with remanence {remanence:.4g} T the flux density "
            f"reaches zero at {coercivity / unit:.6g} A/m at the latest. Is that HcJ, not HcB?"
        )
    softest, hardest = _softness_limits(unit, shape)
    box = remanence * coercivity
    return box * _fullness(unit, shape.softened(softest)), box * _fullness(unit, shape.softened(hardest))


def _softness_limits(unit: float, shape: KneeShape) -> tuple[float, float]:
    """Softest and hardest softness; ``unit`` is mu0 Hc / Br."""
    slope = shape.shoulder_permeability - 1.0
    softest = min((LARGEST_FALL / unit - 1.0) / slope, 19.0 / slope, (shape.sharpness / shape.knee) ** 2)
    return softest * (1.0 - 1e-9), (SMALLEST_SHOULDER - 1.0) / slope * (1.0 + 1e-9)


def _root(error: Callable[[float], float], low: float, high: float) -> float:
    """Return the root of a rising or falling ``error`` between ``low`` and ``high``, to 1e-10.

    False position with the weight of an end that stays halved (the Illinois rule; Dowell and Jarratt, BIT 11 (1971)
    168, from memory). The library's `scipy.optimize.brentq`, which a test holds it to, takes a sixth of a command's
    start to load.
    """
    a, b, at_a, at_b = low, high, error(low), error(high)
    while at_b != 0.0 and abs(b - a) > 1e-10:
        middle = b - at_b * (b - a) / (at_b - at_a)
        there = error(middle)
        a, at_a = (b, at_b) if there * at_b < 0.0 else (a, 0.5 * at_a)
        b, at_b = middle, there
    return b


def _fullness(unit: float, shape: KneeShape) -> float:
    """(BH)max/(Br Hc) of the curve with mu0 Hc / Br = ``unit`` and this shape as it is."""
    shoulder = unit * shape.shoulder_permeability

    def product(u: Array) -> Array:
        power = u**shape.sharpness
        fallen = shape.knee * power / (1.0 - power + shape.knee * power)
        return u * (1.0 - shoulder * u - (1.0 - shoulder) * fallen)

    low, high = 0.0, 1.0
    for _ in range(4):  # each round looks 32 times closer; the last leaves 1e-11 of the value
        grid = np.linspace(low, high, 65)
        values = product(grid)
        peak = int(np.argmax(values))
        low, high = float(grid[max(peak - 1, 0)]), float(grid[min(peak + 1, 64)])
    return float(values[peak])
