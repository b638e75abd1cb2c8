"""Physical readings of one pickup: field on a line, impedance, what it has of every string."""

from dataclasses import dataclass, replace
from typing import assert_never

import numpy as np

from polepiece.arrays import ComplexArray, FloatArray, points_array
from polepiece.bench import measures
from polepiece.bench.bench import Bench
from polepiece.bench.state import H2_AMPLITUDE
from polepiece.circuit import LoadedResponse, PickupCircuit, loaded_response
from polepiece.coil import Loops, loop_field
from polepiece.constants import MU_0
from polepiece.errors import InputError
from polepiece.geometry import MagnetRod
from polepiece.guitar import NOMINAL, Guitar, Pickup
from polepiece.pickup import (
    LEAD_CAPACITANCE,
    Magnetised,
    anatomy,
    coil_capacitances,
    coil_resistances,
    engine,
    magnet_for_sound,
    magnet_material,
    pickup_circuit,
    steel_parts,
    string_places,
    turns,
)
from polepiece.strings import Sensed


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FieldReading:
    """Field of one pickup at points in its own axes."""

    points: FloatArray  # (n, 3) m
    flux_density: FloatArray  # (n, 3) T from the magnet, or (coils, n, 3) T/A
    magnet_flux_density: float  # T, mean in the magnet along its magnetisation
    magnet_field: float  # A/m, mean H there


def field(
    guitar: Guitar, pickup: str, points: FloatArray, *, source: str = "magnet", bench: Bench | None = None
) -> FieldReading:
    """Return the flux density at ``points``.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
    points : ndarray, shape (n, 3)
        In the pickup's own axes (screws at -x), m. Inside a magnet B is not given: NaN.
    source : "magnet" or "coil"
        The static field of the magnet, or of one ampere in each coil alone (static, all coils the same way round).
    """
    bench = bench or Bench()
    the_pickup = guitar.pickup(pickup)
    at = points_array(points)
    solved = bench.magnetised(guitar, the_pickup)
    model = solved.model
    b, h = solved.state.mean_in_magnet(model.mesh)
    inside = _inside(the_pickup, at)
    if source == "magnet":
        flux = MU_0 * model.factors.elements.field(at, solved.state.charge)
        flux[inside] = np.nan
    elif source == "coil":
        flux = _coil_flux(the_pickup, solved, at)
        flux[:, inside] = np.nan
    else:
        raise InputError(f"source is {source!r}; allowed are 'magnet' and 'coil'.")
    return FieldReading(points=at, flux_density=flux, magnet_flux_density=b, magnet_field=h)


def _inside(pickup: Pickup, points: FloatArray) -> "np.ndarray":
    out = np.zeros(len(points), dtype=bool)
    x, y, z = points.T
    for magnet in anatomy(pickup).assembly.magnets:
        if isinstance(magnet, MagnetRod):
            out |= (np.hypot(x - magnet.x, y - magnet.y) < magnet.radius) & (z > magnet.bottom) & (z < magnet.top)
        else:
            out |= (
                (x > magnet.x_min) & (x < magnet.x_max) & (y > magnet.y_min) & (y < magnet.y_max)
                & (z > magnet.z_min) & (z < magnet.z_max)
            )  # fmt: skip
    return out


def _coil_flux(pickup: Pickup, solved: Magnetised, at: FloatArray) -> FloatArray:
    model, fields = solved.model, solved.coils.fields
    system = model.system
    out = []
    for k, (coil, n) in enumerate(zip(model.windings.coils, turns(pickup))):
        phi = np.zeros(model.mesh.nodes)
        reduced = fields.potential[0][:, k].real
        phi[system.steel_nodes] = reduced[: system.steel_count]
        phi[system.magnet_nodes] = system.basis @ reduced[system.steel_count :]
        one = np.eye(model.windings.sources.shape[1])[k]
        charge = model.factors.charge_of_node @ phi - model.factors.source_charge @ one
        h = model.factors.elements.field(at, charge) + loop_field(at, Loops.gauss(coil))
        out.append(MU_0 * n * h)
    return np.array(out)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ImpedanceReading:
    """Impedance between a pickup's leads, and the inductances of its coils."""

    frequency: FloatArray  # (f,) Hz
    impedance: ComplexArray  # (f,) ohm
    inductance: FloatArray  # (f,) H; at 0 Hz the static one
    self_inductance: FloatArray  # (coils, f) H
    mutual_inductance: FloatArray  # (f,) H, both coils the same way round; empty for one coil


