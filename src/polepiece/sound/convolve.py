"""The pickup's response as a filter that takes a signal block by block, and the derivative of another beside it."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from polepiece.sound.transfer import PickupResponse

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

DESIGN_S = 0.34  # s, length of the design transform
BEFORE, AFTER = 384, 3712  # taps at 48 kHz: the response is given to its highest frequency only, so not quite causal
SLOPE_END = 0.42  # of the sample rate: the derivative goes to zero from here to half the rate, over the audible band


def response_taps(response: PickupResponse, sample_rate: float) -> tuple[Floats, Floats]:
    """Return the taps of the response and of its derivative, (n,), the first of them `lead` samples early.

    Notes
    -----
    A passive pickup with its circuit forgets in some 50 ms; 77 ms are kept. Both ends fade over 64 samples.
    """
    size = 1 << int(np.ceil(np.log2(DESIGN_S * sample_rate)))
    frequency = fft.rfftfreq(size, 1.0 / sample_rate)
    value = response.at(frequency)
    value[-1] = value[-1].real
    end = np.clip((frequency / sample_rate - SLOPE_END) / (0.5 - SLOPE_END), 0.0, 1.0)
    slope = 2j * np.pi * frequency * value * (0.5 + 0.5 * np.cos(np.pi * end))
    before = lead(sample_rate)
    after = round(AFTER * sample_rate / 48e3)
    edge = np.ones(before + after)
    ramp = 0.5 - 0.5 * np.cos(np.pi * (np.arange(64) + 0.5) / 64)
    edge[:64], edge[-64:] = ramp, ramp[::-1]
    out = []
    for one in (value, slope):
        whole = fft.irfft(one, size)
        out.append(np.concatenate([whole[-before:], whole[:after]]) * edge)
    return out[0], out[1]


def lead(sample_rate: float) -> int:
    """How many samples the output lies behind the input."""
    return round(BEFORE * sample_rate / 48e3)


class ResponseFilter:
    """Takes blocks of voltage (V) and flux (V s), one row a channel; gives volts behind all responses together."""

    def __init__(self, responses: Sequence[PickupResponse], sample_rate: float) -> None:
        self._taps = [response_taps(one, sample_rate) for one in responses]
        self._spectra: dict[int, list[tuple[Complexes, Complexes]]] = {}
        self._carried = np.zeros(self._taps[0][0].size - 1)

    def push(self, voltage: Floats, flux: Floats) -> Floats:
        """Take one block (c, t) of each and return as many samples, `lead` behind."""
        count = voltage.shape[1]
        size = fft.next_fast_len(count + self._carried.size, real=True)
        if size not in self._spectra:
            self._spectra[size] = [(fft.rfft(v, size), fft.rfft(f, size)) for v, f in self._taps]
        total = np.zeros(size // 2 + 1, dtype=complex)
        for row, (on_voltage, on_flux) in enumerate(self._spectra[size]):
            if np.any(voltage[row]):
                total += fft.rfft(voltage[row], size) * on_voltage
            if np.any(flux[row]):
                total += fft.rfft(flux[row], size) * on_flux
        whole = fft.irfft(total, size)[: count + self._carried.size]
        whole[: self._carried.size] += self._carried
        self._carried = whole[count:].copy()
        return whole[:count]
