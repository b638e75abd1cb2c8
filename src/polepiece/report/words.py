"""Differences as a report says them: the digits that the interval allows, and its ends."""

from polepiece import shown_number
from polepiece.shown_number import true_minus


def signed(value: float, interval: "tuple[float, float] | None" = None, *, digits: int = 1) -> str:
    """Return a difference with sign; one decimal only where the interval is narrower than 2."""
    n = digits if interval is None or interval[1] - interval[0] < 2.0 else 0
    return shown_number.signed(value, n)


def spread(interval: "tuple[float, float] | None") -> str:
    """Return the ends of an interval, or nothing where there is none."""
    if interval is None:
        return ""
    if max(abs(one) for one in interval) < 0.05:
        return "within ±0.05"
    return f"{signed(interval[0], interval)} to {signed(interval[1], interval)}"


def span_of(low: "float | None", high: "float | None") -> str:
    """Return a 90 % spread as it is listed with an assumed value."""
    return "" if low is None or high is None else true_minus(f"{low:g} to {high:g}")
