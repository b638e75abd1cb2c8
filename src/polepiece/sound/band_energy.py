"""Energy of damped exponentials behind third-octave filters, exact: what a line leaves in bands that it is not in, too.

The power weight of `third_octave_weights` is rational, so w(tau) = sum_p r_p exp(p |tau|) + conjugates, and with

    y_p(t) = integral_0^inf exp(p tau) x(t - tau) dtau,        E_b = 4 Re sum_p r_p integral x y_p dt.

Between two events (a note begins, fades, ends) x is a sum of exponentials and y_p = sum_n V_n/(s_n - p) exp(s_n t) plus
c_p exp(p t), the filter's own ringing, which the events set off. Both integrals are elementary.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.descriptors import THIRD_OCTAVE_EDGE
from polepiece.sound.phrase_lines import PhraseLines

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

QUIET = 1e-4  # of the strongest ringing of a filter pole so far: -80 dB, left out
ROOTS = np.exp(1j * np.pi * np.array([2.0 / 3.0, 1.0, 4.0 / 3.0]))  # of 1 - S^6 on the left


@dataclass(frozen=True, slots=True, eq=False)
class BandPoles:
    """Poles p (b, 3) with positive imaginary part and their residues r (b, 3) of the weight of each band, 1/s."""

    pole: Complexes
    residue: Complexes

    @classmethod
    def of(cls, middle: Floats) -> "BandPoles":
        """Return them for third octaves about ``middle`` (b,), Hz.

        Notes
        -----
        1/(1 - S^6), S = (z + 1/z)/B, z = s/omega_m: each left root S_k gives two z, of which one is above the axis.
        Derived here.
        """
        width = THIRD_OCTAVE_EDGE - 1.0 / THIRD_OCTAVE_EDGE
        half = 0.5 * width * ROOTS
        z = half + 1j * np.sqrt(1.0 - half**2)
        residue = -width / (6.0 * ROOTS**5 * (1.0 - z**-2))
        omega = 2.0 * np.pi * middle[:, None]
        return cls(omega * z, omega * residue)


def filtered_energy(lines: PhraseLines, product: Complexes, middle: Floats) -> Floats:
    """Return the energy (b,) of ``lines`` in third octaves about ``middle`` (b,), V^2 s.

    Parameters
    ----------
    lines : the lines (n,).
    product : shape (n,), V^2 s: of each line n the sum of V_n V_m integral exp((s_n + s_m) t) over all lines m and
        their conjugates.
    middle : Hz.

    Notes
    -----
    Derived in the module's docstring.
    """
    poles, s = BandPoles.of(middle), lines.exponent
    p, r = poles.pole.ravel(), poles.residue.ravel()
    weight = product @ (1.0 / (s[:, None] - p)) + product.conj() @ (1.0 / (s.conj()[:, None] - p))
    weight = weight + 2.0 * _ringing(lines, p)
    return np.asarray((r * weight).real.reshape(middle.size, -1).sum(axis=1))


def _ringing(lines: PhraseLines, p: Complexes) -> Complexes:
    """Sum over the times between events of the integral of 2 x(t) c_p exp(p t), (p,)."""
    total, c = np.zeros(p.size, dtype=complex), np.zeros(p.size, dtype=complex)
    most = np.zeros(p.size)
    for event in _events(lines):
        c = c + event.jump(p)
        most = np.maximum(most, np.abs(c))
        heard = np.abs(c) > QUIET * most
        if event.span > 0.0 and event.voltage.size and np.any(heard):
            total[heard] += c[heard] * event.overlap(p[heard])
        c = c * np.exp(p * event.span)
    return total


@dataclass(frozen=True, slots=True, eq=False)
class _Event:
    """A moment where lines end and begin, and the time until the next one."""

    span: float
    ended: tuple[Complexes, Complexes]  # exponents and voltages at the moment
    begun: tuple[Complexes, Complexes]
    sounding: Complexes  # exponents of all that sound from here on
    voltage: Complexes

    def jump(self, p: Complexes) -> Complexes:
        """What the event adds to the filters' own ringing."""
        total = np.zeros(p.size, dtype=complex)
        for sign, (s, v) in ((0.5, self.ended), (-0.5, self.begun)):
            if s.size:
                total += sign * (v @ (1.0 / (s[:, None] - p)) + v.conj() @ (1.0 / (s.conj()[:, None] - p)))
        return total

    def overlap(self, p: Complexes) -> Complexes:
        """Integral of 2 x(t) exp(p t) until the next event."""
        total = np.zeros(p.size, dtype=complex)
        decay = np.exp(p * self.span)
        for s, v in ((self.sounding, self.voltage), (self.sounding.conj(), self.voltage.conj())):
            over = 1.0 / (s[:, None] + p)
            total += decay * ((v * np.exp(s * self.span)) @ over) - v @ over
        return total


def _events(lines: PhraseLines) -> Iterator[_Event]:
    """The events in order of time, groups of lines as a whole."""
    order = np.argsort(lines.group, kind="stable")
    first = np.flatnonzero(np.diff(lines.group[order], prepend=-1))
    members = np.split(order, first[1:])
    start = np.array([lines.start[one[0]] for one in members])
    stop = np.array([lines.stop[one[0]] for one in members])
    times = np.unique(np.round(np.concatenate([start, stop]), 9))
    for k, now in enumerate(times):
        span = float(times[k + 1] - now) if k + 1 < times.size else 0.0

        def state(chosen: NDArray[np.bool_], at: float = float(now)) -> tuple[Complexes, Complexes]:
            which = np.concatenate([np.zeros(0, dtype=int), *(members[g] for g in np.flatnonzero(chosen))])
            s = lines.exponent[which]
            return s, lines.voltage[which] * np.exp(s * (at - lines.start[which]))

        near = 1e-8
        sounding, volts = state((start < now + near) & (stop > now + near))
        yield _Event(span, state(np.abs(stop - now) < near), state(np.abs(start - now) < near), sounding, volts)
