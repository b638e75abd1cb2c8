"""What the file of a guitar did not say: one assumed value, its spread, and the cheap measurement that settles it."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated

from polepiece.guitar.checks import Checked
from polepiece.guitar.parameter import GAUGE, NEEDED, PRACTICE, Parameter, number, text

LOOK = "look at it"
METER = "ohmmeter across the pickup, off the pots"
FEELER = "ruler or feeler: each outer string pressed at the last fret, its underside to the pole top"
SPACING = "caliper over the outer poles, divided by one less than there are"


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption(Checked):
    """One value that the file did not give: the default, its 90 % spread and what would settle it."""

    # fmt: off
    path: Annotated[str, text(NEEDED, "key that was assumed")]  # "pickups[0].magnet.charge"
    value: Annotated[str, text(NEEDED, "what was assumed, with its unit")]  # ready to print
    low: float | None = number(None, None, None, "it lies", "lower end of the 90 % spread", none="none")
    high: float | None = number(None, None, None, "it lies", "upper end", none="none")  # both in the file's unit
    basis: str = text(PRACTICE, "why", may_be_empty=True)
    settle: str = text("", "the cheapest measurement that settles it", may_be_empty=True)
    # fmt: on


@dataclass(frozen=True, slots=True)
class Default:
    """One assumed value in the unit of the file, its 90 % spread and the measurement that replaces it."""

    value: float | str | bool | tuple[float, ...] | tuple[str, ...] | None
    low: float | None = None
    high: float | None = None
    settle: str = GAUGE
    basis: str = PRACTICE
    words: str = ""  # printed instead of the value

    def assumption(self, path: str, unit: str = "") -> Assumption:
        """Return the line for ``Guitar.assumed``."""
        value = self.value
        if self.words:
            text = self.words
        elif isinstance(value, tuple):
            text = " ".join(f"{one:g}" if isinstance(one, float | int) else one for one in value)
        elif value is None or isinstance(value, bool):
            text = {True: "yes", False: "no", None: "not known"}[value]
        elif isinstance(value, str):
            text = value
        else:
            text = f"{value:g}"
        tail = f" {unit}" if unit and not self.words else ""
        return Assumption(
            path=path, value=text + tail, low=self.low, high=self.high, basis=self.basis, settle=self.settle
        )


def defaults_of(lines: Iterable[Parameter]) -> dict[str, Default]:
    """Return what these parameters assume where nothing is said, by attribute; some assume nothing."""
    return {
        one.attr: Default(one.default, low=one.spread[0], high=one.spread[1], settle=one.settle, words=one.words)
        for one in lines
        if one.settle
    }
