"""The one spectrum: every partial of a stroke as volts at the amplifier.

For partial n of a string, in each of its two motions j,

    V_jn = sum_c T_c(f_jn) [Z_cn w_jn + Y_cn u_jn] s_jn

with w and u the complex amplitudes (m) towards the pole and across the strings, s = -sigma + j omega, Z and Y what
channel c takes of the mode's shape (`StringSensing.mode_shapes`: place, aperture, both pole rows), T its response to
the amplifier's input (eddy currents, coil, wiring, controls, cable). Levels, bands, balance and the rendering of a
stroke of small amplitude are all of these numbers.
"""

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.voice import mode_motion
from polepiece.strings import Pluck, StringModes, StringSensing

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


def channel_lines(modes: StringModes, pluck: Pluck, sensing: StringSensing) -> tuple[Complexes, Complexes]:
    """Return exponents (2, n) and the EMF in each channel at the moment of release (c, 2, n), V.

    The equation of the module, derived in docs/theory/strings-and-sound.md, "One spectrum".
    """
    exponent, amplitude = mode_motion(modes, pluck)
    towards, across = sensing.mode_shapes(modes.number, modes.length)
    taken = towards[:, None] * amplitude[0][None] + across[:, None] * amplitude[1][None]
    return exponent, np.asarray(taken * exponent)
