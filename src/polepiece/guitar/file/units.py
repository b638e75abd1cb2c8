"""Bench units of the guitar file and of ``--change``: suffixes, factors to SI, numbers as people type them.

Factors are decimal numbers, so that "12.7 mm" becomes exactly the float 0.0127 and back again.
"""

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from polepiece.errors import InputError
from polepiece.typed_number import LARGEST_POWER, MINUSES, NUMBER, typed_number

Raw = int | float | Decimal | str


@dataclass(frozen=True, slots=True)
class Unit:
    """One bench unit: the suffix of its key, its word, its factor to SI, and how a value may spell it."""

    suffix: str
    word: str
    factor: Decimal
    spellings: tuple[str, ...] = ()


INCH = Decimal("0.0254")  # exact, international yard and pound agreement of 1959
FOOT = Decimal("0.3048")

UNITS: dict[str, tuple[Unit, ...]] = {
    "length": (
        Unit("", "mm", Decimal("1e-3"), ("mm",)),
        Unit("_mm", "mm", Decimal("1e-3")),
        Unit("_cm", "cm", Decimal("1e-2"), ("cm",)),
        Unit("_in", "inch", INCH, ("in", "inch", "inches", '"')),
        Unit("_64ths", "sixty-fourths of an inch", INCH / 64),
        Unit("_m", "m", Decimal(1), ("m",)),
    ),
    "distance": (
        Unit("_m", "m", Decimal(1), ("m",)),
        Unit("_ft", "feet", FOOT, ("ft", "feet", "'")),
    ),
    "resistance": (
        Unit("_kohm", "kohm", Decimal("1e3"), ("k", "K", "kohm", "kΩ", "kOhm")),
        Unit("_ohm", "ohm", Decimal(1), ("ohm", "Ω", "R", "Ohm")),
        Unit("_megohm", "megohm", Decimal("1e6"), ("M", "meg", "megohm", "MΩ", "Mohm")),
    ),
    "capacitance": (
        Unit("_nf", "nF", Decimal("1e-9"), ("n", "nF", "nf")),
        Unit("_pf", "pF", Decimal("1e-12"), ("p", "pF", "pf")),
        Unit("_uf", "uF", Decimal("1e-6"), ("u", "uF", "uf", "µF", "μF")),
    ),
    "capacitance_per_length": (Unit("_pf_per_m", "pF/m", Decimal("1e-12"), ("pF/m",)),),
    "inductance": (
        Unit("_h", "H", Decimal(1), ("H", "h")),
        Unit("_mh", "mH", Decimal("1e-3"), ("mH", "mh")),
    ),
    "flux_density": (
        Unit("_t", "T", Decimal(1), ("T", "tesla")),
        Unit("_gauss", "gauss", Decimal("1e-4"), ("G", "gauss")),
        Unit("_mt", "mT", Decimal("1e-3"), ("mT",)),
    ),
    "gauss": (  # readings at the poles are kept in gauss, as they were written down
        Unit("_gauss", "gauss", Decimal(1), ("G", "gauss")),
        Unit("_mt", "mT", Decimal(10), ("mT",)),
        Unit("_t", "T", Decimal("1e4"), ("T",)),
    ),
    "field_strength": (
        Unit("_ka_per_m", "kA/m", Decimal("1e3"), ("kA/m",)),
        Unit("_oe", "oersted", Decimal("79.57747154594767"), ("Oe", "oersted")),  # 1000/(4 pi) A/m
        Unit("_a_per_m", "A/m", Decimal(1), ("A/m",)),
    ),
    "energy": (
        Unit("_kj_per_m3", "kJ/m3", Decimal("1e3"), ("kJ/m3",)),
        Unit("_mgoe", "MGOe", Decimal("7957.747154594767"), ("MGOe",)),  # 1e5/(4 pi) J/m3
    ),
    "resistivity": (
        Unit("_microohm_cm", "microohm cm", Decimal("1e-8")),
        Unit("_ohm_m", "ohm m", Decimal(1)),
    ),
    "temperature": (Unit("_c", "degC", Decimal(1), ("C", "degC")),),
    "mass_per_length": (
        Unit("_g_per_m", "g/m", Decimal("1e-3"), ("g/m",)),
        Unit("_kg_per_m", "kg/m", Decimal(1), ("kg/m",)),
    ),
    "frequency": (Unit("_hz", "Hz", Decimal(1), ("Hz", "hz")),),
    "number": (Unit("", "", Decimal(1)),),
}

