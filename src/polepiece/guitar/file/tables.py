"""One table of a guitar file: its keys read, its silences filled in, a record made of both."""

from collections.abc import Mapping
from dataclasses import fields, replace
from decimal import Decimal
from typing import Any

from polepiece.errors import InputError
from polepiece.guitar.assumption import Assumption, Default
from polepiece.guitar.checks import printed
from polepiece.guitar.file import layout
from polepiece.guitar.file.layout import Keys, all_names, find_key, home_of
from polepiece.guitar.file.trade_words import unit_printed, without_taper
from polepiece.guitar.file.units import UNITS, Unit, split_quantity, unit_of
from polepiece.guitar.file.values import Faults, Given, is_unknown, nearest, read_value
from polepiece.guitar.parameter import Parameter

Table = Mapping[str, Any]
Values = dict[str, Given]


def read_table(
    table: Table,
    keys: Keys,
    path: str,
    faults: Faults,
    *,
    prefixes: tuple[str, ...] = (),
    leave: tuple[str, ...] = (),
) -> Values:
    """Read the keys of one table by attribute; unknown keys and values given twice are faults.

    ``prefixes`` may be left out of key names here; ``leave`` names sub-tables that are read elsewhere.
    """
    found: Values = {}
    for name, raw in table.items():
        if name in leave:
            continue
        here = f"{path}.{name}" if path else name
        known = find_key(keys, prefixes, name)
        if known is None and faults.full:
            faults.add(here, "")
            continue
        if known is None:
            bare = [key for key in keys for prefix in ("", *prefixes) if _is_bare(prefix + name, key)]
            known = _bare_key(raw, bare, name, here, faults) if bare else None
            if not bare:
                near = nearest(name, all_names(keys, prefixes))
                faults.add(here, f"is not a key of this table{near}{_elsewhere(name)}.")
            if known is None:
                continue
        value = read_value(raw, *known, here, faults)
        if value is None:
            continue
        if value.value is not None and known[0].attr in found:
            faults.add(here, f"says again what {found[known[0].attr].path} says; keep one of them.")
            continue
        found[known[0].attr] = value
    return found


def _is_bare(name: str, key: Parameter) -> bool:
    return key.dimension != "number" and name in (key.stem, *key.aliases)


def _bare_key(
    raw: object, keys: list[Parameter], name: str, path: str, faults: Faults
) -> tuple[Parameter, Unit] | None:
    """A key without its unit: accepted when the value carries one, otherwise a fault."""
    for key in keys:
        if is_unknown(raw) or (isinstance(raw, str) and raw.strip().lower() == key.none):
            return key, key.unit
        spelled = _spelled_unit(raw, key) or _printed_unit(raw, key)
        if spelled is not None:
            return key, spelled
    suffixes = [unit.suffix for key in keys for unit in UNITS[key.dimension] if unit.suffix]
    ways = " or ".join(dict.fromkeys(name + suffix for suffix in suffixes))
    if unlike := _unit_typed(raw):
        words = ", ".join(dict.fromkeys(unit.word for key in keys for unit in UNITS[key.dimension] if unit.word))
        faults.add(path, f"is {printed(raw)}; {unlike!r} is not a unit it can have ({words}).")
        return None
    faults.add(path, f"is {printed(raw)} without a unit; write the unit into the key: {ways}.")
    return None


def _unit_typed(raw: object) -> str:
    """Return the unit that was written behind a number, known or not; "" where there is none."""
    try:
        return split_quantity(raw)[1] if isinstance(raw, str) else ""
    except InputError:
        return ""


def _spelled_unit(raw: object, key: Parameter) -> Unit | None:
    if not isinstance(raw, str):
        return None
    try:
        text = without_taper(raw) if key.dimension == "resistance" else raw
        return unit_of(key.dimension, split_quantity(text)[1])
    except InputError:
        return None


def _printed_unit(raw: object, key: Parameter) -> Unit | None:
    """Return the unit in which parts are marked (".022", "5/64") where the key's own cannot be meant."""
    try:
        number, spelling = split_quantity(raw) if isinstance(raw, str) else (Decimal(0), "-")
    except InputError:
        return None
    return None if spelling else unit_printed(number, str(raw), key, key.unit)


def _elsewhere(name: str) -> str:
    """Name the table in which an unknown key would be at home."""
    homes = {
        "at the top of the file": layout.GUITAR_KEYS,
        "in [[pickups]]": layout.PICKUP_KEYS,
        "in [controls]": layout.CONTROL_KEYS,
        **{f"in [[controls.{one}]]": keys for one, (_, keys) in layout.CONTROL_TABLES.items()},
        **{f"in [pickups.{one}]": keys for one, (keys, _) in layout.PICKUP_TABLES.items()},
        "in [pickups.coil]": layout.COIL_KEYS,
        "in [[strings]]": layout.STRING_KEYS,
    }
    for home, keys in homes.items():
        if find_key(keys, (), name) is not None:
            return f"; it belongs {home}"
    return ""


class Filler:
    """Takes given values, fills in defaults, and keeps the list of what was assumed."""

    def __init__(self) -> None:
        self.assumed: list[Assumption] = []
        self._paths: set[str] = set()
        self.valued: set[str] = set()  # paths whose assumption is a value, not "not known"

    def fill(
        self,
        keys: Keys,
        given: Values,
        table: Mapping[str, Default],
        path: str,
        *,
        prefix: str = "",
    ) -> dict[str, Any]:
        """Return every value that was given or has a default; ``prefix`` is that of the defaults."""
        values: dict[str, Any] = {}
        for key in keys:
            if key.attr in given:
                values[key.attr] = given[key.attr].value
                continue
            default = table.get(prefix + key.attr)
            if default is not None:
                values[key.attr] = default_in_si(default, key)
                home = home_of(key.attr) if not prefix else ""
                self.assume(default, f"{path}{home}{key.name}", key)
        return values

    def assume(self, default: Default, path: str, key: Parameter | None = None) -> None:
        """List one assumed value, once."""
        line = default.assumption(path, key.unit.word if key else "")
        if line.path not in self._paths:
            self._paths.add(line.path)
            self.assumed.append(line)
            if default.value not in (None, "unknown"):
                self.valued.add(path)

    def drop(self, path: str) -> None:
        """Take an assumption back: the file says it another way."""
        self.assumed = [one for one in self.assumed if one.path != path]
        self._paths.discard(path)

    def instead_of(self, path: str, value: str) -> None:
        """Say another value of what was assumed at a path."""
        self.assumed = [replace(one, value=value) if one.path == path else one for one in self.assumed]

    def instead(self, line: Assumption) -> None:
        """Say an assumption otherwise, once more is known of it."""
        self.assumed = [line if one.path == line.path else one for one in self.assumed]


def default_in_si(default: Default, key: Parameter) -> Any:
    """Return the value of a default as the records keep it."""
    if default.value is None or default.value == "unknown":
        return default.value
    raw = list(default.value) if isinstance(default.value, tuple) else default.value
    faults = Faults()
    given = read_value(raw, key, key.unit, "default", faults)
    if given is None:
        raise AssertionError(f"the default of {key.attr} is not allowed: {faults.found}")
    return given.value


def make(record: type, values: Mapping[str, Any], prefix: str = "", **more: Any) -> Any:
    """Build a record from the values whose attribute is ``prefix`` plus one of its fields."""
    names = {field.name for field in fields(record)}
    chosen = {
        attr.removeprefix(prefix): value
        for attr, value in values.items()
        if attr.startswith(prefix) and attr.removeprefix(prefix) in names
    }
    return record(**{**chosen, **more})
