"""The resonance of a pickup with nothing connected: what a sweep through a resistor finds of it."""

from collections.abc import Sequence

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.bench.bench import Bench
from polepiece.circuit import loaded_response, resonance
from polepiece.guitar import Draw, Guitar
from polepiece.pickup import GRID, pickup_circuit


def drawn_unloaded_resonance(guitar: Guitar, pickup: str, sample: Sequence[Draw], *, bench: Bench) -> FloatArray:
    """Return where the impedance between the leads peaks in every draw (d,), Hz; NaN where it has no peak.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
    sample : sequence of Draw
        `NOMINAL` gives the state itself.
    bench : Bench
    """
    the_pickup = guitar.pickup(pickup)
    magnetised = bench.magnetised(guitar, the_pickup)
    out = []
    for draw, move in zip(sample, bench.coil_moves(guitar, the_pickup, magnetised, list(sample))):
        alone = loaded_response(GRID, pickup_circuit(guitar, the_pickup, magnetised.coils, draw, move=move))
        found = resonance(GRID, alone.output_impedance).frequency
        out.append(np.nan if found is None else found)
    return np.array(out)
