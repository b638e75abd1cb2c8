"""Numbers as people read them: a sign, the digits that the interval allows, and its ends."""

MINUS = "−"


def signed(value: float, interval: "tuple[float, float] | None" = None, *, digits: int = 1) -> str:
    """Return a difference with sign; one decimal only where the interval is narrower than 2."""
    n = digits if interval is None or interval[1] - interval[0] < 2.0 else 0
    shown = round(value, n) + 0.0
    return f"{shown:.{n}f}" if shown == 0.0 else f"{shown:+.{n}f}".replace("-", MINUS)


def spread(interval: "tuple[float, float] | None") -> str:
    """Return the ends of an interval, or nothing where there is none."""
    if interval is None:
        return ""
    if max(abs(one) for one in interval) < 0.05:
        return "within ±0.05"
    return f"{signed(interval[0], interval)} to {signed(interval[1], interval)}"


def span_of(low: "float | None", high: "float | None") -> str:
    """Return a 90 % spread as it is listed with an assumed value."""
    return "" if low is None or high is None else f"{low:g} to {high:g}".replace("-", MINUS)
