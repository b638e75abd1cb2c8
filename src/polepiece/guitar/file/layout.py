"""Which table of a guitar file takes which parameters."""

from collections.abc import Iterator

from polepiece.guitar.assumption import Assumption
from polepiece.guitar.file.units import Unit
from polepiece.guitar.net_element import NetElement
from polepiece.guitar.own_controls import AddedPart, Tone, Volume
from polepiece.guitar.parameter import Parameter, parameters_of
from polepiece.guitar.parts import Magnet, MagnetConstants, Poles, Sheet
from polepiece.guitar.records import Coil, Complaint, Controls, Guitar, Measured, Pickup, String
from polepiece.guitar.switch_position import SwitchPosition

Keys = tuple[Parameter, ...]

GUITAR_KEYS = parameters_of(Guitar)
CONTROL_KEYS = parameters_of(Controls)
STRING_KEYS = parameters_of(String)
COMPLAINT_KEYS = parameters_of(Complaint)
ASSUMED_KEYS = parameters_of(Assumption)
MEASURED_KEYS = parameters_of(Measured)
PICKUP_KEYS = parameters_of(Pickup)
MAGNET_KEYS = parameters_of(Magnet, "magnet.")
CONSTANT_KEYS = parameters_of(MagnetConstants, "constants.")
POLE_KEYS = parameters_of(Poles, "poles.")
COIL_KEYS = parameters_of(Coil)
SHEET_KEYS = parameters_of(Sheet)

# Lists of tables inside [controls]: their record and the keys they take.
CONTROL_TABLES: dict[str, tuple[type, Keys]] = {
    "volumes": (Volume, parameters_of(Volume)),
    "tones": (Tone, parameters_of(Tone)),
    "parts": (AddedPart, parameters_of(AddedPart)),
    "positions": (SwitchPosition, parameters_of(SwitchPosition)),
    "elements": (NetElement, parameters_of(NetElement)),
}


def _poles(*stems: str) -> Keys:
    return tuple(one for one in POLE_KEYS if one.stem.startswith(stems))


# Tables inside a pickup: the keys they take and the prefixes that may be left out in them.
PICKUP_TABLES: dict[str, tuple[Keys, tuple[str, ...]]] = {
    "magnet": ((*MAGNET_KEYS, *CONSTANT_KEYS), ("bar_",)),
    "poles": (POLE_KEYS, ()),
    "slugs": (_poles("slug_"), ("slug_",)),
    "screws": (_poles("screw_", "head_", "second_screw_"), ("screw_",)),
    "keeper": (_poles("keeper_"), ("keeper_",)),
    "blades": (_poles("blade_"), ("blade_",)),
    "plate": (_poles("plate_"), ("plate_",)),
    "rods": (_poles("rod_"), ("rod_",)),
}


def find_key(keys: Keys, prefixes: tuple[str, ...], name: str) -> tuple[Parameter, Unit] | None:
    """Return the key and unit that ``name`` stands for in a table with these keys, or None."""
    for prefix in ("", *prefixes):
        for key in keys:
            unit = key.names().get(prefix + name)
            if unit is not None:
                return key, unit
    return None


def all_names(keys: Keys, prefixes: tuple[str, ...]) -> list[str]:
    """Every spelling that a table takes, for suggestions."""
    names = [name for key in keys for name in key.names()]
    return names + [name.removeprefix(prefix) for prefix in prefixes for name in names if name.startswith(prefix)]


_HOMES = {
    "poles.slug_": "slugs.", "poles.screw_": "screws.", "poles.second_screw_": "screws.", "poles.head_": "screws.",
    "poles.keeper_": "keeper.", "poles.blade_": "blades.", "poles.plate_": "plate.",
    "poles.rod_": "rods.", "poles.": "poles.", "magnet.": "magnet.", "constants.": "magnet.",
}  # fmt: skip


def home_of(attr: str) -> str:
    """Return the sub-table, with its dot, in which an attribute of a pickup is written."""
    return next((home for start, home in _HOMES.items() if attr.startswith(start)), "")


def _named() -> Iterator[tuple[str, Parameter, str]]:
    """Yield every attribute of a guitar, its parameter, and the table that says it."""
    for owner, keys in (("", GUITAR_KEYS), ("", PICKUP_KEYS), ("", (*MAGNET_KEYS, *POLE_KEYS)), ("coil.", COIL_KEYS),
                        ("controls.", CONTROL_KEYS)):  # fmt: skip
        for one in keys:
            yield owner + one.attr, one, owner or home_of(one.attr)


_NAMED = {attr: (line, table) for attr, line, table in _named()}


def parameter_of(attr: str) -> Parameter:
    """Return the parameter that says an attribute.

    Attributes of a pickup start at the pickup ("gap_bass", "magnet.length", "coil.turns"), those of the controls with
    "controls."; a name of the top of the file that a pickup has as well is the pickup's.
    """
    return _NAMED[attr][0]


def key_of(attr: str) -> str:
    """Return the key of a parameter with the tables it is in: "screws.screw_raise" for "poles.screw_raise"."""
    line, table = _NAMED[attr]
    return table + line.name


def key_path(place: int, attr: str) -> str:
    """Return the path of a key of the pickup at ``place``: "pickups[0].gap_bass_mm"."""
    return f"pickups[{place}].{key_of(attr)}"
