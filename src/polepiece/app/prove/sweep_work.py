"""A recorded sweep becomes the record of a pickup, in a process of its own: what the command line does, from bytes."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from polepiece.errors import InputError
from polepiece.measure import (
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
ROLES = {"pickup": "with the pickup", "open": "with nothing connected", "bridged": "with the resistor bridged"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What stood on the bench while it was recorded; SI."""

    resistor: float  # ohm, in series
    tolerance: float = 0.01  # share, limits
    temperature: float = 20.0  # degC, of the pickup
    input_resistance: float | None = None  # ohm, of the interface; needed without a recording with nothing connected


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
    interface = None if bench.input_resistance is None else InterfaceInput(resistance=bench.input_resistance)
    spectrum = impedance_of(
        ratios["pickup"], series_resistor=bench.resistor, tolerance=bench.tolerance, opened=ratios.get("open"),
        bridged=ratios.get("bridged"), interface=interface,
    )  # fmt: skip
    progress(len(taken), len(taken) + 1, "fitting the coil")
    return measured_pickup(
        spectrum, fit_coil(spectrum), date=date, temperature=bench.temperature, series_resistor=bench.resistor,
        tolerance=bench.tolerance, files=tuple(one.fact for one in taken.values()),
    )  # fmt: skip
