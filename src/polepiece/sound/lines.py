"""The one spectrum: every partial of a stroke as volts at the amplifier.

For partial n of a string, in each of its two motions j,

    V_jn = sum_c T_c(f_jn) [Z_cn w_jn + Y_cn u_jn] s_jn

with w and u the complex amplitudes (m) towards the pole and across the strings, s = -sigma + j omega, Z and Y what
channel c takes of the mode's shape (`StringSensing.mode_shapes`: place, aperture, both pole rows), T its response to
the amplifier's input (eddy currents, coil, wiring, controls, cable). Levels, bands, balance and the rendering of a
stroke of small amplitude are all of these numbers.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.voice import mode_motion
from polepiece.strings import Pluck, StringModes, StringSensing

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lines:
    """Partials of one stroke of one string: V(t) = Re sum voltage exp(exponent t).

    Attributes
    ----------
    exponent : shape (2, n), -sigma + j omega, 1/s; two motions a partial.
    voltage : shape (2, n), V at the moment of release.
    """

    exponent: Complexes
    voltage: Complexes

    @property
    def frequency(self) -> Floats:
        """Frequency of each partial (n,), Hz: of its mostly vertical motion."""
        return np.asarray(self.exponent[0].imag / (2.0 * np.pi))

    def energy(self, start: float, stop: float) -> Floats:
        """Return the integral of V^2 of each partial from ``start`` to ``stop`` (s), (n,), V^2 s.

        The slow beat of a partial's two motions is in it; fast terms at twice the frequency and beats between
        partials, which average out in a few periods, are not.
        """
        total = np.zeros(self.exponent.shape[1])
        for i in (0, 1):
            for j in (0, 1):
                rate = self.exponent[i] + self.exponent[j].conj()
                rate = np.where(np.abs(rate) < 1e-9, -1e-9, rate)
                span = (np.exp(rate * stop) - np.exp(rate * start)) / rate
                total += 0.5 * (self.voltage[i] * self.voltage[j].conj() * span).real
        return np.maximum(total, 0.0)


def stroke_lines(
    modes: StringModes, pluck: Pluck, sensing: StringSensing, response: Callable[[Floats], Complexes]
) -> Lines:
    """Return the partials of a stroke.

    Parameters
    ----------
    modes : of the string as it is fretted.
    pluck : the stroke.
    sensing : what the coils take of the string, c channels.
    response : of every channel, frequencies (m,) in Hz to volts a volt (c, m).
    """
    exponent, channel = channel_lines(modes, pluck, sensing)
    transfer = response(modes.frequency.ravel()).reshape(-1, *modes.frequency.shape)  # (c, 2, n)
    return Lines(exponent=exponent, voltage=np.asarray((transfer * channel).sum(axis=0)))


def channel_lines(modes: StringModes, pluck: Pluck, sensing: StringSensing) -> tuple[Complexes, Complexes]:
    """Return exponents (2, n) and the EMF in each channel at the moment of release (c, 2, n), V."""
    exponent, amplitude = mode_motion(modes, pluck)
    towards, across = sensing.mode_shapes(modes.number, modes.length)
    taken = towards[:, None] * amplitude[0][None] + across[:, None] * amplitude[1][None]
    return exponent, np.asarray(taken * exponent)
