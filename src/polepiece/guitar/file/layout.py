"""Which table of a guitar file takes which keys."""

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
