"""What plain meters said of a pickup on the bench, put into its guitar as measured."""

from dataclasses import dataclass, replace
from typing import Any

from polepiece.coil import between_leads
from polepiece.errors import InputError
from polepiece.guitar import Guitar, Pickup, key_of, known, read_again, with_controls
from polepiece.materials import copper_factor

_PICKUP = ("inductance", "gap_bass", "gap_treble", "coil_to_plate_open")
_CONTROLS = {"volume_pot": "volume_pot_measured", "tone_pot": "tone_pot_measured", "tone_cap": "tone_cap",
             "bleed_cap": "bleed_cap", "shunt_resistor": "shunt_resistor"}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """What was read of one pickup and of the controls; None where nothing was.

    Resistances are as read, at ``temperature``; the whole one is across the leads.
    """

    resistance: float | None = None  # ohm
    coil_resistances: tuple[float, float] | None = None  # ohm: slug coil, screw coil
    temperature: float = 20.0  # degC
    coil_to_plate_open: bool | None = None
    inductance: float | None = None  # H, at 120 Hz
    gap_bass: float | None = None  # m, pressed at the last fret
    gap_treble: float | None = None
    pole_gauss: tuple[float | None, ...] = ()  # gauss at the tops of one row, string 1 first, sign kept
    volume_pot: float | None = None  # ohm
    tone_pot: float | None = None
    tone_cap: float | None = None  # F
    bleed_cap: float | None = None
    shunt_resistor: float | None = None  # ohm


def with_readings(guitar: Guitar, pickup: str, readings: Readings) -> Guitar:
    """Return the guitar with these readings in the place of what was said or assumed of it.

    The resistance of the whole pickup is between its leads, as it is wired. Two coils that were read one by one are
    also the whole; a whole that was read alone is shared out as the coils were.

    Raises
    ------
    InputError
        When there are more pole readings than poles, or two coils were read of a pickup that has one.
    """
    the_pickup = guitar.pickup(pickup)
    values: dict[str, Any] = {name: getattr(readings, name) for name in _PICKUP}
    values = {name: value for name, value in values.items() if value is not None}
    gone = [key_of(name) for name in values]
    resistances = _resistances(the_pickup, readings)
    if resistances:
        values |= resistances
        gone += [known.RESISTANCE, key_of("temperature")]
    if any(one is not None for one in readings.pole_gauss):
        if len(readings.pole_gauss) > the_pickup.poles.count:
            raise InputError(
                f"{the_pickup.name} has {the_pickup.poles.count} poles; {len(readings.pole_gauss)} were read."
            )
        values["magnet"] = replace(the_pickup.magnet, measured_gauss=readings.pole_gauss)
        gone.append(known.GAUSS)
    refitted, read = read_again(guitar, the_pickup, values)
    moved = known.with_entries(refitted, read, settled=gone)
    controls = {attr: getattr(readings, name) for name, attr in _CONTROLS.items()}
    controls = {attr: value for attr, value in controls.items() if value is not None}
    return with_controls(moved, the_pickup.name, **controls)


def _resistances(pickup: Pickup, readings: Readings) -> dict[str, Any]:
    """Return the fields of a pickup that its ohmmeter settles."""
    warm = copper_factor(readings.temperature)
    whole, coils = readings.resistance, readings.coil_resistances
    if coils is not None and len(pickup.coils) != 2:
        raise InputError(f"{pickup.name} is a {pickup.built.words} with one coil; two coils were read.")
    if coils is None and whole is None:
        return {}
    out: dict[str, Any] = {"temperature": readings.temperature}
    if coils is not None:
        out["coil_resistances"] = tuple(_digits(one / warm) for one in coils)  # the file has them at 20 degC
        out["resistance"] = _digits(between_leads(coils, pickup.wiring)) if whole is None else whole
    else:
        assert whole is not None
        share = whole / warm / between_leads(pickup.coil_resistances, pickup.wiring) if pickup.coil_resistances else 0.0
        out["coil_resistances"] = tuple(_digits(share * one) for one in pickup.coil_resistances)
        out["resistance"] = whole
    return out


def _digits(value: float) -> float:
    return float(f"{value:.6g}")
