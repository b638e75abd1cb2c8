"""Sums of damped modes at any stretch of time, in closed form: no state runs along, so any block can be asked for."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from polepiece.later import njit

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

BLOCK = 256
SILENT = 1e-7  # a mode under -140 dB of the loudest one in its sum is no longer computed
GROUP = 32  # blocks a matrix product
FINE = 32  # of a table: powers multiplied by all of the rest


def _powers(pole: Complexes, count: int) -> Complexes:
    """``pole ** k`` for k = 0 .. count - 1, a power of two, shape (m, count), by doubling: few roundings."""
    table = np.empty((pole.size, count), dtype=complex)
    table[:, 0] = 1.0
    done, step = 1, pole[:, None]
    while done < count:
        table[:, done : 2 * done] = table[:, :done] * step
        done, step = 2 * done, step * step
    return table


def _basis(pole: Complexes, kind: Any) -> "NDArray[Any]":
    """Real parts and negative imaginary parts of ``pole ** k``, k = 0 .. BLOCK - 1, one pair of rows a pole."""
    out: NDArray[Any] = np.empty((pole.size, 2, BLOCK), dtype=kind)
    fine: NDArray[Any] = _powers(pole, FINE)
    coarse: NDArray[Any] = _powers(fine[:, -1] * pole, BLOCK // FINE)
    if kind is np.float32:  # a product of two numbers of 32 bits is off by as much as what it is kept in
        fine, coarse = fine.astype(np.complex64), coarse.astype(np.complex64)
    _products(coarse, fine, out)
    return out.reshape(-1, BLOCK)


class ModeBank:
    """Exponents of one string's modes with their table over one block; shared by all notes on that string.

    Parameters
    ----------
    exponent : shape (m,), -sigma + j omega, 1/s; sigma >= 0.
    sample_rate : Hz.
    single_precision : sum in 32 bits (-120 dB), twice as fast; phases are always kept in 64.
    """

    def __init__(self, exponent: Complexes, *, sample_rate: float, single_precision: bool = False) -> None:
        self.order = np.argsort(-exponent.real, kind="stable")  # those that live longest first
        self.exponent = exponent[self.order]
        self.sample_rate = sample_rate
        self.kind: Any = np.float32 if single_precision else np.float64
        self.pair: Any = np.complex64 if single_precision else np.complex128
        self.basis = _basis(np.exp(self.exponent / sample_rate), self.kind)
        self.step = np.exp(self.exponent * (BLOCK / sample_rate))
        self.steps = _powers(self.step, GROUP).T.copy()  # (GROUP, m); of a part, more behind them

    def part(self, kept: NDArray[np.bool_]) -> "ModeBank":
        """Return the bank of the exponents where ``kept`` (m,) is true, summed in 32 bits; its table is taken over."""
        other = object.__new__(ModeBank)
        inside = kept[self.order]
        count = int(np.count_nonzero(inside))
        place = np.cumsum(kept) - 1
        other.sample_rate, other.kind, other.pair = self.sample_rate, np.float32, np.complex64
        if inside[:count].all():  # those that live longest, as low partials do: nothing is copied
            other.order, other.exponent = place[self.order[:count]], self.exponent[:count]
            other.step, other.steps, basis = self.step[:count], self.steps, self.basis[: 2 * count]
        else:
            other.order, other.exponent = place[self.order[inside]], self.exponent[inside]
            other.step, other.steps = self.step[inside], np.ascontiguousarray(self.steps[:, inside])
            basis = self.basis[np.repeat(inside, 2)]
        other.basis = basis.astype(np.float32, copy=False)
        return other


@dataclass(frozen=True, slots=True, eq=False)
class ModeSum:
    """Real parts of ``weight @ exp(exponent t)``: one row an output.

    Attributes
    ----------
    bank : the modes.
    weight : shape (o, m), complex amplitudes in the order of the bank.
    until : shape (m,), s: a mode is silent from here on, and so are all behind it.

    Notes
    -----
    Derived here: an exponential of a sum is a product of exponentials.
    """

    bank: ModeBank
    weight: Complexes
    until: Floats

    @classmethod
    def of(cls, bank: ModeBank, weight: Complexes, *, silent: float = SILENT) -> "ModeSum":
        """Take ``weight`` (o, m) in the order in which the bank was given its exponents.

        A mode whose amplitude falls under the share ``silent`` of the loudest initial one of every output is dropped.
        """
        return cls.in_order(bank, np.ascontiguousarray(weight[:, bank.order]), silent=silent)  # one layout

    @classmethod
    def in_order(cls, bank: ModeBank, weight: Complexes, *, silent: float = SILENT) -> "ModeSum":
        """Take ``weight`` (o, m), contiguous, in the order of the bank: see `of`."""
        return cls(bank, weight, _until(weight, bank.exponent, silent))

    def at_start(self) -> Floats:
        """The sums at t = 0, shape (o,)."""
        return np.asarray(self.weight.real.sum(axis=1))

    def sums(self, first: float, count: int) -> NDArray[Any]:
        """Return the sums (o, count) from sample ``first`` (>= 0; a part of one, too) on.

        Notes
        -----
        exp(s (t_b + tau)) = exp(s t_b) exp(s tau): one real matrix product for a group of blocks.
        """
        bank, outputs = self.bank, self.weight.shape[0]
        blocks = -(-count // BLOCK)
        size = -(-blocks // max(-(-blocks // GROUP), 1)) or 1
        out: NDArray[Any] = np.zeros((outputs, blocks, BLOCK), dtype=bank.kind)
        for low in range(0, blocks, size):
            high = min(low + size, blocks)
            start = (first + low * BLOCK) / bank.sample_rate
            alive = self.until.size - int(self.until[::-1].searchsorted(start, side="right"))
            if alive == 0:
                break
            now = np.empty((outputs, high - low, 2 * alive), dtype=bank.kind)
            _turned(self.weight, bank.exponent, bank.steps, start, now)
            flat: NDArray[Any] = now.reshape(-1, 2 * alive) @ bank.basis[: 2 * alive]
            if low == 0 and high == blocks:
                return flat.reshape(outputs, -1)[:, :count]
            out[:, low:high] = flat.reshape(outputs, high - low, BLOCK)
        return out.reshape(outputs, -1)[:, :count]


@njit(cache=True, fastmath=True)
def _products(coarse, fine, out):  # type: ignore[no-untyped-def]
    """Write coarse (m, i) fine (m, j) to ``out`` (m, 2, i j), real parts and negative imaginary parts."""
    many = fine.shape[1]
    for m in range(out.shape[0]):
        for i in range(coarse.shape[1]):
            a, b = coarse[m, i].real, coarse[m, i].imag
            real, imag = out[m, 0, i * many : (i + 1) * many], out[m, 1, i * many : (i + 1) * many]
            for j in range(many):
                c, d = fine[m, j].real, fine[m, j].imag
                real[j], imag[j] = a * c - b * d, -(a * d + b * c)


@njit(cache=True)
def _until(weight, exponent, silent):  # type: ignore[no-untyped-def]
    """Time (m,), s, from which on a mode and all behind it are under the share ``silent`` of the loudest one."""
    outputs, modes = weight.shape
    until = np.zeros(modes)
    for o in range(outputs):
        most = 0.0
        for m in range(modes):
            most = max(most, np.abs(weight[o, m]))
        if most > 0.0:
            for m in range(modes):
                until[m] = max(until[m], np.abs(weight[o, m]) / most)
    last = -1.0
    for m in range(modes - 1, -1, -1):
        if until[m] > silent:
            last = max(last, np.log(until[m] / silent) / max(-exponent[m].real, 1e-12))
        until[m] = last
    return until


@njit(cache=True, fastmath=True)
def _turned(weight, exponent, steps, start, now):  # type: ignore[no-untyped-def]
    """Write weight (o, m) exp(exponent start) steps (b, m) to ``now`` (o, b, 2 m), real and imaginary parts in turn."""
    alive = now.shape[2] // 2
    real, imag = np.empty(alive), np.empty(alive)
    for m in range(alive):
        fade, angle = np.exp(exponent[m].real * start), exponent[m].imag * start
        real[m], imag[m] = fade * np.cos(angle), fade * np.sin(angle)
    one, other = np.empty(alive), np.empty(alive)
    for o in range(now.shape[0]):
        for m in range(alive):
            w = weight[o, m]
            one[m] = w.real * real[m] - w.imag * imag[m]
            other[m] = w.real * imag[m] + w.imag * real[m]
        for b in range(now.shape[1]):
            put, step = now[o, b], steps[b]
            for m in range(alive):
                put[2 * m] = one[m] * step[m].real - other[m] * step[m].imag
                put[2 * m + 1] = one[m] * step[m].imag + other[m] * step[m].real
