"""Many guitars that differ in their controls only: their circuits solved together, the rest of the chain once.

The same functions as a `State` is made of, over one more axis; what a circuit cannot move is taken from one state.
"""

from collections.abc import Sequence

import numpy as np

from polepiece.bench.bench import SILENT, Bench
from polepiece.bench.stroke import Energies, decibel
from polepiece.bench.switched import Switched, position_heard
from polepiece.circuit import resonance
from polepiece.guitar import Guitar
from polepiece.pickup import AT_1KHZ, GRID, flattest, guitar_responses, wound_strings

OF_THE_PICKUP = (
    "dc_resistance_ohm", "inductance_120hz_h", "inductance_1khz_h", "field_mt.", "string_pull_n.",
    "partial_shift_cents.", "h2_db.",
)  # fmt: skip
"""Heads of the numbers that controls, cable and input do not move."""


def solved_alike(guitar: Guitar) -> object:
    """Return what a guitar has but its controls: equal ones can be given to `numbers_of_many` in one position."""
    assumed = tuple(one for one in guitar.assumed if not one.path.startswith("controls."))
    return (guitar.pickups, guitar.strings, guitar.scale_length, guitar.measured, assumed)


def numbers_of_many(bench: Bench, guitars: Sequence[Guitar], pickup: str) -> list[dict[str, float] | str]:
    """Return `State.numbers` of every guitar, or the words why one has none (it is silent).

    Parameters
    ----------
    bench : Bench
    guitars : sequence of Guitar
        Alike by `solved_alike`; their controls may differ in values and in topology.
    pickup : str
        Name of the pickup that is asked about.
    """
    first = guitars[0]
    name = first.pickup(pickup).name
    position = position_heard(first, name, bench.heard)
    order = [name, *(one for one in position.on if one != name)]
    on = tuple(bench.pickup_on(first, first.pickup(one)) for one in order)
    responses = guitar_responses(guitars, position, {one.pickup.name: one.circuit for one in on})
    heard = [k for k, one in enumerate(responses) if np.any(one.transfers[0])]
    out: list[dict[str, float] | str] = [SILENT] * len(guitars)
    if not heard:
        return out
    switched = Switched(position=position, pickups=on, response=responses[heard[0]])
    strokes = bench.strokes(first, switched)
    own = bench.state(guitars[heard[0]], name).numbers()
    own = {key: value for key, value in own.items() if key.startswith(OF_THE_PICKUP)}
    transfer = np.stack([np.concatenate(responses[k].transfers) for k in heard])  # (g, c, f)
    voltages = [one.voltage(transfer * eddy) for one, eddy in zip(strokes, switched.eddy)]
    energies = Energies.of(strokes, voltages).numbers(wound_strings(first))
    emf = np.concatenate([one.emf for one in on], axis=1)[:, :, AT_1KHZ]
    small = np.abs(np.einsum("kc,gc->gk", emf, transfer[:, :, AT_1KHZ])) ** 2
    for at, k in enumerate(heard):
        found = {key: float(value[at]) for key, value in energies.items()}
        level = found["level_db"]
        bands = {key: value for key, value in found.items() if key.startswith("bands_db.")}
        found |= {key.replace("bands_db.", "bands_own_db."): level + value for key, value in bands.items()}
        found["sensitivity_1khz_db"] = float(decibel(small[at].mean()))
        peak = resonance(GRID, np.asarray(sum(flattest(one) for one in responses[k].transfers)), reference="plateau")
        of_peak = {"resonance_hz": peak.frequency, "resonance_db": peak.height_db, "resonance_q": peak.quality}
        out[k] = found | own | {key: float(value) for key, value in of_peak.items() if value is not None}
    return out
