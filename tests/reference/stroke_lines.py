"""The partials of one stroke of one string at the amplifier, one by one."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.lines import channel_lines
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
