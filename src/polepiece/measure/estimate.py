"""A measured value with its 90 % interval, as every instrument of this room gives it."""

from collections.abc import Sequence
from dataclasses import dataclass

from polepiece.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A value with its 90 % interval."""

    name: str
    value: float
    low: float
    high: float
    unit: str
    told: bool = True  # False: the interval is what was believed beforehand, not a measurement

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise InputError(f"{self.name}: the interval {self.low:g} to {self.high:g} does not hold {self.value:g}.")


def named(estimates: Sequence[Estimate], name: str) -> Estimate:
    """Return the estimate of a name.

    Raises
    ------
    InputError
        When there is none; says which there are.
    """
    for one in estimates:
        if one.name == name:
            return one
    raise InputError(f"nothing called {name!r} was measured; there are {', '.join(o.name for o in estimates)}.")
