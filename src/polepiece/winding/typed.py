"""What a winder types: 8.0k, 5600 turns, 92%, 4.5 H; for command and page alike, by the one reader of numbers."""

import re

from polepiece.errors import InputError
from polepiece.materials import Build
from polepiece.typed_number import NUMBER, typed_number
from polepiece.winding.knowns import Knowns
from polepiece.winding.target import Target

UNITS: dict[str, dict[str, float]] = {
    "resistance": {"": 1.0, "ohm": 1.0, "k": 1e3, "kohm": 1e3},
    "turns": {"": 1.0, "turns": 1.0},
    "gauge": {"": 1.0, "awg": 1.0},
    "fill": {"": 1.0, "%": 0.01},
    "inductance": {"": 1.0, "h": 1.0, "m": 1e-3, "mh": 1e-3},
    "temperature": {"": 1.0, "c": 1.0, "degc": 1.0},
    "frequency": {"": 1.0, "hz": 1.0, "k": 1e3, "khz": 1e3},
    "height": {"": 1.0, "db": 1.0},
    "level": {"": 1.0, "db": 1.0},
}
EXAMPLES = {
    "resistance": "8.0k", "turns": "5600", "gauge": "43", "fill": "92%", "inductance": "4.5 or 4500m",
    "temperature": "22", "frequency": "3.2k", "height": "4", "level": "-1.5",
}  # fmt: skip
BUILDS: tuple[Build, ...] = ("single", "heavy")
_TYPED = re.compile(rf"(?:awg\s*)?({NUMBER})\s*([a-z%\u03c9]*)", re.IGNORECASE)


def typed_value(quantity: str, text: str | None, where: str = "") -> float | None:
    """Return what was typed for a quantity of `UNITS`, in SI; None where nothing was.

    Raises
    ------
    InputError
        When it is no number, or its unit is none of the quantity; ``where`` is what the field or option is called.
    """
    if text is None or not text.strip():
        return None
    named, units = where or quantity, UNITS[quantity]
    found = _TYPED.fullmatch(text.strip())
    unit = "" if found is None else found[2].lower().replace("\u03c9", "ohm")
    if found is None or unit not in units:
        known = ", ".join(one for one in units if one)
        raise InputError(f"{named} is {text!r}; write {EXAMPLES[quantity]} (units that are read: {known}).")
    try:
        return float(typed_number(found[1])) * units[unit]
    except InputError as error:
        raise InputError(f"{named} is {text!r}; {error}. Write {EXAMPLES[quantity]}.") from None


def typed_knowns(
    *, resistance: str | None = None, turns: str | None = None, gauge: str | None = None, build: str | None = None,
    fill: str | None = None, inductance: str | None = None, frequency: str | None = None,
    temperature: str | None = None,
) -> Knowns:  # fmt: skip
    """Return the knowns that were typed; what is None or empty is not known.

    Raises
    ------
    InputError
        When one cannot be read, or is none of a coil.
    """
    wire = typed_value("gauge", gauge)
    if wire is not None and not wire.is_integer():
        raise InputError(f"gauge is {gauge!r}; a gauge is a whole number of 40 to 46. A diameter in mm is no gauge.")
    warm = typed_value("temperature", temperature)
    return Knowns(
        resistance=typed_value("resistance", resistance), turns=typed_value("turns", turns),
        gauge=None if wire is None else int(wire), build=typed_build(build), fill=typed_value("fill", fill),
        inductance=typed_value("inductance", inductance),
        frequency=typed_value("frequency", frequency, "test frequency") or 120.0,
        temperature=20.0 if warm is None else warm,
    )  # fmt: skip


def typed_build(text: str | None) -> Build | None:
    """Return the insulation that was chosen; None where none was."""
    if text is None or not text.strip():
        return None
    found: Build | None = next((one for one in BUILDS if one == text.strip().lower()), None)
    if found is None:
        raise InputError(f"insulation is {text!r}; allowed are {' and '.join(BUILDS)}.")
    return found


def typed_target(*, resonance: str | None = None, height: str | None = None, level: str | None = None) -> Target:
    """Return the resonance that was typed as a target, with its height and a level where they were.

    Raises
    ------
    InputError
        When one cannot be read or aimed at.
    """
    return Target(
        resonance=typed_value("frequency", resonance, "resonance"), height_db=typed_value("height", height),
        level_db=typed_value("level", level),
    )  # fmt: skip
