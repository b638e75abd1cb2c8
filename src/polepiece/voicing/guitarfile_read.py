"""From the tables of a guitar file to the records: what was given, what is assumed, every fault."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from polepiece.errors import InputError
from polepiece.voicing import defaults
from polepiece.voicing.defaults import Default
from polepiece.voicing.guitar import (
    Assumption,
    Coil,
    Complaint,
    Controls,
    Guitar,
    Magnet,
    MagnetConstants,
    Pickup,
    Poles,
    Sheet,
    Steel,
    String,
)
from polepiece.voicing.guitarfile_fit import check_pickup
from polepiece.voicing.guitarfile_keys import (
    ASSUMED_KEYS,
    COIL_KEYS,
    COILS,
    COMPLAINT_KEYS,
    CONTROL_KEYS,
    GUITAR_KEYS,
    LACKS,
    PICKUP_KEYS,
    PICKUP_TABLES,
    POLE_KEYS,
    REFUSED_CONSTRUCTIONS,
    SHEET_KEYS,
    STRING_KEYS,
    Key,
    all_names,
    find_key,
)
from polepiece.voicing.guitarfile_units import UNITS, split_quantity, unit_of
from polepiece.voicing.guitarfile_values import Faults, Given, is_unknown, nearest, printed, read_value

Table = Mapping[str, Any]
Values = dict[str, Given]
CONSTANTS = ("remanence", "coercivity", "energy_product", "recoil_permeability")
STEEL_PARTS = ("slug", "screw", "keeper")


# ---------------------------------------------------------------- one table


def read_table(
    table: Table,
    keys: tuple[Key, ...],
    path: str,
    faults: Faults,
    *,
    prefixes: tuple[str, ...] = (),
    leave: tuple[str, ...] = (),
) -> Values:
    """Read the keys of one table; unknown keys and values given twice are faults. ``leave`` are sub-tables."""
    found: Values = {}
    for name, raw in table.items():
        if name in leave:
            continue
        here = f"{path}.{name}" if path else name
        known = find_key(keys, prefixes, name)
        if known is None:
            known = _bare(name, raw, keys, prefixes, here, faults)
            if known is None:
                continue
        key, unit = known
        value = read_value(raw, key, unit, here, faults)
        if value is None:
            continue
        if key.attr in found:
            faults.add(here, f"says again what {found[key.attr].path} says; keep one of them.")
            continue
        found[key.attr] = value
    return found


def _bare(
    name: str, raw: object, keys: tuple[Key, ...], prefixes: tuple[str, ...], path: str, faults: Faults
) -> tuple[Key, Any] | None:
    """A key without its unit: accepted when the value carries one, otherwise a fault that says which to write."""
    for prefix in ("", *prefixes):
        for key in keys:
            if prefix + name not in (key.stem, *key.aliases) or key.dimension == "number":
                continue
            if isinstance(raw, str):
                if is_unknown(raw) or raw.strip().lower() == key.none_word:
                    return key, key.unit
                try:
                    spelled = unit_of(key.dimension, split_quantity(raw)[1])
                except InputError:
                    spelled = None
                if spelled is not None:
                    return key, spelled
            ways = " or ".join(
                dict.fromkeys(name + unit.suffix for unit in UNITS[key.dimension] if unit.suffix)
            )
            faults.add(path, f"is {printed(raw)} without a unit; write the unit into the key: {ways}.")
            return None
    faults.add(
        path, f"is not a key of this table{nearest(name, all_names(keys, prefixes))}{_elsewhere(name)}."
    )
    return None


def _elsewhere(name: str) -> str:
    """Name the table in which an unknown key would be at home."""
    homes = {
        "": GUITAR_KEYS,
        "[[pickups]]": PICKUP_KEYS,
        "[controls]": CONTROL_KEYS,
        **{f"[pickups.{one}]": keys for one, (keys, _) in PICKUP_TABLES.items()},
        "[pickups.coil]": COIL_KEYS,
        "[[strings]]": STRING_KEYS,
    }
    for home, keys in homes.items():
        if find_key(keys, (), name) is not None:
            return f"; it belongs in {home}" if home else "; it belongs at the top of the file"
    return ""


class Filler:
    """Takes given values, fills in defaults, and keeps the list of what was assumed."""

    def __init__(self) -> None:
        self.assumed: list[Assumption] = []

    def fill(
        self, keys: tuple[Key, ...], given: Values, table: Mapping[str, Default], path: str, prefix: str = ""
    ) -> dict[str, Any]:
        """Return the value of every key that was given or has a default; ``prefix`` is that of the defaults."""
        values: dict[str, Any] = {}
        for key in keys:
            if key.attr in given:
                values[key.attr] = given[key.attr].value
                continue
            default = table.get(prefix + key.attr)
            if default is None:
                continue
            values[key.attr] = default_in_si(default, key)
            self.assume(default, f"{path}{_home(prefix + key.attr)}{key.name}", key)
        return values

    def assume(self, default: Default, path: str, key: Key | None = None) -> None:
        """List one assumed value."""
        self.assumed.append(default.assumption(path, key.unit.word if key else ""))


def _home(attr: str) -> str:
    """Return the sub-table, with its dot, in which a pickup's attribute is written."""
    table, _, rest = attr.partition(".")
    if not rest:
        return ""
    if table != "poles":
        return ("magnet" if table == "constants" else table) + "."
    for start, home in (
        ("slug_", "slugs"),
        ("screw_", "screws"),
        ("head_", "screws"),
        ("keeper_", "keeper"),
        ("rod_", "rods"),
    ):
        if rest.startswith(start):
            return home + "."
    return "poles."