def impedance(
    guitar: Guitar, pickup: str, frequency: FloatArray, *, bare: bool = False, bench: Bench | None = None
) -> ImpedanceReading:
    """Return the impedance of one pickup, nothing connected to it.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
    frequency : ndarray, shape (f,)
        Hz, 0 to 20 kHz.
    bare : bool
        Without capacitance, cover and base plate.
    """
    hertz = np.atleast_1d(np.asarray(frequency, dtype=float))
    if not np.all(np.isfinite(hertz)) or np.any(hertz < 0.0) or np.any(hertz > engine.SAMPLES[-1]):
        raise InputError(f"frequencies are {frequency}; allowed are 0 to {engine.SAMPLES[-1]:.0f} Hz.")
    bench = bench or Bench()
    the_pickup = guitar.pickup(pickup)
    if bare:
        the_pickup = replace(the_pickup, base_plate=None, cover=None)
    solved = bench.magnetised(guitar, the_pickup)
    stuff = magnet_material(the_pickup.magnet)
    sound = magnet_for_sound(the_pickup, stuff)
    fields = engine.coil_fields(solved.model, solved.state, steel_parts(the_pickup), sound, hertz)
    n = np.array(turns(the_pickup))
    turned = fields.inductance * np.outer(n, n)[:, :, None]
    if not bare:
        turned = turned * bench.coil_move(guitar, the_pickup, solved).at(hertz)
    circuit = pickup_circuit_exact(guitar, the_pickup, turned, hertz, bare=bare)
    z = output_impedance(circuit, hertz)
    own = np.array([turned[k, k].real for k in range(len(n))])
    mutual = turned[0, 1].real if len(n) == 2 else np.zeros(0)
    inductance = np.empty(len(hertz))
    moving = hertz > 0.0
    inductance[moving] = z.imag[moving] / (2.0 * np.pi * hertz[moving])
    if (~moving).any():
        inductance[~moving] = _static_inductance(the_pickup, turned)[~moving]
    return ImpedanceReading(
        frequency=hertz, impedance=z, inductance=inductance, self_inductance=own, mutual_inductance=mutual
    )


def _static_inductance(pickup: Pickup, turned: ComplexArray) -> FloatArray:
    if len(turned) == 1:
        return np.asarray(turned[0, 0].real)
    a, b, m = turned[0, 0].real, turned[1, 1].real, turned[0, 1].real
    match pickup.wiring:
        case "series":
            return np.asarray(a + b - 2.0 * m)
        case "out-of-phase":
            return np.asarray(a + b + 2.0 * m)
        case "parallel" | "parallel-out-of-phase":
            r = coil_resistances(pickup)
            share = np.array([r[1], r[0]]) / sum(r)  # direct current divides by resistance
            way = -1.0 if pickup.wiring == "parallel" else 1.0
            return np.asarray(share[0] ** 2 * a + share[1] ** 2 * b + 2.0 * way * share[0] * share[1] * m)
        case "split-slugs":
            return np.asarray(a)
        case "split-screws":
            return np.asarray(b)
        case _:
            assert_never(pickup.wiring)


def pickup_circuit_exact(
    guitar: Guitar, pickup: Pickup, inductance: ComplexArray, frequency: FloatArray, *, bare: bool
) -> PickupCircuit:
    """Return the pickup with ``inductance`` (c, c, f) in H as the circuit sees it, without controls."""
    z = 2j * np.pi * frequency * inductance
    z[np.arange(len(z)), np.arange(len(z))] += np.array(coil_resistances(pickup))[:, None]
    own: tuple[float, ...] = ()
    across = 0.0
    if not bare:
        own, across = (
            (coil_capacitances(pickup), LEAD_CAPACITANCE) if pickup.capacitance is None else ((), pickup.capacitance)
        )
    return PickupCircuit(
        impedance=z, wiring=pickup.wiring, reverse=pickup.wound == "reverse", coil_capacitance=own, capacitance=across
    )


def output_impedance(circuit: PickupCircuit, frequency: FloatArray) -> ComplexArray:
    """Return the impedance between the leads (f,), ohm."""
    response: LoadedResponse = loaded_response(frequency, circuit)
    return np.asarray(response.output_impedance)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringReading:
    """What a pickup, wired as it is, has of every string; string 1 first."""

    y: FloatArray
    height: FloatArray
    linkage: FloatArray  # Wb, change against no string
    force: FloatArray  # N, vertical
    sensitivity: FloatArray  # V s/m, displacement towards the pole
    second: FloatArray
    third: FloatArray
    h2_db: FloatArray
    axial_flux_density: FloatArray  # T, largest in the string


def strings(guitar: Guitar, pickup: str, *, bench: Bench | None = None) -> StringReading:
    """Return flux linkage, pull and sensitivity of every string for the pickup as it is wired."""
    bench = bench or Bench()
    the_pickup = guitar.pickup(pickup)
    solved = bench.magnetised(guitar, the_pickup)
    sensed: Sensed = bench.sensed(guitar, the_pickup, solved)
    sense = pickup_circuit(guitar, the_pickup, solved.coils, NOMINAL, bare=True).sense
    n = np.array(turns(the_pickup)) * sense
    c1, c2, c3 = sensed.sensitivity @ n, sensed.second @ n, sensed.third @ n
    turn = -1.0 if (sensed.linkage @ n).sum() < 0.0 else 1.0  # leads: counted so that a string adds flux
    y, height = string_places(guitar, the_pickup)
    return StringReading(
        y=y, height=height, linkage=turn * (sensed.linkage @ n), force=sensed.force, sensitivity=turn * c1,
        second=turn * c2, third=turn * c3, h2_db=measures.h2_db(c1, c2, H2_AMPLITUDE),
        axial_flux_density=sensed.axial_field,
    )  # fmt: skip
