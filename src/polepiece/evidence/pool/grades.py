"""Grades from many benches: constants of each grade, and how far its bars differ, as a Gaussian hierarchical model.

ln(measured / computed) of a reading = slopes . (mu_grade + tau eps_bar) + charge + meter_bench + contact + laying on,
mu in deviates of the published spread. For one tau everything is Gaussian, and solved in closed form; tau is summed
over a grid with the evidence that the readings give each of its values.
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GradeFound:
    """Of one grade, in deviates of its published constants: mean, and covariance of its next bar."""

    mean: FloatArray  # (4,)
    covariance: FloatArray  # (4, 4) of the grade's own constants
    next_bar: FloatArray  # (4, 4), with the spread from bar to bar
    bars: int

    def field(self, slopes: Sequence[float]) -> tuple[float, float]:
        """Return mean and deviation of ln of the next bar's field over that of the published constants."""
        along = np.asarray(slopes)
        return float(along @ self.mean), float(np.sqrt(along @ self.next_bar @ along))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GradesFound:
    """All grades that were read; ``charge`` is (mean, deviation) of the logarithm, None where it cannot be told."""

    grades: Mapping[str, GradeFound]
    tau: float  # posterior mean
    charge: tuple[float, float] | None


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
    design = np.zeros((len(readings), width))
    for row, one in enumerate(readings):
        at = COUNT * grades.index(one.grade)
        design[row, at : at + COUNT] = one.slopes
        if told:
            design[row, COUNT * len(grades)] = float(one.outside)
        design[row, COUNT * len(grades) + told + benches.index(one.bench)] = one.shared
    prior = np.ones(width)
    if told:
        prior[COUNT * len(grades)] = CHARGE_SPREAD**-2
    y = np.array([one.ratio for one in readings])
    fixed = np.array([one.gap**2 + one.own**2 for one in readings])
    by_tau = np.array([float(np.dot(one.slopes, one.slopes)) for one in readings])
    weights, means, covariances = [], [], []
    for tau in TAUS:
        log, mean, covariance = _solved(design, prior, y, fixed + tau**2 * by_tau)
        weights.append(log - 0.5 * (np.log(tau / TAU_USUAL) / TAU_SPREAD) ** 2)
        means.append(mean)
        covariances.append(covariance)
    share = np.exp(np.array(weights) - max(weights))
    share /= share.sum()
    mean = np.einsum("t,tk->k", share, means)
    apart = np.array(means) - mean
    covariance = np.einsum("t,tkl->kl", share, covariances) + np.einsum("t,tk,tl->kl", share, apart, apart)
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
