"""Inductance towards 0 Hz out of a measured impedance, whatever law the steel's eddy currents follow.

Below the lowest frequency that was measured an inductance is an extrapolation. A law (a round rod, a sheet) makes it
narrow and, on another steel, wrong. Here only what every passive coil obeys is taken for granted: it is a spectrum of
relaxations, none of them negative.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.measure.sweep.impedance import ImpedanceSpectrum
from polepiece.measure.sweep.nonnegative import least_inductance
from polepiece.measure.uncertainty import NINETY

TOP = 3e3  # Hz; what relaxes far above does not matter at 0 Hz, and the winding's capacitance hardly up to here
STEP = 0.35  # of the logarithm of neighbouring corners; a relaxation between two is met within 1 % of its size
SLOWEST, FASTEST = 0.5, 3e4  # Hz, corners: the wall of the lumped model's poles; what is faster is no longer told
ROUGH = 2.0  # deviation of the spectrum's logarithm over a factor e of frequency, where it is measured; assumption
ROUGH_BELOW = 1.0  # the same below the lowest frequency, of the power with which it falls there; assumption
FALL = 1.0  # power with which the spectrum falls below the lowest frequency: the least that keeps L analytic at 0 Hz
LEVEL, LEVEL_SPREAD = 0.02, 3.0  # share of the inductance that relaxes in a factor e of frequency; e^+-3: assumption
PRIOR = (2.0, 1.5, 0.03, 1.2)  # deviations of the logarithms of R, L far above, C (of the fit, for its misfit), loss
LEAST = 12  # points; with fewer a law has to be believed
LARGEST_STEP = 1.0  # of a logarithm in one iteration
ITERATIONS = 60
ENOUGH = 1e-4  # of the squares: an iteration that gains less is the last; 1.64 deviations are 2.7
NEAR = 0.02  # deviations; how closely an end of the interval is looked for
TRIES = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class StaticInductance:
    """Inductance at 0 Hz, H, with the deviations of its logarithm to either side; ``misfit`` as that of a fit."""

    value: float
    below: float
    above: float
    misfit: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Problem:
    """Residuals of data and beliefs over the logarithms of R, L far above, C, loss, and the strength of each corner."""

    frequency: FloatArray
    impedance: ComplexArray
    deviation: FloatArray
    relaxed: ComplexArray  # (f, k) 1 / (1 + jf / corner)
    usual: FloatArray  # (4,)
    spread: FloatArray
    belief: FloatArray = field(repr=False)  # (b, k) rows on the logarithms of the strengths
    wanted: FloatArray = field(repr=False)  # (b,)

    def residual(self, at: FloatArray) -> FloatArray:
        """Return residuals of data and beliefs."""
        _, made = self._made(at)
        off = (made - self.impedance) / self.deviation
        return np.concatenate(
            [off.real, off.imag, (at[:4] - self.usual) / self.spread, self.belief @ at[4:] - self.wanted]
        )

    def _made(self, at: FloatArray) -> tuple[ComplexArray, ComplexArray]:
        """Return the impedance without and with the winding's capacitance."""
        jw = 2j * np.pi * self.frequency
        (r, high, c, loss), strength = np.exp(at[:4]), np.exp(at[4:])
        coil = r + jw * (high + self.relaxed @ strength)
        return coil, 1.0 / (1.0 / coil + jw * c * (1.0 - 1j * loss))

    def slope(self, at: FloatArray) -> FloatArray:
        """Return the derivatives of the residuals."""
        f, jw = self.frequency, 2j * np.pi * self.frequency
        (r, high, c, loss), strength = np.exp(at[:4]), np.exp(at[4:])
        coil, made = self._made(at)
        through = (made / coil) ** 2
        slope = np.empty((len(f), len(at)), dtype=complex)
        slope[:, 0], slope[:, 1] = through * r, through * jw * high
        slope[:, 2], slope[:, 3] = -(made**2) * jw * c * (1.0 - 1j * loss), made**2 * 1j * jw * c * loss
        slope[:, 4:] = (through * jw)[:, None] * self.relaxed * strength
        slope /= self.deviation[:, None]
        first = np.eye(4, len(at)) / self.spread[:, None]
        second = np.hstack([np.zeros((len(self.belief), 4)), self.belief])
        return np.vstack([slope.real, slope.imag, first, second])


