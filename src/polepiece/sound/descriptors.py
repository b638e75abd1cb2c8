"""Numbers that describe a sound: third octaves, bench bands, centre of the spectrum, attack against sustain.

They describe; none of them says what a listener will hear. Compare two sounds at equal loudness.
"""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import fft

from polepiece.errors import InputError, MeasurementError

Floats = NDArray[np.float64]

BENCH_BANDS = {  # Hz; common practice at a bench, no source
    "lows": (60.0, 250.0),
    "low mids": (250.0, 500.0),
    "mids": (500.0, 2000.0),
    "highs": (2000.0, 5000.0),
    "top": (5000.0, 12000.0),
}
RESPONSE_BANDS = {  # Hz: edges of the third octaves 100-250, 315-1000, 1250-2500, 3150-5000 Hz (IEC 61260-1)
    "lows": (89.0, 282.0),
    "mids": (282.0, 1122.0),
    "highs": (1122.0, 2818.0),
    "presence": (2818.0, 5623.0),
}
ATTACK_S, SUSTAIN_S = 0.1, 1.0  # first 100 ms, and from there to 1 s
PAD_S = 0.5  # s in which the lowest third octave forgets: 60 dB
_OCTAVE = 10.0**0.3  # IEC 61260-1: base ten
THIRD_OCTAVE_EDGE = _OCTAVE ** (1.0 / 6.0)  # upper edge over mid-band


def _mono(samples: NDArray[Any]) -> Floats:
    sound = np.asarray(samples, dtype=float)
    if sound.ndim not in (1, 2) or sound.shape[0] < 2:
        raise InputError(f"samples have shape {sound.shape}; needed is (t,) or (t, c), t at least 2.")
    return sound if sound.ndim == 1 else np.asarray(sound.mean(axis=1))


def power_spectrum(samples: NDArray[Any], sample_rate: float) -> tuple[Floats, Floats]:
    """Frequencies (Hz) and power of each bin; the powers sum to the mean square of the mono signal."""
    sound = _mono(samples)
    length = fft.next_fast_len(sound.size, real=True)
    power = np.abs(fft.rfft(sound, length)) ** 2 / (length * sound.size)
    power[1 : (length + 1) // 2] *= 2.0
    return fft.rfftfreq(length, 1.0 / sample_rate), np.asarray(power)


def third_octaves(low: float = 25.0, high: float = 20e3) -> Floats:
    """Exact mid-band frequencies (Hz) between two nominal ones: 1000 * 10^(n/10) (IEC 61260-1)."""
    first, last = round(10.0 * np.log10(low / 1000.0)), round(10.0 * np.log10(high / 1000.0))
    return np.asarray(1000.0 * 10.0 ** (np.arange(first, last + 1) / 10.0))


def third_octave_weights(frequency: ArrayLike, middle: Floats) -> Floats:
    """Power weight (b, f) of third octaves about ``middle`` (b,) at ``frequency`` (f,), Hz.

    Notes
    -----
    1/(1 + W^6), W = (f/fm - fm/f)/(g - 1/g), g = 10^0.05: the usual filter of three pole pairs, -3 dB at the exact
    edges (IEC 61260-1), within that standard's limits of class 1. No jump where a line moves over an edge.
    """
    f, edge = np.asarray(frequency, dtype=float), THIRD_OCTAVE_EDGE
    with np.errstate(divide="ignore"):
        ratio = f / middle[:, None]
        return np.asarray(1.0 / (1.0 + ((ratio - 1.0 / ratio) / (edge - 1.0 / edge)) ** 6))


def third_octave_levels_db(samples: NDArray[Any], sample_rate: float) -> tuple[Floats, Floats]:
    """Mid-band frequencies (Hz) and mean-square level (dB) in each third of an octave under half the rate.

    The spectrum of the whole signal under `third_octave_weights`: for comparing two renders of one phrase, and a render
    with what `polepiece.sound.phrase_energy` says in closed form.
    """
    sound = _mono(samples)
    silence = np.zeros(round(PAD_S * sample_rate))  # or the end would meet the beginning in the lowest bands
    frequency, power = power_spectrum(np.concatenate([sound, silence]), sample_rate)
    power = power * ((sound.size + silence.size) / sound.size)
    middle = third_octaves()
    middle = middle[third_octave_edges(middle)[1] <= 0.5 * sample_rate]
    level = [float(third_octave_weights(frequency[1:], one[None])[0] @ power[1:]) for one in middle]
    with np.errstate(divide="ignore"):
        return middle, 10.0 * np.log10(np.array(level))


def third_octave_edges(middle: Floats) -> tuple[Floats, Floats]:
    """Lower and upper edges (Hz) of the third octaves about ``middle`` (IEC 61260-1)."""
    return middle / THIRD_OCTAVE_EDGE, middle * THIRD_OCTAVE_EDGE


def band_power(frequency: Floats, power: Floats, low: ArrayLike, high: ArrayLike) -> Floats:
    """Power between the edges ``low`` and ``high`` (Hz, shape (b,)); a bin is shared out by its part inside."""
    step = frequency[1] - frequency[0]
    edges = np.concatenate([frequency - 0.5 * step, [frequency[-1] + 0.5 * step]])
    summed = np.concatenate([[0.0], np.cumsum(power)])
    upto = [np.interp(np.asarray(edge, dtype=float), edges, summed) for edge in (low, high)]
    return np.asarray(upto[1] - upto[0])


def bench_bands_db(samples: NDArray[Any], sample_rate: float) -> dict[str, float]:
    """Mean-square level (dB) of each of :data:`BENCH_BANDS`."""
    frequency, power = power_spectrum(samples, sample_rate)
    with np.errstate(divide="ignore"):
        return {
            name: float(10.0 * np.log10(band_power(frequency, power, *edges))) for name, edges in BENCH_BANDS.items()
        }


def spectral_centroid(samples: NDArray[Any], sample_rate: float) -> float:
    """Centre of gravity of the amplitude-squared spectrum, Hz."""
    frequency, power = power_spectrum(samples, sample_rate)
    total = float(np.sum(power))
    if total <= 0.0:
        raise MeasurementError("the signal is silent; its spectrum has no centre.")
    return float(np.sum(frequency * power) / total)


def attack_to_sustain_db(samples: NDArray[Any], sample_rate: float, *, onset: float = 0.0) -> float:
    """Level of the first 100 ms after ``onset`` (s) against the 400 ms that follow, dB."""
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
