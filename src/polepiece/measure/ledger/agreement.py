"""The ledger of a change: what was computed, measured and heard, each with its interval, and whether they agree."""

import datetime
import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Literal

from polepiece.errors import InputError, MeasurementError
from polepiece.measure.estimate import Estimate
from polepiece.measure.readback import read_back
from polepiece.measure.uncertainty import NINETY

SCHEMA = "polepiece/ledger/1"
COVERAGE_FACTOR = 2.0  # ISO 13528 and ISO/IEC 17043 take expanded uncertainties with k = 2, about 95 %

Of = Literal["before", "after", "difference"]
Word = Literal[
    "agrees",
    "disagrees",
    "not distinguishable from nothing",
    "not computed",
    "not measured",
    "not heard",
    "no trial yet",
]
OFS: tuple[Of, ...] = ("before", "after", "difference")
NOTHING: Word = "not distinguishable from nothing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A value with its 90 % interval, and whose word it is."""

    value: float
    low: float
    high: float
    source: str = ""

    def __post_init__(self) -> None:
        numbers = (self.low, self.value, self.high)
        if any(isinstance(one, bool) or not isinstance(one, int | float) for one in numbers):
            raise InputError(f"a claim needs three numbers (low, value, high); given are {numbers}.")
        if not all(math.isfinite(one) for one in numbers) or not self.low <= self.high:
            raise InputError(f"a claim of {self.value:g} has the interval {self.low:g} to {self.high:g}.")

    @classmethod
    def of(cls, estimate: Estimate, source: str = "") -> "Claim":
        """Return what an instrument said as a claim."""
        return cls(value=estimate.value, low=estimate.low, high=estimate.high, source=source)

    def less(self, other: "Claim") -> "Claim":
        """Return this claim minus an independent one: half widths add as squares, each side by its own.

        Independent uncertainties add as squares (the law of propagation, JCGM 100:2008, from memory).
        """
        value = self.value - other.value
        down = math.hypot(self.value - self.low, other.high - other.value)
        up = math.hypot(self.high - self.value, other.value - other.low)
        return Claim(value=value, low=value - down, high=value + up, source=self.source)

    def holds(self, value: float) -> bool:
        """Whether ``value`` lies in the interval."""
        return self.low <= value <= self.high

    def expanded_towards(self, other: float) -> float:
        """Return the expanded uncertainty (k = 2) on the side where ``other`` lies.

        Definition of the expanded uncertainty (JCGM 100:2008, from memory).
        """
        half = self.high - self.value if other >= self.value else self.value - self.low
        return COVERAGE_FACTOR * max(half, 0.0) / NINETY


