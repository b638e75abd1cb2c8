"""Which table of a guitar file takes which parameters, and which parts a construction has."""

from collections.abc import Iterator

from polepiece.guitar.assumption import Assumption
from polepiece.guitar.file.units import Unit
from polepiece.guitar.parameter import Parameter, parameters_of
from polepiece.guitar.parts import Magnet, MagnetConstants, Poles, Sheet
from polepiece.guitar.records import Coil, Complaint, Controls, Guitar, Measured, Pickup, String

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


def _poles(*stems: str) -> Keys:
    return tuple(one for one in POLE_KEYS if one.stem.startswith(stems))


# Tables inside a pickup: the keys they take and the prefixes that may be left out in them.
PICKUP_TABLES: dict[str, tuple[Keys, tuple[str, ...]]] = {
    "magnet": ((*MAGNET_KEYS, *CONSTANT_KEYS), ("bar_",)),
    "poles": (POLE_KEYS, ()),
    "slugs": (_poles("slug_"), ("slug_",)),
    "screws": (_poles("screw_", "head_"), ("screw_",)),
    "keeper": (_poles("keeper_"), ("keeper_",)),
    "rods": (_poles("rod_"), ("rod_",)),
}

# What a construction does not have: keys whose attribute starts so are refused in its table.
LACKS: dict[str, tuple[str, ...]] = {
    "humbucker": ("poles.rod_",),
    "rod-single": (
        "poles.row_offset",
        "poles.slug_",
        "poles.screw_",
        "poles.head_",
        "poles.keeper_",
        "magnet.length",
        "magnet.width",
        "magnet.thickness",
        "magnet.magnetised_through",
        "magnet.bar_to_pole_gap",
    ),
    "bar-single": ("poles.row_offset", "poles.screw_", "poles.head_", "poles.keeper_", "poles.rod_"),
    "two-bar-single": ("poles.row_offset", "poles.slug_", "poles.rod_"),
}

COILS: dict[str, tuple[str, ...]] = {
    "humbucker": ("slug coil", "screw coil"),
    "rod-single": ("coil",),
    "bar-single": ("coil",),
    "two-bar-single": ("coil",),
}

REFUSED_CONSTRUCTIONS: dict[str, str] = {
    "blade": "blades are one long pole, which is not modelled yet",
    "two-adjustable-rows": "two rows of screws need a keeper on both sides, which is not modelled yet",
    "small-humbucker": "its bar, keeper and coils are laid out differently, which is not modelled yet",
    "twin-blade": "twin blades in a single-coil size are one long pole each, and are not modelled yet",
    "three-ferrite-bars": "three ferrite bars share one magnetic circuit, which is not modelled yet",
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
    "poles.slug_": "slugs.", "poles.screw_": "screws.", "poles.head_": "screws.", "poles.keeper_": "keeper.",
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


_SYNONYMS = {
    "blades": "blade",
    "rail": "blade",
    "rails": "blade",
    "two-screw-rows": "two-adjustable-rows",
    "twelve-screws": "two-adjustable-rows",
    "mini-humbucker": "small-humbucker",
    "twin-blades": "twin-blade",
    "three-bar": "three-ferrite-bars",
    "three-bars": "three-ferrite-bars",
}


def refusal(raw: object) -> str:
    """Return why a construction is refused by its name, or nothing when it is not such a one."""
    if not isinstance(raw, str):
        return ""
    word = raw.strip().lower().replace("_", "-").replace(" ", "-")
    reason = REFUSED_CONSTRUCTIONS.get(_SYNONYMS.get(word, word))
    return f'is "{raw}", which this version does not cover: {reason}.' if reason else ""
