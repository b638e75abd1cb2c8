"""Differences as a report says them: the ends of an interval, with the digits that every page shows."""

from polepiece.shown_number import signed, true_minus


def spread(interval: "tuple[float, float] | None") -> str:
    """Return the ends of an interval, or nothing where there is none."""
    if interval is None:
        return ""
    if max(abs(one) for one in interval) < 0.05:
        return "within ±0.05"
    return f"{signed(interval[0])} to {signed(interval[1])}"


def span_of(low: "float | None", high: "float | None") -> str:
    """Return a 90 % spread as it is listed with an assumed value."""
    return "" if low is None or high is None else true_minus(f"{low:g} to {high:g}")
