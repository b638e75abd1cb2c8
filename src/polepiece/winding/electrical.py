"""A winding in its pickup: inductance per turn squared, capacitance and resonances, by the bench's own chain."""

import math
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.bench import Bench
from polepiece.circuit import LoadedResponse, loaded_response, resonance
from polepiece.guitar import CLIP, NOMINAL, Draw, Guitar, Pickup, ninety, usual_position
from polepiece.pickup import (
    AT_120,
    GRID,
    STILL,
    CoilMove,
    Magnetised,
    flattest,
    inductance_of,
    pickup_circuit,
    position_responses,
    turns,
)
from polepiece.winding.bobbin import Bobbin
from polepiece.winding.inference import TURNS, SteelEffect
from polepiece.winding.solve import CoilFound, PerTurn, Value

DRAWS = 48


def per_turn(bobbin: Bobbin, bench: Bench) -> PerTurn:
    """Return the pickup's inductance at the reference turns and how far its steel leaves it open.

    The pickup is solved (`Bench.magnetised`); L goes as the square of the turns: definition.
    """
    coil = bobbin.pickup.coils[0]
    pickup = _drawn(bobbin)
    magnetised = bench.magnetised(bobbin.guitar, pickup)
    moves = bench.moves(pickup, magnetised)
    middle = _at_120(pickup, magnetised, STILL)
    deviate = np.linspace(-CLIP, CLIP, 41)
    found = [_at_120(pickup, magnetised, moves.coil_at(NOMINAL, reversible=float(z))) for z in deviate]
    steel = SteelEffect(deviate=deviate, effect=np.log(np.array(found) / middle))
    seen = partial(_seen, bobbin.guitar, pickup, magnetised, coil.turns)
    return PerTurn(inductance=middle, steel=steel, seen=seen)


def _drawn(bobbin: Bobbin) -> Pickup:
    """Return the pickup with the turns of its record: without readings that would rescale them."""
    coil = bobbin.pickup.coils[0]
    return replace(
        bobbin.pickup, coils=bobbin.coils(coil.turns, coil.wire_awg, coil.wire_build), resistance=None,
        coil_resistances=(), inductance=None,
    )  # fmt: skip


def _at_120(pickup: Pickup, magnetised: Magnetised, move: CoilMove) -> float:
    return float(inductance_of(pickup, magnetised.coils, AT_120, move)[0].real)


def _seen(
    guitar: Guitar, pickup: Pickup, magnetised: Magnetised, reference: float, count: float, frequency: float
) -> float:
    """Return what a meter in series mode shows at ``frequency`` over the inductance at 120 Hz, with ``count`` turns."""
    if frequency == AT_120[0]:
        return 1.0
    at, move = np.array([frequency]), CoilMove(scale=(count / reference) ** 2)
    found = loaded_response(at, pickup_circuit(guitar, pickup, magnetised.coils, NOMINAL, at, move=move))
    return float(found.output_impedance.imag[0] / (2.0 * np.pi * frequency) / _at_120(pickup, magnetised, move))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Electrical:
    """What a winding does in its guitar: each value with its 90 % interval; None where nothing peaks."""

    guitar: Guitar
    pickup: Pickup
    inductance_1khz: Value  # H
    capacitance: Value  # F, of each coil (the first)
    unloaded: Value | None  # Hz, nothing connected
    loaded: Value | None  # Hz, in the guitar
    height_db: Value | None  # of that peak above the plateau


def electrical(bobbin: Bobbin, found: CoilFound, bench: Bench, *, seed: int = 0, draws: int = DRAWS) -> Electrical:
    """Return inductance, capacitance and resonances of a winding, from draws of what its knowns leave open.

    Raises
    ------
    InputError
        When no winding can be like that (`guitar.windings`).
    """
    guitar, pickup = bobbin.wound(found.turns.value, found.gauge, found.build, found.resistance.value)
    magnetised = bench.magnetised(guitar, pickup)
    moves = bench.moves(pickup, magnetised)
    posterior = found.posterior
    wound = turns(pickup)[0]  # by the resistance and nominal wire; the rest is a scale
    counts = bobbin.reference * np.exp(np.concatenate([[posterior.mean[TURNS]], posterior.drawn[:draws, TURNS]]))
    steels = np.concatenate([[posterior.deviate], posterior.deviates[:draws]])
    rows: list[list[float]] = []
    for number, (count, z) in enumerate(zip(counts, steels)):
        draw = Draw(number=number, seed=seed)
        move = replace(moves.coil_at(draw, reversible=float(z)), scale=float(count / wound) ** 2)
        rows.append(_numbers(guitar, pickup, magnetised, draw, move, bench))
    values = [_value(*column) for column in zip(*rows)]
    inductance, capacitance, unloaded, loaded, height = values
    assert inductance is not None and capacitance is not None
    return Electrical(
        guitar=guitar, pickup=pickup, inductance_1khz=inductance, capacitance=capacitance, unloaded=unloaded,
        loaded=loaded, height_db=height,
    )  # fmt: skip


def _value(stated: float, *drawn: float) -> Value | None:
    """Return a value with the 90 % of those draws that have one; None where the stated one has none."""
    if not math.isfinite(stated):
        return None
    ((low, high),) = ninety(np.array([[one] for one in drawn if math.isfinite(one)] or [[stated]]), [stated])
    return Value(value=stated, low=low, high=high)


def _numbers(
    guitar: Guitar, pickup: Pickup, magnetised: Magnetised, draw: Draw, move: CoilMove, bench: Bench
) -> list[float]:
    at = np.array([1000.0])
    circuit = pickup_circuit(guitar, pickup, magnetised.coils, draw, move=move)
    alone = resonance(GRID, loaded_response(GRID, circuit).output_impedance)
    peak = resonance(GRID, loaded_curve(guitar, pickup, magnetised, draw, move, bench), reference="plateau")
    own = circuit.coil_capacitance[0] if circuit.coil_capacitance else circuit.capacitance
    return [
        float(inductance_of(pickup, magnetised.coils, at, move)[0].real), own,
        float(GRID[-1]) if alone.frequency is None else alone.frequency,  # above all that is computed
        math.nan if peak.frequency is None else peak.frequency,
        math.nan if peak.height_db is None else peak.height_db,
    ]  # fmt: skip


def loaded_curve(
    guitar: Guitar, pickup: Pickup, magnetised: Magnetised, draw: Draw, move: CoilMove, bench: Bench
) -> FloatArray:
    """Return |volts at the amplifier per volt in the coils| (f,) on GRID, in the position where the pickup is heard.

    By itself where it can be; else with the others that are on there, each as it is.
    """
    position = usual_position(guitar, pickup.name)
    circuits = {pickup.name: pickup_circuit(guitar, pickup, magnetised.coils, draw, move=move)}
    for name in position.on:
        if name != pickup.name:
            other = guitar.pickup(name)
            circuits[name] = pickup_circuit(guitar, other, bench.magnetised(guitar, other).coils, draw)
    found: LoadedResponse
    (found,) = position_responses(guitar, position, [circuits], [draw])
    total: ComplexArray = np.sum([flattest(one) for one in found.transfers], axis=0)
    return np.asarray(np.abs(total))
