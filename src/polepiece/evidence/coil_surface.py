"""The engine's inductance of one pickup as a surface over what is not known of it, quick enough to be fitted.

A fit asks for L(f) hundreds of times; the engine takes tens of milliseconds each. It is solved on a grid of the
unknown factors and interpolated by polynomials; `tests` hold the error of that against the engine.
"""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from scipy.interpolate import CubicSpline

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.bench import Bench
from polepiece.guitar import Guitar, Pickup
from polepiece.materials import catalogue
from polepiece.measure import CoilModel, Parameter, with_capacitance
from polepiece.pickup import (
    CoilSolution,
    anatomy,
    coil_capacitances,
    engine,
    inductance_of,
    magnet_for_sound,
    magnet_material,
    pickup_resistance,
    steel_parts,
    steel_records,
    wire_spread,
)

DEGREES = (6, 3, 1)  # of the polynomials in ln(permeability), ln(resistivity), ln(recoil permeability)
TURNS = (0.85, 1.18)  # 90 % range of turns against those of the file, where none were counted; common practice
RECOIL = (0.7, 1.4)  # 90 % range of a recoil permeability against that of its grade, where none is given; assumption
ERROR = 0.02  # of the engine's Z within an octave, a share. Against three-dimensional finite elements (study
#               dressed-humbucker, box-cover): |L| within 1.2 %, Im L within 4.3 % where it is at most a fifth of |L|
SAME = 1e-6  # spread of what is known: a factor that cannot move

TOGETHER = (
    "turns and steel permeability cannot be told apart from an impedance alone: both raise the inductance. Hold to "
    "their combination; a count of turns, or resistance with a known wire, settles it."
)
MAGNET = "The magnet's charge does not appear in an impedance; its recoil permeability hardly."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoilSurface:
    """Interpolation of ln L(f) between the leads over three factors."""

    nodes: tuple[FloatArray, ...]  # of each factor's logarithm
    values: ComplexArray  # (a, b, c, samples) of ln L, H
    low: FloatArray  # (3,) factors
    high: FloatArray

    def inductance(self, frequency: FloatArray, factors: FloatArray) -> ComplexArray:
        """Return L (f,) between the leads, H, for factors on permeability, resistivity and recoil permeability."""
        made: ComplexArray = self.values
        for nodes, factor in zip(self.nodes, factors):
            weights = _lagrange(nodes, float(np.log(factor)))
            made = np.tensordot(weights, made, axes=(0, 0))
        spline = CubicSpline(np.log1p(engine.SAMPLES / 50.0), made)
        top = spline.x[-1]
        return np.asarray(np.exp(spline(np.minimum(np.log1p(frequency / 50.0), top))))


def _lagrange(nodes: FloatArray, at: float) -> FloatArray:
    """Return the weights of the values at ``nodes`` for the polynomial through them, at ``at``."""
    out = np.ones(len(nodes))
    for k, node in enumerate(nodes):
        others = np.delete(nodes, k)
        out[k] = np.prod((at - others) / (node - others))
    return out


def _chebyshev(low: float, high: float, degree: int) -> FloatArray:
    middle, half = 0.5 * (np.log(low) + np.log(high)), 0.5 * np.log(high / low)
    return np.asarray(middle + half * np.cos(np.pi * (np.arange(degree + 1) + 0.5) / (degree + 1))[::-1])


def solved_inductance(guitar: Guitar, pickup: str, factors: FloatArray, *, bench: Bench | None = None) -> ComplexArray:
    """Return the engine's own L (samples,) between the leads, H, with its steel and magnet moved by ``factors``.

    Parameters
    ----------
    guitar, pickup : what is measured.
    factors : (3,) on the reversible permeability of steels that are not given, on their resistivity, and on the
        recoil permeability of the magnet. The static state (bias) stays that of the file.
    """
    bench = bench or Bench()
    the_pickup = guitar.pickup(pickup)
    solved = bench.magnetised(guitar, the_pickup)
    steels = {
        name: replace(
            part, reversible=max(1.0, part.reversible * factors[0]), resistivity=part.resistivity * factors[1]
        )
        if part.biased
        else part
        for name, part in steel_parts(the_pickup).items()
    }
    stuff = magnet_material(the_pickup.magnet)
    sound = magnet_for_sound(the_pickup, stuff)
    sound = replace(sound, permeability=max(1.0, sound.permeability * factors[2]))
    fields = engine.coil_fields(solved.model, solved.state, steels, sound, engine.SAMPLES)
    hertz = np.maximum(engine.SAMPLES, 1e-3)
    return inductance_of(the_pickup, CoilSolution.of(fields), hertz)


