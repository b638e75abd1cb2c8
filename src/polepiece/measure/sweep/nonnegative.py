"""The least inductance at 0 Hz that a measured impedance allows: sums of relaxations none of which is negative.

Nothing is believed of the relaxations but that: not their law, not that they are smooth. Corners below the lowest
frequency are left out, for they could only add; seen from above they are resistance.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import nnls

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.errors import ConvergenceError
from polepiece.measure.uncertainty import NINETY

STEP = 0.1  # of the logarithm of neighbouring corners; a relaxation between two is met within 0.1 % of its size
HALVINGS = 16  # of the logarithm of the weight that draws the inductance down
WEIGHTS = (-6.0, 14.0)  # of that logarithm, per deviation and share of the inductance: nothing, and nothing but that
MOST_STEPS = 50  # of the active set, times the number of unknowns


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastInductance:
    """Inductance at 0 Hz, H: of the sum that fits best, and the least within 1.64 deviations; misfit as of a fit."""

    value: float
    low: float
    misfit: float


def least_inductance(
    frequency: FloatArray,
    impedance: ComplexArray,
    deviation: FloatArray,
    *,
    capacitance: tuple[float, float],
    loss: tuple[float, float],
    fastest: float,
    resistance: tuple[float, float] | None = None,
) -> LeastInductance:
    """Return the inductance at 0 Hz that relaxations within the measured range need.

    Parameters
    ----------
    frequency : (f,) Hz, rising.
    impedance, deviation : (f,) ohm; deviation of the real and of the imaginary part.
    capacitance, loss : F across the leads and tangent of its loss angle, each with its deviation, a share.
    fastest : Hz, corner of the fastest relaxation.
    resistance : ohm and standard deviation of a multimeter, where there is one.

    Raises
    ------
    ConvergenceError
        When the active set does not settle.

    Notes
    -----
    With the winding's capacitance taken out, R + jw (L_high + sum_k g_k / (1 + jf / f_k)) is linear in R, L_high and
    g_k, all of them 0 or more, and so is in first order what capacitance and loss are off by. The squares rise from
    their minimum as L(0) = L_high + sum g_k is drawn down; where they have risen by those of 1.64 deviations is the
    low end of its profile. Rods and ladders have few sharp corners: a spectrum that is believed to be smooth smears
    them, the slowest one to below the lowest frequency, and says too much (0.3 % as a rule, up to several).

    References
    ----------
    .. [1] C. L. Lawson, R. J. Hanson, Solving Least Squares Problems, 1974, ch. 23 (NNLS); from memory.
    .. [2] P. B. Stark, R. L. Parker, "Bounded-variable least-squares", Computational Statistics 10, 129 (1995), on
       bounds of what nonnegative sums allow; from memory.
    """
    matrix, wanted, of_static, scale = _system(frequency, impedance, deviation, capacitance, loss, fastest, resistance)

    def drawn(weight: float) -> tuple[float, float, int]:
        """Return L(0), the squares and the number of unknowns above 0, L(0) drawn down by ``weight``."""
        rows, right = np.vstack([matrix, weight * of_static]), np.append(wanted, 0.0)
        try:
            found, _ = nnls(rows, right, maxiter=MOST_STEPS * rows.shape[1])
        except RuntimeError as error:
            raise ConvergenceError(f"the relaxations of the inductance did not settle: {error}") from None
        squares = float(np.sum((matrix @ found - wanted) ** 2))
        return float(of_static @ found), squares, int(np.count_nonzero(found))

    value, squares, used = drawn(0.0)
    misfit = squares / max(1.0, 2.0 * len(frequency) - used)
    allowed = NINETY**2 * max(1.0, misfit)
    inner, outer = WEIGHTS
    for _ in range(HALVINGS):
        middle = 0.5 * (inner + outer)
        if drawn(float(np.exp(middle)))[1] - squares < allowed:
            inner = middle
        else:
            outer = middle
    low = min(value, drawn(float(np.exp(inner)))[0])
    return LeastInductance(value=scale * value, low=scale * low, misfit=misfit)


def _system(
    f: FloatArray, z: ComplexArray, deviation: FloatArray, capacitance: tuple[float, float], loss: tuple[float, float],
    fastest: float, resistance: tuple[float, float] | None,
) -> tuple[FloatArray, FloatArray, FloatArray, float]:  # fmt: skip
    """Return rows and right side, in deviations, which columns add up to L(0), and the inductance of their unit.

    Columns: R, L_high, g_k, then what capacitance and loss are off by, up and down, in their deviations.
    """
    jw = 2j * np.pi * f
    c, tangent = capacitance[0], loss[0]
    coil = 1.0 / (1.0 / z - jw * c * (1.0 - 1j * tangent))
    spread = deviation * np.abs(coil / z) ** 2
    upper = slice(len(f) // 2, None)
    level = abs(float(np.median(coil.imag[upper] / (2.0 * np.pi * f[upper]))))
    ohm = abs(float(coil.real[: max(1, len(f) // 10)].mean()))
    corner = np.exp(np.arange(np.log(f[0]), np.log(fastest) + STEP, STEP))
    off = (
        -(coil**2) * jw * (1.0 - 1j * tangent) * c * capacitance[1],
        -(coil**2) * 2.0 * np.pi * f * c * tangent * loss[1],
    )
    columns = [
        np.full(len(f), ohm + 0j), jw * level, *(jw * level / (1.0 + 1j * f / one) for one in corner),
        off[0], -off[0], off[1], -off[1],
    ]  # fmt: skip
    data = np.array(columns).T / spread[:, None]
    count = data.shape[1]
    beliefs = np.zeros((2, count))
    beliefs[0, -4:-2], beliefs[1, -2:] = (1.0, -1.0), (1.0, -1.0)
    rows, right = [data.real, data.imag, beliefs], [(coil / spread).real, (coil / spread).imag, np.zeros(2)]
    if resistance is not None:
        meter = np.zeros((1, count))
        meter[0, 0] = ohm / resistance[1]
        rows.append(meter)
        right.append(np.array([resistance[0] / resistance[1]]))
    of_static = np.zeros(count)
    of_static[1:-4] = 1.0
    return np.vstack(rows), np.concatenate(right), of_static, level
