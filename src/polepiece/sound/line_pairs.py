"""Pairs of damped exponentials that sound at the same time, and the integrals of their products."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.phrase_lines import PhraseLines

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Places = NDArray[np.int_]


@dataclass(frozen=True, slots=True, eq=False)
class LinePairs:
    """Pairs (q,) of lines: first, second, and exp(s_i (t - t_i)) exp(s_j (t - t_j)) over the time that they share.

    Attributes
    ----------
    first, second : indices of the lines; s_j is the conjugate of the second's.
    start, stop : s.
    product : at ``start``.
    rate : s_i + s_j, 1/s.

    Notes
    -----
    Definition of a product of exponentials; its integral is elementary (derived here).
    """

    first: Places
    second: Places
    start: Floats
    stop: Floats
    product: Complexes
    rate: Complexes

    @classmethod
    def of(cls, lines: PhraseLines, first: Places, second: Places) -> "LinePairs":
        """Pair ``first`` with the conjugates of ``second``."""
        i, j = first, second
        s_i, s_j = lines.exponent[i], lines.exponent[j].conj()
        start = np.maximum(lines.start[i], lines.start[j])
        product = np.exp(s_i * (start - lines.start[i]) + s_j * (start - lines.start[j]))
        rate = s_i + s_j
        rate = np.where(np.abs(rate) < 1e-9, -1e-9, rate)
        return cls(i, j, start, np.minimum(lines.stop[i], lines.stop[j]), product, rate)

    def integral(self, start: float = 0.0, stop: float = np.inf) -> Complexes:
        """Integral of each product between two times, clipped to those of the pair, s."""
        low, high = np.maximum(self.start, start), np.minimum(self.stop, stop)
        span = np.maximum(high - low, 0.0)
        return np.asarray(
            self.product * np.exp(self.rate * (low - self.start)) * np.expm1(self.rate * span) / self.rate
        )

    def chosen(self, kept: NDArray[np.bool_]) -> "LinePairs":
        """Return the pairs where ``kept`` (q,) is true."""
        return LinePairs(*(getattr(self, name)[kept] for name in self.__slots__))


def near_pairs(lines: PhraseLines, beat: float) -> LinePairs:
    """Pairs of lines nearer than ``beat`` (Hz) that sound at the same time; each line with itself among them."""
    order = np.argsort(lines.exponent.imag, kind="stable")
    found = [np.stack([order, order])]
    omega = lines.exponent.imag[order]
    for step in range(1, order.size):
        near = np.flatnonzero(omega[step:] - omega[:-step] < 2.0 * np.pi * beat)
        if not near.size:
            break
        i, j = order[near], order[near + step]
        kept = _meet(lines, i, j)
        found.append(np.stack([i[kept], j[kept]]))
    return LinePairs.of(lines, *np.concatenate(found, axis=1))


def _meet(lines: PhraseLines, i: Places, j: Places) -> NDArray[np.bool_]:
    together = np.minimum(lines.stop[i], lines.stop[j]) > np.maximum(lines.start[i], lines.start[j])
    sweeping = (lines.sweeping[i] | lines.sweeping[j]) & (lines.string[i] != lines.string[j])
    return np.asarray(together & ~sweeping)
