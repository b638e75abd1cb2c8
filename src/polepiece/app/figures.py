"""Differences as they stand in a table: sign, the digits that the interval allows, and its ends."""

from collections.abc import Sequence

MINUS = "−"
WIDE = 2.0  # an interval wider than this leaves no decimal


def signed(value: float, digits: int = 1) -> str:
    """Return a difference with its sign; none before a zero."""
    shown = round(value, digits) + 0.0
    return f"{shown:.{digits}f}" if shown == 0.0 else f"{shown:+.{digits}f}".replace("-", MINUS)


def plain(value: float, digits: int = 1) -> str:
    """Return a number with a true minus sign and no minus before a zero."""
    return f"{round(value, digits) + 0.0:.{digits}f}".replace("-", MINUS)


def digits_for(interval: "Sequence[float] | None", digits: int = 1) -> int:
    """Return how many decimals an interval leaves."""
    return digits if interval is None or abs(interval[1] - interval[0]) < WIDE * 10.0 ** (1 - digits) else digits - 1


def ends(interval: "Sequence[float] | None", digits: int = 1) -> str:
    """Return the ends of a 90 % interval; nothing where there is none."""
    if interval is None:
        return ""
    if max(abs(one) for one in interval) < 0.5 * 10.0**-digits:
        return f"within ±{0.5 * 10.0**-digits:g}"
    n = digits_for(interval, digits)
    low, high = sorted(interval)
    return f"{signed(low, n)} to {signed(high, n)}"
