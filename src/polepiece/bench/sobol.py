"""How much of the variance of a model hangs on each group of its inputs: Sobol indices of first and of total order.

References
----------
Sobol 1993 (indices), Saltelli et al. 2010 (first order), Jansen 1999 (total order); the estimators are those of
`scipy.stats.sobol_indices`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray

Model = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Indices:
    """Indices of g groups for s outputs."""

    first: FloatArray  # (g, s) share of the variance that goes when the group alone is known
    total: FloatArray  # (g, s) share that stays when everything but the group is known
    variance: FloatArray  # (s,)
    mean: FloatArray  # (s,)


def group_indices(model: Model, groups: Sequence[Sequence[int]], inputs: int, *, count: int, seed: int = 0) -> Indices:
    """Return the Sobol indices of groups of independent inputs.

    Parameters
    ----------
    model : callable
        From shares (n, inputs), each uniform between 0 and 1, to outputs (n, s).
    groups : sequence of sequences of int
        Columns of each group; inputs that are in none vary as well, and are asked about by nobody.
    inputs : int
    count : int
        A power of 2; the model is asked for ``count`` times (2 + groups) points, at once.
    seed : int
        Of the scrambling of Sobol's points.

    Notes
    -----
    With A and B two sets of points and AB_g the first with the columns of g from the second:
    S_g = mean(f(B) (f(AB_g) - f(A))) / V and T_g = mean((f(A) - f(AB_g))^2) / 2V. Outputs without variance have none.
    """
    from scipy.stats import qmc, sobol_indices  # here: it is a third of a command's start

    points = qmc.Sobol(2 * inputs, rng=np.random.default_rng(seed)).random(count)
    a, b = points[:, :inputs], points[:, inputs:]
    mixed = []
    for group in groups:
        one = a.copy()
        one[:, list(group)] = b[:, list(group)]
        mixed.append(one)
    found = model(np.concatenate([a, b, *mixed])).reshape(2 + len(groups), count, -1)
    f_a, f_b, f_ab = found[0].T, found[1].T, np.moveaxis(found[2:], 2, 1)  # (s, n), (s, n), (g, s, n)
    both = np.concatenate([f_a, f_b], axis=1)
    variance, mean = both.var(axis=1), both.mean(axis=1)
    moving = variance > 1e-18 * np.maximum(mean**2, 1.0)
    first = np.zeros((len(groups), len(variance)))
    total = first.copy()
    if moving.any() and len(groups):
        said = sobol_indices(func={"f_A": f_a[moving], "f_B": f_b[moving], "f_AB": f_ab[:, moving]}, n=count)
        first[:, moving] = np.atleast_2d(said.first_order).T
        total[:, moving] = np.atleast_2d(said.total_order).T
    return Indices(first=first, total=total, variance=np.where(moving, variance, 0.0), mean=mean)
