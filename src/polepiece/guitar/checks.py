"""What a parameter may be: the sentence that refuses a value, and the check with which every record is made.

The sentence is the same from a guitar file and from Python; it ends with the slip that most likely made it.
"""

import difflib
import math
from collections.abc import Callable, Iterable
from dataclasses import fields
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar

from polepiece.errors import InputError, hidden_turn
from polepiece.guitar.file.units import UNITS, Unit, show, to_bench
from polepiece.guitar.parameter import Parameter, parameters_of

LONGEST_TEXT = 1000
MOST_ON_A_KNOB = 12  # knobs are printed up to 10, some to 11 or 12 (common practice, no source); beyond it is per cent
ROUNDING = 1e-12  # share by which a limit may be passed: a length typed in inches is rounded once more
OWN = "own"  # grade of a magnet that has constants
Record = TypeVar("Record")


# ---------------------------------------------------------------- sentences


def printed(raw: object) -> str:
    """Show a raw value as it was typed, cut to a length that fits a message."""
    if isinstance(raw, Decimal | int) and not isinstance(raw, bool):
        number = Decimal(raw)
        return str(raw) if not number.is_finite() or number.adjusted() < 15 else f"{number:.3e}"
    text = {True: "true", False: "false"}[raw] if isinstance(raw, bool) else repr(raw)
    return text if len(text) <= 60 else text[:57] + "..."


def number_refused(
    number: Decimal, key: Parameter, unit: Unit, slip: Callable[[Decimal, Parameter, Unit], str] | None = None
) -> str:
    """Say what is wrong with a number in ``unit``, and the slip that made it; nothing where it is allowed."""
    if not number.is_finite():
        return f"is {number}; it must be a finite number. Leave the key out when it is not known."
    low, high = key.limits(unit)
    if low <= float(number) <= high:
        broken = key.whole and number != number.to_integral_value()
        return f"is {show(number)}; it must be a whole number." if broken else ""
    unit_word = f" {unit.word}" if unit.word else ""
    allowed = f"{key.noun} between {show(low)} and {show(high)}{unit_word}"
    return f"is {show(number)}{unit_word}; {allowed}.{(slip or likely_slip)(number, key, unit)}"


def likely_slip(number: Decimal, key: Parameter, unit: Unit) -> str:
    """Return a sentence with the unit that would make the number fit, or nothing."""
    best = ""
    hard_low, hard_high = key.limits(key.unit)
    low, high = key.usual or (hard_low, hard_high)
    for other in UNITS[key.dimension]:
        if other.factor == unit.factor or (other.suffix == "" and key.dimension == "length" and unit.word == "mm"):
            continue
        in_own_unit = float(number * other.factor / key.unit.factor)
        converted = f"{show(in_own_unit)} {key.unit.word}"
        sentence = f" If that is {other.word}, write {key.stem}{other.suffix} = {show(number)} ({converted})."
        if low <= in_own_unit <= high:
            return sentence
        if not best and hard_low <= in_own_unit <= hard_high:
            best = sentence
    return best or _other_slip(number, key, unit)


def _other_slip(number: Decimal, key: Parameter, unit: Unit) -> str:
    """Slips that are not a matter of another unit of ours."""
    own = float(number * unit.factor / key.unit.factor)
    low, high = key.limits(key.unit)
    if key.kind == "charge" and 1 < own <= 100:
        return f" If that is per cent, write charge = {show(own / 100)}."
    if key.attr == "tone_cap" and 100 < own < 1000:
        digits = f"{int(own)}"
        picofarad = int(digits[:2]) * 10 ** int(digits[2])
        if low <= picofarad / 1000 <= high:
            return f" If {digits} is printed on the capacitor, that is {show(picofarad / 1000)} nF."
    if key.attr in ("volume_setting", "tone_setting") and own > 10:
        if own <= MOST_ON_A_KNOB:
            return " Knobs go from 0 to 10: write 10 for fully up."
        return f" If that is per cent, write {show(own / 10)}."
    for shift in (10.0, 100.0):
        for moved in (own / shift, own * shift):
            if key.dimension != "number" and key.usual and key.usual[0] <= moved <= key.usual[1]:
                return f" Is the decimal point in its place ({show(moved)} {key.unit.word})?"
    return ""


def word_refused(raw: object, choices: Iterable[str], typed: str = "") -> str:
    """Say what is wrong with what should be one of a few words; ``typed`` as it is compared."""
    offered = ", ".join(choices)
    if not isinstance(raw, str):
        return f"is {printed(raw)}; it must be one of {offered} (in quotes)."
    close = difflib.get_close_matches(typed or raw, list(choices), n=1, cutoff=0.6)
    hint = f" Did you mean {close[0]}?" if close else ""
    return f'is "{raw}"; it must be one of {offered}.{hint}'


