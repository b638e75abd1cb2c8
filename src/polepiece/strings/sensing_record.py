"""What a renderer has to know of one string over one pickup: real coefficients, no magnetics."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.errors import InputError

_ROW_FIELDS = ("row_weights", "slope", "curvature", "third")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringSensing:
    """Flux linkage of one string through one pickup as a cubic in the string's displacement.

    Each pole row r sees the string at ``positions[r]`` and adds
    ``row_weights[r] * (c1 (w + h u) + c2 w^2/2 + c3 w^3/6)`` volt seconds, where w is the vertical
    displacement TOWARDS the pole, u the horizontal one, c1..c3 are ``slope``, ``curvature``, ``third`` and h
    is ``horizontal``.

    Attributes
    ----------
    positions : shape (r,), distance of each row from the bridge end of the string, m.
    row_weights : shape (r,), dimensionless (+1; the sign carries phase).
    slope, curvature, third : shape (r,), V s/m, V s/m^2, V s/m^3: first to third derivative of the linkage.
    horizontal : relative sensitivity to horizontal motion (0 over the middle of a pole).
    aperture : standard deviation of the Gaussian sensing profile along the string, m.
    level : factor on the whole string.
    """

    positions: NDArray[np.float64]
    slope: NDArray[np.float64]
    curvature: NDArray[np.float64]
    third: NDArray[np.float64]
    row_weights: NDArray[np.float64]
    horizontal: float = 0.0
    aperture: float = 5e-3
    level: float = 1.0

    def __post_init__(self) -> None:
        positions = np.array(self.positions, dtype=float)
        if positions.ndim != 1 or positions.size == 0:
            raise InputError(f"positions has shape {positions.shape}; one distance for each pole row is needed.")
        if not np.all((positions > 0.0) & (positions < 1.0)):
            raise InputError(f"positions are {positions} m from the bridge; allowed are 0 to 1 m. Is it in mm?")
        for name in ("positions", *_ROW_FIELDS):
            value = np.array(getattr(self, name), dtype=float)
            if value.shape != positions.shape:
                raise InputError(f"{name} has shape {value.shape}; it needs one value a pole row: {positions.shape}.")
            if not np.all(np.isfinite(value)):
                raise InputError(f"{name} holds a value that is not finite.")
            value.flags.writeable = False
            object.__setattr__(self, name, value)
        if not 0.0 <= self.aperture <= 0.05:
            raise InputError(f"aperture is {self.aperture:g} m; allowed are 0 to 0.05 m. Is it in mm?")
        if not (np.isfinite(self.level) and np.isfinite(self.horizontal)):
            raise InputError("level and horizontal must be finite numbers.")

    @property
    def linear(self) -> bool:
        """True when the linkage has no curvature: the pickup adds no harmonics."""
        return not (np.any(self.curvature) or np.any(self.third))
