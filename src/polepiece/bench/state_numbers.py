"""The numbers of a state, from what is switched on, solved and struck."""

import numpy as np

from polepiece.bench import measures
from polepiece.bench.state import H2_AMPLITUDE, State
from polepiece.bench.stroke import Energies, Taken, decibel, response_power
from polepiece.bench.switched import Switched
from polepiece.circuit import resonance
from polepiece.guitar import Guitar
from polepiece.pickup import (
    GRID,
    CoilMove,
    engine,
    flattest,
    hum_left_db,
    inductance_of,
    pickup_resistance,
    string_places,
    tuned_strings,
    wound_strings,
)


def state_of(guitar: Guitar, switched: Switched, strokes: list[Taken], energies: Energies, move: CoilMove) -> State:
    """Return the numbers of the first of the pickups that are on, and of all that is heard with it.

    Parameters
    ----------
    guitar : Guitar
    switched : Switched
    strokes : list of Taken
        What its coils take of the stated stroke on every open string.
    energies : Energies
        Of the voltages that these make.
    move : CoilMove
        What a measured inductance says of its coils.
    """
    own, spoken = switched.pickups[0], tuned_strings(guitar)
    pickup, sensed = own.pickup, own.sensed
    n = own.turns * switched.senses[0]
    flat = sum(flattest(one) for one in switched.response.transfers)
    peak = resonance(GRID, np.asarray(flat), reference="plateau")
    found = {key: float(value) for key, value in energies.numbers(wound_strings(guitar)).items()}
    y, height = string_places(guitar, pickup)
    wiring = switched.position.wirings.get(pickup.name, pickup.wiring)
    inductance = inductance_of(pickup, own.magnetised.coils, np.array([120.0, 1000.0]), move, wiring)
    field = engine.vertical_field(own.magnetised.model, own.magnetised.pickup_table, y, height)
    emf = np.concatenate([one.emf for one in switched.pickups], axis=1)
    power = np.abs(measures.combined(emf, switched.transfer)) ** 2
    curve = [response_power(one, strokes[k].sensing, switched.channel_responses(k)) for k, one in enumerate(spoken)]
    return State(
        level_db=found["level_db"],
        bands_db=_part(found, "bands_db"),
        sensitivity_1khz_db=measures.sensitivity_1khz_db(power),
        wound_minus_plain_db=found.get("wound_minus_plain_db"),
        attack_minus_sustain_db=_part(found, "attack_minus_sustain_db"),
        string_balance_db=tuple(_part(found, "string_balance_db").values()),
        resonance_hz=peak.frequency,
        resonance_db=peak.height_db,
        resonance_q=peak.quality,
        dc_resistance_ohm=pickup_resistance(pickup, wiring),
        inductance_120hz_h=float(inductance[0].real),
        inductance_1khz_h=float(inductance[1].real),
        field_mt=tuple(1e3 * field),
        string_pull_n=tuple(sensed.force),
        partial_shift_cents=tuple(
            measures.shift_cents(s, float(g), pickup.distance_from_bridge) for s, g in zip(spoken, sensed.stiffness)
        ),
        h2_db=tuple(measures.h2_db(sensed.sensitivity @ n, sensed.second @ n, H2_AMPLITUDE)),
        frequency_hz=GRID,
        response_db=decibel(np.mean(curve, axis=0)),
        in_phase=switched.in_phase,
        hum_db=hum_left_db([one.pickup for one in switched.pickups], switched.response.transfers),
    )


def _part(found: dict[str, float], head: str) -> dict[str, float]:
    """Return what stands under one head of dotted keys."""
    return {key.partition(".")[2]: value for key, value in found.items() if key.startswith(head + ".")}
