"""One key of a guitar file: its spellings, its unit and its range; the words that several keys share."""

from dataclasses import dataclass
from decimal import Decimal

from polepiece.guitar.file.units import UNITS, Unit, unit_with_suffix
from polepiece.materials import catalogue

CATALOGUE_GRADES = tuple(one.slug for one in catalogue.magnets())
STEELS = ("1006", "1010", "1018", "1020", "1117", "12L14", "416", "430")
SHEET_METALS = ("nickel-silver", "brass")


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key: ``stem`` plus the suffix of any unit of ``dimension``."""

    stem: str
    attr: str  # attribute of the record, dotted inside a pickup ("poles.slug_diameter")
    kind: str = "number"  # number numbers readings word text texts flag grade charge
    dimension: str = "number"
    written: str = ""  # suffix that is written and in which low and high are given
    low: float | None = None
    high: float | None = None
    usual: tuple[float, float] | None = None  # asked about outside, not refused
    choices: tuple[str, ...] = ()
    none_word: str = ""  # the word for "there is none" or "not known", if the value may be missing
    noun: str = ""  # plural subject of the range sentence: "magnets lie between"
    aliases: tuple[str, ...] = ()
    whole: bool = False
    meaning: str = ""

    @property
    def name(self) -> str:
        """The key as it is written."""
        return self.stem + self.written

    @property
    def unit(self) -> Unit:
        """The unit in which the key is written."""
        return unit_with_suffix(self.dimension, self.written)

    def names(self) -> dict[str, Unit]:
        """Every accepted spelling of the key and its unit."""
        return {stem + unit.suffix: unit for stem in (self.stem, *self.aliases) for unit in UNITS[self.dimension]}

    def limits(self, unit: Unit) -> tuple[float, float]:
        """The allowed range in another unit of the same dimension."""
        scale = self.unit.factor / unit.factor
        low = float("-inf") if self.low is None else float(Decimal(str(self.low)) * scale)
        high = float("inf") if self.high is None else float(Decimal(str(self.high)) * scale)
        return low, high


def length_key(stem: str, attr: str, low: float, high: float, meaning: str, **more: object) -> Key:
    """Return a length; a plain key is in mm."""
    fields: dict[str, object] = {"noun": "it must lie", **more}
    return Key(stem=stem, attr=attr, dimension="length", low=low, high=high, meaning=meaning, **fields)  # type: ignore[arg-type]
