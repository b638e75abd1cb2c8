"""Grades from many benches: constants of each grade, and how far its bars differ, as a Gaussian hierarchical model.

ln(measured / computed) of a reading = f(mu_grade + tau eps_bar) + charge + meter_bench + contact + laying on, mu in
deviates of the published spread, f the parabolas that intervals are made of. Made straight at the mean (Gauss-Newton),
for one tau everything is Gaussian and solved in closed form; tau is summed over a grid with the evidence that the
readings give each of its values.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.evidence.pool.observed import BarReading
from polepiece.guitar import SIGMAS
from polepiece.materials import QUANTITIES

TAUS = np.geomspace(0.05, 2.0, 20)  # spread from bar to bar, in deviates of the published spread
TAU_USUAL, TAU_SPREAD = 0.5, 0.8  # log-normal prior of it: median, deviation of the logarithm; assumption
CHARGE_SPREAD = 0.05  # prior deviation of ln of what bars said to be charged outside have; assumption
COUNT = len(QUANTITIES)
STEPS, SETTLED = 8, 1e-3  # of Gauss-Newton; deviates


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GradeFound:
    """Of one grade, in deviates of its published constants: mean, and covariance of its next bar."""

    mean: FloatArray  # (4,)
    covariance: FloatArray  # (4, 4) of the grade's own constants
    next_bar: FloatArray  # (4, 4), with the spread from bar to bar
    bars: int

    def field(self, low: Sequence[float], high: Sequence[float]) -> tuple[float, float]:
        """Return mean and deviation of ln of the next bar's field over that of the published constants.

        ``low``, ``high``: ln of the field at both ends of each constant's published spread.
        """
        value, slope, bend = bent(self.mean, np.asarray(low), np.asarray(high))
        shifted = value + 0.5 * float(bend @ np.diag(self.next_bar))
        return shifted, float(np.sqrt(slope @ self.next_bar @ slope))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GradesFound:
    """All grades that were read; ``charge`` is (mean, deviation) of the logarithm, None where it cannot be told."""

    grades: Mapping[str, GradeFound]
    tau: float  # posterior mean
    charge: tuple[float, float] | None


def bent(deviates: FloatArray, low: FloatArray, high: FloatArray) -> tuple[float, FloatArray, FloatArray]:
    """Return ln of the field at deviates (4,) of a bar's constants, its slopes and second derivatives (4,).

    As `MagnetMoves` has it: parabolas through nominal and both ends within the spread, straight beyond.
    """
    z = deviates / SIGMAS
    inside = np.abs(z) <= 1.0
    value = np.where(
        inside, 0.5 * z * (z + 1.0) * high + 0.5 * z * (z - 1.0) * low, np.where(z > 0.0, z * high, -z * low)
    )
    slope = np.where(inside, (z + 0.5) * high + (z - 0.5) * low, np.where(z > 0.0, high, -low))
    return float(value.sum()), slope / SIGMAS, np.where(inside, (high + low) / SIGMAS**2, 0.0)


def pool_grades(readings: Sequence[BarReading]) -> GradesFound:
    """Return what readings at the pole tops say of the grades.

    The charge of bars that are said to be charged outside is told from their grade only where other bars are known to
    be charged in place; otherwise the constants are those of bars as they come.

    Notes
    -----
    With A the design, W the inverse variances (tau and contact in them) and P0 the prior precisions, the posterior is
    N(m, P^-1), P = P0 + A'WA, m = P^-1 A'Wy, and ln evidence(tau) = -1/2 [sum ln v + ln|P| - ln|P0| + y'Wy - m'Pm].

    References
    ----------
    .. [1] A. Gelman and others, Bayesian Data Analysis, 3rd edition (2013), 5.4 and 14.2, from memory.
    """
    grades = sorted({one.grade for one in readings})
    if not readings:
        return GradesFound(grades={}, tau=TAU_USUAL, charge=None)
    told = len({one.outside for one in readings}) == 2
    benches = sorted({one.bench for one in readings})
    width = COUNT * len(grades) + told + len(benches)
    prior = np.ones(width)
    if told:
        prior[COUNT * len(grades)] = CHARGE_SPREAD**-2
    mean, share = np.zeros(width), np.ones(len(TAUS)) / len(TAUS)
    for _ in range(STEPS):
        before = mean
        mean, covariance, share = _step(readings, grades, benches, told, prior, before)
        if np.max(np.abs(mean - before)) < SETTLED:
            break
    bars = float(share @ TAUS**2)
    found = {}
    for k, grade in enumerate(grades):
        at = slice(COUNT * k, COUNT * (k + 1))
        found[grade] = GradeFound(
            mean=mean[at], covariance=covariance[at, at], next_bar=covariance[at, at] + bars * np.eye(COUNT),
            bars=sum(one.grade == grade for one in readings),
        )  # fmt: skip
    at_charge = COUNT * len(grades)
    charge = (float(mean[at_charge]), float(np.sqrt(covariance[at_charge, at_charge]))) if told else None
    return GradesFound(grades=found, tau=float(share @ TAUS), charge=charge)


def _step(
    readings: Sequence[BarReading], grades: Sequence[str], benches: Sequence[str], told: bool, prior: FloatArray,
    at: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:  # fmt: skip
    """Return mean and covariance of all unknowns, and the posterior of `TAUS`, of the model made straight at ``at``."""
    design, y, curved, by_tau = np.zeros((len(readings), len(prior))), [], [], []
    for row, one in enumerate(readings):
        first = COUNT * grades.index(one.grade)
        here = at[first : first + COUNT]
        value, slope, bend = bent(here, np.asarray(one.low), np.asarray(one.high))
        design[row, first : first + COUNT] = slope
        if told:
            design[row, COUNT * len(grades)] = float(one.outside)
        design[row, COUNT * len(grades) + told + benches.index(one.bench)] = one.shared
        y.append(one.ratio - value + float(slope @ here))
        curved.append(0.5 * float(bend.sum()))  # what bars that scatter add to the mean, by tau squared
        by_tau.append(float(slope @ slope))
    fixed = np.array([one.gap**2 + one.own**2 for one in readings])
    weights, means, covariances = [], [], []
    for tau in TAUS:
        log, mean, covariance = _solved(
            design, prior, np.array(y) - tau**2 * np.array(curved), fixed + tau**2 * np.array(by_tau)
        )
        weights.append(log - 0.5 * (np.log(tau / TAU_USUAL) / TAU_SPREAD) ** 2)
        means.append(mean)
        covariances.append(covariance)
    share = np.exp(np.array(weights) - max(weights))
    share /= share.sum()
    mean = np.einsum("t,tk->k", share, means)
    apart = np.array(means) - mean
    covariance = np.einsum("t,tkl->kl", share, covariances) + np.einsum("t,tk,tl->kl", share, apart, apart)
    return np.asarray(mean), np.asarray(covariance), np.asarray(share)


def _solved(
    design: FloatArray, prior: FloatArray, y: FloatArray, variance: FloatArray
) -> tuple[float, FloatArray, FloatArray]:
    """Return ln evidence but for a constant, mean and covariance of a linear Gaussian model."""
    weighted = design / variance[:, None]
    precision = np.diag(prior) + design.T @ weighted
    factor = np.linalg.cholesky(precision)
    right = weighted.T @ y
    half = np.linalg.solve(factor, right)
    inverse = np.linalg.solve(factor, np.eye(len(prior)))
    covariance = inverse.T @ inverse
    log = np.log(variance).sum() + 2.0 * np.log(np.diag(factor)).sum() + y @ (y / variance) - half @ half
    return float(-0.5 * log), np.asarray(covariance @ right), np.asarray(covariance)


def constant_at(deviate: float, nominal: float, low: float, high: float) -> float:
    """Return a constant at a deviate of its published spread, each side by its own width."""
    return nominal + deviate / SIGMAS * ((high - nominal) if deviate > 0.0 else (nominal - low))
