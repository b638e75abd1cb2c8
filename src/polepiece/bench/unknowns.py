"""What a draw varies, as a person knows it: which quantities are one unknown, what it is called, what settles it.

Quantities that one look or one meter settles together are one unknown. A name that no line knows stands for itself.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from polepiece.guitar import Assumption, Guitar, in_words, key_of, key_path, line_at

GAUSS = "gauss meter at the pole tops: polepiece measure gauss"
LCR = "LCR meter across the pickup, off the pots, at 120 Hz and 1 kHz"
SWEEP = "sweep through a resistor, off the pots: polepiece measure impedance"
OHM = "ohmmeter, one leg lifted"
RULER = "ruler: where each string runs over its pole"
PACKET = "the strings' packet, or a micrometer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """Something of a guitar that is not known; ``path`` is its key in the guitar file, "" where it has none."""

    words: str
    settle: str  # "" where nothing at a bench does
    path: str = ""
    names: tuple[str, ...] = ()  # of the quantities of a draw; empty where the guitar file assumes a value instead


# pattern of a quantity's name; attribute of the guitar or the pickup that assumes it; words; what settles it. The first
# that fits counts.
_RULES: tuple[tuple[str, str, str, str], ...] = (
    (r"bar .* charge", "magnet.charge", "how the bar was charged", GAUSS),
    (r"unknown grade", "magnet.grade", "grade of the magnet", GAUSS),
    (r"bar .*", "", "this very bar within its grade", GAUSS),
    (r"measured field", "", "the reading of the gauss meter", "read the poles again"),
    (r"gap", "magnet.bar_to_pole_gap", "contact between bar and poles", GAUSS),
    (r"gap treble", "", "reading of the gap at the thinnest string", "read it again with a feeler gauge"),
    (r"gap bass", "", "reading of the gap at the thickest string", "read it again with a feeler gauge"),
    (r"steel .*", "", "steel of the poles", LCR),
    (r"winding capacitance", "", "capacitance of the winding", SWEEP),
    (r"wire gauge of .*", "coil.wire_awg", "gauge of the wire", "micrometer on a loose end"),
    (r"wire", "", "how thick the wire is within its gauge", LCR),
    (r"turns", "coil.turns", "turns of the coils", LCR),
    (r"read resistance", "", "reading of the resistance", "a better ohmmeter"),
    (r"measured (.*)", "", "what was measured: {0}", "measure it again"),
    (r"core of .*", "", "cores of the wound strings", PACKET),
    (r"wrap.*", "", "wrap of the wound strings", PACKET),
    (r"string (permeability|saturation)", "", "steel of the strings", ""),  # no meter of a bench tells
    (r"string \d+ beside its place|.* (centring|spacing)", "", "how the strings run over the poles", RULER),
    (r"volume pot.*", "controls.volume_pot", "volume pot, its own value", OHM),
    (r"tone pot.*", "controls.tone_pot", "tone pot, its own value", OHM),
    (r"cable", "controls.cable_capacitance", "capacitance of the cable", "capacitance meter, or its length and sort"),
    (r"(pot|resistor|capacitor|inductor) (.*)", "", "{0} {1}, its own value", OHM),
)
CARRIED = re.compile(
    r"controls\.(cable|volume_pot|tone_pot).*|pickups\[\d+\]\.coils?(\[\d+\])?\.(turns|wire_awg)|strings.*"
)
"""Keys whose assumed range is in the draws already."""


def unknowns_of_draws(guitar: Guitar, pickup: str, names: Iterable[str]) -> tuple[Unknown, ...]:
    """Return the unknowns that quantities of a draw belong to; those of one rule together.

    Parameters
    ----------
    guitar : Guitar
    pickup : str
        Whose numbers are asked about.
    names : iterable of str
        As `GivenDraw.asked` has them.
    """
    place = next(k for k, one in enumerate(guitar.pickups) if one.name == guitar.pickup(pickup).name)
    called = [one.name for one in guitar.pickups]
    groups: dict[tuple[str, str, str], list[str]] = {}
    for name in sorted(names):
        key = next(
            ((path, words.format(*found.groups()), settle) for pattern, path, words, settle in _RULES
             if (found := re.fullmatch(pattern, name))), ("", name, ""),
        )  # fmt: skip
        groups.setdefault(key, []).append(name)
    out = []
    for (path, words, settle), members in groups.items():
        whole = "" if not path else key_of(path) if path.startswith("controls.") else key_path(place, path)
        said = next((one for one in guitar.assumed if one.path == whole), None)
        out.append(
            Unknown(
                words=words if said is None else in_words(whole, called, guitar),
                settle=said.settle if said is not None and said.settle else settle, path=whole if said else "",
                names=tuple(members),
            )
        )  # fmt: skip
    return tuple(out)


def carried(guitar: Guitar, one: Assumption, names: Iterable[str]) -> bool:
    """Return whether an assumed value is drawn already, so that its range is not counted twice."""
    if CARRIED.fullmatch(one.path):
        return True
    line, there = line_at(one.path), set(names)
    if line is None:
        return False
    if line.kind == "charge":
        return any(name.endswith(" charge") for name in there)
    if line.kind == "grade":
        return "unknown grade" in there
    return one.path.endswith("bar_to_pole_gap") and "gap" in there