_UNIT = r"(?P<unit>[^\d\s.,+-][^\d,]*\d?)?"
_NUMBER = re.compile(rf"\s*(?P<number>{NUMBER})(?:\s*/\s*(?P<below>[0-9]+))?\s*{_UNIT}\s*")
_MIXED = re.compile(  # 24 3/4 in, 24-3/4
    rf"\s*(?P<whole>{NUMBER})(?:\s+|\s*[{MINUSES}]\s*)(?P<above>[0-9]+)\s*/\s*(?P<below>[0-9]+)\s*{_UNIT}\s*"
)
_MARKED = re.compile(r"\s*(?P<whole>[0-9]+)(?P<unit>[RkKMpnuµμ])(?P<part>[0-9]+)\s*(?:Ω|ohm|F)?\s*")  # 7k2, IEC 60062


def split_quantity(text: str) -> tuple[Decimal, str]:
    """Split "2,5 mm", "250k", "24 3/4 in" or "7k2" into a number and the spelling of its unit ("" without one).

    A letter in the place of the decimal point is the code of IEC 60062 for resistors and capacitors.

    Raises
    ------
    InputError
        When the text is not one number with at most one unit.
    """
    if (marked := _MARKED.fullmatch(text)) is not None:
        return _measurable(typed_number(f"{marked['whole']}.{marked['part']}")), marked["unit"]
    if (mixed := _MIXED.fullmatch(text)) is not None:
        whole, part = typed_number(mixed["whole"]), _divided(mixed["above"], mixed["below"], text)
        if whole != whole.to_integral_value() or part >= 1:
            raise InputError(f"{text!r} is not one number with a unit")
        return _measurable(whole + part.copy_sign(whole)), (mixed["unit"] or "").strip()
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise InputError(f"{text!r} is not one number with a unit")
    number = typed_number(found["number"])
    if found["below"] is not None:
        number = _divided(number, found["below"], text)
    return _measurable(number), (found["unit"] or "").strip()


def _divided(above: Decimal | str, below: str, text: str) -> Decimal:
    if Decimal(below) == 0:
        raise InputError(f"{text!r} divides by zero")
    return Decimal(above) / Decimal(below)


def _measurable(number: Decimal) -> Decimal:
    """Refuse numbers that no quantity of a guitar can have in any unit (and that could overflow)."""
    if number.is_finite() and number and number.adjusted() > LARGEST_POWER:
        raise InputError("it is beyond anything that can be measured")
    return number


def unit_of(dimension: str, spelling: str) -> Unit | None:
    """Return the unit of ``dimension`` that is spelled so in a value, or None."""
    for unit in UNITS[dimension]:
        if spelling.replace(" ", "") in unit.spellings:
            return unit
    return None


def unit_with_suffix(dimension: str, suffix: str) -> Unit:
    """Return the unit of ``dimension`` whose keys end in ``suffix``."""
    return next(unit for unit in UNITS[dimension] if unit.suffix == suffix)


def as_decimal(raw: Raw) -> Decimal:
    """Return a number of a TOML file as a decimal; text may carry a decimal comma.

    Raises
    ------
    InputError
        When the value is not a number.
    """
    if isinstance(raw, bool):
        raise InputError("true/false is not a number")
    if isinstance(raw, str):
        number, spelling = split_quantity(raw)
        if spelling:
            raise InputError(f"{raw!r} carries a unit")
        return number
    try:
        return _measurable(Decimal(repr(raw)) if isinstance(raw, float) else Decimal(raw))
    except (InvalidOperation, TypeError, ValueError) as error:
        raise InputError(f"{raw!r} is not a number") from error


def to_bench(value: float, unit: Unit) -> Decimal | int:
    """Return an SI value as the exact decimal number that is written in a file with ``unit``."""
    number = Decimal(repr(float(value))) / unit.factor
    number = number.normalize()
    return int(number) if number == number.to_integral_value() and abs(number) < 10**15 else number


def to_si(number: Decimal, unit: Unit) -> float:
    """Return a bench number in SI, correctly rounded."""
    return float(number * unit.factor)


def show(number: Decimal | float) -> str:
    """Return a number as a person would write it: six digits at most, no exponent where avoidable."""
    text = f"{float(number):.6g}"
    return f"{float(number):.0f}" if "e+" in text and abs(float(number)) < 1e12 else text
