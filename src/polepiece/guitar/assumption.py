"""What the file of a guitar did not say: one assumed value, its spread, and the cheap measurement that settles it."""

from dataclasses import dataclass

PRACTICE = "common practice, no source"
GAUGE = "plastic or brass caliper"
LOOK = "look at it"
METER = "ohmmeter across the pickup, off the pots"
FEELER = "ruler or feeler: each outer string pressed at the last fret, its underside to the pole top"


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """One value that the file did not give: the default, its 90 % spread and what would settle it."""

    path: str  # key path in the guitar file, e.g. "pickups[0].magnet.charge"
    value: str  # what was assumed, with its unit, ready to print
    low: float | None = None  # 90 % spread in the file's unit; None where a spread has no number
    high: float | None = None
    basis: str = "common practice, no source"
    settle: str = ""  # the one cheap measurement that would replace it


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