def normalised_error(one: Claim, other: Claim) -> float:
    """Return E_n, the distance of two claims in units of their joint expanded uncertainty.

    Returns
    -------
    float
        At most 1 where they agree; 0 for equal claims, infinite for unequal ones that both say they are exact.

    Notes
    -----
    E_n = |a - b| / sqrt(U_a^2 + U_b^2), U = 2 u. Intervals here hold 90 %, so u = half width / 1.645 and
    U = 1.216 half widths. The standards ask for symmetric uncertainties; of an asymmetric interval the half that faces
    the other value is taken.

    References
    ----------
    .. [1] ISO 13528:2022, 9.7 (E_n scores); ISO/IEC 17043:2023, annex B. From memory.

    Examples
    --------
    >>> a = Claim(value=10.0, low=9.0, high=11.0)
    >>> round(normalised_error(a, Claim(value=12.0, low=11.0, high=13.0)), 2)
    1.16
    """
    distance = abs(one.value - other.value)
    if distance == 0.0:
        return 0.0
    joint = math.hypot(one.expanded_towards(other.value), other.expanded_towards(one.value))
    return distance / joint if joint > 0.0 else math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line: a quantity, before, after or what the change did to it, as three parties have it.

    Attributes
    ----------
    key : dotted, as in the numbers of a state; "heard" for the blind trial of the change as a whole.
    unit : of all claims of the line. The heard claim of a trial is the share of right answers.
    heard_word : what the trial says of the computed claim, decided by whoever knows the thresholds.
    note : a sentence; why a claim is missing, where one is.
    """

    key: str
    words: str
    unit: str
    of: Of = "difference"
    computed: Claim | None = None
    measured: Claim | None = None
    heard: Claim | None = None
    heard_word: Word = "not heard"
    note: str = ""

    def __post_init__(self) -> None:
        if self.of not in OFS:
            raise InputError(f"{self.key}: of is {self.of!r}; allowed are {', '.join(OFS)}.")

    @property
    def normalised_error(self) -> float | None:
        """E_n of measured against computed; None where one of them is missing."""
        if self.computed is None or self.measured is None:
            return None
        return normalised_error(self.computed, self.measured)

    @property
    def inside(self) -> bool | None:
        """Whether the measured value lies in the computed interval."""
        if self.computed is None or self.measured is None:
            return None
        return self.computed.holds(self.measured.value)

    @property
    def word(self) -> Word:
        """What the line comes to.

        A difference whose measured interval holds zero and that is no further from the computed one than both
        uncertainties allow is "not distinguishable from nothing": it neither speaks for the computation nor against.
        """
        if self.key == "heard":
            return "no trial yet" if self.heard is None else self.heard_word
        if self.measured is None:
            return "not measured"
        error = self.normalised_error
        if error is None:
            return "not computed"
        if error > 1.0:
            return "disagrees"
        moved = self.computed is not None and (self.computed.low != 0.0 or self.computed.high != 0.0)
        if self.of == "difference" and self.measured.holds(0.0) and moved:
            return NOTHING
        return "agrees"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """All lines of one change to one pickup.

    Attributes
    ----------
    date : ISO.
    change : as typed, one text a move.
    provenance : version, hash of the constants, seed, draws; files with their hashes.
    notes : sentences.
    """

    guitar: str
    pickup: str
    change: tuple[str, ...]
    date: str
    entries: tuple[Entry, ...]
    provenance: Mapping[str, Any]
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        try:
            datetime.date.fromisoformat(self.date)
        except (TypeError, ValueError):
            raise InputError(f"date is {self.date!r}; write 2026-11-25.") from None

    def __getitem__(self, name: str) -> Entry:
        """Return the line of a difference by its key, or of ``key@before`` and ``key@after``."""
        key, _, of = name.partition("@")
        for one in self.entries:
            if one.key == key and one.of == (of or "difference"):
                return one
        known = ", ".join(f"{one.key}@{one.of}" for one in self.entries)
        raise InputError(f"the ledger has no line {name!r}; it has {known}.")

    def to_dict(self) -> dict[str, Any]:
        """Return plain numbers and texts, ready for JSON; ``judged`` is for readers, and made again when read."""
        return {
            "schema": SCHEMA,
            "guitar": self.guitar,
            "pickup": self.pickup,
            "change": list(self.change),
            "date": self.date,
            "entries": [asdict(one) | {"judged": _judged(one)} for one in self.entries],
            "provenance": dict(self.provenance),
            "notes": list(self.notes),
        }

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Ledger":
        """Return the ledger that ``to_dict`` gave.

        Raises
        ------
        MeasurementError
            When ``data`` is something else, naming what is missing.
        """
        with read_back(data, SCHEMA, "a ledger"):
            return cls(
                guitar=data["guitar"], pickup=data["pickup"], change=tuple(data["change"]), date=data["date"],
                entries=tuple(_entry(one) for one in data["entries"]), provenance=dict(data["provenance"]),
                notes=tuple(data["notes"]),
            )  # fmt: skip


def _judged(one: Entry) -> dict[str, Any]:
    error = one.normalised_error
    return {
        "word": one.word, "inside": one.inside,
        "normalised_error": error if error is None or math.isfinite(error) else None,
    }  # fmt: skip


def _entry(data: Mapping[str, Any]) -> Entry:
    body = {key: value for key, value in data.items() if key != "judged"}
    for who in ("computed", "measured", "heard"):
        if body[who] is not None:
            body[who] = Claim(**body[who])
    return Entry(**body)


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """How many measured values lay in the intervals computed for them, and what that says of the intervals."""

    inside: int
    of: int
    low: float  # 95 % interval of the share
    high: float

    @property
    def share(self) -> float:
        """The share that was found."""
        return self.inside / self.of

    @property
    def words(self) -> str:
        """One sentence on intervals that say they hold 90 %."""
        found = f"{self.inside} of {self.of} measured values lie in their computed 90 % intervals"
        span = f"(95 % interval {100 * self.low:.0f} to {100 * self.high:.0f} %)"
        if self.low <= 0.9 <= self.high:
            return f"{found} {span}: no sign that the intervals are too narrow or too wide."
        if self.low > 0.9:
            return f"{found} {span}: the intervals are too wide."
        return f"{found} {span}: too narrow, or the measurements (whose own error counts here) are not good enough."


def readable_ledgers(records: Iterable[Mapping[str, Any] | None]) -> list[Ledger]:
    """Return the ledgers of these records; damaged ones, and those of a later version, are passed over."""
    out = []
    for one in records:
        try:
            out.append(Ledger.from_dict(one or {}))
        except (InputError, MeasurementError):
            continue
    return out


def coverage(ledgers: Iterable[Ledger], *, of: Of | None = None, key: str = "") -> Coverage:
    """Count over many ledgers, of all lines, of those of one kind, or of those whose key begins with ``key``.

    Raises
    ------
    InputError
        When no line has both a computed and a measured claim.

    Notes
    -----
    A measured value has an error of its own, so that fewer than 90 % lie inside where it is not small against the
    computed interval. The interval of the share is that of Clopper and Pearson, 95 %: it takes the lines as
    independent, which those of one swap are not quite. Lines of which nothing moves in the model (its interval is one
    point) are left out.

    References
    ----------
    .. [1] C. J. Clopper and E. S. Pearson, Biometrika 26, 404 (1934), from memory; computed by scipy.stats.binomtest.
    """
    found = [
        one.inside
        for ledger in ledgers
        for one in ledger.entries
        if one.inside is not None and one.computed is not None and one.computed.low < one.computed.high
        and (of is None or one.of == of) and one.key.startswith(key)
    ]  # fmt: skip
    if not found:
        raise InputError("no line has both a computed and a measured value; there is nothing to count.")
    from scipy.stats import binomtest  # here: it is a third of a command's start

    span = binomtest(sum(found), len(found)).proportion_ci(0.95, method="exact")
    return Coverage(inside=sum(found), of=len(found), low=float(span.low), high=float(span.high))
