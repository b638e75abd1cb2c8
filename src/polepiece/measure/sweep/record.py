"""A measurement as a frozen record that can be kept as JSON and read back."""

import datetime
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray, frozen
from polepiece.errors import InputError, MeasurementError
from polepiece.measure.estimate import Estimate, named
from polepiece.measure.files import FileFact
from polepiece.measure.readback import read_back
from polepiece.measure.sweep.coil_model import CoilFit
from polepiece.measure.sweep.impedance import ImpedanceSpectrum

SCHEMA = "polepiece/measured-pickup/1"
STRANGE = 0.15  # share of |Z| by which a coil model may miss a pickup somewhere; real ones are met within 2 %


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeasuredPickup:
    """What was measured of one pickup, from which files, how, and what a fit made of it.

    Attributes
    ----------
    date : ISO, of the measurement.
    temperature : degrees C of the pickup.
    method : how the interface was taken out.
    series_resistor, tolerance : ohm, share.
    files : recordings with their hashes.
    frequency, impedance, low, high : (f,) Hz, ohm, 90 % bounds of the magnitude.
    estimates : parameters and what follows from them, with intervals.
    untold, notes : sentences.
    misfit : mean square of the residuals in standard deviations.
    together : correlations of pairs of estimates (name, name, correlation); older records have none.
    """

    date: str
    temperature: float
    method: str
    series_resistor: float
    tolerance: float
    files: tuple[FileFact, ...]
    frequency: FloatArray
    impedance: ComplexArray
    low: FloatArray
    high: FloatArray
    estimates: tuple[Estimate, ...]
    untold: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    misfit: float = 1.0
    together: tuple[tuple[str, str, float], ...] = ()

    def __post_init__(self) -> None:
        try:
            datetime.date.fromisoformat(self.date)
        except ValueError as error:
            raise InputError(f"date is {self.date!r}; write 2026-11-25.") from error
        for name in ("frequency", "low", "high"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        z = np.array(self.impedance, dtype=complex)
        z.flags.writeable = False
        object.__setattr__(self, "impedance", z)
        if not len(self.frequency) == len(z) == len(self.low) == len(self.high):
            raise InputError("frequency, impedance, low and high must be lists of one length.")
        if not all(-1.0 <= alike <= 1.0 for *_, alike in self.together):
            raise InputError("together holds correlations, -1 to 1.")

    def __getitem__(self, name: str) -> Estimate:
        return named(self.estimates, name)

    def correlation(self, one: str, other: str) -> float:
        """Return how two estimates go together, -1 to 1; 0 where the record does not say."""
        return next((alike for *pair, alike in self.together if set(pair) == {one, other}), 0.0)

    def to_dict(self) -> dict[str, Any]:
        """Return plain numbers and texts, ready for JSON."""
        return {
            "schema": SCHEMA,
            "date": self.date,
            "temperature_c": self.temperature,
            "method": self.method,
            "series_resistor_ohm": self.series_resistor,
            "tolerance": self.tolerance,
            "files": [asdict(one) for one in self.files],
            "frequency_hz": self.frequency.tolist(),
            "resistance_ohm": self.impedance.real.tolist(),
            "reactance_ohm": self.impedance.imag.tolist(),
            "magnitude_low_ohm": self.low.tolist(),
            "magnitude_high_ohm": self.high.tolist(),
            "estimates": [asdict(one) for one in self.estimates],
            "untold": list(self.untold),
            "notes": list(self.notes),
            "misfit": self.misfit,
            "together": [list(one) for one in self.together],
        }

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "MeasuredPickup":
        """Return the record that ``to_dict`` gave.

        Raises
        ------
        MeasurementError
            When ``data`` is something else, naming what is missing.
        """
        with read_back(data, SCHEMA, "a measured pickup"):
            z = np.array(data["resistance_ohm"], dtype=float) + 1j * np.array(data["reactance_ohm"], dtype=float)
            return cls(
                date=data["date"], temperature=data["temperature_c"], method=data["method"],
                series_resistor=data["series_resistor_ohm"], tolerance=data["tolerance"],
                files=tuple(FileFact(**one) for one in data["files"]),
                frequency=np.array(data["frequency_hz"], dtype=float), impedance=z,
                low=np.array(data["magnitude_low_ohm"], dtype=float),
                high=np.array(data["magnitude_high_ohm"], dtype=float),
                estimates=tuple(Estimate(**one) for one in data["estimates"]), untold=tuple(data["untold"]),
                notes=tuple(data["notes"]), misfit=data["misfit"],
                together=tuple((str(a), str(b), float(alike)) for a, b, alike in data.get("together", ())),
            )  # fmt: skip


def measured_pickup(
    spectrum: ImpedanceSpectrum,
    fit: CoilFit,
    *,
    date: str,
    temperature: float,
    series_resistor: float,
    tolerance: float,
    files: tuple[FileFact, ...],
) -> MeasuredPickup:
    """Return the record of a measurement and its fit.

    Raises
    ------
    MeasurementError
        When the curve is so far from that of any pickup that nothing read off it would mean what it is called.
    """
    share, hertz = fit.largest_residual
    if share > STRANGE:
        raise MeasurementError(
            f"this is no pickup's impedance: the nearest that a coil can have misses it by {100 * share:.0f} % at "
            f"{hertz:.0f} Hz. Were gain knobs or settings touched between the recordings, are they exchanged, or does "
            "the pickup still hang on its pots and cable?"
        )
    low, high = spectrum.magnitude_interval
    return MeasuredPickup(
        date=date, temperature=temperature, method=spectrum.method, series_resistor=series_resistor,
        tolerance=tolerance, files=files, frequency=spectrum.frequency, impedance=spectrum.impedance,
        low=low, high=high,
        estimates=fit.parameters + fit.derived, untold=fit.untold, notes=(*spectrum.notes, *fit.notes),
        misfit=fit.misfit, together=fit.together,
    )  # fmt: skip
