"""What goes into the notebook and comes out of it: frozen records, checked before anything is written."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Literal

from polepiece.errors import InputError, hidden_turn
from polepiece.typed_number import typed_number

PartKind = Literal["bar", "rods", "pot", "capacitor", "cover", "strings", "other"]
PART_KINDS: tuple[PartKind, ...] = ("bar", "rods", "pot", "capacitor", "cover", "strings", "other")
NoteSort = Literal["note", "measurement", "trial", "swap"]
NOTE_SORTS: tuple[NoteSort, ...] = ("note", "measurement", "trial", "swap")
SoundKind = Literal["wav", "flac"]
Act = Literal["entry", "record", "undo", "redo"]
Finish = Literal["polished", "rough-cast", "unknown"]
Clock = Callable[[], datetime]

FIRST_YEAR, LAST_YEAR = 1970, 2199
"""Of a moment: a clock without a battery begins at 1970; the ends of the calendar break the change to local time."""
SHORT, LONG = 500, 20_000  # characters of a label or a reason, of a text


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part that is owned, in bench units, as read off or measured; ``None`` is "not known".

    ``gauss`` keeps its sign and needs ``gauss_at``: where it was measured. ``resistance_kohm`` is for pots,
    ``capacitance_nf`` for capacitors, both measured where they can be.
    """

    kind: PartKind
    label: str = ""
    grade: str | None = None  # of a magnet: a slug of the catalogue, or any word
    finish: Finish = "unknown"
    length_mm: float | None = None
    width_mm: float | None = None
    thickness_mm: float | None = None
    gauss: float | None = None
    gauss_at: str = ""
    resistance_kohm: float | None = None
    capacitance_nf: float | None = None
    price: Decimal | None = None
    currency: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse what cannot be meant, all faults at once."""
        faults: list[str] = []
        if self.kind not in PART_KINDS:
            faults.append(f"kind is {self.kind!r}; allowed are {', '.join(PART_KINDS)}")
        if self.finish not in ("polished", "rough-cast", "unknown"):
            faults.append(f"finish is {self.finish!r}; allowed are polished, rough-cast, unknown")
        for name, low, high, slip in _RANGES:
            value = getattr(self, name)
            if value is None:
                continue
            if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
                faults.append(f"{name} is {value!r}, not a number")
            elif not low <= abs(value) <= high or (value < 0.0 and name != "gauss"):
                faults.append(f"{name} is {value:g}; allowed is {low:g} to {high:g}. {slip}")
        if self.gauss is not None and not self.gauss_at.strip():
            faults.append("gauss needs the place where it was measured (gauss_at), for example 'end face, middle'")
        faults += _price_faults(self.price, self.currency)
        for name, most in (("label", SHORT), ("grade", SHORT), ("gauss_at", SHORT), ("note", LONG)):
            value = getattr(self, name)
            if value is not None and (fault := text_fault(value, most)):
                faults.append(f"{name} {fault}")
        if faults:
            raise InputError("part: " + "; ".join(faults) + ".")


_MM = "Is it in inches?"
_RANGES = (
    ("length_mm", 3.0, 120.0, _MM),
    ("width_mm", 1.0, 60.0, _MM),
    ("thickness_mm", 0.2, 30.0, _MM),
    ("gauss", 0.0, 8000.0, "Is it in tesla or millitesla? 1 mT is 10 gauss."),
    ("resistance_kohm", 0.001, 20_000.0, "Is it in ohm?"),
    ("capacitance_nf", 0.001, 10_000.0, "Is it in pF or uF? 0.022 uF is 22 nF."),
)
"""Input checks in bench units (common practice, no source)."""


def price_fault(price: Decimal, currency: str) -> str:
    """Return why a sum of money cannot be meant, or nothing."""
    return "; ".join(_price_faults(price, currency))


def _price_faults(price: Decimal | None, currency: str) -> list[str]:
    if price is None:
        return ["currency is given without a price"] if currency else []
    faults = []
    if not isinstance(price, Decimal) or not price.is_finite() or price < 0 or price > 1_000_000:
        faults.append(f"price is {price}; allowed is a decimal number from 0 to 1000000")
    if not (len(currency) == 3 and currency.isascii() and currency.isalpha() and currency.isupper()):
        faults.append(f"currency is {currency!r}; write its three capital letters, such as EUR")
    return faults


def text_fault(value: object, most: int = LONG) -> str | None:
    """Return why a text cannot be kept, or None."""
    if not isinstance(value, str):
        return f"is {type(value).__name__}, not text"
    if len(value) > most:
        return f"has {len(value)} characters; at most {most} are kept"
    if "\0" in value:
        return "holds a null character"
    try:
        value.encode("utf-8")
    except UnicodeEncodeError:
        return "holds half a character (a lone surrogate); it was cut or decoded wrongly"
    return hidden_turn(value)


def checked(value: str, name: str, most: int = LONG, *, empty: bool = False) -> str:
    """Return a text that can be kept.

    Raises
    ------
    InputError
        If it is empty (unless ``empty``), too long, or no Unicode text.
    """
    fault = text_fault(value, most) or (None if empty or value.strip() else "is empty")
    if fault:
        raise InputError(f"{name} {fault}.")
    return value


def price_of(text: str | None) -> Decimal | None:
    """Read a price; a decimal comma is understood."""
    if text is None:
        return None
    try:
        return typed_number(text)
    except InputError as error:
        raise InputError(f"price is {text!r}; {error}; write a number such as 12.50.") from None


def now_utc() -> datetime:
    """Return the time now, in UTC."""
    return datetime.now(UTC)


def stamp(moment: datetime) -> str:
    """Return a moment as the notebook writes it: UTC, ISO 8601, microseconds always there, so that text sorts as time.

    Raises
    ------
    InputError
        If the moment has no time zone, or lies outside the years that are kept.
    """
    if moment.tzinfo is None:
        raise InputError(f"{moment.isoformat()} has no time zone; the notebook keeps UTC. Add tzinfo.")
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise InputError(
            f"the year is {moment.year}; the notebook keeps {FIRST_YEAR} to {LAST_YEAR}. Is the clock of this computer "
            "right?"
        )
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def stamp_asked(moment: datetime) -> str:
    """Return a moment that is only asked about, to be held against those that are kept; it may lie before or after all.

    Raises
    ------
    InputError
        If the moment has no time zone.
    """
    if moment.tzinfo is not None and moment.year > LAST_YEAR:
        return f"{LAST_YEAR + 1}"  # text sorts as time
    if moment.tzinfo is not None and moment.year < FIRST_YEAR:
        return f"{moment.year:04d}"
    return stamp(moment)


def moment(text: str) -> datetime:
    """Read a moment as the notebook writes it."""
    return datetime.fromisoformat(text)


@dataclass(frozen=True, slots=True, kw_only=True)
class GuitarEntry:
    """A guitar on record; ``state_id`` is the state it is in now."""

    id: int
    uuid: str
    name: str
    created: datetime
    state_id: int
    states: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StateEntry:
    """A guitar as it was from ``at`` on; ``restores_id`` is set where an undo or redo brought a state back."""

    id: int
    uuid: str
    guitar_id: int
    parent_id: int | None
    at: datetime
    act: Act
    restores_id: int | None
    why: str
    text: str
    provenance: Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartEntry:
    """A part with its number; ``retired`` and ``why`` are set when it has left the drawer."""

    id: int
    uuid: str
    at: datetime
    part: Part
    count: int = 1  # that are there; below zero where two notebooks that were merged took the same one
    retired: datetime | None = None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEntry:
    """A job as it stands; what became of it is added up from its events."""

    id: int
    place: int  # 1 for the job that this file learned of first
    uuid: str
    guitar_id: int
    state_id: int  # of the guitar when the job was taken in
    at: datetime
    complaints: str
    constraints: str
    customer: str | None
    number: str | None
    status: str  # "open", a status in the shop's words, or "closed"
    plan: Mapping[str, object] | None = None  # the plan kept last
    change: str | None = None  # the change chosen last
    outcome: str | None = None
    closed: datetime | None = None
    last: int = 0  # entry of the last that happened to it, the job itself at first
    promised: date | None = None
    quote: Mapping[str, object] | None = None  # the one that was made last: lines, total, currency; sums are text

    @property
    def called(self) -> str:
        """The number a person calls it by: the shop's own, or which one it is in this notebook."""
        return self.number or str(self.place)


