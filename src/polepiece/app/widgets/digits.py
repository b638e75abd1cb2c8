"""Numbers as people read them: true minus signs, units, sensible digits, intervals."""

MINUS = "−"
INCH_MM = 25.4


def number(value: float, digits: int = 1) -> str:
    """Return a number with a true minus sign and no minus before a zero."""
    return f"{round(value, digits) + 0.0:.{digits}f}".replace("-", MINUS)


def signed(value: float, digits: int = 1) -> str:
    """Return a difference with its sign; none before a zero."""
    shown = round(value, digits) + 0.0
    return f"{shown:.{digits}f}" if shown == 0.0 else f"{shown:+.{digits}f}".replace("-", MINUS)


def span(interval: "tuple[float, float] | None", digits: int = 1) -> str:
    """Return the ends of an interval, or a dash."""
    if interval is None:
        return "–"
    low, high = sorted(interval)
    if max(-low, high) < 0.5 * 10.0**-digits:
        return f"within ±{0.5 * 10.0**-digits:g}"
    return f"{signed(low, digits)} to {signed(high, digits)}"
