"""A batch of measured coils beside one another: how far they spread, which stand out, and what would make each so.

Everything is in logarithms against the median of the batch. A scale is 1.4826 times the median absolute deviation (MAD:
the standard deviation of a normal batch, not moved by a few bad coils), never less than the meter's own. A coil stands
out beyond 3.5 scales (Iglewicz and Hoaglin 1993, from memory) in resistance, inductance, Q, resonance, counted turns,
or in resistance over the root of the inductance, which turns do not move but the wire does.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.errors import InputError
from polepiece.guitar import SIGMAS
from polepiece.measure import MeasuredCoil
from polepiece.meter_accuracy import LCR_ACCURACY, METER_ACCURACY
from polepiece.winding.causes import Cause, causes

OUT = 3.5  # scales
NORMAL = 1.4826  # standard deviation over MAD of a normal distribution
FEWEST = 5  # coils from which a median and a MAD tell anything; assumption
REPEAT = 0.3  # of a meter's limits repeat from coil to coil: one meter reads the whole batch; assumption
FLOOR = {  # least scale: what one meter, read again, may be off between two coils
    "resistance": REPEAT * METER_ACCURACY, "inductance": REPEAT * LCR_ACCURACY, "resonance": 0.005, "turns": 0.001,
    "quality": 0.05, "wire": REPEAT * math.hypot(METER_ACCURACY, 0.5 * LCR_ACCURACY),
}  # fmt: skip
QUANTITIES = ("resistance", "inductance", "quality", "resonance", "turns")


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """One quantity over the batch: median, the scale of its logarithm, its 5 and 95 % points, how many were read."""

    quantity: str
    median: float
    scale: float
    low: float
    high: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilJudged:
    """One coil against the batch: logarithms by quantity, in what it stands out, and what would make it so."""

    coil: MeasuredCoil
    off: dict[str, float]  # logarithm against the median, by quantity (and "wire")
    scales: dict[str, float]  # the same over the batch's scale
    causes: tuple[Cause, ...] = ()  # the likeliest first; empty where it does not stand out

    @property
    def stands_out(self) -> tuple[str, ...]:
        """Quantities in which it lies beyond the limit."""
        return tuple(name for name, value in self.scales.items() if abs(value) > OUT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """A batch judged."""

    spreads: tuple[Spread, ...]
    coils: tuple[CoilJudged, ...]  # in the order of the table

    @property
    def outliers(self) -> tuple[CoilJudged, ...]:
        """Coils that stand out, the farthest first."""
        out = [one for one in self.coils if one.stands_out]
        return tuple(sorted(out, key=lambda one: -max(abs(value) for value in one.scales.values())))

    def spread(self, quantity: str) -> Spread | None:
        """Return the spread of one quantity, None where it was not read."""
        return next((one for one in self.spreads if one.quantity == quantity), None)


def judge(coils: Sequence[MeasuredCoil], *, gauge: int = 42) -> Batch:
    """Judge a batch.

    Parameters
    ----------
    coils : sequence of MeasuredCoil
        At least `FEWEST`, all inductances read at one test frequency.
    gauge : int
        AWG that was meant, for what a wrong spool would do.

    Raises
    ------
    InputError
        When they are too few, or their test frequencies differ.
    """
    if len(coils) < FEWEST:
        raise InputError(f"the batch has {len(coils)} coils; {FEWEST} at least tell a median and a spread.")
    tested = {one.frequency for one in coils if one.inductance is not None}
    if len(tested) > 1:
        raise InputError(
            f"inductances were read at {', '.join(f'{one:g}' for one in sorted(tested))} Hz; a batch is compared at "
            "one test frequency."
        )
    logs = {name: _logs(coils, name) for name in QUANTITIES}
    logs["wire"] = logs["resistance"] - 0.5 * logs["inductance"]
    logs = {name: one for name, one in logs.items() if np.isfinite(one).sum() >= FEWEST}
    middles = {name: float(np.nanmedian(one)) for name, one in logs.items()}
    scales = {name: _scale(one, FLOOR[name]) for name, one in logs.items()}
    judged = []
    for k, coil in enumerate(coils):
        off = {name: float(one[k] - middles[name]) for name, one in logs.items() if math.isfinite(one[k])}
        judged.append(
            CoilJudged(coil=coil, off=off, scales={name: value / scales[name] for name, value in off.items()})
        )
    typical = _typical(coils, middles)
    told = [
        CoilJudged(
            coil=one.coil, off=one.off, scales=one.scales,
            causes=causes(one.off, scales, typical, gauge=gauge) if one.stands_out else (),
        )
        for one in judged
    ]  # fmt: skip
    spreads = [_spread(name, logs[name], scales[name]) for name in QUANTITIES if name in logs]
    return Batch(spreads=tuple(spreads), coils=tuple(told))


def _logs(coils: Sequence[MeasuredCoil], name: str) -> FloatArray:
    read = [getattr(one, name) for one in coils]
    return np.array([math.nan if value is None else math.log(value) for value in read])


def _scale(values: FloatArray, floor: float) -> float:
    there = values[np.isfinite(values)]
    return max(NORMAL * float(np.median(np.abs(there - np.median(there)))), floor)


def _spread(name: str, values: FloatArray, scale: float) -> Spread:
    there = values[np.isfinite(values)]
    low, high = np.exp(np.quantile(there, [0.05, 0.95]))
    return Spread(
        quantity=name, median=float(np.exp(np.median(there))), scale=scale, low=float(low), high=float(high),
        count=len(there),
    )  # fmt: skip


def _typical(coils: Sequence[MeasuredCoil], middles: dict[str, float]) -> MeasuredCoil:
    """Return the coil of the medians."""
    tested = next((one.frequency for one in coils if one.inductance is not None), 120.0)
    return MeasuredCoil(
        name="median", row=0, frequency=tested, resistance=math.exp(middles["resistance"]),
        inductance=math.exp(middles["inductance"]) if "inductance" in middles else None,
        resonance=math.exp(middles["resonance"]) if "resonance" in middles else None,
    )  # fmt: skip


def half_spread(spread: Spread) -> float:
    """Return half the width that 90 % of a batch without bad coils would have, as a share. Normal: assumption."""
    return math.expm1(SIGMAS * spread.scale)
