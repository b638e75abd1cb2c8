"""One simulated sitting at the bench, shared: recordings of a pickup, of nothing, and with the resistor bridged."""

from dataclasses import dataclass

import numpy as np
import pytest

from polepiece.arrays import FloatArray
from polepiece.measure import RatioSpectrum, SweepSignal, ratio_of, sweep_for
from tests.reference.measured_bench import FOUND, Device, Interface, record, transfers


@dataclass(frozen=True, kw_only=True, eq=False)
class Sitting:
    """Recordings and their ratios."""

    signal: SweepSignal
    device: Device
    interface: Interface
    recordings: dict[str, FloatArray]
    ratios: dict[str, RatioSpectrum]


@pytest.fixture(scope="package")
def sitting() -> Sitting:
    if FOUND is None:
        pytest.skip("ngspice is not installed (Debian: apt-get install ngspice)")
    signal = sweep_for(48000, duration=3.0)
    device, interface = Device(), Interface(hum=10.0 ** (-75.0 / 20.0))
    random = np.random.default_rng(20)
    solved = transfers(device, interface)
    taken = {w: record(w, signal, interface, solved, random) for w in ("pickup", "open", "bridged", "known")}
    ratios = {w: ratio_of(r, signal, sample_rate=48000, through=w == "bridged") for w, r in taken.items()}
    return Sitting(signal=signal, device=device, interface=interface, recordings=taken, ratios=ratios)
