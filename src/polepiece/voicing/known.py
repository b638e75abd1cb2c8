"""What measurements told of a pickup, as the draws need it: `Guitar.measured` in place of an assumed spread."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from polepiece.voicing.guitar import Guitar, Measured, Pickup
from polepiece.voicing.guitarfile_values import grade_of
from polepiece.voicing.spread import Draw

RESISTANCE, INDUCTANCE, CAPACITANCE = "resistance_kohm", "inductance_h", "capacitance_pf"
CHARGE, GAUSS = "magnet.charge", "magnet.measured_gauss"
KEYS = (RESISTANCE, INDUCTANCE, CAPACITANCE, CHARGE, GAUSS)
"""Keys of a pickup that may have an entry; the path of one is ``pickups[0].`` and the key."""


def place_of(guitar: Guitar, unit: Pickup) -> int:
    """Return the place of a pickup by its name (``unit`` may be a changed copy of it)."""
    return [one.name for one in guitar.pickups].index(unit.name)


def told(guitar: Guitar, unit: Pickup, key: str) -> Measured | None:
    """Return what was measured of one key of ``unit``, or None."""
    if not guitar.measured:
        return None
    path = f"pickups[{place_of(guitar, unit)}].{key}"
    return next((one for one in guitar.measured if one.path == path), None)


def with_entries(
    guitar: Guitar, moved: Pickup, entries: Iterable[Measured] = (), *, settled: Iterable[str] = ()
) -> Guitar:
    """Return the guitar with a pickup in place of its namesake and with entries in place of older ones.

    ``settled`` names the keys of the pickup that are assumed no more; an entry of one that is not among the new ones
    goes as well.
    """
    place = place_of(guitar, moved)
    gone = {f"pickups[{place}].{key}" for key in settled}
    new = tuple(entries)
    paths = gone | {one.path for one in new}
    return replace(
        guitar,
        pickups=tuple(moved if at == place else one for at, one in enumerate(guitar.pickups)),
        assumed=tuple(one for one in guitar.assumed if one.path not in gone),
        measured=(*(one for one in guitar.measured if one.path not in paths), *new),
    )


def drawn_factor(guitar: Guitar, unit: Pickup, key: str, draw: Draw) -> float:
    """Return a factor on a measured value of median 1, spread as its 90 % interval; 1 where nothing was measured.

    Resistance, inductance and capacitance of one sweep share the tolerance of its resistor, L and C the opposite way;
    drawn one by one, a resonance is spread wider than the sweep leaves it, never narrower.
    """
    one = told(guitar, unit, key)
    return 1.0 if one is None else draw.factor(f"measured {key}", one.low / one.value, one.high / one.value)


def bar_of(unit: Pickup) -> tuple[str, str]:
    """Return grade and charge of the bar that is in, as texts of an entry; empty for constants of its own."""
    magnet = unit.magnet
    if magnet.constants is not None:
        return "", ""
    return magnet.grade + ("-rough-cast" if magnet.finish == "rough-cast" else ""), str(magnet.charge)


def as_measured(guitar: Guitar, unit: Pickup) -> Pickup:
    """Return the pickup with the bar that was in when its inductance was measured; ``unit`` where it is still that."""
    one = told(guitar, unit, INDUCTANCE)
    if one is None or not one.bar or (one.bar, one.bar_charge) == bar_of(unit):
        return unit
    grade, finish = grade_of(one.bar)
    word = one.bar_charge
    charge: Any = word if word in ("in-place", "outside", "unknown") else float(word)
    surface: Any = finish or "polished"
    magnet = replace(
        unit.magnet, grade=grade, finish=surface, constants=None, charge=charge, measured_gauss=(), pure_recoil=False
    )
    return replace(unit, magnet=magnet)


def inductance_ratio(guitar: Guitar, unit: Pickup) -> float:
    """Return measured over computed inductance, as it stood when it was measured; 1 where it was not."""
    one = told(guitar, unit, INDUCTANCE)
    return 1.0 if one is None or one.computed is None else one.value / one.computed


def field_ratio(guitar: Guitar, unit: Pickup) -> tuple[float, float, float] | None:
    """Return measured over computed field at the pole tops with its 90 % range: (ratio, low, high).

    None where no reading of the bar that is in now is there; every change of the bar takes its readings away.
    """
    one = told(guitar, unit, GAUSS)
    if one is None or one.computed is None or not unit.magnet.measured_gauss:
        return None
    return one.value / one.computed, one.low / one.computed, one.high / one.computed
