"""How the value of each lever reads; nothing that could be read both ways is accepted."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from polepiece.errors import InputError
from polepiece.guitar import (
    Faults,
    Parameter,
    grade_of,
    parameter_of,
    read_value,
    show,
    split_quantity,
    string_set_name,
    unit_of,
    unit_printed,
    without_taper,
)

Value = Any
Read = Callable[[str, str], Value]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewMove:
    """How far a pole screw goes, up positive: in turns of its own thread, or in m."""

    amount: float
    unit: Literal["turn", "m"]

    def metres(self, screw_pitch: float) -> float:
        """Return the move in m; ``screw_pitch`` is m a turn."""
        return self.amount * (screw_pitch if self.unit == "turn" else 1.0)


def read_distance(key: str, text: str) -> float:
    """Read a positive distance that carries its unit, in m."""
    if text.startswith(("+", "-")):
        side = key.partition("_")[2]
        tail = f"_{side}" if side in ("bass", "treble") else ""
        bare = text.lstrip("+- ")
        ways = f"lower{tail}={bare} (further from the strings) or raise{tail}={bare} (nearer)"
        raise InputError(f"{key}={text} carries a sign, which reads both ways; write {ways}.")
    number, spelling = _quantity(key, text)
    unit = unit_of("length", spelling)
    if not spelling or unit is None:
        raise InputError(f"{key}={text} has no length unit; write for example {key}={show(number)}mm.")
    distance = float(number * unit.factor)
    if not 0 < distance <= 5e-3:
        raise InputError(f"{key}={text} is {show(distance * 1e3)} mm; moves lie above 0 and up to 5 mm.")
    return distance


def _quantity(key: str, text: str) -> tuple[Decimal, str]:
    try:
        return split_quantity(text)
    except InputError as error:
        raise InputError(f"{key}={text} is not understood: {error}.") from None


_TILT = re.compile(r"(treble|bass)\s+(up|down)\s*(.+)|(.+?)\s*(treble|bass)\s+(up|down)", re.IGNORECASE)


def read_tilt(key: str, text: str) -> float:
    """Read "treble up 0.3mm" or "0.3 mm treble up"; metres the treble side comes up (and the bass side goes down).

    "bass down" is the same as "treble up": each side moves by the distance, one up and one down.
    """
    found = _TILT.fullmatch(text.strip())
    if found is None:
        raise InputError(
            f"{key}={text} does not say which way; write {key}=treble up 0.3mm (treble side nearer to the strings, "
            f"bass side further by as much) or {key}=bass up 0.3mm (the reverse)."
        )
    side, way, distance = (found[1], found[2], found[3]) if found[1] else (found[5], found[6], found[4])
    if distance.startswith(("+", "-")):
        raise InputError(f"{key}={text} carries a sign beside {side} {way}; leave it out.")
    try:
        up = read_distance(key, distance)
    except InputError as error:
        raise InputError(str(error).replace(f"{key}=", f"{key}={side} {way} ")) from None
    return up if (side.lower() == "treble") == (way.lower() == "up") else -up


_SCREW = re.compile(r"(up|down|anticlockwise|counterclockwise|clockwise)\s*(.+?)\s*(turns?|mm)", re.IGNORECASE)


def read_screw(key: str, text: str) -> ScrewMove:
    """Read "up 0.5 turn", "down 0,25 turn", "up 0.3 mm"; what a turn is, the screw's thread says."""
    found = _SCREW.fullmatch(text.strip())
    if found is None:
        raise InputError(
            f"{key}={text} does not say which way; write {key}=up 0.5 turn (anticlockwise, nearer to its "
            f"string) or {key}=down 0.5 turn (clockwise)."
        )
    number, spelling = _quantity(key, found[2])
    if spelling or not 0 < number <= 10:
        raise InputError(f"{key}={text} needs a number above 0 and up to 10 after {found[1]}.")
    sign = 1 if found[1].lower() in ("up", "anticlockwise", "counterclockwise") else -1
    if found[3].lower().startswith("turn"):
        return ScrewMove(amount=sign * float(number), unit="turn")
    return ScrewMove(amount=sign * 1e-3 * float(number), unit="m")


def read_grade(key: str, text: str) -> tuple[str, str | None]:
    """Read a grade of the catalogue as (slug, finish or None)."""
    try:
        slug, finish = grade_of(text)
    except InputError as error:
        raise InputError(f"{key}={text}: {error}") from None
    if slug == "unknown":
        raise InputError(f"{key}={text}: name the grade of the bar that goes in.")
    return slug, finish


def read_charge(key: str, text: str) -> str | float:
    """Read in-place, outside or a fraction above 0 and up to 1 ("80 %" too)."""
    word = text.strip().lower().replace("_", "-").replace(" ", "-")
    if word in ("in-place", "outside"):
        return word
    try:
        number, spelling = split_quantity(text)
    except InputError:
        number, spelling = Decimal(-1), ""
    fraction = float(number) / 100 if spelling == "%" else float(number)
    if spelling not in ("", "%") or not 0 < fraction <= 1:
        raise InputError(f"{key}={text} is neither in-place nor outside nor a fraction above 0 and up to 1.")
    return fraction


def one_of(*words: str) -> Read:
    """Return a reader that takes one of these words."""

    def read(key: str, text: str) -> str:
        word = text.strip().lower().replace("_", "-").replace(" ", "-")
        if word not in words:
            raise InputError(f"{key}={text} is not one of {', '.join(words)}.")
        return word

    return read


def read_string_set(key: str, text: str) -> str:
    """Read a string set that is offered."""
    try:
        return string_set_name(text)
    except InputError as error:
        raise InputError(str(error).replace("string_set is", f"{key} is", 1)) from None


def read_control(attr: str) -> Read:
    """Return a reader of one value of the control keys; a unit is required where there is one."""
    control = parameter_of(f"controls.{attr}")

    def read(key: str, text: str) -> Value:
        return _control_value(control, key, text)

    return read


def _control_value(control: Parameter, key: str, text: str) -> Value:
    if control.none == "none" and text.strip().lower() in ("none", "off"):
        return None
    unit = control.unit
    if control.kind == "number":
        number, spelling = _quantity(key, without_taper(text))
        spelled = unit_of(control.dimension, spelling) if spelling else unit_printed(number, text, control, unit)
        if spelling and spelled is None:
            raise InputError(f"{key}={text}: {spelling!r} is not a unit it can have.")
        if spelled is None and control.dimension != "number":
            raise InputError(f"{key}={text} has no unit; write for example {key}={show(number)}{unit.word}.")
        unit = spelled or unit
        text = str(number)
    faults = Faults()
    given = read_value(text, control, unit, key, faults)
    if given is None:
        raise InputError(" ".join(faults.found) or f"{key}={text} is not understood.")
    return given.value
