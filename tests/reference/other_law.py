"""Benches whose steel follows other laws than the fit assumes, drawn at random: no ngspice, no law of the tool's own.

Six laws of L(f), each with a finite inductance at 0 Hz that is known exactly: Cole and Cole's fractional relaxations,
solid rods of several thicknesses and permeabilities, rods whose permeability itself relaxes, rods with eddy currents of
fractional order, ladders of R beside L, a wide spread of loops. Covers are loops of one or two corners beside them.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import ive

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.measure import CoilFit, fit_coil, impedance_of, ratio_of, sweep_for
from tests.reference.coverage import TOLERANCE
from tests.reference.measured_bench import Interface, record

Law = Callable[[ComplexArray], ComplexArray]  # complex frequency jf, Hz -> share of what is there at 0 Hz
MU_0 = 4e-7 * np.pi


def between(random: np.random.Generator, low: float, high: float) -> float:
    """Draw evenly in the logarithm."""
    return float(np.exp(random.uniform(np.log(low), np.log(high))))


def rod(s: ComplexArray, *, radius: float, permeability: float | ComplexArray, resistivity: float, order: float = 1.0
        ) -> ComplexArray:  # fmt: skip
    """Mean permeability of a solid round rod re 1, field at its surface given: mu 2 I1(q) / (q I0(q)).

    q^order-th powers of jf instead of jf make its eddy currents fractional.
    """
    corner = resistivity / (2.0 * np.pi * MU_0 * radius**2)
    q = np.sqrt(permeability * (s / corner) ** order)
    q = np.where(np.abs(q) < 1e-9, 1e-9, q)
    return np.asarray(permeability * 2.0 * ive(1, q) / (q * ive(0, q)))


def _cole_cole(random: np.random.Generator) -> Law:
    count = int(random.integers(1, 4))
    weights = random.dirichlet(np.ones(count))
    corners = [between(random, 60.0, 3e3) for _ in range(count)]
    orders = random.uniform(0.6, 1.0, count)
    return lambda s: sum(w / (1.0 + (s / f) ** a) for w, f, a in zip(weights, corners, orders))


def _rods(random: np.random.Generator, *, relaxing: bool = False, fractional: bool = False) -> Law:
    count = int(random.integers(2, 5))
    weights = random.dirichlet(2.0 * np.ones(count))
    radii, mus = random.uniform(1.2e-3, 2.6e-3, count), [between(random, 15.0, 500.0) for _ in range(count)]
    rhos, demag = (
        [between(random, 1e-7, 6e-7) for _ in range(count)],
        [between(random, 0.01, 0.1) for _ in range(count)],
    )
    corners = [between(random, 200.0, 2e4) for _ in range(count)]
    slopes = random.uniform(0.6, 1.0, count)
    order = float(random.uniform(0.8, 1.0)) if fractional else 1.0

    def law(s: ComplexArray) -> ComplexArray:
        total = np.zeros_like(s)
        for w, r, m, rho, n, f, a in zip(weights, radii, mus, rhos, demag, corners, slopes):
            mu = 1.0 + (m - 1.0) / (1.0 + (s / f) ** a) if relaxing else m + 0.0 * s
            inside = rod(s, radius=r, permeability=mu, resistivity=rho, order=order)
            total += w * (inside - 1.0) / (1.0 + n * (inside - 1.0)) / ((m - 1.0) / (1.0 + n * (m - 1.0)))
        return total

    return law


def _ladder(random: np.random.Generator) -> Law:
    """R beside an L that carries the next such cell in series: a continued fraction, L(s) = Z(s) / s."""
    count = int(random.integers(3, 7))
    henry = np.array([between(random, 0.3, 3.0) for _ in range(count)])
    ohm = henry * np.sort([between(random, 0.1, 10.0) for _ in range(count)])

    def chain(s: ComplexArray) -> ComplexArray:
        s = np.where(s == 0, 1e-6j, s)
        rest = np.zeros_like(s)
        for h, r in zip(henry[::-1], ohm[::-1]):
            z = s * h + rest  # the inner part carries on behind this cell
            rest = z * r / (z + r)
        return np.asarray(rest / s / henry.sum())

    slow = -1e3 * float(chain(np.array([1e-3j])).imag[0])  # mean of 1 / corner
    scale = slow * between(random, 100.0, 1.5e3)
    return lambda s: chain(s / scale)


def _spread(random: np.random.Generator) -> Law:
    """Loops of current with log-normal corners, 400 of them."""
    middle, width = np.log(between(random, 100.0, 1500.0)), random.uniform(0.3, 1.3)
    corners = np.exp(middle + width * np.linspace(-3.0, 3.0, 400))
    weights = np.exp(-0.5 * np.linspace(-3.0, 3.0, 400) ** 2)
    weights /= weights.sum()
    return lambda s: np.sum(weights[:, None] / (1.0 + s[None, :] / corners[:, None]), axis=0)


LAWS: dict[str, Callable[[np.random.Generator], Law]] = {
    "cole and cole": _cole_cole,
    "several rods": _rods,
    "relaxing permeability": lambda random: _rods(random, relaxing=True),
    "fractional eddies": lambda random: _rods(random, fractional=True),
    "ladder": _ladder,
    "spread of loops": _spread,
}


@dataclass(frozen=True, kw_only=True, eq=False)
class OtherDevice:
    """A pickup of some law."""

    name: str
    law: Law
    resistance: float
    static: float  # H at 0 Hz
    capacitance: float
    iron: float  # share of the static inductance that follows the law
    covers: tuple[tuple[float, float], ...]  # share, corner in Hz
    loss: float = 0.01

    def inductance(self, frequency: FloatArray) -> ComplexArray:
        """Complex inductance (f,), H."""
        s = 1j * np.asarray(frequency, dtype=float)
        shielded = sum(share * (1.0 - 1.0 / (1.0 + s / corner)) for share, corner in self.covers)
        return np.asarray(self.static * (1.0 - self.iron + self.iron * self.law(s) - shielded))

    def impedance(self, frequency: FloatArray) -> ComplexArray:
        """Impedance between the leads (f,), ohm."""
        jw = 2j * np.pi * frequency
        coil = self.resistance + jw * self.inductance(frequency)
        return np.asarray(1.0 / (1.0 / coil + jw * self.capacitance * (1.0 - 1j * self.loss)))


def drawn_device(random: np.random.Generator, name: str) -> OtherDevice:
    """Draw a pickup of a law."""
    covers = tuple(
        (random.uniform(0.005, 0.06), between(random, 1.5e3, 1e4)) for _ in range(int(random.integers(0, 3)))
    )
    return OtherDevice(
        name=name, law=LAWS[name](random), resistance=between(random, 5e3, 16e3), static=between(random, 2.0, 10.0),
        capacitance=between(random, 60e-12, 250e-12), iron=random.uniform(0.25, 0.6), covers=covers,
    )  # fmt: skip


def solved_by(device: OtherDevice, interface: Interface) -> tuple[FloatArray, dict[str, ComplexArray]]:
    """Return volts at both inputs per volt of the source, in closed form: pickup, open, bridged."""
    hertz = np.geomspace(1.0, 48e3, 1200)
    volts: dict[str, ComplexArray] = {}
    own = 1.0 / interface.input_resistance + 2j * np.pi * hertz * interface.input_capacitance
    for what in ("pickup", "open", "bridged"):
        series = 1e-3 if what == "bridged" else interface.series
        load = own + (1.0 / device.impedance(hertz) if what == "pickup" else 0.0)
        at_input = 1.0 / (1.0 + load * (series + interface.output_resistance))
        volts[f"x{what}"] = at_input
        volts[f"s{what}"] = 1.0 - interface.output_resistance * load * at_input
    return hertz, volts


@dataclass(frozen=True, kw_only=True, eq=False)
class OtherTrial:
    """A bench and what was found on it."""

    device: OtherDevice
    found: CoilFit
    true: dict[str, float]

    def holds(self, name: str) -> bool:
        """Say whether the interval of ``name`` holds the truth."""
        return self.found[name].low <= self.true[name] <= self.found[name].high


def other_trial(seed: int, name: str, *, duration: float = 2.5) -> OtherTrial:
    """Draw a bench whose steel follows the law ``name``; record pickup, open and bridged, and fit."""
    random = np.random.default_rng([1929, seed, list(LAWS).index(name)])
    device = drawn_device(random, name)
    interface = Interface(
        series=100e3 * (1.0 + TOLERANCE * random.uniform(-1.0, 1.0)), input_resistance=between(random, 0.5e6, 2e6),
        input_capacitance=between(random, 80e-12, 400e-12), output_resistance=between(random, 20.0, 300.0),
        gains=(random.uniform(0.6, 0.9), random.uniform(0.6, 0.9)),
        noise=10.0 ** (random.uniform(-105.0, -85.0) / 20.0), hum=10.0 ** (random.uniform(-90.0, -55.0) / 20.0),
        mains=float(random.choice([50.0, 60.0])), clock=random.uniform(-1e-4, 1e-4),
    )  # fmt: skip
    signal = sweep_for(48000, duration=duration, silence=0.6)
    solved = solved_by(device, interface)
    taken = {
        what: ratio_of(record(what, signal, interface, solved, random), signal, sample_rate=48000, where=what,
                       through=what == "bridged")
        for what in ("pickup", "open", "bridged")
    }  # fmt: skip
    measured = impedance_of(
        taken["pickup"], series_resistor=100e3, tolerance=TOLERANCE, opened=taken["open"], bridged=taken["bridged"]
    )
    true = {
        "inductance_static": device.static,
        **{f"inductance_{f:.0f}_hz": float(device.inductance(np.array([f])).real[0]) for f in (120.0, 1e3)},
        "resistance": device.resistance, "capacitance": device.capacitance,
    }  # fmt: skip
    return OtherTrial(device=device, found=fit_coil(measured), true=true)
