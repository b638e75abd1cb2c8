"""A model of a coil that can be fitted to an impedance, and what a fit of it says."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from polepiece.arrays import ComplexArray, FloatArray
from polepiece.errors import InputError
from polepiece.measure.estimate import Estimate
from polepiece.measure.sweep.lumped import LUMPED, Parameter, lumped_impedance, lumped_inductance

Impedance = Callable[[FloatArray, FloatArray], ComplexArray]
Inductance = Callable[[FloatArray, FloatArray], ComplexArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoilFit:
    """A fitted pickup.

    Attributes
    ----------
    parameters : one estimate each; ``told`` False where the data did not narrow what was believed beforehand.
    covariance : (p, p) of the logarithms of the parameters, from noise and prior beliefs, without tolerances.
    derived : inductance at some frequencies, resonance without load, its height.
    untold : sentences on parameters that cannot be told, alone or from one another.
    misfit : mean square of the residuals in standard deviations, about 1 for a model that has what it needs.
    largest_residual : share of |Z|, and its frequency in Hz.
    residual : (f,) complex, share of the measured Z.
    evaluations : of the model.
    together : correlations of resistance, inductance at 120 Hz and capacitance, noise and tolerances together:
        (name, name, correlation).
    """

    parameters: tuple[Estimate, ...]
    covariance: FloatArray
    derived: tuple[Estimate, ...]
    untold: tuple[str, ...]
    misfit: float
    largest_residual: tuple[float, float]
    frequency: FloatArray
    residual: ComplexArray
    evaluations: int
    notes: tuple[str, ...] = ()
    together: tuple[tuple[str, str, float], ...] = ()

    def __getitem__(self, name: str) -> Estimate:
        for one in (*self.parameters, *self.derived):
            if one.name == name:
                return one
        raise InputError(
            f"the fit has no {name!r}; it has {', '.join(o.name for o in self.parameters + self.derived)}."
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoilModel:
    """What a fit needs: the parameters, Z and L of their values, and what a common factor of Z does to each.

    ``scaling`` gives, a parameter, the power with which it follows a common factor on Z (R, L: 1, C: -1); ``error`` is
    what Z of the model may be off by, a share, alike within an octave; ``never_told_apart`` names parameters that an
    impedance cannot tell apart whatever its noise, with the sentence that says so.
    """

    parameters: tuple[Parameter, ...]
    impedance: Impedance
    inductance: Inductance
    scaling: Mapping[str, float]
    never_told_apart: tuple[tuple[tuple[str, ...], str], ...] = ()
    error: float = 0.0


LUMPED_MODEL = CoilModel(
    parameters=LUMPED,
    impedance=lumped_impedance,
    inductance=lumped_inductance,
    scaling={"resistance": 1.0, "inductance": 1.0, "capacitance": -1.0},
)