def coil_surface(guitar: Guitar, pickup: str, *, bench: Bench | None = None) -> CoilSurface:
    """Return the surface of one pickup over the spreads of its steel and its magnet."""
    bench = bench or Bench()
    the_pickup = guitar.pickup(pickup)
    low, high = _spreads(the_pickup)
    nodes = tuple(
        _chebyshev(a, b, degree) if b / a > 1.0 + 10.0 * SAME else np.zeros(1)
        for a, b, degree in zip(low, high, DEGREES)
    )
    shape = tuple(len(one) for one in nodes)
    values = np.empty((*shape, len(engine.SAMPLES)), dtype=complex)
    for place in product(*(range(count) for count in shape)):
        factors = np.exp([one[k] for one, k in zip(nodes, place)])
        values[place] = np.log(solved_inductance(guitar, pickup, factors, bench=bench))
    return CoilSurface(nodes=nodes, values=values, low=low, high=high)


def _spreads(pickup: Pickup) -> tuple[FloatArray, FloatArray]:
    """Return the ends (3,) of the factors: widest of the steels that are not given, and the magnet's."""
    steels = steel_parts(pickup)
    own = steel_records(pickup)
    there = anatomy(pickup).assembly.steels
    low, high = np.full(3, 1.0 - SAME), np.full(3, 1.0 + SAME)
    for name, part in steels.items():
        if not part.biased or name not in there:
            continue
        spread = catalogue.steel(own[name].name or "1010").spread
        for at, key, value in ((0, "reversible_permeability", part.reversible), (1, "resistivity", part.resistivity)):
            if key in spread:
                low[at], high[at] = min(low[at], spread[key][0] / value), max(high[at], spread[key][1] / value)
    stuff = magnet_material(pickup.magnet)
    ends = stuff.spread.get("recoil_permeability")
    known = stuff.recoil_permeability
    low[2], high[2] = (ends[0] / known, ends[1] / known) if ends else RECOIL
    return low, np.maximum(high, low * (1.0 + SAME))


def engine_model(guitar: Guitar, pickup: str, *, bench: Bench | None = None) -> CoilModel:
    """Return what `polepiece.measure.fit_coil` needs to fit the engine's own pickup to a measured impedance.

    Parameters are the resistance, factors on turns, steel permeability, steel resistivity ("eddy scale") and recoil
    permeability, the capacitance and its loss. Cover and base plate are those of the file.

    Notes
    -----
    Z = R + jw n^2 L(f), across it jwC (1 - j tan d). Prior ranges are the spreads of the materials.
    """
    the_pickup = guitar.pickup(pickup)
    surface = coil_surface(guitar, pickup, bench=bench)
    own = sum(coil_capacitances(the_pickup)) / len(the_pickup.coils) ** 2 + 40e-12
    usual_r = pickup_resistance(the_pickup)
    thin, thick = wire_spread(the_pickup)
    r_low, r_high = min(thin, 0.97), max(thick, 1.03)
    parameters = (
        Parameter(name="resistance", meaning="resistance for direct current", unit="ohm", usual=usual_r,
                  low=usual_r * min(r_low, 0.7), high=usual_r * max(r_high, 1.4), least=100.0, most=1e5, source="wire"),
        Parameter(name="turns", meaning="turns against the file", unit="1", usual=1.0, low=TURNS[0], high=TURNS[1],
                  least=0.2, most=5.0, source="common practice, no source"),
        Parameter(name="capacitance", meaning="capacitance across the leads", unit="F", usual=own, low=0.4 * own,
                  high=2.5 * own, least=1e-13, most=5e-9, source="geometry; its spread is that of every interval"),
        *(
            Parameter(name=name, meaning=meaning, unit="1", usual=1.0, low=float(a), high=float(b),
                      least=float(0.8 * a), most=float(1.25 * b), source="spread of the material")
            for name, meaning, a, b in zip(
                ("steel_permeability", "steel_resistivity", "recoil_permeability"),
                ("reversible permeability of the steel against the catalogue", "its resistivity, the eddy scale",
                 "recoil permeability of the magnet against its grade"), surface.low, surface.high,
            )
        ),
        Parameter(name="loss_tangent", meaning="loss of the winding's insulation", unit="1", usual=0.02, low=0.002,
                  high=0.1, least=1e-5, most=0.5, source="assumption"),
    )  # fmt: skip

    def inductance(frequency: FloatArray, values: FloatArray) -> ComplexArray:
        factors = np.clip(values[3:6], surface.low, surface.high)
        return np.asarray(values[1] ** 2 * surface.inductance(frequency, factors))

    def impedance(frequency: FloatArray, values: FloatArray) -> ComplexArray:
        coil = values[0] + 2j * np.pi * frequency * inductance(frequency, values)
        return with_capacitance(frequency, coil, float(values[2]), float(values[6]))

    return CoilModel(
        parameters=parameters, impedance=impedance, inductance=inductance, error=ERROR,
        scaling={"resistance": 1.0, "turns": 0.5, "capacitance": -1.0},
        never_told_apart=((("turns", "steel_permeability"), TOGETHER), (("recoil_permeability",), MAGNET)),
    )  # fmt: skip
