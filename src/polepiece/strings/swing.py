"""What a string links along a wide swing: the flux law beyond its cubic about the place of rest.

The linkage is worked out anew at heights from well above the place of rest down to near the pole, and so is its second
derivative across; what is left of each over its Taylor series,

    lambda(w) - lambda(0) - c1 w - c2 w^2/2 - c3 w^3/6 = sum_p e_p w^p,  p = 4 .. 9,
    lambda_uu(w) - d2 - d3 w                           = sum_p f_p w^p,  p = 2 .. 4,

is a series by least squares that holds in between. A small stroke feels c1 to d3 alone, exactly as before. Both come
from the potentials that are solved already, so they follow the magnet's state as everything else does. Left out: the
fourth derivative across.
"""

from dataclasses import dataclass

import numpy as np

from polepiece.arrays import FloatArray
from polepiece.constants import MU_0
from polepiece.strings.height_table import HeightTable
from polepiece.strings.sensing import TRANSVERSE, Sensed, sense
from polepiece.strings.sensing_across import STEP, Beside, Seen
from polepiece.strings.sensing_record import ACROSS, TOWARDS
from polepiece.strings.string_system import StringSystem

AWAY = 2.6e-3  # m from the place of rest, on the far side: a stroke of 2.5 mm
NEAREST = 2.0 * STEP  # m that are left to the lowest height of the tables: differences are taken about each place
NODES, NODES_ACROSS = 14, 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Swing:
    """Terms of k strings' linkage beyond the cubic.

    Attributes
    ----------
    towards : shape (k, coils, 6), of w^4 to w^9, V s/m^p.
    across : shape (k, coils, 3), of u^2 w^2 to u^2 w^4, V s/m^(2 + p), the 1/2 of u^2/2 in.
    reach : shape (k, 2), lowest and highest w for which they hold, m.
    """

    towards: FloatArray
    across: FloatArray
    reach: FloatArray


def swing(
    system: StringSystem,
    table: HeightTable,
    *,
    height: FloatArray,
    pickup: FloatArray,
    coils: FloatArray,
    beside: Beside | None = None,
    sensed: Sensed | None = None,
) -> Swing:
    """Return the terms of strings at rest at ``height`` (k,); arguments as for `sense`, ``sensed`` what it returns.

    The equations of the module, derived here.
    """
    beside = beside or Beside.none(pickup, coils)
    sensed = sensed or sense(system, table, height=height, pickup=pickup, coils=coils, beside=beside)
    low = table.z[:, 0] + NEAREST
    reach = np.stack([np.full(len(height), -AWAY), np.minimum(np.maximum(height - low, 0.2e-3), AWAY)], axis=1)
    reach[:, 0] = np.maximum(reach[:, 0], height + NEAREST - table.z[:, -1])
    w = _nodes(reach, NODES)
    linkage = _linkage(system, table, np.concatenate([height[:, None], height[:, None] - w], axis=1), pickup, coils,
                       beside)  # fmt: skip
    left = linkage[..., 1:] - linkage[..., :1]
    left = left - _series(w, sensed.sensitivity, sensed.second / 2.0, sensed.third / 6.0)
    towards = _fitted(left, w, 4, TOWARDS)
    w = _nodes(reach, NODES_ACROSS)
    found = [
        sense(system, table, height=height - one, pickup=pickup, coils=coils, beside=beside).sideways for one in w.T
    ]
    left = np.stack(found, axis=-1) - sensed.sideways[..., None] - sensed.sideways_slope[..., None] * w[:, None]
    return Swing(towards=towards, across=_fitted(0.5 * left, w, 2, ACROSS), reach=reach)


def _nodes(reach: FloatArray, count: int) -> FloatArray:
    """Chebyshev places (k, count) between both ends."""
    middle, half = reach.mean(axis=1), 0.5 * np.diff(reach)[:, 0]
    return np.asarray(middle[:, None] - half[:, None] * np.cos(np.pi * np.arange(count) / (count - 1)))


def _series(w: FloatArray, *terms: FloatArray) -> FloatArray:
    """Return sum terms[p] w^(p + 1), terms (k, c), w (k, h): (k, c, h)."""
    return np.asarray(sum(one[..., None] * w[:, None] ** (p + 1) for p, one in enumerate(terms)))


def _fitted(left: FloatArray, w: FloatArray, first: int, count: int) -> FloatArray:
    """Return the coefficients (k, c, count) of w^first .. that follow ``left`` (k, c, h) best.

    In units of a millimetre, so that the equations are well conditioned.
    """
    power = np.arange(first, first + count)
    out = np.empty((*left.shape[:2], count))
    for k in range(len(w)):
        terms = (1e3 * w[k])[:, None] ** power
        out[k] = np.linalg.lstsq(terms, left[k].T, rcond=None)[0].T
    return np.asarray(out * 1e3**power)


def _linkage(
    system: StringSystem, table: HeightTable, height: FloatArray, pickup: FloatArray, coils: FloatArray, beside: Beside
) -> FloatArray:
    """Return the linkage (k, coils, h) of strings at heights (k, h), as `sense` has it."""
    weights = table.weights(height)
    phi, psi = Seen.of(weights, pickup, beside.pickup), Seen.of(weights, coils, beside.coils)
    charge = system.charges(system.magnetise(phi.value, system.at(weights[0]))[0])
    volume = np.array([one.outer_area for one in system.rods])[:, None] * np.diff(table.cuts)[None]
    turned = TRANSVERSE * volume * system.is_magnetic[:, None]
    linked = np.einsum("kn,khn,ckhn->kch", turned, phi.z, psi.z) + np.einsum("kn,khn,ckhn->kch", turned, phi.u, psi.u)
    return np.asarray(MU_0 * (linked - np.einsum("khn,ckhn->kch", charge, psi.value)))