def static_inductance(
    measured: ImpedanceSpectrum,
    *,
    capacitance: tuple[float, float],
    loss: float,
    resistance: tuple[float, float] | None = None,
) -> StaticInductance | None:
    """Return the inductance at 0 Hz that a measured impedance allows, free of a law of the steel.

    Parameters
    ----------
    measured : ImpedanceSpectrum
    capacitance : F across the leads, and the deviation of its logarithm; a few per cent are enough.
    loss : tangent of the loss angle of the winding's insulation, about.
    resistance : (ohm, standard deviation) of a multimeter at the same temperature, where there is one.

    Returns
    -------
    StaticInductance, or None where fewer than 12 points lie below 3 kHz.

    Notes
    -----
    Eddy currents in linear matter decay as a sum of modes, each of which takes from the inductance, none adds:

        L(f) = L_high + sum_k g_k / (1 + jf / f_k),   g_k >= 0,   L(0) = L_high + sum_k g_k

    (so does steel whose permeability relaxes, and a fractional law; Kramers and Kronig's L(0) - L_high =
    (2 / pi) integral of -Im L d(ln f) is that sum). The low end of the interval needs no more: it is the least that
    such sums allow (`least_inductance`). For the high end something has to be believed, since below the lowest measured
    frequency anything could relax: a Gaussian process of ln g on a fixed axis of corners, a random walk, which there
    falls with the first power of f_k, as a spectrum does whose L is only just analytic at 0 Hz. L(0) is moved up, all
    else fitted anew, until data and beliefs together speak against it by 1.64 deviations. The value is midway between
    the smooth spectrum and the sum without a belief, in logarithms. Where the misfit is above 1 the deviations of the
    data count as so much larger. How often the interval holds: ``verification``, `measured-intervals`, `other-laws`.

    References
    ----------
    .. [1] W. R. Smythe, "Static and Dynamic Electricity", 3rd ed. (1968), ch. 10, decaying eddy currents; from memory.
    .. [2] O. Brune, J. Math. Phys. 10, 191 (1931), and W. Cauer, Arch. Elektrotech. 17, 355 (1926): every impedance of
       resistors and inductors is such a sum; from memory.
    .. [3] S. A. Murphy and A. W. van der Vaart, "On profile likelihood", J. Am. Stat. Assoc. 95, 449 (2000); from
       memory.
    """
    keep = measured.frequency <= TOP
    if np.count_nonzero(keep) < LEAST:
        return None
    problem = _problem(measured, keep, capacitance, loss, resistance)
    start = np.concatenate([problem.usual, np.full(problem.relaxed.shape[1], problem.usual[1])])
    start[4:] += np.log(LEVEL * STEP)
    best = _settled(problem, start)
    misfit = _misfit(problem, best)
    if misfit > 1.0:
        problem = replace(problem, deviation=problem.deviation * np.sqrt(misfit))
        best = _settled(problem, best)
    smooth = _static(best)[0]
    high = smooth + _end(problem, best, 1.0)
    least = least_inductance(
        problem.frequency, problem.impedance, problem.deviation, capacitance=(capacitance[0], float(problem.spread[2])),
        loss=(loss, float(problem.spread[3])), fastest=FASTEST,
        resistance=None if resistance is None else (resistance[0], resistance[0] * float(problem.spread[0])),
    )  # fmt: skip
    low = min(float(np.log(least.low)), smooth)
    middle = min(max(0.5 * (smooth + float(np.log(least.value))), low), high)
    return StaticInductance(
        value=float(np.exp(middle)), below=(middle - low) / NINETY, above=(high - middle) / NINETY, misfit=misfit
    )


