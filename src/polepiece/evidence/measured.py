"""What was measured of a pickup, handed over into its guitar file."""

from polepiece.bench import Bench
from polepiece.guitar import Guitar, Measured, Pickup, key_of, known, parameter_of, read_again
from polepiece.measure import Estimate, MeasuredPickup
from polepiece.pickup import AT_120, inductance_of

TEMPERATURE = key_of("temperature")
_TOLD = tuple(
    (key_of(attr), name, float(parameter_of(attr).unit.factor))
    for attr, name in (
        ("resistance", "resistance"),
        ("inductance", "inductance_120_hz"),
        ("capacitance", "capacitance"),
    )
)  # key of the guitar file, name of the estimate, unit of the key


def measured_keys(measured: MeasuredPickup) -> dict[str, float]:
    """Return what a measurement says in keys of the pickup's table of a guitar file, in the units there.

    Only what was told by the measurement; the inductance is that at 120 Hz with the winding's capacitance taken out.
    """
    found = {key: digits(measured[name].value / unit) for key, name, unit in _TOLD if measured[name].told}
    if known.RESISTANCE in found:
        found[TEMPERATURE] = measured.temperature
    return found


def digits(value: float) -> float:
    """Return a value to four digits, as it is written into a guitar file."""
    return float(f"{value:.4g}")


def with_measured(guitar: Guitar, pickup: str, measured: MeasuredPickup, *, bench: Bench | None = None) -> Guitar:
    """Return the guitar with the measured resistance, inductance, capacitance and temperature of one pickup.

    What was assumed of them is measured now: it leaves the list of assumptions and enters `Guitar.measured`, with its
    interval, its date and the hashes of the recordings. From there the draws take it. Beside the inductance stands what
    the model computes for the pickup as it is; their ratio is what the next bar's inductance is multiplied by.

    Parameters
    ----------
    guitar : Guitar
        In the state in which it was measured.
    pickup : str
    measured : MeasuredPickup
    bench : Bench, optional
    """
    the_pickup = guitar.pickup(pickup)
    keys = measured_keys(measured)
    values = {
        attr: parameter_of(attr).in_si(keys[key]) if (key := key_of(attr)) in keys else getattr(the_pickup, attr)
        for attr in ("resistance", "temperature", "inductance", "capacitance")
    }
    guitar, moved = read_again(guitar, the_pickup, values)
    entries = []
    for key, name, scale in _TOLD:
        if key in keys:
            computed = digits(_computed_inductance(guitar, moved, bench)) if key == known.INDUCTANCE else None
            entries.append(_entry(guitar, the_pickup, key, measured[name], scale, measured, computed))
    return known.with_entries(guitar, moved, entries, settled=keys)


def _entry(
    guitar: Guitar, pickup: Pickup, key: str, one: Estimate, scale: float, measured: MeasuredPickup,
    computed: float | None,
) -> Measured:  # fmt: skip
    value = digits(one.value / scale)
    bar, charge = known.bar_of(pickup)
    names = [other for _, other, _ in _TOLD]
    before = names.index(one.name)  # an entry says how it goes with those above it
    alike = [round(measured.correlation(name, one.name), 3) if at < before else 0.0 for at, name in enumerate(names)]
    return Measured(
        path=f"pickups[{known.place_of(guitar, pickup)}].{key}", value=value,
        low=min(digits(one.low / scale), value), high=max(digits(one.high / scale), value),
        date=measured.date, method=measured.method, computed=computed, bar=bar, bar_charge=charge,
        with_resistance=alike[0], with_inductance=alike[1],
        files=tuple(fact.sha256 for fact in measured.files),
    )  # fmt: skip


def _computed_inductance(guitar: Guitar, pickup: Pickup, bench: Bench | None) -> float:
    """Return what the model alone says at 120 Hz, H: no earlier measurement in it."""
    solved = (bench or Bench()).magnetised(guitar, pickup)
    return float(inductance_of(pickup, solved.coils, AT_120)[0].real)
