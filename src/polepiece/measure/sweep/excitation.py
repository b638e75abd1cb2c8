"""The excitation: exponential sweeps with silence around them, and what to say before it is played."""

import math
from dataclasses import asdict, dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError

CAUTION = (
    "Turn every playback level fully down and take headphones off before this file is played; it is a loud rising "
    "tone. Feed it to the measuring lead only, never to an amplifier or loudspeaker, then raise the level until the "
    "source channel peaks near -12 dBFS. Phantom power (+48 V) off on every input."
)
FULL_SCALE_MARGIN_DB = -1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepSignal:
    """Equal exponential sweeps, one after the other.

    Attributes
    ----------
    sample_rate : Hz.
    low, high : Hz, where each sweep begins and ends. What is read lies inside, from three times ``low``.
    duration : s, of one sweep.
    repeats : how many; two at least, since bounds come from what lies between them.
    silence : s, before the first and after each sweep.
    level_db : peak re full scale.
    fade : s, raised cosine at both ends of a sweep.
    """

    sample_rate: int = 96000
    low: float = 5.0
    high: float = 23e3
    duration: float = 8.0
    repeats: int = 3
    silence: float = 1.0
    level_db: float = -12.0
    fade: float = 0.01

    def __post_init__(self) -> None:
        _within("sample_rate", self.sample_rate, 44100, 192000, "Hz", "96 kHz is 96000 here.")
        _within("low", self.low, 1.0, 200.0, "Hz", "")
        top = 0.485 * self.sample_rate
        _within("high", self.high, 20.0 * self.low, top, "Hz", f"At {self.sample_rate} Hz a sweep ends below {top:g}.")
        _within("duration", self.duration, 1.0, 60.0, "s", "")
        _within("repeats", self.repeats, 2, 20, "", "One sweep has no bounds.")
        _within("silence", self.silence, 0.3, 10.0, "s", "")
        _within("level_db", self.level_db, -60.0, FULL_SCALE_MARGIN_DB, "dBFS", "Louder clips; levels are negative.")
        _within("fade", self.fade, 0.001, 0.1 * self.duration, "s", "")

    @property
    def growth(self) -> float:
        """Time in which the frequency grows by a factor e, s.

        Definition of an exponential sweep (Farina 2000, from memory).
        """
        return self.duration / math.log(self.high / self.low)

    @property
    def period(self) -> float:
        """From the beginning of one sweep to the next, s."""
        return self.duration + self.silence

    @property
    def length(self) -> float:
        """Of the whole excitation, s."""
        return self.silence + self.repeats * self.period

    def to_dict(self) -> dict[str, float]:
        """Return the sweep as plain numbers."""
        return asdict(self)


def _within(name: str, value: float, low: float, high: float, unit: str, slip: str) -> None:
    if not low <= value <= high:
        raise InputError(f"{name} is {value:g} {unit}; {low:g} to {high:g} {unit} are taken. {slip}".rstrip())


def sweep_for(sample_rate: int, **others: float) -> SweepSignal:
    """Return the usual sweep for ``sample_rate``: up to 23 kHz, or as far as that rate reaches."""
    top = min(23e3, 0.48 * sample_rate)
    return SweepSignal(sample_rate=sample_rate, **{"high": top, **others})  # type: ignore[arg-type]


def one_sweep(signal: SweepSignal, *, stretch: float = 1.0, sample_rate: int | None = None) -> FloatArray:
    """Return one sweep of unit amplitude with its fades.

    Parameters
    ----------
    signal : SweepSignal
    stretch : float
        Duration as recorded over duration as made: above 1 where the recorder's clock runs fast.
    sample_rate : Hz, of the samples returned; default that of the signal.

    Notes
    -----
    x(t) = sin(2 pi f1 L (exp(t / L) - 1)), L = T / ln(f2 / f1): [1]_, equation for the logarithmic sweep.

    References
    ----------
    .. [1] Farina 2000, "Simultaneous measurement of impulse response and distortion with a swept-sine technique",
       108th AES Convention, preprint 5093 (from memory).
    """
    rate = signal.sample_rate if sample_rate is None else sample_rate
    count = round(signal.duration * stretch * rate)
    time = np.arange(count) / (rate * stretch)
    wave = np.sin(2.0 * np.pi * signal.low * signal.growth * np.expm1(time / signal.growth))
    edge = round(signal.fade * rate)
    rise = 0.5 - 0.5 * np.cos(np.pi * (np.arange(edge) + 0.5) / edge)
    wave[:edge] *= rise
    wave[count - edge :] *= rise[::-1]
    return np.asarray(wave)


def excitation(signal: SweepSignal) -> FloatArray:
    """Return the whole excitation (t,), full scale 1.0: silence, then each sweep with silence after it.

    Exponential sweep: Farina 2000 (from memory).
    """
    sweep = one_sweep(signal) * 10.0 ** (signal.level_db / 20.0)
    out = np.zeros(round(signal.length * signal.sample_rate))
    for k in range(signal.repeats):
        begin = round((signal.silence + k * signal.period) * signal.sample_rate)
        out[begin : begin + len(sweep)] = sweep
    return out