def text_refused(raw: object, key: Parameter) -> str:
    """Say what is wrong with a text; nothing where it is allowed."""
    if not isinstance(raw, str):
        return f"is {printed(raw)}; it must be a text in quotes."
    if not raw.strip() and not key.may_be_empty:
        return "is empty."
    if len(raw) > LONGEST_TEXT:
        return f"is longer than {LONGEST_TEXT} characters."
    turned = hidden_turn(raw)
    return f"{turned}." if turned else ""


# ---------------------------------------------------------------- records


def check(record: Any) -> None:
    """Refuse a record with a value that no guitar file may say; every record calls it when it is made.

    Raises
    ------
    InputError
        With a line for each value: its key, what it is, what is allowed, the likely slip.
    """
    made_as: type = type(record)
    wrong = [one for one, fits in _fits(made_as) if not fits(getattr(record, one.field))]
    if wrong:
        raise InputError("\n".join(f"{one.name} {_refused(getattr(record, one.field), one)}" for one in wrong))


class Checked:
    """A record that refuses what no guitar file may say; one with a ``__post_init__`` of its own calls `check`."""

    __slots__ = ()

    def __post_init__(self) -> None:
        """Refuse what no file may say."""
        check(self)


def unchecked(record: Record, **values: Any) -> Record:
    """Return a copy with other values that nothing has checked: a state on the way to one that is."""
    new: Record = object.__new__(type(record))
    for one in fields(record):  # type: ignore[arg-type]
        object.__setattr__(new, one.name, values.get(one.name, getattr(record, one.name)))
    return new


@cache
def _fits(record: type) -> tuple[tuple[Parameter, Callable[[Any], bool]], ...]:
    """Return the lines of a record itself, each with what tells fast that a value is allowed."""
    own = {one.name for one in fields(record)}
    return tuple((one, _fast(one)) for one in parameters_of(record) if one.field and one.attr in own)


def _fast(line: Parameter) -> Callable[[Any], bool]:
    """Return what tells that a value is allowed; most are told without making a sentence."""
    low, high = line.limits(line.unit)
    least, most = (float(one) * float(line.unit.factor) for one in (low, high))
    slack = ROUNDING * max(abs(least), abs(most)) if math.isfinite(least) else 0.0
    least, most = least - slack, most + slack
    default, numeric = line.default, line.kind in ("number", "numbers", "readings") and not line.whole

    def allowed(value: Any) -> bool:
        if value is None:
            return True
        if value.__class__ is float and numeric:
            return least <= value <= most and math.isfinite(value)
        if value.__class__ is str and line.kind == "text" and 0 < len(value) <= LONGEST_TEXT and value.isprintable():
            return not value.isspace() or not _refused(value, line)
        if value.__class__ is tuple and numeric and line.kind != "readings":
            return all(one.__class__ is float and least <= one <= most for one in value) or not _refused(value, line)
        return (value == default and value.__class__ is default.__class__) or not _refused(value, line)

    return allowed


def _refused(value: Any, line: Parameter) -> str:
    """Say what is wrong with a value of a record, as the file would; nothing where it is allowed."""
    if line.kind == "flag":
        return "" if isinstance(value, bool) else f"is {printed(value)}; it must be true or false."
    if line.kind in ("text", "texts"):
        each = value if line.kind == "texts" and isinstance(value, tuple) else (value,)
        return next((wrong for one in each if (wrong := text_refused(one, line))), "")
    if line.kind in ("word", "grade") or (line.kind == "charge" and isinstance(value, str)):
        known = (*line.choices, OWN) if line.kind == "grade" else line.choices
        return "" if value in known else word_refused(value, line.choices)
    each = value if isinstance(value, tuple) else (value,)
    return next((wrong for one in each if one is not None and (wrong := _number_wrong(one, line))), "")


def _number_wrong(value: Any, line: Parameter) -> str:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return f"is {printed(value)}; it must be a number."
    if not math.isfinite(value):
        return number_refused(Decimal(repr(float(value))), line, line.unit)
    size = abs(value) if line.kind == "readings" else value
    return number_refused(Decimal(to_bench(size, line.unit)), line, line.unit, _slip_in_si)


def _slip_in_si(number: Decimal, line: Parameter, unit: Unit) -> str:
    """Ask whether a value of a record was given in the unit of the bench, or turned into SI once too often."""
    low, high = line.limits(unit)
    size, factor = float(number), float(unit.factor)
    si = next((one.word for one in UNITS[line.dimension] if one.factor == 1), "the SI unit")
    if factor != 1.0 and (0.0 < size < low or size > 10.0 * high):  # nearer ones are no matter of a thousand
        if low <= size * factor <= high:
            return f" Is that {unit.word} where {si} is meant?"
        if low <= size / factor <= high:
            return f" Is that {si} where {unit.word} is meant?"
    return _other_slip(number, line, unit)
