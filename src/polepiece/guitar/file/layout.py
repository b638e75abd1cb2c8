"""Which table of a guitar file takes which keys, and which parts a construction has."""

from polepiece.guitar.file.key import Key
from polepiece.guitar.file.keys_pickup import CONSTANT_KEYS, MAGNET_KEYS, POLE_KEYS
from polepiece.guitar.file.units import Unit

# Tables inside a pickup: the keys they take and the prefixes that may be left out in them.
PICKUP_TABLES: dict[str, tuple[tuple[Key, ...], tuple[str, ...]]] = {
    "magnet": ((*MAGNET_KEYS, *CONSTANT_KEYS), ("bar_",)),
    "poles": (POLE_KEYS, ()),
    "slugs": (tuple(k for k in POLE_KEYS if k.stem.startswith("slug_")), ("slug_",)),
    "screws": (tuple(k for k in POLE_KEYS if k.stem.startswith(("screw_", "head_"))), ("screw_",)),
    "keeper": (tuple(k for k in POLE_KEYS if k.stem.startswith("keeper_")), ("keeper_",)),
    "rods": (tuple(k for k in POLE_KEYS if k.stem.startswith("rod_")), ("rod_",)),
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


def find_key(keys: tuple[Key, ...], prefixes: tuple[str, ...], name: str) -> tuple[Key, Unit] | None:
    """Return the key and unit that ``name`` stands for in a table with these keys, or None."""
    for prefix in ("", *prefixes):
        for key in keys:
            unit = key.names().get(prefix + name)
            if unit is not None:
                return key, unit
    return None


def all_names(keys: tuple[Key, ...], prefixes: tuple[str, ...]) -> list[str]:
    """Every spelling that a table takes, for suggestions."""
    names = [name for key in keys for name in key.names()]
    return names + [name.removeprefix(prefix) for prefix in prefixes for name in names if name.startswith(prefix)]


_HOMES = (
    ("poles.slug_", "slugs."),
    ("poles.screw_", "screws."),
    ("poles.head_", "screws."),
    ("poles.keeper_", "keeper."),
    ("poles.rod_", "rods."),
    ("poles.", "poles."),
    ("magnet.", "magnet."),
    ("constants.", "magnet."),
)


def home_of(attr: str) -> str:
    """Return the sub-table, with its dot, in which an attribute of a pickup is written."""
    return next((home for start, home in _HOMES if attr.startswith(start)), "")


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
