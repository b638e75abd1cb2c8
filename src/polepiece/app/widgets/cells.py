"""Differences as they stand in a table: the digits that their interval allows, and its ends."""

from collections.abc import Sequence

from polepiece.shown_number import signed

WIDE = 2.0  # an interval wider than this leaves no decimal


def digits_for(interval: "Sequence[float] | None", digits: int = 1) -> int:
    """Return how many decimals an interval leaves."""
    return digits if interval is None or abs(interval[1] - interval[0]) < WIDE * 10.0 ** (1 - digits) else digits - 1


def ends(interval: "Sequence[float] | None", digits: int = 1) -> str:
    """Return the ends of a 90 % interval; nothing where there is none."""
    if interval is None:
        return ""
    if max(abs(one) for one in interval) < 0.5 * 10.0**-digits:
        return f"within ±{0.5 * 10.0**-digits:g}"
    n = max(0, digits_for(interval, digits))
    low, high = sorted(interval)
    return f"{signed(low, n)} to {signed(high, n)}"


def cell(value: float, interval: "Sequence[float] | None", digits: int = 1) -> str:
    """Return a difference with the digits that its interval leaves."""
    return signed(value, max(0, digits_for(interval, digits)))