def default_in_si(default: Default, key: Key) -> Any:
    """Return the value of a default as the records keep it."""
    given = (
        read_value(default.value, key, key.unit, "default", Faults()) if default.value is not None else None
    )
    if given is not None:
        return given.value[0] if key.kind == "grade" else given.value
    return default.value


def make(record: type, values: Mapping[str, Any], prefix: str = "", **more: Any) -> Any:
    """Build a record from the values whose attribute is ``prefix`` plus one of its fields."""
    names = {field.name for field in fields(record)}
    chosen = {
        attr.removeprefix(prefix): value
        for attr, value in values.items()
        if attr.startswith(prefix) and attr.removeprefix(prefix) in names
    }
    return record(**{**chosen, **more})


# ---------------------------------------------------------------- pickup


def read_pickup(table: Table, path: str, faults: Faults, filler: Filler) -> Pickup | None:
    """Read one [[pickups]] table."""
    leave = (*PICKUP_TABLES, "coil", "coils", "base_plate", "cover")
    before = len(faults.found)
    raw_construction = table.get("construction")
    refused = _refused_construction(raw_construction)
    if refused:
        faults.add(f"{path}.construction", refused)
        table = {name: value for name, value in table.items() if name != "construction"}
    given = read_table(table, PICKUP_KEYS, path, faults, leave=leave)
    for needed in ("name", "position", "construction"):
        if needed not in given and needed not in table and not (refused and needed == "construction"):
            faults.add(f"{path}.{needed}", f"is missing; every pickup needs a {needed}.")
    if "construction" not in given or "position" not in given:
        _read_pickup_tables(table, "", path, faults)
        return None
    construction = given["construction"].value
    inner, coils = _read_pickup_tables(table, construction, path, faults)
    given |= inner
    own = any(attr.startswith("constants.") for attr in given)
    table_of_defaults = defaults.pickup_defaults(
        construction=construction, position=given["position"].value, drawn=own
    )
    _check_magnet(given, own, path, faults)
    if own or isinstance(table.get("magnet"), str):
        table_of_defaults.pop("magnet.grade", None)
    pickup = _build_pickup(given, coils, table, table_of_defaults, path, faults, filler)
    if pickup is not None and len(faults.found) == before:
        for fault in check_pickup(pickup):
            faults.add(path, fault)
    return pickup


