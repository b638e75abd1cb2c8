"""Coils and circuit of one pickup: turns, resistance, impedance, capacitance."""

from dataclasses import dataclass
from functools import lru_cache
from typing import assert_never

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.circuit import PickupCircuit
from polepiece.coil import AlternatingSolution, Wiring, between_leads, winding_capacitance
from polepiece.guitar import Draw, Guitar, Pickup, drawn_resistances, known, wound_turns
from polepiece.materials import catalogue
from polepiece.pickup.anatomy import anatomy
from polepiece.pickup.grid import GRID
from polepiece.pickup.spline import FEWEST, spline_weights

LEAD_CAPACITANCE = 40e-12  # F, half a metre of screened lead inside the guitar; common practice 60-160 pF/m


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoilMove:
    """Factors on the inductances (coils, coils, f) on GRID, from steel that is not known exactly; None: nominal.

    ``scale`` is one more on all of them, from turns that are not known exactly: they go as their square.
    """

    factor: ComplexArray | None = None
    scale: float = 1.0

    @property
    def turns(self) -> float:
        """Factor on the turns, and with them on the EMF of every coil."""
        return float(np.sqrt(self.scale))

    def on_grid(self) -> "ComplexArray | float":
        """Return the factors on GRID."""
        return self.scale if self.factor is None else np.asarray(self.scale * self.factor)

    def at(self, frequency: FloatArray) -> "ComplexArray | float":
        """Return the factors at ``frequency`` (f,)."""
        if self.factor is None:
            return self.scale
        near = np.clip(np.searchsorted(GRID, frequency), 0, len(GRID) - 1)  # GRID is 1.7 % fine, the factors smooth
        return np.asarray(self.scale * self.factor[:, :, near])


STILL = CoilMove()
AT_120 = np.array([120.0])  # Hz: where the inductance of a guitar file is measured


def over_frequency(values: ComplexArray, samples: FloatArray, frequency: FloatArray = GRID) -> ComplexArray:
    """Interpolate (…, samples) to ``frequency``: cubic in log(1 + f/50 Hz), which is smooth down to 0 Hz.

    The "not a knot" spline of `spline_weights`, derived there.
    """
    known, asked = np.log1p(samples / 50.0), np.log1p(frequency / 50.0)
    return np.asarray(values @ spline_weights(known, np.minimum(asked, known[-1])).T)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoilSolution:
    """Inductances per turn squared: as solved, and on GRID."""

    fields: AlternatingSolution
    grid: ComplexArray  # (coils, coils, f)

    @classmethod
    def of(cls, fields: AlternatingSolution) -> "CoilSolution":
        """Return ``fields`` on GRID; fields at one frequency are taken as static."""
        if len(fields.frequency) < FEWEST:
            return cls(fields=fields, grid=fields.inductance)
        return cls(fields=fields, grid=over_frequency(fields.inductance, fields.frequency))

    def at(self, frequency: FloatArray) -> ComplexArray:
        """Return the inductances per turn squared (coils, coils, f) at ``frequency`` (f,) in Hz."""
        if len(self.fields.frequency) < FEWEST:
            return self.grid
        return over_frequency(self.fields.inductance, self.fields.frequency, frequency)


@lru_cache(maxsize=1024)
def turns(pickup: Pickup) -> tuple[float, ...]:
    """Return the turns of each coil, scaled to the resistance that was read between the leads, as they are wired."""
    return wound_turns(pickup)


@lru_cache(maxsize=1024)
def coil_resistances(pickup: Pickup) -> tuple[float, ...]:
    """Return the resistance of each coil at 20 degC, ohm. In proportion to the turns: definition."""
    wound = drawn_resistances(pickup)
    return tuple(w * n / c.turns for w, n, c in zip(wound, turns(pickup), pickup.coils))


def pickup_resistance(pickup: Pickup, wiring: Wiring | None = None) -> float:
    """Return the resistance between the pickup's leads at 20 degC, ohm, by ``wiring`` or as it is wired by itself."""
    return between_leads(coil_resistances(pickup), wiring or pickup.wiring)


def rewired_resistance(pickup: Pickup, wiring: Wiring) -> float:
    """Return what a reading between the leads is multiplied by when the coils are connected otherwise."""
    each = coil_resistances(pickup)
    return between_leads(each, wiring) / between_leads(each, pickup.wiring)


