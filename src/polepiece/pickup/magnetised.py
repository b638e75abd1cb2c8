"""One pickup with its magnet solved and its coils' fields."""

from collections.abc import Iterable
from dataclasses import dataclass

from polepiece.arrays import FloatArray
from polepiece.guitar import Pickup
from polepiece.magnetics import MagnetState, Start
from polepiece.materials import MagnetMaterial
from polepiece.pickup import engine, stored_state
from polepiece.pickup.anatomy import magnet_law, magnet_material, steel_parts
from polepiece.pickup.electrics import CoilSolution
from polepiece.pickup.engine import MagnetForSound
from polepiece.pickup.model import PickupModel
from polepiece.strings import Beside


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Magnetised:
    """Magnet state, coil fields, and what both make along the strings, per turn."""

    model: PickupModel
    state: MagnetState
    coils: CoilSolution
    pickup_table: FloatArray  # (tables, nx, nz) A
    coil_table: FloatArray  # (coils, tables, nx, nz) per turn
    slopes: Beside  # of both along y


def magnetise(
    model: PickupModel, the_pickup: Pickup, *, start: "MagnetState | Start | None" = None, with_coils: bool = True
) -> Magnetised:
    """Solve magnet and coil fields of ``pickup`` on ``model``; without coils only their static fields.

    With nothing near to start from it is looked for on disk, and left there.
    """
    stuff = magnet_material(the_pickup.magnet)
    steels = steel_parts(the_pickup)
    law, sound = magnet_law(the_pickup.magnet, stuff), magnet_for_sound(the_pickup, stuff)
    name = stored_state.name_of(model, law, steels, sound) if start is None and with_coils else None
    known = stored_state.load(name, model) if name is not None else None
    if known is None:
        state = engine.static_state(model, law, steels, start)
        fields = engine.coil_fields(model, state, steels, sound, engine.SAMPLES if with_coils else engine.SAMPLES[:1])
        fields, tables = stored_state.laid_out(fields, engine.tables(model, state, fields))
        if name is not None:
            stored_state.store(name, state, fields, tables)
    else:
        state, fields, tables = known
    pickup, coils, slopes = tables
    return Magnetised(
        model=model, state=state, coils=CoilSolution.of(fields), pickup_table=pickup, coil_table=coils, slopes=slopes
    )


def magnet_for_sound(pickup: Pickup, stuff: MagnetMaterial) -> MagnetForSound:
    """Return what alternating fields meet in the magnet of ``pickup``."""
    return MagnetForSound(
        permeability=stuff.recoil_permeability, resistivity=stuff.resistivity,
        is_round=pickup.built.magnet_is_the_pole,
    )  # fmt: skip


def near_start(model: PickupModel, solved: Iterable[Magnetised]) -> "MagnetState | Start | None":
    """Return the first of ``solved`` that is near a state of ``model``: its own, or one of its mirrored kin."""
    kept = tuple(solved)
    own = next((m.state for m in kept if m.model is model), None)
    if own is not None or model.kin is None:
        return own
    kin = next((m.state for m in kept if m.model is model.kin.model), None)
    return None if kin is None else model.kin.start(kin)