def _refused_construction(raw: object) -> str:
    """Return why a construction is refused by name, or nothing."""
    if not isinstance(raw, str):
        return ""
    word = raw.strip().lower().replace("_", "-").replace(" ", "-")
    synonyms = {
        "blades": "blade",
        "rail": "blade",
        "rails": "blade",
        "blade-humbucker": "blade",
        "twelve-screws": "two-adjustable-rows",
        "two-screw-rows": "two-adjustable-rows",
        "mini-humbucker": "small-humbucker",
        "mini": "small-humbucker",
        "twin-blades": "twin-blade",
        "three-bar": "three-ferrite-bars",
        "three-bars": "three-ferrite-bars",
        "three-ferrite-bar": "three-ferrite-bars",
    }
    reason = REFUSED_CONSTRUCTIONS.get(synonyms.get(word, word))
    return f'is "{raw}", which this version does not cover: {reason}.' if reason else ""


def _read_pickup_tables(
    table: Table, construction: str, path: str, faults: Faults
) -> tuple[Values, list[Values]]:
    """Read the sub-tables of a pickup: values by attribute, and the coils that were given one by one."""
    given: Values = {}
    for name, (keys, prefixes) in PICKUP_TABLES.items():
        inner = table.get(name)
        if inner is None:
            continue
        here = f"{path}.{name}"
        if name == "keeper" and isinstance(inner, str) and inner.strip().lower() == "none":
            inner = {"keeper_x_min": "none", "keeper_x_max": "none"}
        if not isinstance(inner, Mapping):
            faults.add(here, f"is {printed(inner)}; it must be a table, [pickups.{name}].")
            continue
        for attr, one in read_table(inner, keys, here, faults, prefixes=prefixes).items():
            if attr in given:
                faults.add(one.path, f"says again what {given[attr].path} says; keep one of them.")
            given[attr] = one
    if construction == "rod-single":
        _rods_from_slugs(given, faults)
    for attr in list(given):
        if construction and attr.startswith(LACKS[construction]):
            faults.add(given.pop(attr).path, f"is not a part of a {construction}; leave it out.")
    return given, _read_coils(table, construction, path, faults)


def _rods_from_slugs(given: Values, faults: Faults) -> None:
    """A rod-single may call its rods slugs: diameter and height mean the rod's."""
    for slug, rod in (
        ("poles.slug_diameter", "poles.rod_diameter"),
        ("poles.slug_height", "poles.rod_lengths"),
    ):
        if slug not in given:
            continue
        one = given.pop(slug)
        if rod in given:
            faults.add(one.path, f"says again what {given[rod].path} says; keep one of them.")
            continue
        given[rod] = Given((one.value,), one.path) if rod.endswith("lengths") else one


def _read_coils(table: Table, construction: str, path: str, faults: Faults) -> list[Values]:
    """Return one dictionary of given values per coil; [pickups.coil] counts for every coil."""
    wanted = len(COILS.get(construction, ("coil",)))
    shared: Values = {}
    if "coil" in table:
        if isinstance(table["coil"], Mapping):
            shared = read_table(table["coil"], COIL_KEYS, f"{path}.coil", faults)
        else:
            faults.add(f"{path}.coil", "must be a table, [pickups.coil].")
    listed = table.get("coils", [])
    if not isinstance(listed, list) or not all(isinstance(one, Mapping) for one in listed):
        faults.add(f"{path}.coils", "must be a list of tables, [[pickups.coils]].")
        return [shared] * wanted
    if not listed:
        return [shared] * wanted
    if construction and len(listed) != wanted:
        faults.add(
            f"{path}.coils",
            f"has {len(listed)} coils; a {construction} has {wanted}: {', '.join(COILS[construction])}.",
        )
    own = [read_table(one, COIL_KEYS, f"{path}.coils[{place}]", faults) for place, one in enumerate(listed)]
    return [{**shared, **one} for one in own]


