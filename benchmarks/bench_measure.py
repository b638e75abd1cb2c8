"""How long a recording takes to become Z(f) with bounds, and a fit; beside the error of the same result.

Run: ``python benchmarks/bench_measure.py [--json FILE]``. One thread; the best of some runs is shown beside the
median, since other work on the machine only makes a run slower. The recording is simulated (tests/reference): 28 s,
two channels, 96 kHz, with drift of the clock, so that the longer way is timed.
"""

import os

os.environ["OPENBLAS_NUM_THREADS"] = "1"

import argparse
import json
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from polepiece.measure import fit_coil, impedance_of, ratio_of, read_taken, sweep_for
from polepiece.sound import write
from tests.reference.measured_bench import Device, Interface, impedance, record, transfers

RATE = 96000


def timed(work: Callable[[], object], times: int) -> tuple[float, float]:
    """Return the best and the median seconds of ``work``."""
    out = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        out.append(time.perf_counter() - start)
    return min(out), statistics.median(out)


def main() -> None:
    """Measure, print, and store where asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--times", type=int, default=5)
    asked = parser.parse_args()
    signal, device, interface = sweep_for(RATE), Device(), Interface(drift=30e-6)
    solved, random = transfers(device, interface), np.random.default_rng(1)
    taken = {what: record(what, signal, interface, solved, random) for what in ("pickup", "open", "bridged")}
    ratios = {w: ratio_of(x, signal, sample_rate=RATE, through=w == "bridged") for w, x in taken.items()}

    def curve() -> None:
        ratio = ratio_of(taken["pickup"], signal, sample_rate=RATE)
        impedance_of(ratio, series_resistor=1e5, opened=ratios["open"], bridged=ratios["bridged"])

    z = impedance_of(ratios["pickup"], series_resistor=1e5, opened=ratios["open"], bridged=ratios["bridged"])
    truth = impedance(device, z.frequency)
    quiet = z.deviation < 1e-3 * np.abs(truth)
    error = float(np.max(np.abs(z.impedance / truth - 1.0)[quiet]))
    fit = fit_coil(z)
    off = abs(fit["inductance_1000_hz"].value / impedance_free(device) - 1.0)
    with tempfile.TemporaryDirectory() as folder:
        path = write(Path(folder) / "take.wav", taken["pickup"], RATE)
        reading = timed(lambda: read_taken(path, "pickup"), asked.times)
    rows = [
        ("reading 28 s, two channels, 96 kHz, with its hash", reading, None, None, ""),
        (
            "recording to Z(f) with bounds, clock drifting",
            timed(curve, asked.times),
            2.0,
            error,
            "largest, off the hum",
        ),
        ("fit of 11 parameters", timed(lambda: fit_coil(z), asked.times), 5.0, off, "inductance at 1 kHz"),
    ]
    for name, (best, middle), limit, wrong, what in rows:
        bound = "" if limit is None else f"   limit {limit} s"
        tail = "" if wrong is None else f"   error {wrong:.1e} ({what})"
        print(f"{name:<52} {best:6.2f} s (median {middle:.2f}){bound}{tail}")
    if asked.json:
        body = {
            "machine": platform.machine(), "load": os.getloadavg()[0],
            "rows": [{"name": n, "best": b, "median": m, "limit": x, "error": e} for n, (b, m), x, e, _ in rows],
        }  # fmt: skip
        asked.json.write_text(json.dumps(body, indent=1) + "\n", encoding="utf-8")


def impedance_free(device: Device) -> float:
    """Return the device's inductance at 1 kHz without its capacitance, H."""
    from dataclasses import replace

    z = impedance(replace(device, capacitance=1e-18), np.array([1e3]))[0]
    return float(z.imag / (2e3 * np.pi))


if __name__ == "__main__":
    main()
