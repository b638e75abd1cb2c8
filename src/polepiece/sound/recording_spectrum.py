"""What a recording holds on an average, and what is left of it where it is quietest; in flat memory."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from polepiece.sound.descriptors import band_power, third_octave_edges, third_octaves

Floats = NDArray[np.float64]

WINDOW_S = 0.085  # a bin of 12 Hz: there is room between the partials of a low E
QUIETEST = 12  # windows that are kept
FEWEST = 20  # windows, 1.7 s: in less there need be no quiet part
AT_MOST = 0.1  # of all windows: in a short recording fewer are quiet
HISS_HZ = (2000.0, 8000.0)  # where strings die within a second
THIRDS = third_octaves(250.0, 8000.0)  # Hz
TINY = 1e-30


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RecordingSpectrum:
    """Mean squares, full scale 1.0.

    Attributes
    ----------
    hiss : of noise between 2 and 8 kHz in the quietest tenth of a recording, between partials.
    third_octaves : shape (b,), of the whole recording in `THIRDS`, less that noise.
    windows : that were looked at; those of digital silence are left out.
    """

    hiss: float
    third_octaves: Floats
    windows: int


class SpectrumMeter:
    """Reads a recording in blocks; what is kept does not grow with it.

    Mean of periodograms (Welch 1967, memory) with Hann windows end to end. The noise is told from the lowest tenth of
    the bins between 2 and 8 kHz, mean over the quietest windows: partials stand in most of the bins of a chord. A tenth
    of all means of m exponentials lie under (1 - 1/(9 m) - 1.2816/(3 sqrt m))^3 of what they are means of (Wilson and
    Hilferty 1931, memory).
    """

    def __init__(self, sample_rate: float) -> None:
        self._size = max(256, round(WINDOW_S * sample_rate))
        self._taper = np.hanning(self._size)
        self._frequency: Floats = np.asarray(np.fft.rfftfreq(self._size, 1.0 / sample_rate), dtype=float)
        self._band = (self._frequency >= HISS_HZ[0]) & (self._frequency <= HISS_HZ[1])
        self._scale = 2.0 / (self._size * float(np.sum(self._taper**2)))
        self._rest: Floats = np.zeros(0)
        self._sum: Floats = np.zeros(self._frequency.size)
        self._quiet: Floats = np.zeros((0, int(self._band.sum())))
        self._count = 0

    def add(self, mono: Floats) -> None:
        """Take the next samples (t,)."""
        whole = np.concatenate([self._rest, mono])
        count = whole.size // self._size
        self._rest = whole[count * self._size :].copy()
        if not count:
            return
        windows = whole[: count * self._size].reshape(count, self._size)
        windows = windows[np.any(windows, axis=1)]
        power = self._scale * np.abs(np.fft.rfft(windows * self._taper, axis=1)) ** 2
        self._sum += power.sum(axis=0)
        self._count += len(power)
        quiet = np.concatenate([self._quiet, power[:, self._band]])
        self._quiet = quiet[np.argsort(quiet.sum(axis=1), kind="stable")[:QUIETEST]]

    def found(self) -> RecordingSpectrum:
        """Return what was found."""
        kept = self._quiet[: max(1, min(QUIETEST, int(AT_MOST * self._count)))]
        if not len(kept):
            return RecordingSpectrum(hiss=0.0, third_octaves=np.zeros(THIRDS.size), windows=0)
        m = len(kept)
        tenth = (1.0 - 1.0 / (9.0 * m) - 1.2816 / (3.0 * np.sqrt(m))) ** 3
        middle = float(np.quantile(kept.mean(axis=0), 0.1)) / tenth
        mean = self._sum / self._count
        less = band_power(self._frequency, mean - middle, *third_octave_edges(THIRDS))
        hiss = middle * float(self._band.sum()) if self._count >= FEWEST else 0.0
        return RecordingSpectrum(hiss=hiss, third_octaves=np.maximum(less, TINY), windows=self._count)