def _check_magnet(given: Values, own: bool, path: str, faults: Faults) -> None:
    """A grade or own constants, not both; constants complete and possible."""
    if not own:
        return
    if "magnet.grade" in given:
        faults.add(
            given["magnet.grade"].path, "is given beside own constants (remanence ...); keep one of them."
        )
    missing = [name for name in CONSTANTS if f"constants.{name}" not in given]
    if missing:
        named = {
            "remanence": "remanence_t",
            "coercivity": "coercivity_ka_per_m",
            "energy_product": "energy_product_kj_per_m3",
        }
        listed = ", ".join(named.get(name, name) for name in missing)
        faults.add(f"{path}.magnet", f"has own constants but not all of them; also needed: {listed}.")
        return
    remanence, coercivity, energy, _ = (given[f"constants.{name}"].value for name in CONSTANTS)
    mu_0 = 1.25663706e-6
    fullness = energy / (remanence * coercivity)
    if coercivity > 1.02 * remanence / mu_0:
        faults.add(
            given["constants.coercivity"].path,
            f"is {coercivity / 1e3:.4g} kA/m; HcB cannot exceed remanence / mu0 = {remanence / mu_0 / 1e3:.4g} kA/m. "
            "Is that the intrinsic coercivity HcJ?",
        )
    elif not 0.25 <= fullness <= 1.0:
        faults.add(
            given["constants.energy_product"].path,
            f"is {energy / 1e3:.4g} kJ/m3; with this remanence and coercivity it lies between "
            f"{remanence * coercivity / 4e3:.4g} and {remanence * coercivity / 1e3:.4g} kJ/m3. If that is MGOe, write energy_product_mgoe.",
        )


def _build_pickup(
    given: Values,
    coils: list[Values],
    table: Table,
    table_of_defaults: dict[str, Default],
    path: str,
    faults: Faults,
    filler: Filler,
) -> Pickup | None:
    """Fill in the defaults and build the records of one pickup."""
    construction = given["construction"].value
    lacks = LACKS[construction]
    top = filler.fill(PICKUP_KEYS, given, table_of_defaults, f"{path}.")
    magnet_keys, _ = PICKUP_TABLES["magnet"]
    if "magnet.grade" in given:
        slug, finish = given["magnet.grade"].value
        given["magnet.grade"] = Given(slug, given["magnet.grade"].path)
        if finish is not None:
            if "magnet.finish" in given and given["magnet.finish"].value != finish:
                faults.add(
                    given["magnet.finish"].path,
                    f"says {given['magnet.finish'].value}, but the grade says {finish}.",
                )
            given["magnet.finish"] = Given(finish, given["magnet.grade"].path)
    magnet_values = filler.fill(
        tuple(k for k in magnet_keys if not k.attr.startswith(lacks)), given, table_of_defaults, f"{path}."
    )
    constants = make(MagnetConstants, magnet_values, "constants.") if "constants.recoil_permeability" in given and not any(
        f"constants.{name}" not in given for name in CONSTANTS) else None  # fmt: skip
    more: dict[str, Any] = {"constants": constants} | ({"grade": "own"} if constants else {})
    if construction == "rod-single":
        more["magnetised_through"] = "length"
    magnet = make(Magnet, magnet_values, "magnet.", **more)
    poles = _build_poles(given, table_of_defaults, lacks, construction, path, faults, filler)
    built = _build_coils(coils, table, table_of_defaults, path, faults, filler)
    plates = {
        name: _read_sheet(table.get(name), name, construction, table_of_defaults, path, faults, filler)
        for name in ("base_plate", "cover")
    }
    if "name" not in given:
        return None
    return make(Pickup, top, magnet=magnet, poles=poles, coils=built, **plates)  # type: ignore[no-any-return]


