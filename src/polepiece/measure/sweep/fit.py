"""A model fitted to a measured impedance: parameters with covariance, and which of them the data do not tell apart."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from scipy.optimize import least_squares

from polepiece.arrays import ComplexArray, FloatArray, frozen
from polepiece.circuit import resonance
from polepiece.errors import ConvergenceError, InputError
from polepiece.measure.estimate import Estimate, named
from polepiece.measure.sweep.coil_model import LUMPED_MODEL, CoilFit, CoilModel
from polepiece.measure.sweep.impedance import ImpedanceSpectrum
from polepiece.measure.sweep.lumped import Parameter
from polepiece.measure.sweep.peak import peak_moved
from polepiece.measure.sweep.relaxation import static_inductance
from polepiece.measure.uncertainty import NINETY, half_width

UNTOLD = 0.7  # a parameter whose spread is still this share of what was believed beforehand was not measured
TOGETHER = 0.95  # correlation from which two parameters are said to be told together only
FIT_FAIR = 1.5  # mean square of the residuals in deviations; above: the model is short of something
CLOCK = 1e-4  # limits of the recorder's own crystal against true seconds; common practice, no source
PEAK_READ = 5.5e-5  # limits of reading the peak off points; 24 simulated benches without noise or hum: 3.2e-5 rms
VAGUE = 0.3  # a derived value with an interval of this share either way was not measured
MOST_FACTOR = 20.0  # logarithm of the factor that an interval reaches either way: not told at all
ODD_RESISTANCE = 2.0  # of what meter and sweep allow together: from there they contradict one another
NOISY = 0.01  # points less certain than this (hum lines) are not named as the largest residual
INDUCTANCE_AT = (0.0, 120.0, 1e3, 10e3)  # Hz; 0: towards direct current


def fit_coil(
    measured: ImpedanceSpectrum,
    model: CoilModel = LUMPED_MODEL,
    *,
    resistance: tuple[float, float] | None = None,
    highest: float = 20e3,
    few: bool = False,
) -> CoilFit:
    """Fit ``model`` to a measured impedance.

    Parameters
    ----------
    measured : ImpedanceSpectrum
    model : CoilModel
        `LUMPED_MODEL`, or that of a guitar's own engine.
    resistance : (ohm, standard deviation) of a multimeter at the same temperature, where there is one.
    highest : Hz; above it nothing is fitted.
    few : a handful of readings: what was believed beforehand fills in for points.

    Returns
    -------
    CoilFit

    Raises
    ------
    InputError
        When fewer points remain than parameters.
    ConvergenceError
        When the optimiser stops without a minimum.

    Notes
    -----
    Residuals are (Y_model - Y) / sigma_Y, real and imaginary part, and (ln p - ln usual) / s for each parameter with
    s from its 90 % range; both are minimised by a trust-region least squares with walls, from several starts. The
    covariance is (J^T J)^-1 at the minimum. Where the misfit is above 1, noise is not all: the covariance is multiplied
    by it (Birge's ratio). Tolerances of resistor and input act on all points alike and are added to the intervals.
    Below the lowest frequency the model's law of eddy currents is a belief, so the inductance at 0 Hz is not the
    model's but that of `static_inductance`, which has no law.

    References
    ----------
    .. [1] R. T. Birge, "The calculation of errors by the method of least squares", Phys. Rev. 40, 207 (1932), from
       memory.
    """
    keep = measured.frequency <= highest
    hertz, z = measured.frequency[keep], measured.impedance[keep]
    if not few and 2 * len(hertz) < len(model.parameters):
        raise InputError(f"{len(hertz)} points for {len(model.parameters)} parameters; measure at more frequencies.")
    admittance = 1.0 / z
    # an error alike within an octave counts once an octave, not once a point
    crowd = len(hertz) / max(1.0, float(np.log2(hertz[-1] / hertz[0])))
    own = model.error * np.abs(z) * np.sqrt(crowd / 2.0)
    weight = np.abs(z) ** 2 / np.hypot(np.maximum(measured.deviation[keep], 1e-9 * np.abs(z)), own)
    usual, spread = _priors(model.parameters)

    def residual(log: FloatArray) -> FloatArray:
        made = (1.0 / model.impedance(hertz, np.exp(log)) - admittance) * weight
        parts = [made.real, made.imag, (log - usual) / spread]
        if resistance is not None:
            parts.append(np.array([(np.exp(log[0]) - resistance[0]) / resistance[1]]))
        return np.concatenate(parts)

    best, evaluations = _minimum(residual, model, hertz, z, usual)
    normal = best.jac.T @ best.jac
    squares = float(np.sum(best.fun[: 2 * len(hertz)] ** 2))
    misfit = squares / max(1, 2 * len(hertz) - (0 if few else len(model.parameters)))
    covariance: FloatArray = np.asarray(np.linalg.inv(normal) * max(1.0, misfit), dtype=np.float64)
    estimates, untold = _parameters(model, measured, best.x, covariance, spread, resistance)
    error = model.impedance(hertz, np.exp(best.x)) / z - 1.0
    sure = measured.deviation[keep] < NOISY * np.abs(z)
    worst = int(np.argmax(np.where(sure, np.abs(error), -1.0)))
    notes = []
    if misfit > FIT_FAIR:
        notes.append(
            f"The model leaves {np.sqrt(misfit):.1f} times more than the noise (largest {100 * abs(error[worst]):.2f} "
            f"% at {hertz[worst]:.0f} Hz); all intervals were widened by that."
        )
    if resistance is not None:
        notes += _contradicted(estimates[0], resistance, measured.scale_tolerance)
    derived = _derived(model, measured, best.x, covariance)
    if not few:
        estimates, derived = _lawless(model, measured, estimates, derived, covariance, resistance)
    return CoilFit(
        parameters=estimates, covariance=frozen(covariance), derived=derived,
        untold=untold, misfit=misfit, largest_residual=(float(abs(error[worst])), float(hertz[worst])),
        frequency=frozen(hertz), residual=error, evaluations=evaluations, notes=tuple(notes),
        together=_together(model, measured, best.x, covariance),
    )  # fmt: skip


def _contradicted(one: Estimate, resistance: tuple[float, float], tolerance: float) -> list[str]:
    """Say when a multimeter and the curve do not tell of the same resistance."""
    read, deviation = resistance
    allowed = 0.5 * (one.high - one.low) + NINETY * deviation + tolerance * one.value
    if one.name != "resistance" or abs(one.value - read) <= ODD_RESISTANCE * allowed:
        return []
    return [
        f"The multimeter reads {read / 1e3:.3g} kohm and the curve says {one.value / 1e3:.3g}: one of them is wrong. "
        "Is the series resistor what was given, was a gain knob touched between the recordings, is it the same pickup? "
        "All values hang on that."
    ]


def _priors(parameters: Sequence[Parameter]) -> tuple[FloatArray, FloatArray]:
    usual = np.log([one.usual for one in parameters])
    spread = np.log([one.high / one.low for one in parameters]) / (2.0 * NINETY)
    return usual, spread


class _Best:
    """The deepest minimum so far."""

    __slots__ = ("cost", "fun", "jac", "x")

    def __init__(self, x: FloatArray, fun: FloatArray, jac: FloatArray, cost: float) -> None:
        self.x, self.fun, self.jac, self.cost = x, fun, jac, cost


def _minimum(
    residual: Callable[[FloatArray], FloatArray],
    model: CoilModel,
    hertz: FloatArray,
    z: ComplexArray,
    usual: FloatArray,
) -> tuple[_Best, int]:
    """Minimise from starts that differ in where the eddy currents set in; return the best and the evaluations."""
    least = np.log([one.least for one in model.parameters])
    most = np.log([one.most for one in model.parameters])
    names = [one.name for one in model.parameters]
    start = _rough(names, hertz, z, usual)
    best: _Best | None = None
    evaluations = 0
    for move in (0.0, -1.2, 1.2):
        here = start.copy()
        for at, name in enumerate(names):
            if name in ("pole_corner", "pole_reluctance"):
                here[at] += move
        found = least_squares(
            residual, np.clip(here, least + 1e-6, most - 1e-6), bounds=(least, most), method="trf", x_scale="jac",
            xtol=1e-10, ftol=1e-10, gtol=1e-8, max_nfev=150,
        )  # fmt: skip
        evaluations += int(found.nfev)
        if np.all(np.isfinite(found.fun)) and (best is None or found.cost < best.cost):
            best = _Best(found.x, found.fun, np.asarray(found.jac), float(found.cost))
        if best is not None and found.status > 0 and 2.0 * best.cost < 1.3 * len(found.fun):
            break
    if best is None:
        raise ConvergenceError("the fit found no minimum; look at the impedance itself for a jump or a wrong point.")
    return best, evaluations


def _rough(names: Sequence[str], hertz: FloatArray, z: ComplexArray, usual: FloatArray) -> FloatArray:
    """Return a start read off the curve: R at the bottom, L below the resonance, C from the resonance."""
    start = usual.copy()
    low = hertz < max(60.0, 1.5 * hertz[0])
    r = max(float(np.median(z.real[low])), 100.0)
    below = (hertz > 300.0) & (hertz < 1200.0)
    near = below if np.any(below) else np.ones(len(hertz), dtype=bool)
    inductance = max(float(np.median(z.imag[near] / (2.0 * np.pi * hertz[near]))), 0.05)
    top = hertz[int(np.argmax(np.abs(z)))]
    capacitance = 1.0 / ((2.0 * np.pi * top) ** 2 * 0.8 * inductance)
    for name, value in (("resistance", r), ("inductance", 1.1 * inductance), ("capacitance", capacitance)):
        if name in names:
            start[names.index(name)] = np.log(value)
    return start


def _limits(model: CoilModel, measured: ImpedanceSpectrum, name: str, value: float) -> list[float]:
    """Return the half widths that tolerances give a parameter."""
    out = [abs(model.scaling.get(name, 0.0)) * measured.scale_tolerance * value]
    if name == "capacitance":
        out.append(measured.capacitance_tolerance)
    return out


def _parameters(
    model: CoilModel, measured: ImpedanceSpectrum, log: FloatArray, covariance: FloatArray, spread: FloatArray,
    resistance: tuple[float, float] | None,
) -> tuple[tuple[Estimate, ...], tuple[str, ...]]:  # fmt: skip
    out, words = [], []
    deviation = np.sqrt(np.diag(covariance))
    alike = {name for names, _ in model.never_told_apart if len(names) > 1 for name in names}
    told = (deviation < UNTOLD * spread) & np.array([one.name not in alike for one in model.parameters])
    for at, one in enumerate(model.parameters):
        value = float(np.exp(log[at]))
        low, high = _interval(value, float(deviation[at]), _limits(model, measured, one.name, value))
        if one.name == "resistance" and measured.conductance_tolerance:
            stray = value**2 * measured.conductance_tolerance
            low, high = low - stray, high + stray
        out.append(Estimate(name=one.name, value=value, low=low, high=high, unit=one.unit, told=bool(told[at])))
    blurred = [one.name for one, known in zip(model.parameters, told) if not known and one.name not in alike]
    if blurred:
        words.append(
            f"Not told by this measurement: {', '.join(blurred)}; the interval is what was assumed beforehand."
        )
    correlation = covariance / np.outer(deviation, deviation)
    for a in range(len(log)):
        for b in range(a + 1, len(log)):
            if abs(correlation[a, b]) > TOGETHER:
                first, second = model.parameters[a].name, model.parameters[b].name
                words.append(
                    f"{first} and {second} are told together only (correlation {correlation[a, b]:+.2f}); "
                    "hold to neither alone."
                )
    words += [reason for names, reason in model.never_told_apart if set(names) <= {o.name for o in model.parameters}]
    return tuple(out), tuple(words)


def _interval(value: float, log_deviation: float, limits: Sequence[float]) -> tuple[float, float]:
    """Return the 90 % interval of a positive value: narrow ones symmetric, wide ones by factors."""
    if log_deviation < 0.2:
        half = half_width(value * log_deviation, limits)
        return value - half, value + half
    factor = float(np.exp(min(NINETY * log_deviation, MOST_FACTOR)))
    extra = sum(limits)
    return value / factor - min(extra, 0.5 * value / factor), value * factor + extra


def _derived(
    model: CoilModel, measured: ImpedanceSpectrum, log: FloatArray, covariance: FloatArray
) -> tuple[Estimate, ...]:
    """Return what is asked of a pickup, with intervals carried through the covariance."""
    centre = _asked(model, log)
    steps = np.minimum(1e-3, 0.3 * np.sqrt(np.diag(covariance)) + 1e-9)
    slope = np.array([
        (_asked(model, log + step) - _asked(model, log - step)) / (2.0 * size)
        for step, size in zip(np.diag(steps), steps)
    ])  # fmt: skip
    deviation = np.sqrt(np.maximum(np.einsum("pa,pq,qa->a", slope, covariance, slope), 0.0))
    names = [*(_name(f) for f in INDUCTANCE_AT), "resonance", "peak_impedance"]
    units = [*("H" for _ in INDUCTANCE_AT), "Hz", "ohm"]
    powers = [*(1.0 for _ in INDUCTANCE_AT), 0.0, 1.0]
    at = [one.name for one in model.parameters].index("capacitance")
    place = names.index("resonance")
    if np.isfinite(centre[place]):
        read = peak_moved(
            measured.frequency, measured.impedance, measured.deviation,
            lambda hertz: model.impedance(hertz, np.exp(log)), float(centre[place]),
        )  # fmt: skip
        if read is not None:
            centre[place], deviation[place] = read
    out = []
    for k, (name, unit, power) in enumerate(zip(names, units, powers)):
        value = float(centre[k])
        if not np.isfinite(value):
            continue
        stray = abs(float(slope[at, k])) * measured.capacitance_tolerance / float(np.exp(log[at]))
        limits = [abs(power) * measured.scale_tolerance * value, stray]
        if unit == "Hz":
            limits += [CLOCK * value, PEAK_READ * value]
        told = half_width(float(deviation[k]), limits) < VAGUE * value
        low, high = _interval(value, float(deviation[k]) / value, limits)
        out.append(Estimate(name=name, value=value, low=low, high=high, unit=unit, told=told))
    return tuple(out)


def _lawless(
    model: CoilModel, measured: ImpedanceSpectrum, parameters: tuple[Estimate, ...], derived: tuple[Estimate, ...],
    covariance: FloatArray, resistance: tuple[float, float] | None,
) -> tuple[tuple[Estimate, ...], tuple[Estimate, ...]]:  # fmt: skip
    """Take the inductance at 0 Hz from the measurement without the model's law; the parameter's interval holds both."""
    at = [one.name for one in model.parameters].index("capacitance")
    winding, dc = parameters[at].value, named(parameters, "resistance").value
    found = static_inductance(
        measured, capacitance=(winding, float(np.sqrt(covariance[at, at]))), resistance=resistance,
        loss=named(parameters, "loss_tangent").value,
    )  # fmt: skip
    if found is None:
        return parameters, derived
    # a conductance G that was taken out wrongly turns R + jwL into (R + jwL) (1 - 2 G R) in its imaginary part
    limits = [measured.scale_tolerance, 2.0 * dc * measured.conductance_tolerance]
    down, up = half_width(found.below, limits), half_width(found.above, limits)
    low, high = (found.value * float(np.exp(np.clip(by, -MOST_FACTOR, MOST_FACTOR))) for by in (-down, up))
    told = 0.5 * (high - low) < VAGUE * found.value
    free = Estimate(name=_name(0.0), value=found.value, low=low, high=high, unit="H", told=told)
    both = tuple(
        replace(one, low=min(one.low, low), high=max(one.high, high), told=one.told and told)
        if one.name == "inductance"
        else one
        for one in parameters
    )
    return both, tuple(free if one.name == free.name else one for one in derived)


def _together(
    model: CoilModel, measured: ImpedanceSpectrum, log: FloatArray, covariance: FloatArray
) -> tuple[tuple[str, str, float], ...]:
    """Return how R, L at 120 Hz and C go together: their covariance in logarithms, with what tolerances add to it.

    A common factor on Z (the resistor's) moves R and L with it and C against it; limits count as even chances, a third
    of their square.
    """
    names = [one.name for one in model.parameters]

    def asked(at: FloatArray) -> FloatArray:
        values = np.exp(at)
        inductance = float(model.inductance(np.array([120.0]), values).real[0])
        return np.log([values[names.index("resistance")], inductance, values[names.index("capacitance")]])

    step = 1e-4
    slope = np.array([(asked(log + one) - asked(log - one)) / (2.0 * step) for one in step * np.eye(len(log))])
    common = measured.scale_tolerance * np.array([1.0, 1.0, -1.0])
    stray = np.array([measured.conductance_tolerance, 0.0, measured.capacitance_tolerance]) * np.exp(
        asked(log) * np.array([1.0, 0.0, -1.0])
    )
    whole = slope.T @ covariance @ slope + (np.outer(common, common) + np.diag(stray**2)) / 3.0
    size = np.sqrt(np.diag(whole))
    alike = np.clip(whole / np.outer(size, size), -1.0, 1.0)
    words = ("resistance", "inductance_120_hz", "capacitance")
    return tuple((words[a], words[b], float(alike[a, b])) for a, b in ((0, 1), (0, 2), (1, 2)))


def _name(frequency: float) -> str:
    return f"inductance_{frequency:.0f}_hz" if frequency else "inductance_static"


_AXIS = np.geomspace(500.0, 40e3, 1200)


def _asked(model: CoilModel, log: FloatArray) -> FloatArray:
    values = np.exp(log)
    at = np.maximum(np.array(INDUCTANCE_AT), 1e-3)
    inductance = model.inductance(at, values).real
    peak = resonance(_AXIS, model.impedance(_AXIS, values))
    if peak.frequency is None:
        return np.array([*inductance, np.nan, np.nan])
    size = float(np.abs(model.impedance(np.array([peak.frequency]), values))[0])
    return np.array([*inductance, peak.frequency, size])
