"""Loudness and peak of a sound that comes block by block: memory does not grow with it but for 10 numbers a second."""

from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from polepiece.errors import MeasurementError
from polepiece.sound.checks import SILENT_PEAK
from polepiece.sound.loudness import GATE_BLOCK_S, PEAK_OVERSAMPLING, k_weighting
from polepiece.sound.streams import Sections

Floats = NDArray[np.float64]

HOPS = 4  # a gating block, 75 % overlap
HOP_S = GATE_BLOCK_S / HOPS
OFFSET_LUFS = -0.691  # BS.1770
ABSOLUTE_GATE_LUFS, RELATIVE_GATE_LU = -70.0, -10.0


class LoudnessMeter:
    """ITU-R BS.1770 in passing: the same figures as `loudness_as_given` and `peak_dbfs` of the whole.

    Parameters
    ----------
    sample_rate : Hz.
    channels : 1 or 2.
    """

    def __init__(self, sample_rate: int, channels: int) -> None:
        self._rate, self._weigh = sample_rate, Sections(k_weighting(sample_rate), channels)
        self._finer = soxr.ResampleStream(
            sample_rate, PEAK_OVERSAMPLING * sample_rate, channels, dtype="float64", quality="VHQ"
        )
        self._energy: list[float] = []  # of the finished hops
        self._open, self._frames = 0.0, 0  # energy of the hop at hand; frames so far
        self._sample, self._between = 0.0, 0.0  # highest sample, highest value between samples

    def add(self, block: NDArray[Any]) -> None:
        """Take the next block, shape (t, c)."""
        sound = np.asarray(block, dtype=float)
        power = np.sum(self._weigh.process(np.ascontiguousarray(sound.T)) ** 2, axis=0)
        start = 0
        while start < power.size:
            edge = min(self._edge(len(self._energy) + 1) - self._frames, power.size - start)
            self._open += float(np.sum(power[start : start + edge]))
            start, self._frames = start + edge, self._frames + edge
            if self._frames == self._edge(len(self._energy) + 1):
                self._energy.append(self._open)
                self._open = 0.0
        self._sample = max(self._sample, float(np.max(np.abs(sound), initial=0.0)))
        self._read(self._finer.resample_chunk(np.ascontiguousarray(sound)))

    def finish(self) -> None:
        """Say that nothing more comes."""
        channels = self._weigh.channels
        self._read(self._finer.resample_chunk(np.zeros((0, channels)), last=True))

    @property
    def hop_energy(self) -> Floats:
        """K-weighted energy of each tenth of a second, the last one perhaps shorter."""
        return np.array([*self._energy, self._open])

    @property
    def peak_dbfs(self) -> float:
        """Peak between samples, dBFS."""
        highest = max(self._sample, self._between)
        return float(20.0 * np.log10(highest)) if highest > 0.0 else -np.inf

    def loudness(self, name: str) -> float:
        """Gated loudness (LUFS), the absolute gate 70 LU under a full-scale reading of the whole.

        Raises
        ------
        MeasurementError
            For a silent sound or one shorter than 0.4 s; the message calls it ``name``.
        """
        seconds = self._frames / self._rate
        if self._sample < SILENT_PEAK:
            raise MeasurementError(f"signal {name!r}: the signal is silent (no sample reaches -120 dBFS).")
        if seconds < GATE_BLOCK_S:
            raise MeasurementError(
                f"signal {name!r}: the signal lasts {seconds:.3f} s; loudness needs at least {GATE_BLOCK_S} s "
                "(one gating block)."
            )
        try:
            return gated_lufs(self.hop_energy / (HOP_S * self._rate), seconds=seconds, peak=self._sample)
        except MeasurementError as error:
            raise MeasurementError(f"signal {name!r}: {error}") from error

    def _edge(self, number: int) -> int:
        return int(GATE_BLOCK_S * (number * (1.0 / HOPS)) * self._rate)

    def _read(self, fine: NDArray[Any]) -> None:
        self._between = max(self._between, float(np.max(np.abs(fine), initial=0.0)))


def gated_lufs(hop_power: Floats, *, seconds: float, peak: float) -> float:
    """Return the gated loudness, LUFS, of K-weighted powers of tenths of a second (h,), the last one perhaps shorter.

    Parameters
    ----------
    hop_power : energy of each hop over `HOP_S`, squared full scale.
    seconds : of the whole.
    peak : the level that counts as full scale for the absolute gate.

    Raises
    ------
    MeasurementError
        When every block lies under the absolute gate.

    Notes
    -----
    Gates of ITU-R BS.1770.
    """
    count = round((seconds - GATE_BLOCK_S) / HOP_S) + 1
    power = np.concatenate([hop_power, np.zeros(HOPS)])
    block = np.convolve(power, np.full(HOPS, 1.0 / HOPS))[HOPS - 1 :][:count] / peak**2
    heard = block[_lufs(block) >= ABSOLUTE_GATE_LUFS]
    if not heard.size:
        raise MeasurementError("the signal is silent (under the gate of -70 LUFS).")
    heard = heard[_lufs(heard) > _lufs(np.mean(heard)) + RELATIVE_GATE_LU]
    return float(_lufs(np.mean(heard)) + 20.0 * np.log10(peak))


def _lufs(mean_square: Any) -> Any:
    with np.errstate(divide="ignore"):
        return OFFSET_LUFS + 10.0 * np.log10(mean_square)