def _problem(
    measured: ImpedanceSpectrum, keep: "np.ndarray[tuple[int], np.dtype[np.bool_]]", capacitance: tuple[float, float],
    loss: float, resistance: tuple[float, float] | None,
) -> _Problem:  # fmt: skip
    f, z = measured.frequency[keep], measured.impedance[keep]
    corner = np.exp(np.arange(np.log(SLOWEST), np.log(FASTEST) + STEP, STEP))
    level = float(np.median(z.imag[-len(f) // 2 :] / (2.0 * np.pi * f[-len(f) // 2 :])))
    usual = np.log([float(z.real[: max(1, len(f) // 10)].mean()), 0.5 * level, capacitance[0], loss])
    spread = np.array(PRIOR)
    spread[2] = np.hypot(spread[2], capacitance[1])
    if resistance is not None:  # the meter does not share the scale of the curve
        usual[0] = np.log(resistance[0])
        spread[0] = np.hypot(resistance[1] / resistance[0], measured.scale_tolerance / np.sqrt(3.0))
    below = corner[:-1] < f[0]
    rough = np.where(below, ROUGH_BELOW, ROUGH) * np.sqrt(STEP)
    walk = np.diff(np.eye(len(corner)), axis=0) / rough[:, None]
    slope = np.where(below, FALL * STEP, 0.0) / rough
    inside = (corner > f[0]) & (corner < TOP)
    mean = inside / np.count_nonzero(inside) / LEVEL_SPREAD
    return _Problem(
        frequency=f, impedance=z, deviation=np.maximum(measured.deviation[keep], 1e-9 * np.abs(z)),
        relaxed=1.0 / (1.0 + 1j * f[:, None] / corner), usual=usual, spread=spread, belief=np.vstack([walk, mean]),
        wanted=np.append(slope, (np.log(LEVEL * STEP) + np.log(level)) / LEVEL_SPREAD),
    )  # fmt: skip


def _static(at: FloatArray) -> tuple[float, FloatArray]:
    """Return ln L(0) and its derivatives."""
    parts = np.exp(at)
    parts[[0, 2, 3]] = 0.0
    total = float(parts.sum())
    return float(np.log(total)), parts / total


def _misfit(problem: _Problem, at: FloatArray) -> float:
    """Return the mean square residual of the data, for the parameters that the data settle (trace of the hat)."""
    residual, slope = problem.residual(at), problem.slope(at)
    points = len(problem.frequency)
    data = slope[: 2 * points]
    settled = float(np.trace(np.linalg.solve(slope.T @ slope, data.T @ data)))
    return float(np.sum(residual[: 2 * points] ** 2) / max(1.0, 2 * points - settled))


def _settled(problem: _Problem, start: FloatArray, pull: tuple[float, float] | None = None) -> FloatArray:
    """Minimise the squares by damped Gauss-Newton steps, with ln L(0) drawn to ``pull`` (where, deviation) if given."""
    at, damping = start, 1e-3
    residual = _pulled(problem, at, pull)
    for _ in range(ITERATIONS):
        slope = _pulled_slope(problem, at, pull)
        normal, gradient, cost = slope.T @ slope, slope.T @ residual, float(residual @ residual)
        for _ in range(12):
            step = -cho_solve(cho_factor(normal + damping * np.eye(len(at))), gradient)
            there = at + np.clip(step, -LARGEST_STEP, LARGEST_STEP)
            new = _pulled(problem, there, pull)
            gain = cost - float(new @ new)
            if gain >= 0.0:
                break
            damping = 10.0 * damping
        else:
            return at
        at, residual = there, new
        damping = max(0.1 * damping, 1e-9)
        if gain < ENOUGH:
            break
    return at


def _pulled(problem: _Problem, at: FloatArray, pull: tuple[float, float] | None) -> FloatArray:
    residual = problem.residual(at)
    return residual if pull is None else np.append(residual, (_static(at)[0] - pull[0]) / pull[1])


def _pulled_slope(problem: _Problem, at: FloatArray, pull: tuple[float, float] | None) -> FloatArray:
    slope = problem.slope(at)
    return slope if pull is None else np.vstack([slope, _static(at)[1] / pull[1]])


def _squares(problem: _Problem, at: FloatArray) -> float:
    return float(np.sum(problem.residual(at) ** 2))


def _end(problem: _Problem, best: FloatArray, way: float) -> float:
    """Return how far ln L(0) moves before the squares have risen by those of 1.64 deviations.

    A pull of one deviation's strength holds the end; wherever it settles lies on the profile.
    """
    value, direction = _static(best)
    slope = problem.slope(best)
    deviation = float(np.sqrt(direction @ np.linalg.solve(slope.T @ slope, direction)))
    least = _squares(problem, best)
    at, far = best, 2.0 * way * NINETY  # of a parabola the pull's other half
    inner, outer = (0.0, 0.0, 0.0), None  # pull, rise, move
    for _ in range(TRIES):
        there = _settled(problem, at, (value + far * deviation, deviation))
        rise = float(np.sqrt(max(_squares(problem, there) - least, 0.0)))
        one = far, rise, _static(there)[0] - value
        if abs(rise - NINETY) < NEAR:
            return one[2]
        if rise < NINETY:
            inner, at = one, there
        else:
            outer = one
        if outer is None:
            far *= min(3.0, NINETY / max(rise, 0.1))
        else:
            share = (NINETY - inner[1]) / (outer[1] - inner[1])
            far = inner[0] + float(np.clip(share, 0.1, 0.9)) * (outer[0] - inner[0])
    return (outer or inner)[2]
