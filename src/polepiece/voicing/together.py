"""Several pickups on at once: level, resonance, and whether they help or cancel each other."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.circuit import ControlCircuit, loaded_response, resonance
from polepiece.errors import InputError
from polepiece.voicing import measures
from polepiece.voicing.bench import Bench
from polepiece.voicing.electrics import circuit_load, control_circuit, flattest, pickup_circuit, turns
from polepiece.voicing.guitar import Guitar
from polepiece.voicing.hum import CANCELS, hum_left_db
from polepiece.voicing.measures import GRID
from polepiece.voicing.spread import NOMINAL


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Together:
    """Pickups in parallel through one set of controls, for slow motion of the whole string.

    Places along the string are left out here (they make the comb that a rendering has): what is said is what
    the lows do, where pickups out of phase cancel.
    """

    pickups: tuple[str, ...]
    in_phase: bool
    level_db: float  # dB re 1 V s/m, power mean over strings
    resonance_hz: float | None
    resonance_db: float | None
    frequency_hz: FloatArray
    response_db: FloatArray
    hum_db: float = 0.0  # what is left of the hum of an even field against all coils adding up

    @property
    def hum_cancelling(self) -> bool:
        """True where the pickups on together leave a tenth or less of the hum of their coils."""
        return self.hum_db <= CANCELS


def together(guitar: Guitar, pickups: Sequence[str], *, bench: Bench | None = None) -> Together:
    """Return what ``pickups`` do when all are on.

    Parameters
    ----------
    guitar : Guitar
    pickups : sequence of str
        Two or more names.

    Raises
    ------
    InputError
        When fewer than two pickups are named.

    Notes
    -----
    The controls are taken as one set after the joined pickups (a master volume and tone). All pickups count as
    leads joined the same way round: the sign of a pickup is the sign of its field times that of its winding
    (``Pickup.wound``). A bar turned and a winding reversed together are in phase, and their hum cancels.
    """
    if len(set(pickups)) < 2:
        raise InputError(f"{list(pickups)} names fewer than two pickups; together needs two or more.")
    bench = bench or Bench()
    circuits, emfs, signs = [], [], []
    for name in pickups:
        unit = guitar.pickup(name)
        solved = bench.magnetised(guitar, unit)
        sensed = bench.sensed(guitar, unit, solved)
        circuit = pickup_circuit(guitar, unit, solved.coils, NOMINAL, GRID, move=bench.coil_move(guitar, unit, solved))
        circuits.append(replace(circuit, controls=ControlCircuit()))
        emfs.append(bench.string_emf(guitar, unit, solved, sensed))
        signs.append(np.sign(float((sensed.sensitivity @ (np.array(turns(unit)) * circuit.sense)).sum())))
    response = loaded_response(GRID, circuits, master=control_circuit(guitar), load=circuit_load(guitar))
    total = sum(measures.combined(emf, transfer) for emf, transfer in zip(emfs, response.transfers))
    power = np.abs(np.asarray(total)) ** 2
    peak = resonance(GRID, flattest(response.transfers[0]), reference="plateau")
    return Together(
        pickups=tuple(guitar.pickup(n).name for n in pickups),
        in_phase=len(set(signs)) == 1,
        level_db=measures.level_db(power),
        resonance_hz=peak.frequency,
        resonance_db=peak.height_db,
        frequency_hz=GRID,
        response_db=10.0 * np.log10(power.mean(axis=0) + 1e-300),
        hum_db=hum_left_db([guitar.pickup(n) for n in pickups], response.transfers),
    )