def _build_poles(
    given: Values,
    table_of_defaults: dict[str, Default],
    lacks: tuple[str, ...],
    construction: str,
    path: str,
    faults: Faults,
    filler: Filler,
) -> Poles:
    """Build the poles; steels become records of their own."""
    laws = {}
    for part in STEEL_PARTS:
        steel = f"poles.{part}_steel."
        named = [one for one in ("name", "permeability", "saturation", "langevin_a") if steel + one in given]
        linear, langevin = "permeability" in named, {"saturation", "langevin_a"} & set(named)
        if len({"name": 1} & {n: 1 for n in named}.keys()) + linear + bool(langevin) > 1:
            faults.add(
                given[steel + named[-1]].path,
                "is one law too many: give a named steel, or permeability, or saturation_t with langevin_a_a_per_m.",
            )
        if len(langevin) == 1:
            faults.add(
                given[steel + langevin.pop()].path,
                "needs its partner: saturation_t and langevin_a_a_per_m belong together.",
            )
        laws[part] = bool(named)
    skipped = lambda key: (
        key.attr.startswith(lacks)
        or (  # noqa: E731
            key.attr.endswith("_steel.name")
            and laws[key.attr.split(".")[1].removesuffix("_steel")]
            and key.attr not in given
        )
    )
    if given.get("poles.keeper_x_min", Given(0.0, "")).value is None:
        no_keeper = tuple(k for k in POLE_KEYS if k.attr.startswith("poles.keeper_"))
        POLE = tuple(
            k
            for k in POLE_KEYS
            if k not in no_keeper or k.attr in ("poles.keeper_x_min", "poles.keeper_x_max")
        )
    else:
        POLE = POLE_KEYS
    values = filler.fill(tuple(k for k in POLE if not skipped(k)), given, table_of_defaults, f"{path}.")
    count = values.get("poles.count", 6)
    for attr, name in (("poles.screw_raise", "screw_raise"), ("poles.rod_lengths", "rod_length")):
        listed = values.get(attr, (0.0,) * count if attr.endswith("raise") else (17.0e-3,) * count)
        if len(listed) == 1 or (attr not in given and len(listed) != count):
            listed = (listed[0],) * count
        if len(listed) != count:
            faults.add(
                given[attr].path,
                f"has {len(listed)} values; it needs one for each of the {count} poles, string 1 first.",
            )
        values[attr] = listed
    if construction != "humbucker":
        values["poles.row_offset"] = 0.0
    more: dict[str, Any] = {}
    for part in STEEL_PARTS:
        prefix = f"poles.{part}_steel."
        law = {"name": None} if laws[part] and f"{prefix}name" not in given else {}
        more[f"{part}_steel"] = make(Steel, values, prefix, **law)
    return make(Poles, values, "poles.", **more)  # type: ignore[no-any-return]


def _build_coils(
    coils: list[Values],
    table: Table,
    table_of_defaults: dict[str, Default],
    path: str,
    faults: Faults,
    filler: Filler,
) -> tuple[Coil, ...]:
    """Build every coil; what is assumed alike for all is listed once."""
    one_by_one = bool(table.get("coils"))
    built = []
    for place, given in enumerate(coils):
        own = Filler()
        values = own.fill(COIL_KEYS, given, table_of_defaults, "", "coil.")
        built.append(make(Coil, values))
        for line in own.assumed:
            name = line.path.rsplit(".", 1)[-1]
            where = f"{path}.coils[{place}].{name}" if one_by_one else f"{path}.coil.{name}"
            if all(where != known.path for known in filler.assumed):
                filler.assumed.append(
                    Assumption(
                        path=where,
                        value=line.value,
                        low=line.low,
                        high=line.high,
                        basis=line.basis,
                        settle=line.settle,
                    )
                )
    return tuple(built)


def _read_sheet(
    raw: object,
    name: str,
    construction: str,
    table_of_defaults: dict[str, Default],
    path: str,
    faults: Faults,
    filler: Filler,
) -> Sheet | None:
    """Read a base plate or cover: a metal, "none", "unknown", or a table."""
    here = f"{path}.{name}"
    if raw is None or is_unknown(raw):
        default = table_of_defaults[name]
        filler.assume(default, here)
        if default.value == "none":
            return None
        raw = {"material": default.value}
    if raw is False or (isinstance(raw, str) and raw.strip().lower() in ("none", "no", "off")):
        return None
    if isinstance(raw, str):
        raw = {"material": raw}
    if not isinstance(raw, Mapping):
        faults.add(
            here,
            f'is {printed(raw)}; it must be "none", a metal ({", ".join(("nickel-silver", "brass"))}) or a table.',
        )
        return None
    metal = raw.get("material")
    if isinstance(metal, str) and "steel" in metal.lower():
        faults.add(
            f"{here}.material",
            f'is "{metal}": a steel {name.replace("_", " ")} carries flux, and this version models '
            "non-magnetic sheets only.",
        )
        return None
    given = read_table(raw, SHEET_KEYS, here, faults)
    usual = {"material": Default("nickel-silver", settle="look; brass is yellow under the plating")}
    usual |= {attr: Default(value) for attr, value in defaults.SHEETS[name, construction].items()}
    return make(Sheet, filler.fill(SHEET_KEYS, given, usual, f"{here}."))  # type: ignore[no-any-return]