@dataclass(frozen=True, slots=True, kw_only=True)
class PredictionEntry:
    """What was computed for a change to a state; ``provenance`` holds version, constants and seed."""

    id: int
    uuid: str
    guitar_id: int
    state_id: int
    at: datetime
    change: str
    result: Mapping[str, object]
    provenance: Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteEntry:
    """A line somebody wrote, with figures (``body``) or not."""

    id: int
    uuid: str
    guitar_id: int | None
    state_id: int | None
    at: datetime
    sort: NoteSort
    text: str
    body: Mapping[str, object] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SoundEntry:
    """A name under which a sound was kept; ``sound(sha256)`` returns its bytes."""

    id: int
    uuid: str
    guitar_id: int | None
    state_id: int | None
    at: datetime
    label: str
    sha256: str
    kind: SoundKind
    size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchEntry:
    """A bench of the shop; ``ended`` and ``why`` are set when its token is good for nothing any more."""

    id: int
    uuid: str
    name: str
    at: datetime
    ended: datetime | None = None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomerEntry:
    """A customer; ``name`` is None, and the other personal fields empty, once they are erased."""

    id: int
    uuid: str
    at: datetime
    name: str | None
    contact: str
    note: str
    agreed: str  # what for it may be kept
    agreed_on: date
    jobs: tuple[int, ...]
    erased: datetime | None = None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogLine:
    """One thing that happened, in words."""

    id: int
    at: datetime
    kind: str
    guitar_id: int | None
    guitar: str | None
    words: str
    bench: str | None = None  # that wrote it
