"""Steel from many benches: the reversible permeability of pickup steel, and how far pickups differ.

What a permeability does to an inductance is far from linear (little above a few hundred, much below fifty), so nothing
is linearised here: mean and spread of its deviate are summed over a grid, each pickup's own deviate too.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.special import logsumexp

from polepiece.arrays import FloatArray
from polepiece.evidence.pool.observed import STEEL_DEVIATES, CoilReading

MEANS = np.linspace(-2.5, 2.5, 51)
SPREADS = np.geomspace(0.1, 1.5, 12)  # from pickup to pickup, in deviates of the published spread
SPREAD_USUAL, SPREAD_WIDTH = 0.5, 0.8  # log-normal prior: median, deviation of the logarithm; assumption
DEVIATES = np.linspace(-2.5, 2.5, 201)


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelFound:
    """Deviates of the next pickup's steel: (median, low, high) of 90 %; mean and its deviation; spread; pickups."""

    next_pickup: tuple[float, float, float]
    mean: tuple[float, float]
    spread: float
    pickups: int


def pool_steel(readings: Sequence[CoilReading]) -> SteelFound | None:
    """Return what inductances say of the steel; None without one.

    Notes
    -----
    p(m, s | y) ~ p(m) p(s) prod_i sum_z N(y_i - f_i(z); own_i) N(z; m, s), m standard normal, on grids; f_i is each
    pickup's own curve. The next pickup's deviate is N(m, s) summed over the posterior.

    References
    ----------
    .. [1] A. Gelman and others, Bayesian Data Analysis, 3rd edition (2013), 5.2 and 10.1, from memory.
    """
    if not readings:
        return None
    seen = np.array([_seen(one) for one in readings])  # (pickups, z)
    top = seen.max(axis=1, keepdims=True)
    sizes = np.exp(seen - top)
    chance = np.array([[_normal(DEVIATES, m, s) for s in SPREADS] for m in MEANS])  # (m, s, z)
    log = np.log(np.maximum(np.einsum("pz,msz->msp", sizes, chance), 1e-300)).sum(axis=2)
    log += -0.5 * MEANS[:, None] ** 2 - 0.5 * (np.log(SPREADS / SPREAD_USUAL)[None] / SPREAD_WIDTH) ** 2
    share = np.exp(log - logsumexp(log))
    coming = np.einsum("ms,msz->z", share, chance)
    rank = np.cumsum(coming) / coming.sum()
    low, middle, high = (float(np.interp(one, rank, DEVIATES)) for one in (0.05, 0.5, 0.95))
    of_means = share.sum(axis=1)
    mean = float(of_means @ MEANS)
    return SteelFound(
        next_pickup=(middle, low, high), mean=(mean, float(np.sqrt(of_means @ (MEANS - mean) ** 2))),
        spread=float(share.sum(axis=0) @ SPREADS), pickups=len(readings),
    )  # fmt: skip


def _seen(one: CoilReading) -> FloatArray:
    """Return ln of the density of a reading at each of `DEVIATES`."""
    curve = PchipInterpolator(np.array(STEEL_DEVIATES), one.curve)(DEVIATES)
    return np.asarray(-0.5 * ((one.ratio - curve) / one.own) ** 2)


def _normal(z: FloatArray, mean: float, spread: float) -> FloatArray:
    found = np.exp(-0.5 * ((z - mean) / spread) ** 2)
    return np.asarray(found / found.sum())
