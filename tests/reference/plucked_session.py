"""A sitting of plucks with known truth, made without the project's renderer: decaying stiff partials, hand, noise.

`numbers` says what a sitting's plucks are in the terms of a prediction, from the same partials, in closed form.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import signal

OPEN = (329.628, 246.942, 195.998, 146.832, 110.0, 82.4069)  # Hz, equal temperament from A4 = 440 Hz, string 1 first

BLOCK = 256  # samples that one product makes at a time
BANDS = {"lows": (89.0, 282.0), "mids": (282.0, 1122.0), "highs": (1122.0, 2818.0), "presence": (2818.0, 5623.0)}
PRE_FILTER = (  # ITU-R BS.1770, annex 1, tables 1 and 2, at 48 kHz; from memory
    (1.53512485958697, -2.69169618940638, 1.19839281085285, 1.0, -1.69065929318241, 0.73248077421585),
    (1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621),
)

Response = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True, kw_only=True)
class Sitting:
    """How the hand and the room vary."""

    rate: int = 44100
    strings: Sequence[float] = OPEN
    plucks: int = 5
    gap: float = 2.0  # s from one pluck to the next
    lead: float = 1.0  # s of noise before the first
    level_spread_db: float = 1.0
    place: float = 0.185  # of the string's length from the bridge; no low partial has a node there
    place_spread: float = 0.006
    inharmonicity: float = 6e-5
    t60_low: float = 8.0  # s, of a partial towards 0 Hz
    t60_corner: float = 900.0  # Hz at which it has halved
    t60_spread: float = 0.0  # of its logarithm, from pluck to pluck: how the other hand touches the string
    noise: float = 1e-5  # rms
    damped: float = 0.04  # s in which a hand mutes the string before the next pluck

    def t60(self, frequency: np.ndarray) -> np.ndarray:
        """Return s to fall by 60 dB."""
        return self.t60_low / (1.0 + frequency / self.t60_corner)


def flat(frequency: np.ndarray) -> np.ndarray:
    """Return a response of one."""
    return np.ones_like(frequency)


def partials(
    sitting: Sitting, pitch: float, place: float, level: float, response: Response
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return frequency (Hz), amplitude and decay (1/s) of one pluck's partials."""
    number = np.arange(1, int(min(12e3, 0.45 * sitting.rate) / pitch) + 1)
    frequency = number * pitch * np.sqrt(1.0 + sitting.inharmonicity * number**2)
    amplitude = level * np.sin(np.pi * number * place) / number * response(frequency)
    return frequency, amplitude, np.log(1000.0) / sitting.t60(frequency)


def numbers(sitting: Sitting, response: Response | Sequence[Response] = flat, gain: float = 1.0) -> dict[str, float]:
    """Return level, bands, attack against sustain and balance of the middle pluck, as a prediction defines them, dB.

    Energy of partial n over a window: A^2 K(f) times the integral of exp(-2 d t)/2.
    """
    each = [response] * len(sitting.strings) if callable(response) else list(response)
    total, bands = [], {name: np.zeros(2) for name in BANDS}
    for pitch, one in zip(sitting.strings, each):
        f, a, d = partials(sitting, pitch, sitting.place, 0.2 * gain, one)
        weight = np.abs(signal.sosfreqz(np.array(PRE_FILTER), worN=f, fs=48e3)[1]) ** 2
        ends = np.exp(-2.0 * d * np.array([0.0, 0.1, 1.0])[:, None])
        energy = a**2 * weight * (ends[:-1] - ends[1:]) / (4.0 * d)
        total.append(energy.sum())
        for name, (low, high) in BANDS.items():
            bands[name] += energy[:, (f >= low) & (f <= high)].sum(axis=1) / len(each)
    level = 10.0 * np.log10(np.mean(total))
    own = {name: 10.0 * np.log10(one.sum()) for name, one in bands.items()}
    return {
        "level_db": float(level),
        **{f"bands_db.{name}": float(one - level) for name, one in own.items()},
        **{f"bands_own_db.{name}": float(one) for name, one in own.items()},
        **{f"attack_minus_sustain_db.{name}": float(10.0 * np.log10(a / b)) for name, (a, b) in bands.items()},
        **{f"string_balance_db.{k + 1}": float(10.0 * np.log10(one) - level) for k, one in enumerate(total)},
    }


def pluck(
    sitting: Sitting, pitch: float, place: float, level: float, response: Response, seconds: float, lasting: float = 1.0
) -> np.ndarray:
    """Return one pluck (t,): partials with amplitudes sin(n pi p)/n, ringing down each at its own rate.

    ``lasting`` is a factor on all decay times.
    """
    frequency, amplitude, decay = partials(sitting, pitch, place, level, response)
    decay = decay / lasting
    count = round(seconds * sitting.rate)
    rate = (2j * np.pi * frequency - decay) / sitting.rate  # of each partial, a sample
    starts = amplitude * np.exp(rate * BLOCK * np.arange(-(-count // BLOCK))[:, None])  # exp(a + b) = exp(a) exp(b)
    out = (starts @ np.exp(rate[:, None] * np.arange(BLOCK))).imag.ravel()[:count]
    fade = round(sitting.damped * sitting.rate)
    out[-fade:] *= np.linspace(1.0, 0.0, fade)
    return out


def session(
    sitting: Sitting, random: np.random.Generator, response: Response | Sequence[Response] = flat, gain: float = 1.0
) -> tuple[np.ndarray, np.ndarray]:
    """Return a recording (t,) and when each pluck begins, s, string after string; ``response`` may go by string."""
    each = [response] * len(sitting.strings) if callable(response) else list(response)
    count = len(sitting.strings) * sitting.plucks
    out = np.zeros(round((sitting.lead + count * sitting.gap) * sitting.rate))
    begins = []
    for k, (pitch, one) in enumerate(zip(sitting.strings, each)):
        for j in range(sitting.plucks):
            begin = round((sitting.lead + (k * sitting.plucks + j) * sitting.gap) * sitting.rate)
            level = 0.2 * 10.0 ** (sitting.level_spread_db * random.standard_normal() / 20.0)
            place = sitting.place + sitting.place_spread * random.standard_normal()
            lasting = np.exp(sitting.t60_spread * random.standard_normal()) if sitting.t60_spread else 1.0
            sound = pluck(sitting, pitch, place, level, one, sitting.gap - 0.05, lasting)
            out[begin : begin + sound.size] += sound
            begins.append(begin / sitting.rate)
    return gain * (out + sitting.noise * random.standard_normal(out.size)), np.array(begins)


def third_octave_change(sitting: Sitting, responses: Sequence[Response], nominal: float, seconds: float = 1.1) -> float:
    """Return the change of a third octave, ``responses`` against flat ones, dB; mean over the strings that have it.

    Energy of a string's partials inside the band (IEC 61260-1, base ten) over ``seconds``, as in `numbers`.
    """
    middle = 1000.0 * 10.0 ** (round(10.0 * np.log10(nominal / 1000.0)) / 10.0)
    out = []
    for pitch, one in zip(sitting.strings, responses):
        energies = []
        for each in (flat, one):
            f, a, d = partials(sitting, pitch, sitting.place, 0.2, each)
            inside = (f >= middle * 10.0**-0.05) & (f < middle * 10.0**0.05)
            energies.append(np.sum((a**2 * (1.0 - np.exp(-2.0 * d * seconds)) / (4.0 * d))[inside]))
        if energies[0] > 0.0:
            out.append(10.0 * np.log10(energies[1] / energies[0]))
    return float(np.mean(out))
