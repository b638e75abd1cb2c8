"""What a work sheet is: sections of steps and of readings to write in, and one page for the owner."""

from dataclasses import asdict, dataclass
from typing import Any, Literal

from polepiece.moves import BarFit

Interval = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do, to check, or to stop at."""

    key: str
    text: str
    kind: Literal["do", "check", "stop"] = "do"


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """One reading to write in, with what it should be; a reading for each string has ``string``."""

    key: str  # e.g. "dc_resistance", "pole_gauss.screws"
    label: str
    how: str = ""
    unit: str = ""
    expected: float | None = None  # in ``unit``; None where nothing can be said
    interval: Interval | None = None  # 90 %, or the range within which it must stay
    digits: int = 2
    basis: str = ""  # "computed", "from the file", "assumed", or what the range means
    words: str = ""  # what is expected, where that is no number
    string: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One part of the bench sheet, in the order of work."""

    key: str
    title: str
    note: str = ""
    steps: tuple[Step, ...] = ()
    blanks: tuple[Blank, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What one quantity does, after minus before, at the same gap and with the height re-set to the old level."""

    key: str  # dotted key of `State.numbers`
    words: str
    unit: str
    change: float
    interval: Interval | None
    change_at_old_level: float | None
    digits: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class BarTrial:
    """One bar to try in the one opening."""

    order: int
    name: str  # "alnico-3", "alnico-5-rough-cast"
    chosen: bool  # the bar of the change this sheet is for
    level_db: float  # against now, at the same gap
    interval: Interval
    reset: str  # "lower 0.3 mm" to be as loud as now
    pole_gauss: float  # over the middle of the first row
    fit: BarFit
    why: str  # why it has this place


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnerSheet:
    """The one page that goes home with the guitar."""

    told: tuple[str, ...]  # the complaint in words
    done: tuple[str, ...]
    before_after: tuple[tuple[Blank, Blank], ...]
    heard: tuple[str, ...]  # predicted, in a sentence each
    returned: tuple[Step, ...]
    way_back: tuple[str, ...]
    consents: tuple[Step, ...]
    rates: tuple[str, ...]  # blanks for own rates; nothing is priced here


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkSheet:
    """Everything for one change of one pickup: bench sheet and owner's sheet."""

    guitar: str
    invented: bool
    pickup: str
    construction: str
    changes: tuple[str, ...]  # as typed
    position: str  # of the switches, in which effects and levels are heard
    position_words: str  # that in a sentence without its stop, and which positions the change moves; "" of one
    outcome: tuple[str, ...]  # where things are afterwards
    minutes: int
    risk: str
    parts: tuple[str, ...]
    customer: str | None
    job: str | None
    date: str | None
    sections: tuple[Section, ...]
    effects: tuple[Effect, ...]
    effects_note: str
    bars: tuple[BarTrial, ...]
    fit: BarFit | None
    cautions: tuple[str, ...]
    defer: str
    owner: OwnerSheet
    hangs_on: tuple[tuple[str, str], ...]  # (assumed value in words, the measurement that settles it)
    seed: int
    version: str
    constants: str

    def section(self, key: str) -> Section | None:
        """Return the section of that key, or None where the job has none."""
        return next((one for one in self.sections if one.key == key), None)


def worksheet_json(sheet: WorkSheet) -> dict[str, Any]:
    """Return a work sheet as plain values: records become objects, tuples lists."""
    return asdict(sheet)
