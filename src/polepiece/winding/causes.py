"""What would make one coil differ from its batch: each cause as a line through (R, L, Q, resonance, turns).

    turns other than meant      R as the turns, L as their square, resonance as 1 / turns
    other wire                  R alone, by the ohm a metre
    turns bridged (short)       R less by their share, L less by more the higher the test frequency
    core other than meant       L alone (steel, a missing or extra part), resonance as 1 / root of L

R and L alone tell a short from missing turns only where the meter's frequency drives a current in it: a share s of the
turns, bridged, is a second winding with R s and L s^2. Derived here.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.guitar import ALL_GAUGES
from polepiece.materials import catalogue
from polepiece.measure import MeasuredCoil

COUPLED = 0.95  # coupling of bridged turns with the others in one window; assumption, 0.9 to 1
NEAR = 4.0  # chi squared by which a second cause may be worse and is named as well: two standard deviations
KEYS = ("resistance", "inductance", "quality", "resonance", "turns")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One cause: its key, how much of it in words, and how badly it fits (chi squared; the best has the least)."""

    key: str  # turns, miscounted, wire, short, core
    amount: float  # logarithm of turns, of ohm a metre or of L; share of bridged turns
    misfit: float
    words: str


Made = Callable[[float], Mapping[str, float]]


def bridged(share: float, resistance: float, inductance: float, frequency: float) -> tuple[float, float, float]:
    """Return ln R and ln L against the whole coil, and the Q, of a coil with a share of its turns bridged.

    Parameters
    ----------
    share : float
        Of the turns, 0 to 1.
    resistance, inductance : float
        Of the whole coil, ohm and H.
    frequency : float
        At which L is read, Hz.

    Notes
    -----
    Z = R (1 - s) + j w L (1 - s)^2 + (w M)^2 / (R s + j w L s^2), M = k L s (1 - s). Kirchhoff; derived here.
    """
    omega = 2.0 * math.pi * frequency
    kept = resistance * (1.0 - share)
    z = kept + 1j * omega * inductance * (1.0 - share) ** 2
    if share > 0.0:
        mutual = COUPLED * inductance * share * (1.0 - share)
        z += (omega * mutual) ** 2 / (resistance * share + 1j * omega * inductance * share**2)
    return math.log(kept / resistance), math.log(z.imag / (omega * inductance)), z.imag / z.real


def causes(
    off: Mapping[str, float], scales: Mapping[str, float], typical: MeasuredCoil, *, gauge: int
) -> tuple[Cause, ...]:
    """Return the causes that fit a coil, the best first; those that fit as well as it within two deviations follow.

    Parameters
    ----------
    off, scales : mapping
        Logarithms of the coil against its batch, and the scale of the batch, by quantity.
    typical : MeasuredCoil
        The coil of the medians.
    gauge : int
        AWG that was meant.
    """
    keys = [one for one in KEYS if one in off]
    y = np.array([off[one] for one in keys])
    weight = 1.0 / np.array([scales[one] for one in keys])
    found = []
    for key, slopes in _lines("turns" in off).items():
        along = np.array([slopes.get(one, 0.0) for one in keys])
        if not np.any(along):
            continue
        amount = float((y * along * weight**2).sum() / (along**2 * weight**2).sum())
        misfit = float((((y - amount * along) * weight) ** 2).sum())
        found.append(Cause(key=key, amount=amount, misfit=misfit, words=_words(key, amount, gauge)))
    if typical.inductance is not None and "inductance" in off:
        found.append(_short(off, scales, typical))
    best = min(one.misfit for one in found)
    near = sorted((one for one in found if one.misfit <= best + NEAR), key=lambda one: one.misfit)
    return tuple(near)


def _lines(counted: bool) -> dict[str, dict[str, float]]:
    """Return the straight causes: what one unit of each makes of every logarithm."""
    turns = {"resistance": 1.0, "inductance": 2.0, "quality": 1.0, "resonance": -1.0}  # Q = w L / R: definition
    lines = {
        "wire": {"resistance": 1.0, "quality": -1.0}, "core": {"inductance": 1.0, "quality": 1.0, "resonance": -0.5},
        "turns": {**turns, "turns": 1.0} if counted else turns,
    }  # fmt: skip
    return lines | ({"miscounted": turns, "count": {"turns": 1.0}} if counted else {})


def _short(off: Mapping[str, float], scales: Mapping[str, float], typical: MeasuredCoil) -> Cause:
    """Return the share of bridged turns that fits R and L best; its resonance is damped and says nothing."""
    assert typical.inductance is not None
    shares = np.concatenate([[0.0], np.geomspace(1e-3, 0.7, 120)])
    made = np.array([bridged(s, typical.resistance, typical.inductance, typical.frequency) for s in shares])
    left = _misfit(off["resistance"] - made[:, 0], scales["resistance"]) + _misfit(
        off["inductance"] - made[:, 1], scales["inductance"]
    )
    if "quality" in off:
        left = left + _misfit(off["quality"] - np.log(made[:, 2] / made[0, 2]), scales["quality"])
    if "turns" in off:
        left = left + (off["turns"] / scales["turns"]) ** 2
    at = int(np.argmin(left))
    whole, quality = made[0, 2], made[at, 2]
    words = (
        f"turns bridged, {100.0 * shares[at]:.2g} % of them (a short between layers): Q at {typical.frequency:g} Hz "
        f"would be {quality:.2g} instead of {whole:.2g}, the resonance flat"
    )
    return Cause(key="short", amount=float(shares[at]), misfit=float(left[at]), words=words)


def _misfit(left: FloatArray, scale: float) -> FloatArray:
    return np.asarray((left / scale) ** 2)


def _words(key: str, amount: float, gauge: int) -> str:
    if key == "wire":
        return _wire_words(amount, gauge)
    more, less = ("more", "more") if amount > 0.0 else ("fewer", "less")
    share = f"{abs(100.0 * math.expm1(amount)):.2g} %"
    return {
        "turns": f"{share} {more} turns than the others",
        "miscounted": f"{share} {more} turns than the counter said",
        "count": "the turns were written down wrongly: resistance and inductance are those of the others",
        "core": f"a core with {share} {less} inductance: other or missing steel, another part beside it",
    }[key]


def _wire_words(amount: float, gauge: int) -> str:
    """Say which wire it would be: another gauge where one is near, else thin, thick, stretched or warm."""
    size = f"{100.0 * math.expm1(amount):+.2g} % ohm a metre"
    own = catalogue.wire(gauge)
    low, high = (math.log(one / own.resistance_per_metre()) for one in own.resistance_spread)
    if low <= amount <= high:
        warm = ", stretched, or read warm (0.4 % a degree)" if amount > 0.0 else ""
        return f"wire of {size}: inside what AWG {gauge} may have, {'thin' if amount > 0.0 else 'thick'}{warm}"
    steps = {
        other: math.log(catalogue.wire(other).resistance_per_metre() / own.resistance_per_metre())
        for other in ALL_GAUGES
    }
    near = min(steps, key=lambda other: abs(steps[other] - amount))
    if near != gauge:
        return f"another wire: {size}; AWG {near} would be {100.0 * math.expm1(steps[near]):+.3g} %"
    return f"wire of {size}, more than the standard allows AWG {gauge}: stretched, or a joint"
