"""Where a measured impedance peaks: read off the points near the peak, on the ground that a fitted model gives."""

from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize_scalar

from polepiece.arrays import ComplexArray, FloatArray

WINDOW = 0.12  # of the peak's frequency, either way: points that are read
LEAST = 6  # points in the window; with fewer the model's own peak stands
ORDER = 2  # of the polynomial by which the admittance may differ from the model's
CLOSE = 1e-9  # of the peak's frequency: how closely it is looked for


def peak_moved(
    frequency: FloatArray,
    impedance: ComplexArray,
    deviation: FloatArray,
    made: Callable[[FloatArray], ComplexArray],
    peak: float,
) -> tuple[float, float] | None:
    """Return the peak of |Z| as the points near it have it, and its standard deviation, both in Hz.

    Parameters
    ----------
    frequency, impedance, deviation : ndarray, shape (n,)
        Hz, ohm, ohm (of each of the two parts): what was measured.
    made : callable
        Z of the fitted model at frequencies (k,), ohm.
    peak : float
        Where the model has its peak, Hz.

    Returns
    -------
    (peak, deviation) or None where fewer than six points lie within 12 % of the peak.

    Notes
    -----
    A model of few parameters follows the impedance closely, but not to the hundredth of a percent to which a sweep
    tells the peak. An admittance is smooth across a resonance, so near it, with x = f / peak - 1,

        1 / Z measured - 1 / Z model = c0 + c1 x + c2 x^2        (complex; weighted least squares)

    and the peak is that of the model with this added. The deviation is that of the coefficients, carried through, with
    the points' own scatter about the sum: what the method errs by alike at all of them is no scatter and is left out.
    Derived here.
    """
    x = frequency / peak - 1.0
    near = np.abs(x) < WINDOW
    count = int(np.count_nonzero(near))
    if count < LEAST:
        return None
    z = impedance[near]
    weight = np.abs(z) ** 2 / np.maximum(deviation[near], 1e-9 * np.abs(z))
    rest = (1.0 / z - 1.0 / made(frequency[near])) * weight
    terms = np.vander(x[near], ORDER + 1, increasing=True) * weight[:, None]
    found: ComplexArray = np.asarray(np.linalg.lstsq(terms, rest, rcond=None)[0], dtype=complex)
    misfit = float(np.sum(np.abs(terms @ found - rest) ** 2)) / (2 * (count - ORDER - 1))
    root = np.linalg.cholesky(np.linalg.inv(terms.T @ terms)) * np.sqrt(misfit)

    def at(coefficients: ComplexArray) -> float:
        def admittance(x: float) -> float:
            added = np.polynomial.polynomial.polyval(x, coefficients)
            return float(np.abs(1.0 / made(np.array([peak * (1.0 + x)]))[0] + added))

        found = minimize_scalar(admittance, bounds=(-WINDOW, WINDOW), method="bounded", options={"xatol": CLOSE})
        return float(found.x)

    centre = at(found)
    if abs(centre) > 0.9 * WINDOW:
        return None  # no peak inside the window
    moves = [at(np.asarray(found + part * column, dtype=complex)) - centre for column in root.T for part in (1.0, 1j)]
    return peak * (1.0 + centre), peak * float(np.linalg.norm(moves))