# ---------------------------------------------------------------- the rest of the guitar


def read_controls(table: Table, faults: Faults, filler: Filler) -> Controls:
    """Read [controls]; a cable may be given by length and capacitance a metre."""
    given = read_table(table, CONTROL_KEYS, "controls", faults)
    length, per_metre = given.get("_cable_length"), given.get("_cable_per_metre")
    if length is not None:
        if "cable_capacitance" in given:
            faults.add(length.path, f"is given beside {given['cable_capacitance'].path}; keep one of them.")
        if per_metre is None:
            filler.assumed.append(defaults.CABLE_PER_METRE.assumption("controls.cable_pf_per_m", "pF/m"))
            per_metre = Given(100e-12, "")
        total = round(length.value * per_metre.value, 18)
        if not 50e-12 <= total <= 3000e-12:
            faults.add(
                length.path,
                f"makes {total * 1e12:.4g} pF of cable; cables lie between 50 and 3000 pF. Are these feet?",
            )
        given["cable_capacitance"] = Given(total, length.path)
    elif per_metre is not None:
        faults.add(per_metre.path, "needs cable_m, the length; if it is the whole cable, write cable_pf.")
    keys = tuple(key for key in CONTROL_KEYS if not key.attr.startswith("_"))
    return make(Controls, filler.fill(keys, given, defaults.CONTROLS, "controls."))  # type: ignore[no-any-return]


def read_strings(tables: list[Table], faults: Faults, filler: Filler) -> tuple[String, ...]:
    """Read [[strings]]; a string without a core is plain."""
    strings = []
    for place, table in enumerate(tables):
        path = f"strings[{place}]"
        given = read_table(table, STRING_KEYS, path, faults)
        values = {attr: one.value for attr, one in given.items()}
        if "diameter" not in values:
            if not any(name.startswith("diameter") for name in table):
                faults.add(
                    f"{path}.diameter", "is missing; every string needs a diameter (mm), or diameter_in."
                )
            continue
        core = values.setdefault("core_diameter", values["diameter"])
        if core > values["diameter"]:
            faults.add(
                given["core_diameter"].path,
                f"is {core * 1e3:.4g} mm, more than the string ({values['diameter'] * 1e3:.4g} mm).",
            )
        strings.append(make(String, values))
    return tuple(strings)


def read_complaints(tables: list[Table], names: tuple[str, ...], faults: Faults) -> tuple[Complaint, ...]:
    """Read [[complaints]]; a pickup that is named must exist."""
    complaints = []
    for place, table in enumerate(tables):
        path = f"complaints[{place}]"
        given = read_table(table, COMPLAINT_KEYS, path, faults)
        if "word" not in given:
            if "word" not in table:
                faults.add(f"{path}.word", "is missing; say what is wrong, e.g. muddy.")
            continue
        if "pickup" in given and given["pickup"].value not in names:
            faults.add(
                given["pickup"].path, f'is "{given["pickup"].value}"; this guitar has: {", ".join(names)}.'
            )
        complaints.append(make(Complaint, {attr: one.value for attr, one in given.items()}))
    return tuple(complaints)


def _tables(document: Table, name: str, faults: Faults) -> list[Table]:
    """Return a list of tables, or note that it is none."""
    raw = document.get(name, [])
    if not isinstance(raw, list) or not all(isinstance(one, Mapping) for one in raw):
        faults.add(name, f"is {printed(raw)}; it must be a list of tables, [[{name}]].")
        return []
    return raw


