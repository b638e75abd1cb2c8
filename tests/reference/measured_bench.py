"""A bench that never saw the fitted model: pickup, resistor and interface as an ngspice netlist, played and recorded.

Eddy currents are ladders of R beside L (partial fractions of the solid round rod and of the sheet, truncated), the
cover is a coil of its own that is magnetically coupled, the recorder adds noise, hum, another clock and 24 bits.
"""

import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.fft import next_fast_len
from scipy.interpolate import CubicSpline
from scipy.special import jn_zeros

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.measure import SweepSignal, one_sweep

FOUND = shutil.which("ngspice")
CELLS = 24


@dataclass(frozen=True, kw_only=True)
class Device:
    """A pickup of ladders."""

    resistance: float = 7.8e3
    inductance: float = 4.6  # H, static
    capacitance: float = 130e-12
    pole_share: float = 0.5
    pole_corner: float = 20.0  # Hz
    pole_reluctance: float = 0.1
    bar_share: float = 0.05
    bar_corner: float = 80.0
    plate_share: float = 0.04
    plate_corner: float = 4e3


@dataclass(frozen=True, kw_only=True)
class Interface:
    """What is between pickup and samples."""

    series: float = 100e3  # ohm, true
    known: float = 22e3
    input_resistance: float = 0.9e6
    input_capacitance: float = 220e-12
    output_resistance: float = 75.0
    gains: tuple[float, float] = (0.80, 0.87)
    noise: float = 10.0 ** (-100.0 / 20.0)  # rms re full scale, each channel
    hum: float = 10.0 ** (-65.0 / 20.0)  # rms on the pickup side, pickup connected
    mains: float = 50.0
    drift: float = 0.0  # of the recorder against the player
    clock: float = 0.0  # of the recorder against true seconds: it runs fast by this share
    bits: int = 24
    turned: bool = False


def ladder(prefix: str, a: str, b: str, inductance: float, corner: float, *, kind: str) -> list[str]:
    """Lines of a chain of R beside L: jwL times 2 J1/(x J0) (round) or tanh(q)/q (flat), |x|^2 = f / corner."""
    if kind == "round":
        zeros = jn_zeros(0, CELLS)
        shares, corners = 4.0 / zeros**2, corner * zeros**2
    else:
        odd = (2.0 * np.arange(CELLS) + 1.0) * np.pi / 2.0
        shares, corners = 2.0 / odd**2, corner * odd**2
    lines = []
    nodes = [a, *(f"{prefix}n{k}" for k in range(CELLS)), b]
    for k, (share, f) in enumerate(zip(shares, corners)):
        henry = inductance * share
        lines.append(f"l{prefix}{k} {nodes[k]} {nodes[k + 1]} {henry:.12g}")
        lines.append(f"r{prefix}{k} {nodes[k]} {nodes[k + 1]} {2.0 * np.pi * f * henry:.12g}")
    rest = inductance * (1.0 - shares.sum())  # what the cut-off cells would do: L above every corner
    lines.append(f"l{prefix}t {nodes[CELLS]} {nodes[CELLS + 1]} {rest:.12g}")
    last = corners[-1] * (1.0 + 2.0 / CELLS) * 2.0
    lines.append(f"r{prefix}t {nodes[CELLS]} {nodes[CELLS + 1]} {2.0 * np.pi * last * rest:.12g}")
    return lines


def coil_lines(device: Device, a: str, b: str, prefix: str = "d") -> list[str]:
    """Lines of a pickup between nodes ``a`` and ``b``."""
    d = device
    pole = d.inductance * d.pole_share
    air = d.inductance * (1.0 - d.pole_share - d.bar_share)
    lines = [
        f"c{prefix}w {a} {b} {d.capacitance:.12g}",
        f"r{prefix}w {a} {prefix}1 {d.resistance:.12g}",
        f"l{prefix}air {prefix}1 {prefix}2 {air:.12g}",
        # plate: a shorted loop, 1 H of its own; coupling so that it takes away its share at high frequency
        f"l{prefix}loop {prefix}p 0 1",
        f"r{prefix}loop {prefix}p 0 {2.0 * np.pi * d.plate_corner:.12g}",
        f"k{prefix} l{prefix}air l{prefix}loop {np.sqrt(d.plate_share * d.inductance / air):.12g}",
    ]
    lines += ladder(f"{prefix}bar", f"{prefix}2", f"{prefix}3", d.inductance * d.bar_share, d.bar_corner, kind="flat")
    # poles: air gap's reluctance and steel's add, so their inductances stand side by side
    if d.pole_reluctance < 1.0:
        lines.append(f"l{prefix}gap {prefix}3 {b} {pole / (1.0 - d.pole_reluctance):.12g}")
    lines += ladder(f"{prefix}pole", f"{prefix}3", b, pole / d.pole_reluctance, d.pole_corner, kind="round")
    return lines