def coil_impedances(
    pickup: Pickup,
    coils: CoilSolution,
    frequency: FloatArray | None = None,
    move: CoilMove = STILL,
) -> ComplexArray:
    """Return Z (c, c, f) of the coils, all the same way round, ohm, without capacitance; on GRID where None is said.

    Z = R + jwL, L with the square of the turns: definition.
    """
    n = np.array(turns(pickup))
    square = np.outer(n, n)[:, :, None]
    if frequency is None:
        z = 2j * np.pi * GRID * (coils.grid * square) * move.on_grid()
    else:
        z = 2j * np.pi * frequency * (coils.at(frequency) * square) * move.at(frequency)
    z[np.arange(len(n)), np.arange(len(n))] += np.array(coil_resistances(pickup))[:, None]
    return np.asarray(z)


def wire_spread(pickup: Pickup) -> tuple[float, float]:
    """Return the factors on the resistance that the diameter tolerance of the wire allows; 1 where it was measured."""
    return (1.0, 1.0) if known.resistance_known(pickup) else known.wire_factors(pickup)


def inductance_of(
    pickup: Pickup,
    coils: CoilSolution,
    frequency: FloatArray,
    move: CoilMove = STILL,
    wiring: Wiring | None = None,
) -> ComplexArray:
    """Return the inductance (f,) between the pickup's leads, H, without capacitance: Im Z/w and its loss.

    Kirchhoff's laws for two coupled coils, by ``wiring`` or as the pickup is wired by itself.
    """
    z = coil_impedances(pickup, coils, frequency, move)
    total = z[0, 0] if len(z) == 1 else _joined(z, wiring or pickup.wiring)
    return np.asarray((total - pickup_resistance(pickup, wiring)) / (2j * np.pi * frequency))


def _joined(z: ComplexArray, wiring: Wiring) -> ComplexArray:
    """Return the impedance (f,) of two coils (2, 2, f) as they are wired."""
    match wiring:
        case "series":
            total = z[0, 0] + z[1, 1] - 2.0 * z[0, 1]
        case "out-of-phase":
            total = z[0, 0] + z[1, 1] + 2.0 * z[0, 1]
        case "parallel":
            total = (z[0, 0] * z[1, 1] - z[0, 1] ** 2) / (z[0, 0] + z[1, 1] + 2.0 * z[0, 1])
        case "parallel-out-of-phase":
            total = (z[0, 0] * z[1, 1] - z[0, 1] ** 2) / (z[0, 0] + z[1, 1] - 2.0 * z[0, 1])
        case "split-slugs":
            total = z[0, 0]
        case "split-screws":
            total = z[1, 1]
        case _:
            assert_never(wiring)
    return np.asarray(total)


@lru_cache(maxsize=1024)
def coil_capacitances(pickup: Pickup) -> tuple[float, ...]:
    """Return the estimated self-capacitance of each coil, F."""
    enamel = catalogue.enamel()
    out = []
    for coil, shape, n in zip(pickup.coils, anatomy(pickup).coils, turns(pickup)):
        wire = catalogue.wire(coil.wire_awg, coil.wire_build)
        out.append(winding_capacitance(shape, n, bare=wire.bare[1], permittivity=enamel.permittivity))
    return tuple(out)


def pickup_circuit(
    guitar: Guitar, pickup: Pickup, coils: CoilSolution, draw: Draw, frequency: FloatArray | None = None, *,
    bare: bool = False, move: CoilMove = STILL,
) -> PickupCircuit:  # fmt: skip
    """Return the pickup as the circuit sees it, without controls; on GRID where no frequency is given.

    Spreads are assumptions; a bare pickup is its impedance (definition).
    """
    z = coil_impedances(pickup, coils, frequency, move)
    reverse = pickup.wound == "reverse"
    if bare:
        return PickupCircuit(impedance=z, wiring=pickup.wiring, reverse=reverse)
    own: tuple[float, ...] = ()
    if pickup.capacitance is not None:
        across = pickup.capacitance * known.drawn_factor(guitar, pickup, known.CAPACITANCE, draw)
    else:
        grow = draw.factor("winding capacitance", 0.4, 2.5)
        own, across = tuple(c * grow for c in coil_capacitances(pickup)), LEAD_CAPACITANCE
    return PickupCircuit(
        impedance=z, wiring=pickup.wiring, reverse=reverse, coil_capacitance=own, capacitance=across
    )  # fmt: skip


SHORTED = 0.1  # a coil with less of the output than this share of the other one's is out of the circuit


def flattest(transfer: ComplexArray) -> ComplexArray:
    """Return the response whose peak is the resonance: all coils driven alike, in the sense they join the output."""
    return np.asarray((transfer * coil_senses(transfer)[:, None]).sum(axis=0))


def coil_senses(transfer: ComplexArray) -> FloatArray:
    """Return how each coil joins the output at low frequency (c,): +1, -1, or 0 for one that is shorted by a split."""
    low = transfer[:, 0].real
    return np.asarray(np.where(np.abs(low) > SHORTED * np.abs(low).max(), np.sign(low), 0.0))