def read_document(document: Table, faults: Faults) -> Guitar | None:
    """Turn a TOML document into a guitar; None when a fault left nothing to build."""
    filler = Filler()
    lists = ("pickups", "strings", "complaints", "assumed")
    given = read_table(document, GUITAR_KEYS, "", faults, leave=(*lists, "controls"))
    pickups = []
    if not _tables(document, "pickups", faults) and "pickups" not in document:
        faults.add(
            "pickups",
            "is missing; a guitar needs at least one [[pickups]] table with name, position and construction.",
        )
    for place, table in enumerate(_tables(document, "pickups", Faults())):
        pickups.append(read_pickup(table, f"pickups[{place}]", faults, filler))
    built = tuple(one for one in pickups if one is not None)
    names = tuple(one.name for one in built)
    for place, one in enumerate(pickups):
        if one is not None and one.name in [p.name for p in pickups[:place] if p is not None]:
            faults.add(
                f"pickups[{place}].name", f'is "{one.name}" again; every pickup needs a name of its own.'
            )
    controls = document.get("controls", {})
    if not isinstance(controls, Mapping):
        faults.add("controls", f"is {printed(controls)}; it must be a table, [controls].")
        controls = {}
    top = filler.fill(GUITAR_KEYS, given, defaults.GUITAR, "")
    circuit = read_controls(controls, faults, filler)
    strings = _strings(document, top, given, faults, filler)
    complaints = read_complaints(_tables(document, "complaints", faults), names, faults)
    if faults.found:
        return None
    assumed = _assumed(document, filler, faults)
    return make(
        Guitar, top, pickups=built, strings=strings, controls=circuit, complaints=complaints, assumed=assumed
    )  # type: ignore[no-any-return]


def _strings(
    document: Table, top: dict[str, Any], given: Values, faults: Faults, filler: Filler
) -> tuple[String, ...]:
    """Return the strings: those of [[strings]], or those of the set."""
    listed = _tables(document, "strings", faults)
    if listed:
        if "string_set" not in given:
            top["string_set"] = "own"
            filler.assumed = [one for one in filler.assumed if one.path != "string_set"]
        return read_strings(listed, faults, filler)
    try:
        strings = defaults.string_set(string_set_name(top["string_set"]), top["tuning"])
    except InputError as error:
        path = "tuning" if "tuning" in str(error) or "note" in str(error) else "string_set"
        faults.add(path, f"cannot be used: {error}.")
        return ()
    top["string_set"] = string_set_name(top["string_set"])
    filler.assume(defaults.STRING_SET_SPREAD, "strings")
    return strings


def string_set_name(text: str) -> str:
    """Return the name of a set as it is offered: "10-46" for "10-46", ".010-.046" or "010 - 046".

    Raises
    ------
    InputError
        When the set is not offered; a first gauge alone is answered with the set that is probably meant.
    """
    parts = [
        one.strip().strip('".').removeprefix("0.").lstrip("0") for one in text.replace("–", "-").split("-")
    ]
    name = "-".join(parts)
    if name in defaults.STRING_SETS:
        return name
    alike = [one for one in defaults.STRING_SETS if one.split("-")[0] == parts[0]]
    hint = f" A set is named by its first and last string: did you mean {alike[0]}?" if alike else ""
    raise InputError(
        f"string set {text!r} is not one of {', '.join(defaults.STRING_SETS)}; give other strings in [[strings]].{hint}".rstrip(
            "."
        )
    )


def _assumed(document: Table, filler: Filler, faults: Faults) -> tuple[Assumption, ...]:
    """Return what is assumed: what the file lists itself, and what was filled in beyond that."""
    if "assumed" not in document:
        return tuple(filler.assumed)
    listed = []
    for place, table in enumerate(_tables(document, "assumed", faults)):
        given = read_table(table, ASSUMED_KEYS, f"assumed[{place}]", faults)
        for needed in ("path", "value"):
            if needed not in given:
                faults.add(f"assumed[{place}].{needed}", "is missing.")
        if "path" in given and "value" in given:
            listed.append(make(Assumption, {attr: one.value for attr, one in given.items()}))
    return tuple(listed)
