"""A pickup with its magnet solved, as it lies in the cache on disk: the first state that is asked of a geometry.

Whoever looks at a guitar again begins with the same magnet in the same shapes. Others of the same process start from
that one, are solved in a few steps, and are not kept.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import fields

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.coil import AlternatingSolution
from polepiece.magnetics import MagnetLaw, MagnetState, cache
from polepiece.pickup.anatomy import SteelPart
from polepiece.pickup.engine import SAMPLES, MagnetForSound
from polepiece.pickup.model import PickupModel
from polepiece.strings import Beside

Tables = tuple[FloatArray, FloatArray, Beside]  # as `engine.tables`
_STATE = ("potential", "field", "magnetization", "steps")
_COILS = tuple(one.name for one in fields(AlternatingSolution))


def name_of(model: PickupModel, law: MagnetLaw, steels: Mapping[str, SteelPart], sound: MagnetForSound) -> str | None:
    """Return the name of a stored state, by all that it is solved from; None where its geometry is not stored."""
    if model.stored_as is None:
        return None
    said = repr((model.stored_as, law, sorted(steels.items()), sound, SAMPLES.tolist()))
    assert " at 0x" not in said, "a law that does not say what it is would be taken for another"
    return hashlib.sha256(said.encode()).hexdigest()[:32]


def load(name: str, model: PickupModel) -> tuple[MagnetState, AlternatingSolution, Tables] | None:
    """Return a state that was stored under ``name``; None when there is none, or not the whole of it."""
    stored = cache.load(name) or {}
    wanted = {f"state_{key}" for key in _STATE} | {f"coils_{key}" for key in _COILS}
    if (wanted | {"table", "coil_tables", "slope", "coil_slopes"}) - stored.keys():
        return None
    state = MagnetState(
        potential=stored["state_potential"], field=stored["state_field"], magnetization=stored["state_magnetization"],
        charge_of_node=model.factors.charge_of_node, steps=int(stored["state_steps"]), bare=stored.get("state_bare"),
    )  # fmt: skip
    found = AlternatingSolution(**{key: stored[f"coils_{key}"] for key in _COILS})
    beside = Beside(pickup=stored["slope"], coils=stored["coil_slopes"])
    return state, found, (stored["table"], stored["coil_tables"], beside)


def laid_out(found: AlternatingSolution, tables: Tables) -> tuple[AlternatingSolution, Tables]:
    """Return the same arrays as they lie when they come from disk: sums over them are then the same to a digit."""
    table, coil_tables, beside = tables
    return (
        AlternatingSolution(**{key: np.ascontiguousarray(getattr(found, key)) for key in _COILS}),
        (
            np.ascontiguousarray(table), np.ascontiguousarray(coil_tables),
            Beside(pickup=np.ascontiguousarray(beside.pickup), coils=np.ascontiguousarray(beside.coils)),
        ),
    )  # fmt: skip


def store(name: str, state: MagnetState, found: AlternatingSolution, tables: Tables) -> None:
    """Store a state under ``name``."""
    table, coil_tables, beside = tables
    out = {f"state_{key}": np.asarray(getattr(state, key)) for key in _STATE}
    out |= {} if state.bare is None else {"state_bare": state.bare}
    out |= {f"coils_{key}": getattr(found, key) for key in _COILS}
    out |= {"table": table, "coil_tables": coil_tables, "slope": beside.pickup, "coil_slopes": beside.coils}
    cache.store(name, out)
