"""Turns and wire from what is known, by Gaussian inference in logarithms: exact, and it says what contradicts what.

ln R = n + w + t + m        ln L = 2 n + g(z) + c m        ln fill = n + k w + e - a        ln turns = n

n is the logarithm of the turns (nothing is known of it beforehand), w the wire's ohm a metre, t what tension does to
it, m the mean turn, a the window, e the insulation, each against its nominal value, each with the standard deviation of
its tolerance; z is the deviate of the steel's permeability and g what it does to the inductance, as solved: neither
straight nor even, so it is summed over a grid of z. Derived here.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp

from polepiece.arrays import FloatArray
from polepiece.guitar import SIGMAS, ninety
from polepiece.meter_accuracy import LCR_ACCURACY, METER_ACCURACY

TURNS, WIRE, TENSION, MEAN_TURN, WINDOW, ENAMEL = range(6)
COUNTED = 0.005  # half a 90 % interval of turns: a counter that slips or is read late; assumption
BY_EYE = 0.05  # of ln(fill): a winding's edge against its flange by eye; assumption
NOISE = {  # standard deviations of the logarithm of a reading; limits of meters are square: 0.9 of them hold 90 %
    "resistance": 0.9 * METER_ACCURACY / SIGMAS, "inductance": 0.9 * LCR_ACCURACY / SIGMAS,
    "turns": COUNTED / SIGMAS, "fill": BY_EYE / SIGMAS,
}  # fmt: skip
FLAT = 1e3  # standard deviation of ln(turns): nothing is known
CONTRADICTED = 3.0  # standard deviations from which knowns contradict one another: 1 in 370 of those that agree


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreads:
    """Standard deviations of what is not known, and the two slopes that couple quantities (see the module)."""

    wire: float
    tension: float
    mean_turn: float
    window: float
    enamel: float
    wire_in_fill: float
    turn_in_inductance: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SteelEffect:
    """What the steel does to the inductance: g (z,) at deviates z (z,), rising; 0 everywhere where it is known."""

    deviate: FloatArray
    effect: FloatArray

    def at(self, deviate: FloatArray) -> FloatArray:
        """Return g at other deviates."""
        return np.interp(deviate, self.deviate, self.effect)


NO_STEEL = SteelEffect(deviate=np.linspace(-2.5, 2.5, 41), effect=np.zeros(41))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior:
    """What the knowns leave open, and how well they agree."""

    mean: FloatArray  # (6,) of the unknowns, with the steel at the median of what the knowns leave of it
    deviate: float  # that steel
    drawn: FloatArray  # (d, 6) draws
    deviates: FloatArray  # (d,) of the steel in them
    rows: Mapping[str, FloatArray]  # quantity -> its row (6,)
    steel: SteelEffect
    apart: float  # standard deviations by which the knowns disagree; 0 for one
    evidence: float  # logarithm of their probability, up to a constant that all gauges share

    def factor(self, quantity: str) -> float:
        """Return the quantity over its nominal value."""
        more = float(self.steel.at(np.array(self.deviate))) if quantity == "inductance" else 0.0
        return float(np.exp(self.rows[quantity] @ self.mean + more))

    def factors(self, quantity: str) -> FloatArray:
        """Return the same of every draw (d,)."""
        more = self.steel.at(self.deviates) if quantity == "inductance" else 0.0
        return np.asarray(np.exp(self.drawn @ self.rows[quantity] + more))

    def ends(self, quantity: str) -> tuple[float, float]:
        """Return the 90 % interval of that factor; it reaches to the stated one."""
        (found,) = ninety(self.factors(quantity)[:, None], [self.factor(quantity)])
        return found


def rows_of(spreads: Spreads) -> dict[str, FloatArray]:
    """Return how each quantity is made of the unknowns (6,)."""
    rows = {name: np.zeros(6) for name in ("resistance", "inductance", "fill", "turns")}
    for row, per in zip(rows.values(), (1.0, 2.0, 1.0, 1.0)):
        row[TURNS] = per
    rows["resistance"][[WIRE, TENSION, MEAN_TURN]] = 1.0
    rows["inductance"][MEAN_TURN] = spreads.turn_in_inductance
    rows["fill"][[WIRE, ENAMEL, WINDOW]] = spreads.wire_in_fill, 1.0, -1.0
    return rows


def infer(
    read: Mapping[str, float], spreads: Spreads, steel: SteelEffect = NO_STEEL, *, draws: int = 400, seed: int = 0
) -> Posterior:
    """Return what readings tell; ``read`` has the logarithm of each over its nominal value at the reference turns.

    Gaussian conditioning at every deviate of the steel, textbook; the deviates are weighed by the evidence of each.
    """
    rows = rows_of(spreads)
    sd = np.array([FLAT, spreads.wire, spreads.tension, spreads.mean_turn, spreads.window, spreads.enamel])
    prior = np.diag(sd**2)
    h = np.array([rows[name] for name in read]).reshape(len(read), 6)
    of_steel = np.array([1.0 if name == "inductance" else 0.0 for name in read])
    y = np.array(list(read.values()))[:, None] - np.outer(of_steel, steel.effect)  # (k, z)
    noise = np.diag([NOISE[name] ** 2 for name in read])
    made = h @ prior @ h.T + noise
    gain = np.linalg.solve(made, h @ prior).T
    left = np.eye(6) - gain @ h
    covariance = left @ prior @ left.T + gain @ noise @ gain.T  # Joseph's form: symmetric whatever rounding does
    square = np.einsum("kz,kz->z", y, np.linalg.solve(made, y))
    means = gain @ y  # (6, z)
    density = np.exp(-0.5 * (square + steel.deviate**2) + 0.5 * float((square + steel.deviate**2).min()))
    rank = np.concatenate([[0.0], np.cumsum(0.5 * (density[1:] + density[:-1]))])
    rank /= rank[-1]
    middle = float(np.interp(0.5, rank, steel.deviate))
    order = np.random.default_rng(seed)
    deviates = np.interp(order.permutation((np.arange(draws) + 0.5) / draws), rank, steel.deviate)
    size, axes = np.linalg.eigh(covariance)
    root = axes * np.sqrt(np.maximum(size, 0.0))
    at = np.array([np.interp(deviates, steel.deviate, one) for one in means])  # (6, d): means are straight in g
    drawn = at.T + order.standard_normal((draws, 6)) @ root.T
    apart = float(np.sqrt(max(float((square - (means[TURNS] / FLAT) ** 2 + steel.deviate**2).min()), 0.0)))
    evidence = float(logsumexp(-0.5 * (square + steel.deviate**2))) - 0.5 * float(np.linalg.slogdet(made)[1])
    return Posterior(
        mean=np.array([np.interp(middle, steel.deviate, one) for one in means]), deviate=middle, drawn=drawn,
        deviates=deviates, rows=rows, steel=steel, apart=apart, evidence=evidence,
    )  # fmt: skip
