"""A recorded sweep becomes the record of a pickup, in a process of its own: what the command line does, from bytes."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from polepiece.errors import InputError, MeasurementError
from polepiece.measure import (
    DATA_SHEET,
    InterfaceInput,
    MeasuredPickup,
    RatioSpectrum,
    fit_coil,
    impedance_of,
    measured_pickup,
    ratio_of,
    sweep_for,
    taken_from,
)

Progress = Callable[[int, int, str], None]
File = tuple[str, bytes]  # name, and the whole file
NOT_SAID = (
    "Or do the interface's input and the cable to it have another capacitance than usual ones? It was taken as 50 to "
    "350 pF, because nobody said it: under Calibration say it, or give a recording with nothing connected."
)
ROLES = {"pickup": "with the pickup", "open": "with nothing connected", "bridged": "with the resistor bridged"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What stood on the bench while it was recorded; SI."""

    resistor: float  # ohm, in series
    tolerance: float = 0.01  # share, limits
    temperature: float = 20.0  # degC, of the pickup
    input_resistance: float | None = None  # ohm, of the interface; needed without a recording with nothing connected
    input_capacitance: float | None = None  # F, of it and the cable to it; None: usual ones, in wide limits


def measure_sweep(progress: Progress, files: Mapping[str, File], bench: Bench, date: str) -> MeasuredPickup:
    """Return the record of one pickup.

    Parameters
    ----------
    files : mapping
        By role: "pickup", and "open" and "bridged" where they were recorded; two channels each, source first.
    bench : Bench
    date : str
        ISO.

    Raises
    ------
    PolepieceError
        When a file is no such recording, or the calibrations do not suffice.
    """
    taken = {role: taken_from(data, name, role) for role, (name, data) in files.items()}
    if "pickup" not in taken:
        raise InputError("a recording with the pickup connected is needed.")
    signal = sweep_for(taken["pickup"].sample_rate)
    ratios: dict[str, RatioSpectrum] = {}
    for k, (role, one) in enumerate(taken.items()):
        progress(k, len(taken) + 1, f"finding the sweeps {ROLES[role]}")
        ratios[role] = ratio_of(
            one.samples, signal, sample_rate=one.sample_rate, where=one.fact.name, through=role == "bridged"
        )
    interface = _interface(bench)
    spectrum = impedance_of(
        ratios["pickup"], series_resistor=bench.resistor, tolerance=bench.tolerance, opened=ratios.get("open"),
        bridged=ratios.get("bridged"), interface=interface,
    )  # fmt: skip
    progress(len(taken), len(taken) + 1, "fitting the coil")
    try:
        return measured_pickup(
            spectrum, fit_coil(spectrum), date=date, temperature=bench.temperature, series_resistor=bench.resistor,
            tolerance=bench.tolerance, files=tuple(one.fact for one in taken.values()),
        )  # fmt: skip
    except MeasurementError as error:
        if "open" in ratios or bench.input_capacitance is not None:
            raise
        raise MeasurementError(f"{error} {NOT_SAID}") from error


def _interface(bench: Bench) -> InterfaceInput | None:
    """Return what is across the pickup while it is measured; what a data sheet says is good for `DATA_SHEET`."""
    if bench.input_resistance is None:
        return None
    if bench.input_capacitance is None:
        return InterfaceInput(resistance=bench.input_resistance)
    return InterfaceInput(
        resistance=bench.input_resistance, capacitance=bench.input_capacitance, capacitance_tolerance=DATA_SHEET
    )
