"""Responses as sums of simple poles that they have in common: the natural motions of coils, cable and controls.

Vector fitting (Gustavsen and Semlyen, IEEE Trans. Power Delivery 14 (1999) 1052; from memory): poles are moved to the
zeros of a common denominator a few times, unstable ones turned over, then the residues are a linear fit.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.transfer import PickupResponse, responses_at

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

GRID = np.geomspace(25.0, 20e3, 120)  # Hz
PAIRS, ROUNDS = 5, 8
SLOWEST = 2.0 * np.pi * 80.0  # 1/s: what forgets more slowly than this is a level, not a ringing
FAINTEST = 1e-3  # -60 dB: through it is heard what heavily damped strokes leave far from their own frequencies
UNIT = 2.0 * np.pi * 1e3  # 1/s


@dataclass(frozen=True, slots=True, eq=False)
class CommonPoles:
    """Poles (q,), 1/s, on or above the real axis; the others are their conjugates.

    Vector fitting: Gustavsen and Semlyen 1999 (from memory).
    """

    pole: Complexes

    @classmethod
    def of(cls, responses: Sequence[PickupResponse]) -> "CommonPoles":
        """Find the common poles of ``responses``."""
        value = responses_at(responses, GRID)
        weight = _weight(value)
        s = _grid()
        start = np.geomspace(0.2, 15.0, PAIRS)
        pole = np.asarray(start * (-0.3 + 1j), dtype=complex)
        for _ in range(ROUNDS):
            pole = _moved(pole, s, value, weight)
        return cls(np.asarray(pole * UNIT))

    def residues(self, responses: Sequence[PickupResponse]) -> Complexes:
        """Residues (m, q) of each response, 1/s; of a real pole they are real."""
        s = _grid()
        basis = np.concatenate([_basis(self.pole / UNIT, s), np.ones((s.size, 1))], axis=1)
        out = []
        for wanted, weight in zip(value := responses_at(responses, GRID), _weight(value)):
            left, right = _stacked(weight[:, None] * basis), _stacked((weight * wanted)[:, None])[:, 0]
            found = np.asarray(np.linalg.lstsq(left, right, rcond=None)[0], dtype=float)
            out.append(_as_residues(self.pole, found[:-1]) * UNIT)
        return np.array(out)


def _grid() -> Complexes:
    return np.asarray(2j * np.pi * GRID / UNIT, dtype=complex)


def _basis(pole: Complexes, s: Complexes) -> Complexes:
    """Columns of the real coefficients: 1/(s - p) of a real pole; sum and difference of a pair."""
    columns = []
    for p in pole:
        one = 1.0 / (s - p)
        if p.imag == 0.0:
            columns.append(one)
        else:
            other = 1.0 / (s - np.conj(p))
            columns += [one + other, 1j * (one - other)]
    return np.stack(columns, axis=1)


def _as_residues(pole: Complexes, found: Floats) -> Complexes:
    out, k = [], 0
    for p in pole:
        out.append(found[k] + 0j if p.imag == 0.0 else found[k] + 1j * found[k + 1])
        k += 1 if p.imag == 0.0 else 2
    return np.array(out)


def _stacked(value: Complexes) -> Floats:
    return np.concatenate([value.real, value.imag])


def _weight(value: Complexes) -> Floats:
    """Weights (m, f) that make a fit good to a share of what is there, down to `FAINTEST` of the largest."""
    size = np.abs(value)
    return np.asarray(1.0 / (size + FAINTEST * np.max(size, axis=1, keepdims=True)))


def _moved(pole: Complexes, s: Complexes, value: Complexes, weight: Floats) -> Complexes:
    """One round: fit sigma value = rational with the poles, sigma = 1 + sum c/(s - p); its zeros are the new poles."""
    basis = _basis(pole, s)
    own = np.concatenate([basis, np.ones((s.size, 1))], axis=1)
    rows, right = [], []
    for one, share in zip(value, weight):  # what the numerator cannot take up decides on sigma
        w = share[:, None]
        left, shared, wanted = _stacked(w * own), _stacked(-w * one[:, None] * basis), _stacked(w * one[:, None])
        q, _ = np.linalg.qr(left)
        rows.append(shared - q @ (q.T @ shared))
        right.append(wanted - q @ (q.T @ wanted))
    c = np.linalg.lstsq(np.concatenate(rows), np.concatenate(right)[:, 0], rcond=None)[0]
    return _zeros(pole, np.asarray(c, dtype=float))


def _zeros(pole: Complexes, c: Floats) -> Complexes:
    """Zeros of 1 + sum c/(s - p), turned into the left half and kept above the axis."""
    blocks, ones = [], []
    for p in pole:
        if p.imag == 0.0:
            blocks.append(np.array([[p.real]]))
            ones.append([1.0])
        else:
            blocks.append(np.array([[p.real, p.imag], [-p.imag, p.real]]))
            ones.append([2.0, 0.0])
    size = c.size
    matrix, at = np.zeros((size, size)), 0
    for block in blocks:
        matrix[at : at + len(block), at : at + len(block)] = block
        at += len(block)
    found = np.linalg.eigvals(matrix - np.outer(np.concatenate(ones), c))
    found = -np.abs(found.real) + 1j * found.imag
    found = np.minimum(found.real, -SLOWEST / UNIT) + 1j * found.imag
    above = found[found.imag > 1e-9]
    level = found[np.abs(found.imag) <= 1e-9].real + 0j
    return np.concatenate([above, level])
