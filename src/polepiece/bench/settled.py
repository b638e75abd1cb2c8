"""What a measured inductance leaves of steel and turns: the draws of a coil, given its sweep.

An inductance that is lower than computed may come from steel of less permeability, or from fewer turns; a sweep does
not tell which. Both are weighed by how far they may be off, and together they always make what was measured. That
matters for the next bar: how much it moves the inductance hangs on the steel.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.bench.intervals import MagnetMoves
from polepiece.circuit import loaded_response
from polepiece.guitar import CLIP, NOMINAL, SIGMAS, Draw, Guitar, Measured, Pickup, gauge_factors, known
from polepiece.later import special
from polepiece.pickup import AT_120, CoilMove, CoilSolution, inductance_of, pickup_circuit

_GRID = np.linspace(-CLIP, CLIP, 101)


def settled_moves(
    guitar: Guitar, reference: Pickup, coils: CoilSolution, there: MagnetMoves, here: MagnetMoves,
    sample: Sequence[Draw],
) -> list[CoilMove]:  # fmt: skip
    """Return the moves of each draw that give the measured inductance in the state in which it was measured.

    Parameters
    ----------
    guitar : Guitar
    reference : Pickup
        As it was measured (`known.as_measured`); ``coils`` and ``there`` are its solution and its moves.
    here : MagnetMoves
        Of the state that is asked for: the same steel, perhaps another bar.
    sample : sequence of Draw
        `NOMINAL` takes the median.

    Notes
    -----
    With z the normal deviate of the steel's reversible permeability, s(z) the logarithm of what it does to the
    inductance at 120 Hz and y that of measured over computed, the density of z is exp(-z^2/2 - (y - s(z))^2 / (2 t^2));
    t holds the tolerance of the wire, which sets the turns that go with a resistance (L goes as their square), and the
    interval of the measurement. Where the gauge is not known, that is a sum over the gauges that fit: resistance and
    inductance together choose among them. A draw takes the point of that distribution at which its own deviate stood
    in the normal one. What is left between s(z) and the measurement are turns: a scale on all inductances, and its root
    on the EMF. In a difference of two states they go out.
    """
    measured = _measured(guitar, reference, coils)
    find = _quantile(guitar, reference, coils, there, measured)
    out = []
    for draw in sample:
        z = None if find is None else float(find(draw.deviate("steel reversible")))
        then = _inductance(reference, coils, there.coil_at(draw, reversible=z))
        noise = known.drawn_factor(guitar, reference, known.INDUCTANCE, draw)
        out.append(replace(here.coil_at(draw, reversible=z), scale=measured * noise / then))
    return out


def _measured(guitar: Guitar, pickup: Pickup, coils: CoilSolution) -> float:
    """Return the inductance at 120 Hz that the measurement stands for, H.

    With what the model said then, the ratio of the two on what it says now; otherwise the value as it was read. A
    meter at another frequency sees eddy currents and the winding's capacitance in it: the model's ratio of what it
    would read to the inductance at 120 Hz takes them out.
    """
    entry = known.reading_of(guitar, pickup, known.INDUCTANCE)
    assert entry is not None
    if entry.computed is not None:
        return entry.value / entry.computed * _inductance(pickup, coils, CoilMove())
    return entry.value / _seen_by_meter(guitar, pickup, coils, entry)


def _seen_by_meter(guitar: Guitar, pickup: Pickup, coils: CoilSolution, entry: Measured) -> float:
    """Return a meter's series inductance over the inductance at 120 Hz without capacitance, as the model has them."""
    if entry.frequency is None:
        return 1.0
    scale = entry.value / _inductance(pickup, coils, CoilMove())  # first: turns; capacitance then stands beside them
    at, move = np.array([entry.frequency]), CoilMove(scale=scale)
    circuit = pickup_circuit(guitar, pickup, coils, NOMINAL, at, move=move)
    seen = loaded_response(at, circuit).output_impedance.imag[0] / (2.0 * np.pi * entry.frequency)
    return float(seen / _inductance(pickup, coils, move))


def _inductance(pickup: Pickup, coils: CoilSolution, move: CoilMove) -> float:
    return float(inductance_of(pickup, coils, AT_120, move)[0].real)


class _Quantile:
    """Turns a normal deviate into the point of the same rank in another distribution of deviates."""

    def __init__(self, weight: FloatArray) -> None:
        total = np.concatenate([[0.0], np.cumsum(0.5 * (weight[1:] + weight[:-1]))])
        self._rank = total / total[-1]

    def __call__(self, deviate: float) -> float:
        return float(np.interp(special.ndtr(deviate), self._rank, _GRID))


def _quantile(
    guitar: Guitar, pickup: Pickup, coils: CoilSolution, moves: MagnetMoves, measured: float
) -> _Quantile | None:
    """Return where the steel lies given the measurement; None where its permeability is known."""
    if "reversible" not in moves.coils:
        return None
    made = np.array([_inductance(pickup, coils, moves.coil_at(NOMINAL, reversible=z)) for z in _GRID])
    entry = known.reading_of(guitar, pickup, known.INDUCTANCE)
    assert entry is not None
    low, high = known.wire_factors(pickup)
    spread = max(float(np.hypot(2.0 * np.log(high / low), np.log(entry.high / entry.low)) / (2.0 * SIGMAS)), 1e-3)
    gauges = np.array(gauge_factors(guitar, pickup)) if known.resistance_known(pickup) else np.ones(1)
    off = np.log(measured / made)[:, None] + 2.0 * np.log(gauges)[None]  # L goes as 1 / (ohms a metre)^2
    density = special.logsumexp(-0.5 * (off / spread) ** 2, axis=1) - 0.5 * _GRID**2
    return _Quantile(np.exp(density - density.max()))
