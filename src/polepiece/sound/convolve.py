"""The pickup's response as a filter that takes a signal block by block, and the derivative of another beside it."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from polepiece.later import fft, njit
from polepiece.sound.transfer import PickupResponse, responses_at

Floats = NDArray[np.float64]
Spectra = NDArray[np.complex64]

DESIGN_S = 0.34  # s, length of the design transform
BEFORE, AFTER = 384, 3712  # taps at 48 kHz: the response is given to its highest frequency only, so not quite causal
BATCH = 4  # rows together: as many as numbers of 32 bits are worked on at once, less of them take twice as long
ALIKE = 1e-5  # of each response may be lost where they are put together from a few: -100 dB, as a partial that glides
SLOPE_END = 0.42  # of the sample rate: the derivative goes to zero from here to half the rate, over the audible band


def response_taps(responses: Sequence[PickupResponse], sample_rate: float, *, derivative: bool = False) -> Floats:
    """Return the taps of each response, or of each one's derivative, (m, n), the first of them `lead` samples early.

    Notes
    -----
    A passive pickup with its circuit forgets in some 50 ms; 77 ms are kept. Both ends fade over 64 samples.
    Inverse Fourier transform of the response: definition.
    """
    size = 1 << int(np.ceil(np.log2(DESIGN_S * sample_rate)))
    frequency = fft.rfftfreq(size, 1.0 / sample_rate)
    value = responses_at(responses, frequency)
    value[:, -1] = value[:, -1].real
    if derivative:
        end = np.clip((frequency / sample_rate - SLOPE_END) / (0.5 - SLOPE_END), 0.0, 1.0)
        value = 2j * np.pi * frequency * value * (0.5 + 0.5 * np.cos(np.pi * end))
    before = lead(sample_rate)
    after = round(AFTER * sample_rate / 48e3)
    edge = np.ones(before + after)
    ramp = 0.5 - 0.5 * np.cos(np.pi * (np.arange(64) + 0.5) / 64)
    edge[:64], edge[-64:] = ramp, ramp[::-1]
    whole = fft.irfft(value, size, axis=1)
    return np.asarray(np.concatenate([whole[:, -before:], whole[:, :after]], axis=1) * edge)


def lead(sample_rate: float) -> int:
    """How many samples the output lies behind the input."""
    return round(BEFORE * sample_rate / 48e3)


class ResponseFilter:
    """Takes blocks of voltage (V) and flux (V s), one row a response; gives volts behind all responses together.

    Parameters
    ----------
    linear : what each row of voltage goes through.
    curved : what the derivative of each row of flux goes through.
    sample_rate : Hz.

    Notes
    -----
    Overlap-add convolution (textbooks, from memory), in 32 bits (-130 dB), as its input is. Responses that are alike,
    as those of the coils of one pickup are for every string, are sums of fewer; where more strings sound than there are
    of these, the sound is mixed for them first, which is quicker than a transform a row.
    """

    def __init__(self, linear: Sequence[PickupResponse], curved: Sequence[PickupResponse], sample_rate: float) -> None:
        made = [response_taps(linear, sample_rate)]
        if curved:
            made.append(response_taps(curved, sample_rate, derivative=True))
        self._few, self._mix = put_together(np.concatenate(made))
        self._spectra: dict[int, Spectra] = {}
        self._rows: dict[int, tuple[NDArray[np.float32], int]] = {}  # by their size, and how far they were filled
        self._carried = np.zeros(self._few.shape[1] - 1)

    def push(self, voltage: NDArray[np.floating], flux: NDArray[np.floating]) -> Floats:
        """Take one block of each, (m, t), and return as many samples, `lead` behind."""
        count = voltage.shape[1]
        size = fft.next_fast_len(count + self._carried.size, real=True)
        if size not in self._spectra:
            self._spectra[size] = fft.rfft(self._few, size, axis=1).astype(np.complex64)
        on, parts = self._spectra[size], (voltage, flux[: self._mix.shape[0] - voltage.shape[0]])
        sounds = np.concatenate([rows.any(axis=1) for rows in parts])
        few = on.shape[0] < np.count_nonzero(sounds)
        wanted = on.shape[0] if few else int(np.count_nonzero(sounds))
        padded = self._padded(size, count)[: -(-wanted // BATCH) * BATCH]
        rows = padded[:wanted, :count]
        if few:
            first, second = np.split(self._mix.T, [voltage.shape[0]], axis=1)
            np.matmul(first, parts[0], out=rows)
            if second.size:
                rows += second @ parts[1]
        else:
            on = self._mix[sounds] @ on
            np.concatenate([part[one] for part, one in zip(parts, np.split(sounds, [voltage.shape[0]]))], out=rows)
        total = np.zeros(size // 2 + 1, dtype=np.complex64)
        _add_products(fft.rfft(padded, axis=1), on, total)
        whole = fft.irfft(total, size)[: count + self._carried.size]
        whole[: self._carried.size] += self._carried
        self._carried = whole[count:].copy()
        return np.asarray(whole[:count])

    def _padded(self, size: int, count: int) -> NDArray[np.float32]:
        """Return rows (n, size) to be transformed, at hand from block to block, with nothing behind ``count``."""
        if size not in self._rows:
            self._rows[size] = np.zeros((-(-self._few.shape[0] // BATCH) * BATCH, size), dtype=np.float32), count
        rows, last = self._rows[size]
        rows[:, count:last] = 0.0
        self._rows[size] = rows, count
        return rows


@njit(cache=True, fastmath=True)
def _add_products(spectra, on, total):  # type: ignore[no-untyped-def]
    for row in range(on.shape[0]):
        one, other = spectra[row], on[row]
        for f in range(total.size):
            total[f] += one[f] * other[f]


def put_together(taps: Floats) -> tuple[Floats, NDArray[np.float32]]:
    """Return a few sets of taps (k, n) and the share (m, k) of each in ``taps`` (m, n): `ALIKE` of none is lost.

    Notes
    -----
    Principal components of the responses, each taken as of size one (textbooks, from memory).
    """
    size = np.linalg.norm(taps, axis=1)
    unit = taps / np.where(size > 0.0, size, 1.0)[:, None]
    energy, shares = np.linalg.eigh(unit @ unit.T)  # smallest first
    left_out = int(np.searchsorted(np.cumsum(np.maximum(energy, 0.0)), ALIKE**2))
    kept = shares[:, left_out:]
    return kept.T @ unit, np.asarray(size[:, None] * kept, dtype=np.float32)
