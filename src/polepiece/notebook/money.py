"""What a job costs: the prices of its parts and its minutes at the shop's rate, exact to the cent."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from polepiece.errors import InputError
from polepiece.notebook.records import Part, checked, price_fault

CENT = Decimal("0.01")
MOST_MINUTES = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """What an hour of work costs."""

    per_hour: Decimal
    currency: str

    def __post_init__(self) -> None:
        """Refuse what is no sum of money."""
        if fault := price_fault(self.per_hour, self.currency):
            raise InputError(f"rate: {fault}.")

    def to_dict(self) -> dict[str, object]:
        """Return it as JSON values; a sum is text, so that it stays exact."""
        return {"per_hour": str(self.per_hour), "currency": self.currency}

    @classmethod
    def from_dict(cls, body: dict[str, Any]) -> "Rate":
        """Read it from JSON values."""
        return cls(per_hour=Decimal(str(body["per_hour"])), currency=str(body["currency"]))


def quote_fault(body: Any) -> str | None:
    """Return why an object is no quote as `quote_of` makes it, or None."""
    if not isinstance(body, dict) or set(body) != {"lines", "minutes", "total", "currency"}:
        return "is no quote; it needs lines, minutes, total, currency"
    try:
        lines = [(checked(one["words"], "words"), Decimal(one["sum"])) for one in body["lines"] if len(one) == 2]
        total = sum((money for _, money in lines), Decimal(0)).quantize(CENT, ROUND_HALF_UP)
        fault = price_fault(total, body["currency"])
        good = not fault and Decimal(body["total"]) == total and len(lines) == len(body["lines"])
        good = good and isinstance(body["minutes"], int | float) and 0 <= body["minutes"] <= MOST_MINUTES
    except (ArithmeticError, TypeError, KeyError, ValueError, AttributeError) as error:
        return f"is no quote ({type(error).__name__})"
    return None if good else f"is no quote: its lines do not make {body['total']!r:.20}, or a number cannot be meant"


def quote_of(parts: Sequence[tuple[str, Part]], minutes: float, rate: Rate | None) -> dict[str, object]:
    """Return what a job costs, line by line, as JSON values; sums are text.

    Parameters
    ----------
    parts : sequence of (words, Part)
        From the drawer, each with its price.
    minutes : float
        Of work; 0 to 10,000.
    rate : Rate or None
        Needed where there are minutes.

    Raises
    ------
    InputError
        When a price or the rate is missing, or two are in different currencies.
    """
    if not 0 <= minutes <= MOST_MINUTES:
        raise InputError(f"minutes are {minutes:g}; allowed are 0 to {MOST_MINUTES}. Are they hours?")
    if minutes and rate is None:
        raise InputError("no rate is set; set one: polepiece shop rate '60 EUR'.")
    lines, currencies = list[dict[str, object]](), set[str]()
    for words, part in parts:
        if part.price is None:
            raise InputError(f"{words}: it has no price in the drawer; put it in with one, or quote without it.")
        lines.append({"words": words, "sum": str(part.price)})
        currencies.add(part.currency)
    total = sum((Decimal(str(one["sum"])) for one in lines), Decimal(0))
    if minutes and rate is not None:
        work = (rate.per_hour * Decimal(str(minutes)) / 60).quantize(CENT, ROUND_HALF_UP)
        lines.append({"words": f"{minutes:g} min at {rate.per_hour} {rate.currency} an hour", "sum": str(work)})
        total += work
        currencies.add(rate.currency)
    if len(currencies) != 1:
        told = " and ".join(sorted(currencies)) or "none"
        raise InputError(f"a quote is in one currency; here are {told}. Sums are not changed from one to another.")
    return {
        "lines": lines, "minutes": minutes, "total": str(total.quantize(CENT, ROUND_HALF_UP)),
        "currency": currencies.pop(),
    }  # fmt: skip
