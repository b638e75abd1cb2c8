"""What a column means: read off its head, or said once by a person; units are those of the head or of the cell."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from polepiece.errors import InputError
from polepiece.measure.meters.gauss import UNITS as FLUX_UNITS

Meaning = Literal[
    "pole", "row", "flux density", "frequency", "inductance", "quality", "loss", "direct resistance", "temperature",
    "pickup", "side", "coil", "turns", "resonance", "not used",
]  # fmt: skip
MEANINGS: tuple[Meaning, ...] = get_args(Meaning)
WORDS: tuple[Meaning, ...] = ("row", "pickup", "side", "coil")  # of these a cell is a word
UNITS: Mapping[Meaning, Mapping[str, float]] = {
    "flux density": FLUX_UNITS,
    "frequency": {"hz": 1.0, "khz": 1e3},
    "inductance": {"h": 1.0, "mh": 1e-3, "uh": 1e-6, "\u00b5h": 1e-6},
    "direct resistance": {"ohm": 1.0, "ohms": 1.0, "\u03c9": 1.0, "kohm": 1e3, "k\u03c9": 1e3, "k": 1e3},
    "temperature": {"c": 1.0, "degc": 1.0, "\u00b0c": 1.0},
    "resonance": {"hz": 1.0, "khz": 1e3},
}
"""Factors to T, Hz, H, ohm and degrees C, by the unit in small letters."""
UNIT_NEEDED: Mapping[Meaning, str] = {
    "flux density": "G or mT is needed, 1 mT is 10 gauss",
    "inductance": "H or mH is needed",
    "direct resistance": "ohm or kohm is needed",
}
NAMES: Mapping[Meaning, tuple[str, ...]] = {
    "pole": ("pole", "pole no", "pole number", "string", "no", "nr", "number"),
    "row": ("row", "pole row"),
    "flux density": ("b", "flux density", "flux", "field", "reading", "value", "magnetic field", "b field"),
    "frequency": ("f", "freq", "frequency", "test frequency", "test f", "f test", "test freq"),
    "inductance": ("l", "ls", "inductance", "series inductance", "l series", "ls series"),
    "quality": ("q", "quality", "quality factor", "q factor"),
    "loss": ("d", "df", "dissipation", "dissipation factor", "tan d", "tan delta", "loss tangent"),
    "direct resistance": ("dcr", "rdc", "r dc", "dc resistance", "direct resistance", "dc r"),
    "temperature": ("temperature", "temp", "t"),
    "pickup": ("pickup",),
    "side": ("side", "when", "before after"),
    "coil": ("coil", "name", "coil name", "coil no", "label", "serial"),
    "turns": ("turns", "counted turns", "turns counted"),
    "resonance": ("resonance", "resonance frequency", "resonant frequency", "f0", "fr", "fres"),
}
PARALLEL = ("lp", "l parallel", "parallel inductance")
_UNIT = re.compile(
    r"^(?P<name>.*?)\s*(?:[\[(]\s*(?P<boxed>[^\])]*)\s*[\])]|/\s*(?P<slash>\S+)|\bin\s+(?P<said>\S+))\s*$"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: its head as it stands in the file, what it means, and the unit its cells have (small letters)."""

    place: int  # 0 is the first
    head: str
    meaning: Meaning
    unit: str = ""

    def factor(self, unit: str) -> float:
        """Return what a value in ``unit`` is multiplied by; KeyError where it is none of this quantity."""
        known = UNITS.get(self.meaning, {})
        return known[unit] if unit or known else 1.0


def plain_head(head: str) -> str:
    """Return a head as it is compared: small letters, single spaces, no points."""
    return " ".join(head.lower().replace(".", " ").replace("_", " ").split())


def column_of(place: int, head: str, said: Mapping[str, str]) -> Column:
    """Return what a column means, by what a person said of this head or by its own words; else it is not used.

    Raises
    ------
    InputError
        When its unit is none of the quantity, or it is inductance in parallel mode.
    """
    told = said.get(plain_head(head))
    if told is not None:
        return meant(place, head, told)
    found = _UNIT.match(head)
    name = plain_head(head if found is None else found["name"])
    unit = "" if found is None else (found["boxed"] or found["slash"] or found["said"] or "").strip().lower()
    if name in PARALLEL:
        raise InputError(f"column {head!r} is inductance in parallel mode; set the meter to series and read again.")
    for meaning, names in NAMES.items():
        if name in names:
            return _with_unit(place, head, meaning, unit)
        tail = name.rpartition(" ")
        if tail[0] in names and tail[2] in UNITS.get(meaning, {}) and not unit:  # b_mt
            return _with_unit(place, head, meaning, tail[2])
    for meaning, units in UNITS.items():
        if meaning == "resonance":  # a head that says Hz alone is a test frequency
            continue
        if name in units and name not in ("t", "c", "k") and not unit:  # a head that is a unit and nothing else
            return _with_unit(place, head, meaning, name)
    return Column(place=place, head=head, meaning="not used")


def unit_alone(cell: str) -> str | None:
    """Return the unit that a cell holds and nothing else ("[mT]": "mt"), "" where a dash says none; else None."""
    bare = cell.strip(" []()").lower()
    if bare in ("", "-", "\u2013", "\u2014", "1"):
        return ""
    return bare if any(bare in units for units in UNITS.values()) else None


def with_unit_below(column: Column, unit: str) -> Column:
    """Return a column with the unit that stands under its head; one in the head itself counts before it.

    Raises
    ------
    InputError
        When it is no unit of what the column means.
    """
    if not unit or column.unit or column.meaning not in UNITS:
        return column
    return _with_unit(column.place, column.head, column.meaning, unit)


def meant(place: int, head: str, told: str) -> Column:
    """Return the column that a person's words mean: ``flux density mT``, ``frequency``, ``not used``.

    Raises
    ------
    InputError
        When the words begin with no meaning, or end in no unit of it.
    """
    words = " ".join(told.lower().split())
    for meaning in sorted(MEANINGS, key=len, reverse=True):
        if words == meaning or words.startswith(f"{meaning} "):
            return _with_unit(place, head, meaning, words[len(meaning) :].strip(" []()"))
    raise InputError(
        f"column {head!r} means {told!r}; allowed are {', '.join(MEANINGS)}, each with its unit behind it."
    )


def _with_unit(place: int, head: str, meaning: Meaning, unit: str) -> Column:
    known = UNITS.get(meaning, {})
    if unit in ("f", "degf", "\u00b0f"):
        raise InputError(f"column {head!r} is in degrees F; degrees C are read: 68 degF is 20 degC.")
    if unit and known and unit not in known:
        raise InputError(f"column {head!r}: {meaning} in {unit!r}; units that are read are {', '.join(known)}.")
    return Column(place=place, head=head, meaning=meaning, unit=unit if known else "")
