"""Trials of the whole chain on drawn pickups, resistors and interfaces: how often a stated interval holds the truth."""

from dataclasses import dataclass, replace

import numpy as np

from polepiece.circuit import resonance
from polepiece.measure import CoilFit, fit_coil, impedance_of, ratio_of, sweep_for
from tests.reference.measured_bench import Device, Interface, impedance, record, transfers

QUANTITIES = ("resistance", "inductance_static", "inductance_1000_hz", "capacitance", "resonance")
TOLERANCE = 0.01  # of the series resistor, as printed


@dataclass(frozen=True, kw_only=True, eq=False)
class Trial:
    """One drawn bench: what is true and what was found."""

    device: Device
    interface: Interface
    true: dict[str, float]
    found: CoilFit

    def holds(self, name: str) -> bool:
        """Say whether the interval of ``name`` holds the truth."""
        return self.found[name].low <= self.true[name] <= self.found[name].high


def drawn(random: np.random.Generator) -> tuple[Device, Interface]:
    """Return a pickup between a mild single coil and a hot humbucker, and an interface of common kind."""

    def between(low: float, high: float) -> float:
        return float(np.exp(random.uniform(np.log(low), np.log(high))))

    device = Device(
        resistance=between(5e3, 16e3), inductance=between(2.0, 10.0), capacitance=between(60e-12, 250e-12),
        pole_share=random.uniform(0.25, 0.6), pole_corner=between(8.0, 150.0), pole_reluctance=between(0.04, 0.4),
        bar_share=between(0.02, 0.12), bar_corner=between(30.0, 800.0), plate_share=between(0.005, 0.1),
        plate_corner=between(1.5e3, 10e3),
    )  # fmt: skip
    interface = Interface(
        series=100e3 * (1.0 + TOLERANCE * random.uniform(-1.0, 1.0)), input_resistance=between(0.5e6, 2e6),
        input_capacitance=between(80e-12, 400e-12), output_resistance=between(20.0, 300.0),
        gains=(random.uniform(0.6, 0.9), random.uniform(0.6, 0.9)),
        noise=10.0 ** (random.uniform(-105.0, -85.0) / 20.0),
        hum=10.0 ** (random.uniform(-90.0, -55.0) / 20.0), mains=float(random.choice([50.0, 60.0])),
        drift=float(random.choice([0.0, random.uniform(-60e-6, 60e-6)])), clock=random.uniform(-1e-4, 1e-4),
        turned=bool(random.random() < 0.2),
    )  # fmt: skip
    return device, interface


def truth(device: Device) -> dict[str, float]:
    """Return what the device really has, from its netlist."""
    axis = np.geomspace(2e3, 30e3, 4000)
    peak = resonance(axis, impedance(device, axis)).frequency
    assert peak is not None
    bare = replace(device, capacitance=1e-18)
    at_1k = impedance(bare, np.array([1e3]))[0].imag / (2e3 * np.pi)
    return {
        "resistance": device.resistance, "inductance_static": device.inductance, "inductance_1000_hz": float(at_1k),
        "capacitance": device.capacitance, "resonance": peak,
    }  # fmt: skip


def trial(seed: int, *, duration: float = 2.5) -> Trial:
    """Draw a bench, record pickup, open and bridged, and fit."""
    random = np.random.default_rng([2611, seed])
    device, interface = drawn(random)
    signal = sweep_for(48000, duration=duration, silence=0.6)
    solved = transfers(device, interface)
    taken = {
        what: ratio_of(record(what, signal, interface, solved, random), signal, sample_rate=48000, where=what,
                       through=what == "bridged")
        for what in ("pickup", "open", "bridged")
    }  # fmt: skip
    measured = impedance_of(
        taken["pickup"], series_resistor=100e3, tolerance=TOLERANCE, opened=taken["open"], bridged=taken["bridged"]
    )
    return Trial(device=device, interface=interface, true=truth(device), found=fit_coil(measured))
