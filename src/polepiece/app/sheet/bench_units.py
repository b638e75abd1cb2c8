"""Quantities as they are typed at a bench: with a decimal comma, with or without a unit; and the likely slip.

Ranges are input checks from common practice, no source: outside them a reading is far more often a slip than a pickup.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from polepiece.app.widgets.digits import INCH_MM
from polepiece.errors import InputError
from polepiece.guitar import parameter_of
from polepiece.shown_number import MINUS
from polepiece.typed_number import DIGITS, NUMBER, typed_float

_TYPED = re.compile(
    r"(?P<sign>[+\-−]?)\s*(?:(?:(?P<whole>\d+)\s+)?(?P<top>\d+)\s*/\s*(?P<under>\d+)"
    r"|(?P<plain>" + DIGITS + r"))\s*(?P<unit>[^\d\s].*)?"
)
MOST_SHOWN = 60  # characters of what was typed that a message repeats
_OHMS = {"ohm": 1e-3, "ohms": 1e-3, "ω": 1e-3, "kohm": 1.0, "kω": 1.0, "k": 1.0, "mohm": 1e3, "mω": 1e3, "m": 1e3}
_LENGTHS = {"mm": 1.0, "cm": 10.0, "in": INCH_MM, "inch": INCH_MM, "inches": INCH_MM, '"': INCH_MM, "″": INCH_MM}

_RESISTANCE, _POT, _INDUCTANCE, _READING, _GAP = (
    one.limits(one.unit) for one in map(parameter_of, (
        "resistance", "controls.volume_pot", "inductance", "magnet.measured_gauss", "gap_bass"))
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One kind of reading: its bench unit, other units by their factor, and the range that is believed."""

    name: str
    unit: str
    units: Mapping[str, float]
    low: float
    high: float
    below: str  # the likely slip of a value under the range
    above: str
    example: str
    signed: bool = False
    fractions: bool = False  # "3/32" is a fraction of an inch


