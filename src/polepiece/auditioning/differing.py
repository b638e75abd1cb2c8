"""A sound made different by a stated amount: what a staircase plays to find the least difference that is heard."""

from typing import assert_never

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.bench import Bench
from polepiece.errors import InputError
from polepiece.guitar import Guitar
from polepiece.measure import Quantity
from polepiece.moves import apply, parse_changes

BRIGHT_HZ, OCTAVES = 2000.0, 1.0  # where brightness begins, and the width of the way there (choice)
MOST_CABLE = 3e-9  # F, the longest that a guitar file takes
SHORTER = 0.8  # tried next where a longer cable leaves no resonance


def louder(sound: FloatArray, gain_db: float) -> FloatArray:
    """Return a sound turned up."""
    return np.asarray(sound * 10.0 ** (gain_db / 20.0))


def brighter(sound: FloatArray, sample_rate: int, gain_db: float) -> FloatArray:
    """Return a sound whose part above BRIGHT_HZ is turned up, over a raised cosine one octave wide; phase is kept."""
    count = len(sound)
    frequency = np.fft.rfftfreq(2 * count, 1.0 / sample_rate)
    octaves = np.log2(np.maximum(frequency, 1.0) / BRIGHT_HZ) / OCTAVES
    share = 0.5 - 0.5 * np.cos(np.pi * np.clip(octaves + 0.5, 0.0, 1.0))
    gain = 10.0 ** (gain_db * share / 20.0)
    spectrum = np.fft.rfft(sound, 2 * count, axis=0)
    out: FloatArray = np.fft.irfft(spectrum * (gain if sound.ndim == 1 else gain[:, None]), 2 * count, axis=0)
    return out[:count]


def resonance_lowered(guitar: Guitar, pickup: str, percent: float, bench: Bench) -> Guitar:
    """Return the guitar with a cable that lowers the pickup's resonance by so many per cent.

    Raises
    ------
    InputError
        When the guitar has no resonance as it is, or no cable up to 3 nF lowers it that far.
    """
    from scipy.optimize import brentq  # here: it is a third of a command's start

    wanted = _resonance(guitar, pickup, bench) * (1.0 - percent / 100.0)

    def above(farads: float) -> float:
        found = bench.state(_with_cable(guitar, pickup, farads), pickup).resonance_hz
        return (found if found is not None else 0.0) - wanted

    if above(MOST_CABLE) > 0.0:
        raise InputError(f"no cable up to {1e9 * MOST_CABLE:g} nF lowers the resonance by {percent:g} %.")
    longer = brentq(above, guitar.controls.cable_capacitance, MOST_CABLE, xtol=1e-15, rtol=1e-6)
    return _with_cable(guitar, pickup, float(longer))


def largest_difference(guitar: Guitar, pickup: str, quantity: Quantity, bench: Bench) -> float:
    """Return the largest difference of a quantity that can be played on this guitar, in the quantity's unit.

    A resonance goes as low as a cable of 3 nF makes it, as long as there is one; level and brightness know no end.

    Raises
    ------
    InputError
        When a resonance is asked for where there is none.
    """
    if quantity != "resonance":
        return float("inf")
    now, found = _resonance(guitar, pickup, bench), None
    farads = MOST_CABLE
    while found is None and farads > guitar.controls.cable_capacitance:
        found = bench.state(_with_cable(guitar, pickup, farads), pickup).resonance_hz
        farads *= SHORTER
    return 0.0 if found is None else 100.0 * (1.0 - found / now)


def _resonance(guitar: Guitar, pickup: str, bench: Bench) -> float:
    found = bench.state(guitar, pickup).resonance_hz
    if found is None:
        raise InputError("this pickup shows no resonance as it is wired; there is nothing to lower.")
    return found


def _with_cable(guitar: Guitar, pickup: str, farads: float) -> Guitar:
    return apply(guitar, pickup, parse_changes([f"cable={1e12 * farads:.9g}pF"]))


def quantity_words(quantity: Quantity, amount: float) -> str:
    """Return a difference in words."""
    match quantity:
        case "level":
            return f"{amount:.2g} dB louder or softer"
        case "resonance":
            return f"a resonance {amount:.2g} % lower or higher"
        case "brightness":
            return f"{amount:.2g} dB more or less above {BRIGHT_HZ / 1000:g} kHz"
        case _:
            assert_never(quantity)
