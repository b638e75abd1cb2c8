"""One pickup with its magnet solved and its coils' fields."""

from collections.abc import Iterable
from dataclasses import dataclass

from polepiece.arrays import FloatArray
from polepiece.guitar import Pickup
from polepiece.magnetics import MagnetState, Start
from polepiece.materials import MagnetMaterial
from polepiece.pickup import engine
from polepiece.pickup.anatomy import magnet_law, magnet_material, steel_parts
from polepiece.pickup.electrics import CoilSolution
from polepiece.pickup.engine import MagnetForSound, PickupModel
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
    model: PickupModel, unit: Pickup, *, start: "MagnetState | Start | None" = None, with_coils: bool = True
) -> Magnetised:
    """Solve magnet and coil fields of ``unit`` on ``model``; without coils only their static fields."""
    stuff = magnet_material(unit.magnet)
    steels = steel_parts(unit)
    state = engine.static_state(model, magnet_law(unit.magnet, stuff), steels, start)
    frequency = engine.SAMPLES if with_coils else engine.SAMPLES[:1]
    fields = engine.coil_fields(model, state, steels, magnet_for_sound(unit, stuff), frequency)
    pickup, coils, slopes = engine.tables(model, state, fields)
    return Magnetised(
        model=model, state=state, coils=CoilSolution.of(fields), pickup_table=pickup, coil_table=coils, slopes=slopes
    )


def magnet_for_sound(unit: Pickup, stuff: MagnetMaterial) -> MagnetForSound:
    """Return what alternating fields meet in the magnet of ``unit``."""
    return MagnetForSound(
        permeability=stuff.recoil_permeability, resistivity=stuff.resistivity,
        is_round=unit.built.magnet_is_the_pole,
    )  # fmt: skip


def near_start(model: PickupModel, solved: Iterable[Magnetised]) -> "MagnetState | Start | None":
    """Return the first of ``solved`` that is near a state of ``model``: its own, or one of its mirrored kin."""
    kept = tuple(solved)
    own = next((m.state for m in kept if m.model is model), None)
    if own is not None or model.kin is None:
        return own
    kin = next((m.state for m in kept if m.model is model.kin.model), None)
    return None if kin is None else model.kin.start(kin)
