"""The least differences that one person hears, from blind staircases, in place of the published thresholds.

A staircase finds what is heard in half of the trials beyond guessing, on one gear with one phrase (`ThresholdTrial`);
what it says of brightness, a shelf above 2 kHz, is taken for the bands there, highs and presence (judgement).
"""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from polepiece.errors import InputError

if TYPE_CHECKING:  # a third of what this room loads, for names alone
    from polepiece.measure import Estimate, Quantity, ThresholdTrial

MEANT: "dict[Quantity, tuple[str, ...]]" = {
    "level": ("level",), "brightness": ("highs", "presence"), "resonance": ("resonance",),
}  # fmt: skip
"""Quantities of `QUANTITIES`, by what a staircase changed; units are the same (dB, %)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ear:
    """What one person was found to hear; ``least`` and ``dates`` by what the staircase changed."""

    least: "Mapping[Quantity, Estimate]" = field(default_factory=dict)
    dates: "Mapping[Quantity, str]" = field(default_factory=dict)

    def threshold(self, key: str) -> float | None:
        """Return the threshold of a quantity in its unit; None where nobody has asked this ear."""
        of = self._asked(key)
        return None if of is None else self.least[of].value

    def source(self, key: str) -> str:
        """Return where that threshold comes from, in words; empty where there is none."""
        of = self._asked(key)
        if of is None:
            return ""
        found = self.least[of]
        return (
            f"your own ear: blind staircase of {self.dates[of]}, 90 % {found.low:.2g} to {found.high:.2g} {found.unit}"
        )

    @property
    def words(self) -> str:
        """What is taken from this ear, in a sentence; empty where it says nothing."""
        said = [f"{name} {one.value:.2g} {one.unit}" for name, one in self.least.items()]
        return f"Heard is judged by your own ear ({', '.join(said)}), the rest by published thresholds." if said else ""

    def _asked(self, key: str) -> "Quantity | None":
        return next((name for name in self.least if key in MEANT[name]), None)


def ear_of(trials: "Iterable[ThresholdTrial]") -> Ear:
    """Return an ear from staircases that are over; of several of one quantity the last in date, then in order.

    Raises
    ------
    InputError
        When one is not over, or its answers bound nothing.
    """
    least: dict[Quantity, Estimate] = {}
    dates: dict[Quantity, str] = {}
    for one in sorted(trials, key=lambda each: each.date):
        least[one.plan.quantity] = one.outcome()
        dates[one.plan.quantity] = one.date
    for name, found in least.items():
        if not found.value > 0.0:
            raise InputError(f"the least difference of {name} is {found.value:g} {found.unit}; above 0 is needed.")
    return Ear(least=least, dates=dates)


_EAR: ContextVar[Ear | None] = ContextVar("ear", default=None)


@contextmanager
def heard_by(ear: Ear | None) -> Iterator[None]:
    """Judge by this ear what is heard, inside the ``with``; None: by the published thresholds."""
    before = _EAR.set(ear)
    try:
        yield
    finally:
        _EAR.reset(before)


def ear_in_use() -> Ear | None:
    """Return the ear that is judged by."""
    return _EAR.get()
