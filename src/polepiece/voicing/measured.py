"""What was measured of a pickup, handed over into its guitar file."""

from dataclasses import replace

from polepiece.measure import Estimate, MeasuredPickup
from polepiece.voicing.guitar import Guitar
from polepiece.voicing.meter_readings import known

KEYS = ("resistance_kohm", "inductance_h", "capacitance_pf", "temperature_c")


def measured_keys(measured: MeasuredPickup) -> dict[str, float]:
    """Return what a measurement says in keys of the pickup's table of a guitar file, in the units there.

    Only what was told by the measurement; the inductance is that at 120 Hz with the winding's capacitance taken out.
    """
    found: dict[str, float] = {}
    for key, name, unit in (
        ("resistance_kohm", "resistance", 1e3),
        ("inductance_h", "inductance_120_hz", 1.0),
        ("capacitance_pf", "capacitance", 1e-12),
    ):
        one = measured[name]
        if one.told:
            found[key] = _rounded(one, unit)
    if "resistance_kohm" in found:
        found["temperature_c"] = measured.temperature
    return found


def _rounded(one: Estimate, unit: float) -> float:
    """Return a value in ``unit`` to a tenth of its interval, not below four digits."""
    return float(f"{one.value / unit:.4g}")


def with_measured(guitar: Guitar, pickup: str, measured: MeasuredPickup) -> Guitar:
    """Return the guitar with the measured resistance, inductance, capacitance and temperature of one pickup.

    What was assumed of them is measured now and leaves the list of assumptions.
    """
    unit = guitar.pickup(pickup)
    keys = measured_keys(measured)
    moved = replace(
        unit,
        resistance=keys["resistance_kohm"] * 1e3 if "resistance_kohm" in keys else unit.resistance,
        temperature=keys.get("temperature_c", unit.temperature),
        inductance=keys.get("inductance_h", unit.inductance),
        capacitance=keys["capacitance_pf"] * 1e-12 if "capacitance_pf" in keys else unit.capacitance,
    )
    return known(guitar, unit, moved, keys)
