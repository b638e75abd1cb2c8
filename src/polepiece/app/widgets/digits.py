"""Intervals as people read them."""

from polepiece.shown_number import signed

INCH_MM = 25.4


def span(interval: "tuple[float, float] | None", digits: int = 1) -> str:
    """Return the ends of an interval, or a dash."""
    if interval is None:
        return "–"
    low, high = sorted(interval)
    if max(-low, high) < 0.5 * 10.0**-digits:
        return f"within ±{0.5 * 10.0**-digits:g}"
    return f"{signed(low, digits)} to {signed(high, digits)}"
