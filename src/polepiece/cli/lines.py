"""Reading the small grammars of options: a line of points, a list of frequencies, a charge."""

import datetime
from typing import Literal

from polepiece.errors import InputError
from polepiece.typed_number import typed_float, typed_number

MOST_POINTS = 200_000
EXAMPLE = "x=-25:25:1,y=5,z=17 (mm; start:stop:step, ends inclusive; decimal point)"


def parse_line(text: str) -> list[tuple[float, float, float]]:
    """Return the points of ``text`` in mm, the last axis that is a range running fastest."""
    parts: dict[str, list[float]] = {}
    for piece in text.split(","):
        key, equals, value = piece.partition("=")
        axis = key.strip().lower()
        if not equals:
            raise InputError(f"--line: {piece.strip()!r} has no axis; allowed is {EXAMPLE}. Was it a decimal comma?")
        if axis not in ("x", "y", "z"):
            raise InputError(f"--line: there is no axis {axis!r}, only x, y and z; allowed is {EXAMPLE}.")
        if axis in parts:
            raise InputError(f"--line: {axis} is given twice; allowed is {EXAMPLE}.")
        parts[axis] = _axis(axis, value)
    missing = [axis for axis in "xyz" if axis not in parts]
    if missing:
        raise InputError(f"--line: {' and '.join(missing)} is missing; allowed is {EXAMPLE}.")
    count = len(parts["x"]) * len(parts["y"]) * len(parts["z"])
    if count > MOST_POINTS:
        raise InputError(f"--line has {count} points; at most {MOST_POINTS} are computed. Is the step in mm?")
    return [(x, y, z) for x in parts["x"] for y in parts["y"] for z in parts["z"]]


def _axis(axis: str, value: str) -> list[float]:
    numbers = [_number(f"--line: {axis}", piece) for piece in value.split(":")]
    if any(abs(number) > 1000.0 for number in numbers):
        raise InputError(f"--line: {axis}={value} reaches beyond 1000 mm; lengths are in mm.")
    if len(numbers) == 1:
        return numbers
    if len(numbers) != 3:
        raise InputError(f"--line: {axis}={value} is not start:stop:step; allowed is {EXAMPLE}.")
    start, stop, step = numbers
    if step == 0.0 or (stop - start) / step < 0.0:
        raise InputError(f"--line: {axis}={value}: a step of {step:g} does not lead from {start:g} to {stop:g}.")
    steps = (stop - start) / step
    if steps > MOST_POINTS:
        raise InputError(f"--line: {axis}={value} has more than {MOST_POINTS} points. Is the step in mm?")
    whole = round(steps)
    if abs(steps - whole) < 1e-6 * max(whole, 1):
        return [start + (stop - start) * k / whole for k in range(whole + 1)] if whole else [start]
    return [start + k * step for k in range(int(steps) + 1)] + [stop]  # a short last step: ends are inclusive


def _number(where: str, text: str) -> float:
    return typed_float(text, where, allowed=f"Allowed is {EXAMPLE}")


def parse_frequencies(text: str) -> list[float]:
    """Return the frequencies of a list such as ``0,100,1000``, Hz."""
    out = []
    for piece in text.replace(";", ",").split(","):
        word = piece.strip().lower()
        scale = 1000.0 if word.endswith(("khz", "k")) else 1.0
        digits = word.removesuffix("hz").removesuffix("k").strip()
        try:
            value = scale * float(typed_number(digits))
        except InputError:
            raise InputError(
                f"--frequencies: {piece.strip()!r} is not a frequency; write 0,100,1000 (Hz, 0 = static)."
            ) from None
        if not 0.0 <= value <= 20e3:
            raise InputError(f"--frequencies: {piece.strip()} lies outside 0 to 20000 Hz.")
        out.append(value)
    if len(out) > 5000:
        raise InputError(f"--frequencies has {len(out)} values; at most 5000 are computed.")
    return out


def parse_charge(text: str | None) -> Literal["outside", "in-place"] | float | None:
    """Return a charge history: outside, in-place, or a fraction such as 0.7."""
    if text is None:
        return None
    word = text.strip().lower().replace("_", "-")
    if word == "outside":
        return "outside"
    if word == "in-place":
        return "in-place"
    try:
        share = float(typed_number(word.removesuffix("%"))) * (0.01 if word.endswith("%") else 1.0)
    except InputError:
        raise InputError(f"--charge is {text!r}; allowed are outside, in-place, or a fraction such as 0.7.") from None
    if not 0.0 < share <= 1.0:
        raise InputError(f"--charge is {text}; a fraction lies above 0 and up to 1. Percent need the sign: 70%.")
    return share


def date_of(text: str | None) -> str:
    """Return the date of ``--date``, ISO; today without it."""
    if text is None:
        return datetime.date.today().isoformat()
    try:
        return datetime.date.fromisoformat(text).isoformat()
    except ValueError:
        raise InputError(f"--date is {text!r}; write 2026-11-25.") from None
