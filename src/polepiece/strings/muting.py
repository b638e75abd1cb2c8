"""The edge of a hand on the strings near the bridge: what it takes from each partial."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class PalmMute:
    """A soft damper that touches a string over some width.

    Attributes
    ----------
    position : distance of the middle of the touch from the bridge, m.
    share : of the speaking length from the bridge, where that is meant instead of ``position``: a node.
    width : of the touch, m.
    resistance : of the touch as a whole, N s/m. No published figure was found: 0.7, about the wave impedance of a low
        string, leaves its third partial 0.3 to 0.5 s (60 dB); assumption for listening, spread 0.2 to 2.
    """

    position: float = 0.025
    width: float = 0.02
    resistance: float = 0.7
    share: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 < self.position <= 1.0:
            raise InputError(f"the touch is {self.position:g} m from the bridge; allowed are 0 to 1 m. Is it in mm?")
        if self.share is not None and not 0.0 < self.share < 1.0:
            raise InputError(f"the touch is at {self.share:g} of the string; allowed is a share between 0 and 1.")
        if not 0.0 <= self.width <= 0.1:
            raise InputError(f"palm width is {self.width:g} m; allowed are 0 to 0.1 m. Is it in mm?")
        if not 0.0 <= self.resistance <= 5.0:
            raise InputError(f"palm resistance is {self.resistance:g} N s/m; allowed are 0 to 5.")

    def loss(self, number: ArrayLike, *, length: float, unit_mass: float) -> NDArray[np.float64]:
        """Return the decay rate (1/s) that the touch adds to each partial.

        Notes
        -----
        Dashpot spread evenly over the width, first order in the mode (modal mass mu L/2):
        sigma_n = R <sin^2(n pi x/L)>/(mu L), <sin^2> = [1 - cos(2 n pi x/L) sinc(n w/L)]/2.
        The touch is taken as light: it does not shorten the string. Beyond the wave impedance of the string (0.3 to
        0.8 N s/m) that is rough.
        """
        n = np.asarray(number, dtype=float)
        position = self.position if self.share is None else self.share * length
        wave = np.cos(2.0 * np.pi * n * position / length) * np.sinc(n * self.width / length)
        return np.asarray(0.5 * self.resistance * (1.0 - wave) / (unit_mass * length))
