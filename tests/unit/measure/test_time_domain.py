"""A bench in the time domain: ngspice integrates pickup, resistor and interface while the sweep plays.

The device is a coil of R and L with three cells of R beside L and a capacitor across, its truth in closed form; nothing
of the frequency domain goes in.
"""

import subprocess
from pathlib import Path

import numpy as np
import pytest

from polepiece.arrays import FloatArray
from polepiece.circuit import resonance
from polepiece.measure import InterfaceInput, SweepSignal, fit_coil, impedance_of, ratio_of, sweep_for
from tests.reference.spice import FOUND, Ladder

pytestmark = pytest.mark.skipif(FOUND is None, reason="ngspice is not installed (Debian: apt-get install ngspice)")

RATE, FINER = 48_000, 6  # the integrator takes that many steps a sample
COIL = Ladder(resistance=7.9e3, inductance=3.2, cells=((2.0e3, 0.6), (9.0e3, 0.5), (60e3, 0.4)))
CAPACITANCE, SERIES, INPUT, CABLE = 130e-12, 100e3, 1e6, 220e-12
SIGNAL = sweep_for(RATE, duration=1.2, repeats=2, silence=0.4)


def source(signal: SweepSignal) -> str:
    """Write the sweeps as a formula of time: exponential sines after Farina, faded in and out."""
    growth = signal.growth
    terms = []
    for k in range(signal.repeats):
        u = f"(time-{signal.silence + k * signal.period:.9g})"
        fade = f"min(1,min({u}/0.02,({signal.duration:.9g}-{u})/0.005))"
        wave = f"sin({2.0 * np.pi * signal.low * growth:.12g}*(exp({u}/{growth:.12g})-1))"
        terms.append(f"(({u}>0)&&({u}<{signal.duration:.9g})?{fade}*{wave}:0)")
    return "+".join(terms)


def played(folder: Path) -> FloatArray:
    """Return both channels (t, 2) as ngspice integrates them."""
    lines = [f"bs src 0 v=0.25*({source(SIGNAL)})", "ro src s 75", f"rs s x {SERIES:g}", f"ri x 0 {INPUT:g}",
             f"ci x 0 {CABLE:g}"]  # fmt: skip
    lines += [f"cw x 0 {CAPACITANCE:g}", f"rw x n0 {COIL.resistance:g}", f"lw n0 n1 {COIL.inductance:g}"]
    for k, (ohm, henry) in enumerate(COIL.cells, start=1):
        end = "0" if k == len(COIL.cells) else f"n{k + 1}"
        lines += [f"lc{k} n{k} {end} {henry:g}", f"rc{k} n{k} {end} {ohm:g}"]
    step = 1.0 / RATE
    raw = folder / "out.txt"
    text = ["a sweep in time", *lines, ".options method=trap reltol=1e-6 interp", ".control", "set wr_singlescale",
            "set numdgt=12", f"tran {step:.12g} {SIGNAL.length:.9g} 0 {step / FINER:.12g}", "linearize v(s) v(x)",
            f"wrdata {raw} v(s) v(x)", ".endc", ".end"]  # fmt: skip
    (folder / "bench.cir").write_text("\n".join(text) + "\n", encoding="ascii")
    done = subprocess.run([str(FOUND), "-b", "bench.cir"], cwd=folder, capture_output=True, text=True, check=False,
                          timeout=300)  # fmt: skip
    assert raw.exists(), done.stdout[-2000:] + done.stderr[-2000:]
    return np.loadtxt(raw)[:, 1:3]


def test_what_was_integrated_in_time_is_found_again(tmp_path: Path) -> None:
    random = np.random.default_rng(12)
    samples = played(tmp_path)
    samples = samples + 1e-5 * random.standard_normal(samples.shape)
    taken = ratio_of(samples, SIGNAL, sample_rate=RATE, where="pickup")
    own = InterfaceInput(resistance=INPUT, capacitance=CABLE, resistance_tolerance=0.0, capacitance_tolerance=0.0)
    found = impedance_of(taken, series_resistor=SERIES, tolerance=0.001, interface=own)

    def true(hertz: FloatArray) -> np.ndarray:
        return np.asarray(1.0 / (1.0 / COIL.impedance(hertz) + 2j * np.pi * hertz * CAPACITANCE))

    seen = (found.frequency > 60.0) & (found.frequency < 9e3)
    error = np.abs(found.impedance[seen] / true(found.frequency[seen]) - 1.0)
    assert np.quantile(error, 0.9) < 0.01
    fit = fit_coil(found, highest=9e3)
    axis = np.geomspace(1e3, 20e3, 20_000)
    assert fit["resonance"].value == pytest.approx(resonance(axis, true(axis)).frequency, rel=2e-3)
    assert fit["inductance_120_hz"].value == pytest.approx(
        COIL.impedance(np.array([120.0]))[0].imag / (240.0 * np.pi), rel=0.01
    )
    assert fit["resistance"].value == pytest.approx(COIL.resistance, rel=0.02)
