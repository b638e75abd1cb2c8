"""What a renderer has to know of one string over one pickup: real coefficients, no magnetics."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.errors import InputError

_ROW_FIELDS = ("row_weights", "slope", "curvature", "third")
_SIDE_FIELDS = ("sideways", "sideways_slope")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringSensing:
    """Flux linkage of one string through one pickup as a cubic in the string's displacement.

    Each pole row r sees the string at ``positions[r]`` and adds
    ``row_weights[r] * (c1 (w + h u) + c2 w^2/2 + c3 w^3/6 + (d2 + d3 w) u^2/2)`` volt seconds, where w is the
    vertical displacement TOWARDS the pole, u the horizontal one, c1..c3 are ``slope``, ``curvature``, ``third``,
    d2 and d3 ``sideways`` and ``sideways_slope`` and h is ``horizontal``.

    Attributes
    ----------
    positions : shape (r,), distance of each row from the bridge end of the string, m.
    row_weights : shape (r,), dimensionless (+1; the sign carries phase).
    slope, curvature, third : shape (r,), V s/m, V s/m^2, V s/m^3: first to third derivative of the linkage.
    sideways, sideways_slope : shape (r,), V s/m^2 and V s/m^3: what motion across the strings does; zeros by default.
    horizontal : relative sensitivity to horizontal motion (0 over the middle of a pole).
    aperture : standard deviation of the Gaussian sensing profile along the string, m: one, or one a row.
    level : factor on the whole string.
    """

    positions: NDArray[np.float64]
    slope: NDArray[np.float64]
    curvature: NDArray[np.float64]
    third: NDArray[np.float64]
    row_weights: NDArray[np.float64]
    horizontal: float = 0.0
    aperture: float | NDArray[np.float64] = 5e-3
    level: float = 1.0
    sideways: NDArray[np.float64] | None = None
    sideways_slope: NDArray[np.float64] | None = None

    def __post_init__(self) -> None:
        positions = np.array(self.positions, dtype=float)
        if positions.ndim != 1 or positions.size == 0:
            raise InputError(f"positions has shape {positions.shape}; one distance for each pole row is needed.")
        if not np.all((positions > 0.0) & (positions < 1.0)):
            raise InputError(f"positions are {positions} m from the bridge; allowed are 0 to 1 m. Is it in mm?")
        for name in _SIDE_FIELDS:
            if getattr(self, name) is None:
                object.__setattr__(self, name, np.zeros(positions.shape))
        for name in ("positions", *_ROW_FIELDS, *_SIDE_FIELDS):
            value = np.array(getattr(self, name), dtype=float)
            if value.shape != positions.shape:
                raise InputError(f"{name} has shape {value.shape}; it needs one value a pole row: {positions.shape}.")
            if not np.all(np.isfinite(value)):
                raise InputError(f"{name} holds a value that is not finite.")
            value.flags.writeable = False
            object.__setattr__(self, name, value)
        aperture = np.array(self.aperture, dtype=float)
        if aperture.shape not in ((), positions.shape):
            raise InputError(f"aperture has shape {aperture.shape}; give one, or one a pole row: {positions.shape}.")
        if not np.all((aperture >= 0.0) & (aperture <= 0.05)):
            raise InputError(f"aperture is {self.aperture} m; allowed are 0 to 0.05 m. Is it in mm?")
        aperture.flags.writeable = False
        object.__setattr__(self, "aperture", float(aperture) if aperture.ndim == 0 else aperture)
        if not (np.isfinite(self.level) and np.isfinite(self.horizontal)):
            raise InputError("level and horizontal must be finite numbers.")

    @property
    def linear(self) -> bool:
        """True when the linkage has no curvature: the pickup adds no harmonics."""
        return not (np.any(self.curvature) or np.any(self.third) or self.bends_sideways)

    @property
    def apertures(self) -> NDArray[np.float64]:
        """``aperture`` of every row, shape (r,), m."""
        return np.broadcast_to(np.asarray(self.aperture, dtype=float), self.positions.shape)

    @property
    def bends_sideways(self) -> bool:
        """True when motion across the strings adds harmonics."""
        return bool(np.any(self.sideways) or np.any(self.sideways_slope))

    @property
    def side_terms(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """``sideways`` and ``sideways_slope``, shape (r,), zeros where they were not given."""
        none = np.zeros(self.positions.shape)
        return (
            none if self.sideways is None else self.sideways,
            none if self.sideways_slope is None else self.sideways_slope,
        )
