"""Numbers that describe a sound: third octaves, bench bands, centre of the spectrum, attack against sustain.

They describe; none of them says what a listener will hear. Compare two sounds at equal loudness.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from polepiece.errors import InputError, MeasurementError
from polepiece.later import fft

Floats = NDArray[np.float64]

RESPONSE_BANDS = {  # Hz: edges of the third octaves 100-250, 315-1000, 1250-2500, 3150-5000 Hz (IEC 61260-1)
    "lows": (89.0, 282.0),
    "mids": (282.0, 1122.0),
    "highs": (1122.0, 2818.0),
    "presence": (2818.0, 5623.0),
}
ATTACK_S, SUSTAIN_S = 0.1, 1.0  # first 100 ms, and from there to 1 s
_OCTAVE = 10.0**0.3  # IEC 61260-1: base ten
THIRD_OCTAVE_EDGE = _OCTAVE ** (1.0 / 6.0)  # upper edge over mid-band


def band_words(band: str, *, dash: str = "-", kilo: bool = False) -> str:
    """Return the edges of one of `RESPONSE_BANDS` in words; with ``kilo`` in kHz where it begins above 1 kHz.

    >>> band_words("lows"), band_words("presence", dash="–", kilo=True)
    ('89-282 Hz', '2.8–5.6 kHz')
    """
    low, high = RESPONSE_BANDS[band]
    if kilo and low >= 1e3:
        return f"{1e-3 * low:.1f}{dash}{1e-3 * high:.1f} kHz"
    return f"{low:.0f}{dash}{high:.0f} Hz"


def bands_in_a_row() -> str:
    """Return all of `RESPONSE_BANDS` with their edges, each beginning where the one before ends."""
    first, *others = RESPONSE_BANDS.items()
    begin = f"{first[0]} {first[1][0]:.0f} to {first[1][1]:.0f} Hz"
    return ", ".join([begin, *(f"{name} to {high:.0f} Hz" for name, (_, high) in others)])


def _mono(samples: NDArray[Any]) -> Floats:
    sound = np.asarray(samples, dtype=float)
    if sound.ndim not in (1, 2) or sound.shape[0] < 2:
        raise InputError(f"samples have shape {sound.shape}; needed is (t,) or (t, c), t at least 2.")
    return sound if sound.ndim == 1 else np.asarray(sound.mean(axis=1))


def power_spectrum(samples: NDArray[Any], sample_rate: float) -> tuple[Floats, Floats]:
    """Frequencies (Hz) and power of each bin; the powers sum to the mean square of the mono signal.

    Parseval's theorem sets the scale: derived here.
    """
    sound = _mono(samples)
    length = fft.next_fast_len(sound.size, real=True)
    power = np.abs(fft.rfft(sound, length)) ** 2 / (length * sound.size)
    power[1 : (length + 1) // 2] *= 2.0
    return fft.rfftfreq(length, 1.0 / sample_rate), np.asarray(power)


def third_octaves(low: float = 25.0, high: float = 20e3) -> Floats:
    """Exact mid-band frequencies (Hz) between two nominal ones: 1000 * 10^(n/10) (IEC 61260-1)."""
    first, last = round(10.0 * np.log10(low / 1000.0)), round(10.0 * np.log10(high / 1000.0))
    return np.asarray(1000.0 * 10.0 ** (np.arange(first, last + 1) / 10.0))


def third_octave_edges(middle: Floats) -> tuple[Floats, Floats]:
    """Lower and upper edges (Hz) of the third octaves about ``middle`` (IEC 61260-1)."""
    return middle / THIRD_OCTAVE_EDGE, middle * THIRD_OCTAVE_EDGE


def band_power(frequency: Floats, power: Floats, low: ArrayLike, high: ArrayLike) -> Floats:
    """Power between the edges ``low`` and ``high`` (Hz, shape (b,)); a bin is shared out by its part inside.

    Definition.
    """
    step = frequency[1] - frequency[0]
    edges = np.concatenate([frequency - 0.5 * step, [frequency[-1] + 0.5 * step]])
    summed = np.concatenate([[0.0], np.cumsum(power)])
    upto = [np.interp(np.asarray(edge, dtype=float), edges, summed) for edge in (low, high)]
    return np.asarray(upto[1] - upto[0])


def spectral_centroid(samples: NDArray[Any], sample_rate: float) -> float:
    """Centre of gravity of the amplitude-squared spectrum, Hz. Definition."""
    frequency, power = power_spectrum(samples, sample_rate)
    total = float(np.sum(power))
    if total <= 0.0:
        raise MeasurementError("the signal is silent; its spectrum has no centre.")
    return float(np.sum(frequency * power) / total)


def attack_to_sustain_db(samples: NDArray[Any], sample_rate: float, *, onset: float = 0.0) -> float:
    """Level of the first 100 ms after ``onset`` (s) against the 400 ms that follow, dB.

    Definition; the lengths of the two are a choice (common practice, no source).
    """
    sound = _mono(samples)
    first = round(onset * sample_rate)
    attack = sound[first : first + round(ATTACK_S * sample_rate)]
    sustain = sound[first + attack.size : first + 5 * attack.size]
    if first < 0 or sustain.size < 2 * attack.size or attack.size == 0:
        raise MeasurementError("attack against sustain needs at least 0.3 s of sound after the onset.")
    early, late = float(np.mean(attack**2)), float(np.mean(sustain**2))
    if early <= 0.0 or late <= 0.0:
        raise MeasurementError("the signal is silent around the onset; attack against sustain has no number.")
    return float(10.0 * np.log10(early / late))


def banded(samples: NDArray[Any], sample_rate: float, band: tuple[float, float]) -> Floats:
    """Return the mono signal between two frequencies (Hz): third-order Butterworth, causal, so no attack comes early.

    Raises
    ------
    InputError
        For a band that is not rising, positive and under half the rate.
    """
    low, high = band
    if not 0.0 < low < high < 0.5 * sample_rate:
        raise InputError(f"the band is {low:g} to {high:g} Hz; it must rise and lie under {0.5 * sample_rate:g} Hz.")
    from scipy import signal  # here: it is a third of a command's start

    sections = signal.butter(3, band, "bandpass", fs=sample_rate, output="sos")
    return np.asarray(signal.sosfilt(sections, _mono(samples)))


def strongest_stroke(samples: NDArray[Any], sample_rate: float) -> float:
    """Time (s) where the energy of the next 100 ms exceeds that of the last 100 ms most, with 0.5 s behind it.

    Raises
    ------
    MeasurementError
        When the sound is shorter than 0.5 s, or nowhere becomes louder.
    """
    hop = round(0.005 * sample_rate)
    sound = _mono(samples)
    if sound.size < 5 * ATTACK_S * sample_rate:
        raise MeasurementError("a stroke needs 0.5 s of sound.")
    energy = np.add.reduceat(sound**2, np.arange(0, sound.size, hop))
    span, behind = round(ATTACK_S / 0.005), round(5 * ATTACK_S / 0.005)
    summed = np.concatenate([np.zeros(span + 1), np.cumsum(energy)])  # of all hops before; nothing before the sound
    place = np.arange(energy.size - behind + 1) + span
    rise = summed[place + span] - 2.0 * summed[place] + summed[place - span]
    if np.max(rise) <= 0.0:
        raise MeasurementError("no stroke: nowhere does the sound become louder.")
    return float(np.argmax(rise) * hop / sample_rate)
