"""What hand-held meters say: resistance at a temperature, inductance and Q at a test frequency."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass

import numpy as np

from polepiece.errors import InputError, MeasurementError
from polepiece.materials import copper_factor
from polepiece.measure.estimate import Estimate
from polepiece.measure.files import FileFact
from polepiece.measure.sweep.coil_model import LUMPED_MODEL, CoilFit, CoilModel
from polepiece.measure.sweep.fit import fit_coil
from polepiece.measure.sweep.impedance import ImpedanceSpectrum
from polepiece.measure.sweep.record import MeasuredPickup
from polepiece.measure.uncertainty import NINETY, half_width
from polepiece.meter_accuracy import LCR_ACCURACY, METER_ACCURACY

REFERENCE = 20.0  # degrees C
TEMPERATURE = 3.0  # limits of "room temperature" read off a wall, K


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectReading:
    """A direct-current resistance as read, and what it is at 20 degC."""

    read: Estimate  # ohm, at ``temperature``
    at_20: Estimate  # ohm
    temperature: float  # degrees C
    notes: tuple[str, ...] = ()


def direct_resistance(
    resistance: float,
    *,
    temperature: float = REFERENCE,
    accuracy: float = METER_ACCURACY,
    temperature_tolerance: float = TEMPERATURE,
    leads: float = 0.0,
    expected: float | None = None,
) -> DirectReading:
    """Correct a multimeter's reading for the test leads and the temperature of the copper.

    Parameters
    ----------
    resistance : ohm, as read.
    temperature : degrees C of the pickup, not of the day: lay it beside the thermometer for an hour.
    accuracy : limits of the meter, a share of the reading.
    temperature_tolerance : limits, K.
    leads : ohm, probes held together.
    expected : ohm at 20 degC, of the same pickup before; more than 2 % apart is said.

    Raises
    ------
    InputError
        For values that are no temperature or tolerance.
    MeasurementError
        For a reading that is no pickup: open, shorted, kohm typed as ohm.

    Notes
    -----
    R20 = R / (1 + alpha (T - 20)), alpha = 0.00393 per K for copper (IEC 60028).
    """
    if not -10.0 <= temperature <= 50.0:
        raise InputError(f"temperature is {temperature:g} degC; -10 to 50 is a workshop. 68 degF is 20 degC.")
    if not 0.0 < accuracy <= 0.1 or not 0.0 <= temperature_tolerance <= 20.0:
        raise InputError("accuracy is a share (0.01 is 1 %, at most 0.1); temperature_tolerance is in K, at most 20.")
    value = resistance - leads
    if not np.isfinite(value) or value >= 1e5:
        raise MeasurementError(
            f"{resistance:g} ohm is no closed coil: 1 to 30 kohm is usual. An open coil is a fault to find first."
        )
    if value < 100.0:
        slip = f" {resistance:g} kohm is {resistance:g}k here." if 1.0 <= resistance <= 30.0 else ""
        raise MeasurementError(
            f"{resistance:g} ohm is no pickup: 1 to 30 kohm is usual.{slip} A short, or the wrong unit?"
        )
    factor = copper_factor(temperature)
    per_kelvin = (copper_factor(temperature + 1.0) - factor) / factor
    base = value / factor
    notes = []
    if not 1e3 <= value <= 30e3:
        notes.append("Outside 1 to 30 kohm: was it read at the jack, with a pot or another pickup in parallel?")
    if expected is not None and abs(base / expected - 1.0) > 0.02:
        notes.append(
            f"{100 * (base / expected - 1):+.1f} % from the {expected / 1e3:.2f} kohm on record, both at 20 degC: more "
            "than 2 % is a sign to stop and look for a damaged winding or a lead that pinches."
        )
    own = half_width(0.0, [accuracy * value])
    both = half_width(0.0, [accuracy * base, temperature_tolerance * per_kelvin * base])
    return DirectReading(
        read=Estimate(name="resistance", value=value, low=value - own, high=value + own, unit="ohm"),
        at_20=Estimate(name="resistance_20", value=base, low=base - both, high=base + both, unit="ohm"),
        temperature=temperature,
        notes=tuple(notes),
    )


TEST_FREQUENCIES = (50.0, 2e4)  # Hz, between which meters read coils (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterReading:
    """One reading of an LCR meter, in series mode: inductance, and Q where it shows one."""

    frequency: float  # Hz, the meter's test frequency
    inductance: float  # H, series
    quality: float | None = None
    accuracy: float = LCR_ACCURACY  # limits, share of |Z|

    def __post_init__(self) -> None:
        low, high = TEST_FREQUENCIES
        if not low <= self.frequency <= high:
            raise InputError(
                f"test frequency is {self.frequency:g} Hz; {low:g} to {high:g} are taken (100, 120, 1000, 10000)."
            )
        if not 0.2 <= abs(self.inductance) <= 100.0:
            raise InputError(
                f"inductance is {self.inductance:g} H; pickups lie between 0.5 and 20 H. 4500 mH is 4.5 H here. "
                "Negative is allowed above the resonance, where a pickup looks like a capacitor."
            )
        if self.quality is not None and not 0.0 < abs(self.quality) <= 200.0:
            raise InputError(f"Q is {self.quality:g}; pickups lie between 0.1 and 20. Is it D (= 1 / Q)?")
        if not 0.0 < self.accuracy <= 0.2:
            raise InputError(f"accuracy is {self.accuracy:g}; a share is needed: 2 % is 0.02.")


def fit_meter(
    readings: Sequence[MeterReading], *, resistance: tuple[float, float], model: CoilModel = LUMPED_MODEL
) -> CoilFit:
    """Fit the model to a few readings of an LCR meter and a resistance.

    Parameters
    ----------
    readings : one to six, at different frequencies, each with its Q.
    resistance : (ohm, standard deviation), direct current, at the same temperature.

    Returns
    -------
    CoilFit
        As of a sweep; most parameters stay what was believed beforehand, and are marked so.

    Raises
    ------
    InputError
        When there are too few readings, two at one frequency, or one without Q: L alone is half a reading.
    MeasurementError
        When L and Q give a resistance that is less than the direct one.

    Notes
    -----
    Definitions of L and Q at one frequency; the fit is `fit_coil`.
    """
    if not 1 <= len(readings) <= 6:
        raise InputError(f"{len(readings)} readings were given; one to six are taken.")
    hertz = np.array([one.frequency for one in readings])
    if len(set(hertz)) < len(hertz):
        raise InputError("two readings have the same test frequency; give their mean.")
    order = np.argsort(hertz)
    missing = [one.frequency for one in readings if one.quality is None]
    if missing:
        raise InputError(f"the reading at {missing[0]:g} Hz has no Q; meters show it on a second press (Q or D = 1/Q).")
    z = np.array([_impedance(one) for one in readings])
    low = int(order[0])
    if z[low].real < 0.9 * resistance[0]:
        raise MeasurementError(
            f"L and Q at {hertz[low]:g} Hz give {z[low].real / 1e3:.2f} kohm in series, less than the "
            f"{resistance[0] / 1e3:.2f} kohm of direct current. Is the meter in parallel mode, or is a pot connected?"
        )
    deviation = np.array([one.accuracy for one in readings]) * np.abs(z) / np.sqrt(3.0)
    spectrum = ImpedanceSpectrum(
        frequency=hertz[order], impedance=z[order], deviation=deviation[order], scale_tolerance=0.0, method="LCR meter"
    )
    return fit_coil(spectrum, model, resistance=resistance, few=True)


def metered_pickup(readings: Sequence[MeterReading], fit: CoilFit, *, date: str, temperature: float) -> MeasuredPickup:
    """Return what meters said as the record that a sweep would give, to be handed over into a guitar file.

    Parameters
    ----------
    readings : as given to `fit_meter`; ``fit`` is what it made of them.
    date : ISO.
    temperature : degrees C of the pickup.
    """
    z = np.array([_impedance(one) for one in readings])
    half = np.abs(z) * np.array([half_width(0.0, [one.accuracy]) for one in readings])
    facts = json.dumps([asdict(one) for one in readings], sort_keys=True).encode()
    return MeasuredPickup(
        date=date, temperature=temperature, method="multimeter and LCR meter", series_resistor=0.0, tolerance=0.0,
        files=(FileFact(role="readings", name="readings", sha256=hashlib.sha256(facts).hexdigest()),),
        frequency=np.array([one.frequency for one in readings]), impedance=z, low=np.abs(z) - half,
        high=np.abs(z) + half, estimates=fit.parameters + fit.derived, untold=fit.untold, notes=fit.notes,
        misfit=fit.misfit, together=fit.together,
    )  # fmt: skip


def _impedance(one: MeterReading) -> complex:
    reactance = 2.0 * np.pi * one.frequency * one.inductance
    return complex(abs(reactance / (one.quality or 1.0)), reactance)


def deviation_of(reading: DirectReading) -> tuple[float, float]:
    """Return (ohm, standard deviation) of a direct reading, as fits take it.

    Definition of a 90 % interval of a normal distribution.
    """
    return reading.read.value, (reading.read.high - reading.read.low) / (2.0 * NINETY)