def solve(lines: list[str], nodes: tuple[str, ...], *, low: float = 1.0, high: float = 48e3, per_decade: int = 50
          ) -> tuple[FloatArray, dict[str, ComplexArray]]:  # fmt: skip
    """Run ngspice over a log sweep; return Hz and the volts of ``nodes``."""
    with tempfile.TemporaryDirectory() as folder:
        raw = Path(folder) / "out.txt"
        text = ["bench", *lines, ".options noopac", ".control", "set wr_singlescale", "set wr_vecnames",
                "set numdgt=14", f"ac dec {per_decade} {low:g} {high:g}",
                f"wrdata {raw} " + " ".join(f"v({n})" for n in nodes), ".endc", ".end"]  # fmt: skip
        source = Path(folder) / "bench.cir"
        source.write_text("\n".join(text) + "\n", encoding="ascii")
        done = subprocess.run([str(FOUND), "-b", str(source)], capture_output=True, text=True, check=False, timeout=60)
        assert raw.exists(), done.stdout + done.stderr
        table = np.loadtxt(raw, skiprows=1, ndmin=2)
    volts = {n: table[:, 1 + 2 * k] + 1j * table[:, 2 + 2 * k] for k, n in enumerate(nodes)}
    return table[:, 0], volts


def impedance(device: Device, frequency: FloatArray) -> ComplexArray:
    """Return the device's own impedance, 1 A pushed through it, at ``frequency``."""
    lines = ["i1 0 a dc 0 ac 1", *coil_lines(device, "a", "0"), "rq a 0 1e15"]
    hertz, volts = solve(lines, ("a",), per_decade=200)
    return np.asarray(CubicSpline(np.log(hertz), volts["a"])(np.log(frequency)))


def transfers(device: Device, interface: Interface) -> tuple[FloatArray, dict[str, ComplexArray]]:
    """Return volts at both inputs per volt of the source: pickup, open, bridged, known."""
    lines = ["vs src 0 dc 0 ac 1"]
    nodes = []
    for name in ("pickup", "open", "bridged", "known"):
        s, x = f"s{name}", f"x{name}"
        series = 1e-3 if name == "bridged" else interface.series
        lines += [f"ro{name} src {s} {interface.output_resistance:g}", f"rs{name} {s} {x} {series:.12g}",
                  f"ri{name} {x} 0 {interface.input_resistance:.12g}",
                  f"ci{name} {x} 0 {interface.input_capacitance:.12g}"]  # fmt: skip
        if name == "pickup":
            lines += coil_lines(device, x, "0")
        if name == "known":
            lines.append(f"rk {x} 0 {interface.known:.12g}")
        nodes += [s, x]
    return solve(lines, tuple(nodes))


def smooth(x: FloatArray, values: ComplexArray, at: FloatArray) -> ComplexArray:
    """Return a cubic spline of ``values``; by way of a fine even grid, which is quicker for millions of points."""
    fine = np.linspace(x[0], x[-1], 20001)
    spline = CubicSpline(x, values)(fine)
    out = np.interp(at, fine, spline.real) + 1j * np.interp(at, fine, spline.imag)
    return np.asarray(out)


def record(
    what: str,
    signal: SweepSignal,
    interface: Interface,
    solved: tuple[FloatArray, dict[str, ComplexArray]],
    random: np.random.Generator,
) -> FloatArray:
    """Return a recording (t, 2) of ``what`` (pickup, open, bridged, known), full scale 1.0."""
    rate = signal.sample_rate
    stretch = 1.0 + interface.drift
    sweep = one_sweep(signal, stretch=stretch) * 10.0 ** (signal.level_db / 20.0)
    size = next_fast_len(round(signal.length * stretch * rate), real=True)
    played = np.zeros(size)
    for k in range(signal.repeats):
        begin = round((signal.silence + k * signal.period) * stretch * rate)
        played[begin : begin + len(sweep)] += sweep[: size - begin]
    hertz, volts = solved
    spectrum = np.fft.rfft(played)
    axis = np.maximum(np.fft.rfftfreq(size, (1.0 - interface.clock) / rate), hertz[0])
    # the output of an interface passes no direct current: 2 Hz, first order
    coupling = 1j * axis / (2.0 + 1j * axis)
    out = np.empty((size, 2))
    time = np.arange(size) / rate
    for channel, node in enumerate((f"s{what}", f"x{what}")):
        value = smooth(np.log(hertz), volts[node], np.log(axis))
        out[:, channel] = np.fft.irfft(spectrum * value * coupling, size) * interface.gains[channel]
    if what == "pickup":
        for order, share in ((1, 1.0), (2, 0.2), (3, 0.5), (5, 0.3), (7, 0.1)):
            phase = random.uniform(0.0, 2.0 * np.pi)
            out[:, 1] += (
                interface.hum * share * np.sqrt(2.0) * np.sin(2 * np.pi * order * interface.mains * time + phase)
            )
    out += interface.noise * random.standard_normal(out.shape)
    if interface.turned:
        out[:, 1] *= -1.0
    step = 2.0 ** (interface.bits - 1)
    return np.asarray(np.clip(np.rint(out * step) / step, -1.0, 1.0 - 1.0 / step))