COIL = Quantity(
    name="DC resistance", unit="kΩ", units=_OHMS, low=_RESISTANCE[0], high=_RESISTANCE[1], example="7.85",
    below="Read at the jack with the volume down, or at a dead coil?", above="Is it in ohm? 7850 ohm is 7.85 kΩ.",
)  # fmt: skip
HALF_COIL = Quantity(
    name="DC resistance of one coil", unit="kΩ", units=_OHMS, low=0.5, high=20.0, example="3.9",
    below="Is this coil dead, or a pot across it?", above="Is it in ohm? 3900 ohm is 3.9 kΩ.",
)  # fmt: skip
POT = Quantity(
    name="resistance", unit="kΩ", units=_OHMS, low=_POT[0], high=_POT[1], example="500",
    below="0.5 MΩ is 500 kΩ; a reading with the wires on is too low.", above="Is it in ohm? 500000 ohm is 500 kΩ.",
)  # fmt: skip
RESISTOR = Quantity(
    name="resistance", unit="kΩ", units=_OHMS, low=0.1, high=10_000.0, example="330",
    below="Is it in MΩ?", above="Is it in ohm?",
)  # fmt: skip
MEGOHM = Quantity(
    name="input resistance", unit="MΩ", units={"mohm": 1.0, "mω": 1.0, "m": 1.0, "kohm": 1e-3, "kω": 1e-3, "k": 1e-3},
    low=0.01, high=100.0, example="1", below="Is it in kΩ?", above="Is it in kΩ? 1000 kΩ is 1 MΩ.",
)  # fmt: skip
INDUCTANCE = Quantity(
    name="inductance", unit="H", units={"h": 1.0, "mh": 1e-3}, low=_INDUCTANCE[0], high=_INDUCTANCE[1], example="4.6",
    below="Is a pot or the cable still on it?", above="Is it in mH? 4600 mH is 4.6 H.",
)  # fmt: skip
FLUX = Quantity(
    name="flux density", unit="gauss", units={"gauss": 1.0, "g": 1.0, "gs": 1.0, "mt": 10.0, "t": 1e4},
    low=_READING[0], high=_READING[1], example="250", signed=True,
    below="Is it in millitesla or tesla? 25 mT is 250 gauss.", above="Is it in µT, or the remanence of the datasheet?",
)  # fmt: skip
BAR_FLUX = Quantity(
    name="flux density", unit="gauss", units=FLUX.units, low=1.0, high=8000.0, example="450", signed=True,
    below="Is it in tesla? 0.045 T is 450 gauss.", above="Is it the remanence of the datasheet?",
)  # fmt: skip
GAP = Quantity(
    name="gap", unit="mm", units=_LENGTHS, low=1.0, high=_GAP[1], example="2.4 (or 3/32 in)", fractions=True,
    below="Is it in inches? 0.09 in is 2.3 mm.", above="Read open, or to the ring?",
)  # fmt: skip
SCREW = Quantity(
    name="height", unit="mm", units=_LENGTHS, low=0.0, high=8.0, example="0.8", signed=True, fractions=True,
    below="", above="Is it the length of the screw?",
)  # fmt: skip
LENGTH = Quantity(
    name="length", unit="mm", units=_LENGTHS, low=3.0, high=120.0, example="63.5 (or 2.5 in)", fractions=True,
    below="Is it in inches? 2.5 in is 63.5 mm.", above="Is it width x length?",
)  # fmt: skip
WIDTH = Quantity(
    name="width", unit="mm", units=_LENGTHS, low=1.0, high=60.0, example="12.7 (or 0.5 in)", fractions=True,
    below="Is it in inches? 0.5 in is 12.7 mm.", above="Is it the length?",
)  # fmt: skip
THICKNESS = Quantity(
    name="thickness", unit="mm", units=_LENGTHS, low=0.2, high=30.0, example="3.2 (or 0.125 in)", fractions=True,
    below="Is it in inches? 0.125 in is 3.18 mm.", above="Is it the width?",
)  # fmt: skip
CAPACITANCE = Quantity(
    name="capacitance", unit="nF", units={"nf": 1.0, "n": 1.0, "pf": 1e-3, "p": 1e-3, "uf": 1e3, "µf": 1e3, "μf": 1e3},
    low=0.1, high=220.0, example="22 (or 0.022 µF)", below="Is it in µF? 0.022 µF is 22 nF.",
    above="Is it in pF, or the code on the part? 223 is 22 nF.",
)  # fmt: skip
INPUT_CAPACITANCE = Quantity(
    name="capacitance of an input with its cable", unit="pF", units={"pf": 1.0, "p": 1.0, "nf": 1e3, "n": 1e3},
    low=0.0, high=3000.0, example="220", below="", above="Is it in nF? 0.22 nF is 220 pF.",
)  # fmt: skip
CELSIUS = Quantity(
    name="temperature", unit="°C", units={"°c": 1.0, "c": 1.0}, low=-5.0, high=45.0, example="21", signed=True,
    below="", above="Is it in °F? 70 °F is 21 °C.",
)  # fmt: skip
DECIBEL = Quantity(
    name="difference of levels", unit="dB", units={"db": 1.0}, low=0.0, high=40.0, example="-1.5", signed=True,
    below="", above="Is it after less before?",
)  # fmt: skip


def read(text: str, kind: Quantity) -> float:
    """Read a quantity in its bench unit.

    Raises
    ------
    InputError
        When it is no number of it, or out of range; the message names the likely slip.
    """
    shown = f"{text.strip():.{MOST_SHOWN}}"
    found = _TYPED.fullmatch(text.strip())
    if found is None or found["under"] == "0" or (found["sign"] and not kind.signed):
        raise InputError(f"{shown!r} is no {kind.name}; write {kind.unit}, such as {kind.example}.")
    unit, plain = found["unit"], found["plain"] or ""
    factor = kind.units.get((unit or kind.unit).strip().lower())
    if factor is None:
        raise InputError(
            f"{shown!r}: {unit:.{MOST_SHOWN}} is no unit of {kind.name} here; "
            f"write {kind.unit}, such as {kind.example}."
        )
    if found["top"] is not None:
        if not kind.fractions or (unit is not None and factor != INCH_MM):
            raise InputError(f"{shown!r}: a fraction is one of an inch; write {kind.unit}, such as {kind.example}.")
        value = INCH_MM * (int(found["whole"] or 0) + int(found["top"]) / int(found["under"]))
    else:
        value = typed_float(plain, shown, allowed=f"Write {kind.unit}, such as {kind.example}") * factor
    if not kind.low <= abs(value) <= kind.high:
        slip = kind.below if abs(value) < kind.low else kind.above
        raise InputError(
            f"{shown} is {value:.4g} {kind.unit}; {kind.low:g} to {kind.high:g} {kind.unit} is believed here. "
            f"{slip}".strip()
        )
    return -value if found["sign"] in ("-", MINUS) else value


def with_unit(text: str, unit: str) -> str:
    """Return what was typed with its unit, where only a number was."""
    plain = text.strip()
    bare = re.fullmatch(NUMBER, plain) is not None
    return f"{plain} {unit}" if bare and unit else plain
