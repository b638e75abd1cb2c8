"""From sensitivities and responses to the numbers of a `State`."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.sound import ATTACK_S, SUSTAIN_S
from polepiece.strings import Pluck, SpeakingString, magnetic_detuning, modal_amplitudes, string_modes
from polepiece.voicing.state import BANDS

GRID: FloatArray = np.asarray(1000.0 * 10.0 ** ((np.arange(400) - 226) * 3.0 / 399.0), dtype=np.float64)
# Hz, log-spaced through 1 kHz, 20 Hz - 20 kHz
AT_1KHZ = 226
PLUCK = Pluck(position=0.13, width=2e-3, displacement=1.5e-3, angle=0.6)  # the stated stroke: 130 mm from the bridge
ATTACK, SUSTAIN = ATTACK_S, SUSTAIN_S  # s


def level_db(power: FloatArray) -> float:
    """Return the level in dB re 1 V s/m from ``power`` (k, f) = |sensitivity times response|^2 on GRID."""
    return float(10.0 * np.log10(power[:, AT_1KHZ].mean() + 1e-300))


def bands_db(power: FloatArray) -> dict[str, float]:
    """Return band levels re `level_db`: power means over strings and over the log-spaced grid."""
    mean = power.mean(axis=0)
    out = {}
    for name, (low, high) in BANDS.items():
        inside = (low <= GRID) & (high >= GRID)
        out[name] = float(10.0 * np.log10(mean[inside].mean() + 1e-300)) - level_db(power)
    return out


def wound_minus_plain_db(power: FloatArray, wound: "np.ndarray") -> float | None:
    """Return the level of wound against plain strings, dB; None where all are of one kind."""
    if wound.all() or not wound.any():
        return None
    at = power[:, AT_1KHZ]
    return float(10.0 * np.log10(at[wound].mean() / at[~wound].mean()))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrokeModes:
    """Partials of one open string after the stated stroke: energies in the two spans by partial."""

    frequency: FloatArray
    amplitude: FloatArray  # velocity amplitude of each partial's vertical motion times its shape at each row
    attack: FloatArray  # integral of the squared envelope over the attack, s
    sustain: FloatArray
    below: np.ndarray  # index of the place on GRID below each partial
    share: FloatArray  # of the next place, for interpolation over log f
    bands: dict[str, slice]  # partials of each band


@lru_cache(maxsize=64)
def stroke_modes(string: SpeakingString, rows: tuple[float, ...], weights: tuple[float, ...]) -> StrokeModes:
    """Return what the stated stroke makes of ``string`` seen at ``rows`` (m from the bridge) with row weights."""
    modes = string_modes(string, top_frequency=16e3)
    height = modal_amplitudes(modes.number, length=string.length, pluck=PLUCK)[0]
    seen = sum(w * np.sin(modes.number * np.pi * x / string.length) for x, w in zip(rows, weights))
    sigma = np.maximum(modes.decay[0], 1e-6)
    fade = np.exp(-2.0 * sigma * ATTACK)
    place = np.interp(np.log(modes.frequency[0]), np.log(GRID), np.arange(len(GRID)))
    below = np.minimum(place.astype(int), len(GRID) - 2)
    return StrokeModes(
        frequency=modes.frequency[0],
        amplitude=np.asarray(2.0 * np.pi * modes.frequency[0] * height * seen),
        attack=(1.0 - fade) / (2.0 * sigma),
        sustain=(fade - np.exp(-2.0 * sigma * SUSTAIN)) / (2.0 * sigma),
        below=below,
        share=place - below,
        bands={
            name: slice(*np.searchsorted(modes.frequency[0], (low, high * (1.0 + 1e-12))))
            for name, (low, high) in BANDS.items()
        },
    )


def attack_minus_sustain_db(power: FloatArray, strokes: "list[StrokeModes]") -> dict[str, float]:
    """Return energy of the first 100 ms against the sustain, dB, by band, all open strings after the stroke."""
    out = {}
    early = dict.fromkeys(BANDS, 0.0)
    late = dict.fromkeys(BANDS, 0.0)
    logs = np.log(power + 1e-300)
    for k, stroke in enumerate(strokes):
        low_end = logs[k, stroke.below]
        gain = np.exp(low_end + stroke.share * (logs[k, stroke.below + 1] - low_end))
        energy = gain * stroke.amplitude**2
        for name, band in stroke.bands.items():
            early[name] += float(energy[band] @ stroke.attack[band])
            late[name] += float(energy[band] @ stroke.sustain[band])
    for name in BANDS:
        if early[name] > 0.0 and late[name] > 0.0:
            out[name] = float(10.0 * np.log10(early[name] / late[name]))
    return out


def shift_cents(string: SpeakingString, gradient: float, position: float) -> float:
    """Return the shift of the open string's fundamental, vertical plane, by the magnets' pull; cents."""
    factor = magnetic_detuning(string, np.array([1.0]), force_gradient=[gradient], position=[position])
    return float(1200.0 * np.log2(factor[0]))


def h2_db(sensitivity: FloatArray, second: FloatArray, amplitude: float) -> FloatArray:
    """Return the second harmonic of the voltage re the fundamental, dB, for a sine of ``amplitude`` m.

    linkage = c1 w + c2 w^2/2 and w = a sin: the second harmonic of the voltage over the first is c2 a/(2 c1).
    """
    ratio = np.abs(second) * amplitude / (2.0 * np.abs(sensitivity) + 1e-300)
    return np.asarray(20.0 * np.log10(ratio + 1e-12))


def combined(sensitivity: ComplexArray, transfer: ComplexArray) -> ComplexArray:
    """Return the string-to-amplifier response (k, f): sum over coils of (k, c, f) times (c, f)."""
    return np.asarray(np.einsum("kcf,cf->kf", sensitivity, transfer))
