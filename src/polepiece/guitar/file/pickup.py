"""One [[pickups]] table of a guitar file and its sub-tables, read into a :class:`Pickup`."""

from collections.abc import Mapping
from dataclasses import replace
from math import pi
from typing import Any, Literal

from polepiece.constants import MU_0
from polepiece.errors import InputError
from polepiece.guitar import defaults
from polepiece.guitar.assumption import Default, defaults_of
from polepiece.guitar.checks import printed
from polepiece.guitar.coil import Coil
from polepiece.guitar.constructions import Construction, construction_of, slug_of
from polepiece.guitar.constructions.not_covered import refusal
from polepiece.guitar.file import layout
from polepiece.guitar.file.layout import Keys
from polepiece.guitar.file.plausible import check_pickup
from polepiece.guitar.file.tables import Filler, Table, Values, make, read_table
from polepiece.guitar.file.values import Faults, Given, is_unknown
from polepiece.guitar.gauges import KEY as GAUGE
from polepiece.guitar.gauges import TURNS, gauge_assumption, turns_assumption
from polepiece.guitar.parameter import Parameter
from polepiece.guitar.parts import SHEET_METALS, Magnet, MagnetConstants, Poles, Sheet, Steel
from polepiece.guitar.records import Pickup
from polepiece.guitar.windings import Winding, nominal_gauge, with_gauge

NEEDED = {one.field: one.name for one in layout.CONSTANT_KEYS if one.default is None and not one.none}
STEEL_PARTS = ("slug", "screw", "keeper", "blade", "plate")
STRAIGHT = 0.248  # (BH)max / (Br HcB) of a straight line is 1/4; printed constants are rounded to three digits
OERSTED = 1e3 / (4.0 * pi)  # A/m
NO_WORDS = ("none", "no", "off")


def read_pickup(
    table: Table, path: str, faults: Faults, filler: Filler, strung: defaults.Strung = defaults.SIX_STRINGS
) -> Pickup | None:
    """Read one [[pickups]] table; None when name, position or construction is missing or refused."""
    before = len(faults.found)
    reader = _PickupReader(table, path, faults, filler, strung)
    pickup = reader.read()
    if pickup is not None and len(faults.found) == before:
        for sentence in check_pickup(pickup):
            faults.add(path, sentence)
    return pickup


class _PickupReader:
    """Holds what every step needs: the table, its path, the faults so far, the list of assumptions."""

    def __init__(
        self, table: Table, path: str, faults: Faults, filler: Filler, strung: defaults.Strung
    ) -> None:  # fmt: skip
        self.table, self.path, self.faults, self.filler, self.strung = table, path, faults, filler, strung
        self.given: Values = {}
        self.defaults: dict[str, Default] = {}
        self.construction = ""
        self.row_longer = 0.0  # mm, than usual

    @property
    def built(self) -> Construction:
        """What the construction that is given answers."""
        return construction_of(self.construction)

    def read(self) -> Pickup | None:
        """Read the values that are given, then fill in and build."""
        self._read_top()
        for name, (keys, prefixes) in layout.PICKUP_TABLES.items():
            self._read_sub_table(name, keys, prefixes)
        coils = self._read_coils()
        if not self.construction or "position" not in self.given:
            return None
        if self.built.magnet_is_the_pole:
            self._rods_from_slugs()
        for attr in [one for one in self.given if one.startswith(self.built.lacks)]:
            self.faults.add(self.given.pop(attr).path, f"is not a part of a {self.built.words}; leave it out.")
        own = self._check_constants()
        position = self.given["position"].value
        count, spacing = (self.given.get(f"poles.{one}") for one in ("count", "pole_spacing"))
        self.defaults = defaults.pickup_defaults(
            construction=self.construction, position=position, drawn=own, strung=self.strung,
            poles=count.value if count else None,
        )  # fmt: skip
        drawn_for = defaults.pickup_defaults(construction=self.construction, position=position, drawn=own)
        usual = self.defaults["poles.count"].value, self.defaults["poles.pole_spacing"].value
        assert isinstance(usual[0], int) and isinstance(usual[1], float)
        poles, apart = count.value if count else usual[0], 1e3 * spacing.value if spacing else usual[1]
        self.row_longer = defaults.row_longer(drawn_for, poles, apart)
        row = (poles - 1) * apart
        if row > defaults.LONGEST_ROW:
            said = (count or spacing or Given(None, self.path)).path
            sentence = f"makes a row of {row:.4g} mm, {poles} poles {apart:.4g} mm apart"
            slip = " Poles are those of one row." if poles > self.strung.strings else ""
            self.faults.add(said, f"{sentence}; rows up to {defaults.LONGEST_ROW:g} mm are covered.{slip}")
            return None
        halves = any(row.half for row in self.built.rows)
        self.defaults = defaults.as_long_as_its_row(self.defaults, self.row_longer, halves=halves)
        gaps = {one: 1e3 * self.given[one].value for one in defaults.GAPS if one in self.given}
        self.defaults = defaults.beside_the_other(self.defaults, gaps, self.built)
        top = self.filler.fill(layout.PICKUP_KEYS, self.given, self.defaults, f"{self.path}.")
        if not self.built.can_face:
            facing = f"{self.path}.{layout.parameter_of('screws_face').name}"
            self.filler.assumed = [one for one in self.filler.assumed if one.path != facing]
        parts: dict[str, Any] = {
            "magnet": self._magnet(own),
            "poles": self._poles(),
            "coils": self._coils(coils),
            "base_plate": self._sheet("base_plate"),
            "cover": self._sheet("cover"),
        }
        if "name" not in self.given:
            return None
        parts["coils"] = self._gauged(coils, parts["coils"], top)
        try:
            pickup: Pickup = make(Pickup, top, **parts)
        except InputError as error:
            for line in str(error).splitlines():
                self.faults.add(self.path, line.removeprefix(f"{top['name']} "))
            return None
        return pickup

    # ------------------------------------------------------------ given

    def _read_top(self) -> None:
        table = dict(self.table)
        refused = refusal(table.get("construction"))
        if refused:
            self.faults.add(f"{self.path}.construction", refused)
            del table["construction"]
        elif "construction" in table:
            table["construction"] = slug_of(table["construction"])
        leave = (*layout.PICKUP_TABLES, "coil", "coils", "base_plate", "cover")
        self.given = read_table(table, layout.PICKUP_KEYS, self.path, self.faults, leave=leave)
        for needed in ("name", "position", "construction"):
            if needed not in self.table or is_unknown(self.table[needed]):
                self.faults.add(f"{self.path}.{needed}", f"is missing; every pickup needs a {needed}.")
        if "construction" in self.given:
            self.construction = self.given["construction"].value

    def _read_sub_table(self, name: str, keys: Keys, prefixes: tuple[str, ...]) -> None:
        inner, here = self.table.get(name), f"{self.path}.{name}"
        if inner is None:
            return
        if name == "keeper" and _is_no(inner):
            inner = {"keeper_x_min": "none", "keeper_x_max": "none"}
        if not isinstance(inner, Mapping):
            self.faults.add(here, f"is {printed(inner)}; it must be a table, [pickups.{name}].")
            return
        for attr, one in read_table(inner, keys, here, self.faults, prefixes=prefixes).items():
            self._take(attr, one)

    def _take(self, attr: str, one: Given) -> None:
        if attr in self.given:
            self.faults.add(one.path, f"says again what {self.given[attr].path} says; keep one of them.")
        else:
            self.given[attr] = one

    def _rods_from_slugs(self) -> None:
        """A rod-single may call its rods slugs: diameter and height mean the rod's."""
        if "poles.slug_diameter" in self.given:
            self._take("poles.rod_diameter", self.given.pop("poles.slug_diameter"))
        if "poles.slug_height" in self.given:
            one = self.given.pop("poles.slug_height")
            self._take("poles.rod_lengths", Given((one.value,), one.path))

    def _read_coils(self) -> list[Values]:
        """Return the given values of each coil; [pickups.coil] counts for every coil."""
        wanted = self.built.coils if self.construction else ("coil",)
        shared: Values = {}
        if isinstance(self.table.get("coil", {}), Mapping):
            shared = read_table(self.table.get("coil", {}), layout.COIL_KEYS, f"{self.path}.coil", self.faults)
        else:
            self.faults.add(f"{self.path}.coil", "is not a table; write [pickups.coil].")
        listed = self.table.get("coils", [])
        if not isinstance(listed, list) or not all(isinstance(one, Mapping) for one in listed):
            self.faults.add(f"{self.path}.coils", "is not a list of tables; write [[pickups.coils]].")
            listed = []
        if not listed:
            return [shared] * len(wanted)
        if self.construction and len(listed) != len(wanted):
            needed = f"a {self.built.words} has {len(wanted)} ({', then '.join(wanted)})"
            self.faults.add(f"{self.path}.coils", f"has {len(listed)} coils; {needed}.")
        paths = [f"{self.path}.coils[{place}]" for place in range(len(listed))]
        own = [read_table(one, layout.COIL_KEYS, here, self.faults) for one, here in zip(listed, paths)]
        return [{**shared, **one} for one in own]

    def _check_constants(self) -> bool:
        """Tell whether own constants are given; they must be complete, possible, and without a grade."""
        given = {name: self.given.get(f"constants.{name}") for name in NEEDED}
        if not any(attr.startswith("constants.") for attr in self.given):
            return False
        if "magnet.grade" in self.given:
            one = self.given.pop("magnet.grade")
            self.faults.add(one.path, "is given beside own constants (remanence_t ...); keep one of them.")
        table = self.table.get("magnet", {})
        typed = {name for name in NEEDED if any(key.startswith(name) for key in table)}
        missing = [NEEDED[name] for name in NEEDED if name not in typed]
        if missing:
            sentence = f"has own constants but not all of them; also needed: {', '.join(missing)}."
            self.faults.add(f"{self.path}.magnet", sentence)
        numbers = [one.value for one in given.values() if one is not None]
        if len(numbers) == len(NEEDED):
            self._check_possible(*numbers[:3])
        return True

    def _check_possible(self, remanence: float, coercivity: float, energy: float) -> None:
        """HcB cannot exceed Br/mu0, nor (BH)max lie outside Br HcB / 4 to Br HcB."""
        most = remanence / MU_0
        if coercivity > 1.02 * most:
            self.faults.add(
                self.given["constants.coercivity"].path,
                f"is {coercivity / 1e3:.4g} kA/m; HcB cannot exceed remanence / mu0, {most / 1e3:.4g} kA/m. "
                "Is that the intrinsic coercivity HcJ?",
            )
        elif STRAIGHT <= energy / (remanence * coercivity * OERSTED / 1e3) <= 1.0:
            shown = f"{coercivity / 1e3:.4g}"
            self.faults.add(
                self.given["constants.coercivity"].path,
                f"is {shown} kA/m, too much for this remanence and energy product. If that is oersted, write "
                f"coercivity_oe = {shown} ({coercivity * OERSTED / 1e6:.4g} kA/m).",
            )
        elif not STRAIGHT <= energy / (remanence * coercivity) <= 1.0:
            low, high = remanence * coercivity / 4e3, remanence * coercivity / 1e3
            self.faults.add(
                self.given["constants.energy_product"].path,
                f"is {energy / 1e3:.4g} kJ/m3; with this remanence and coercivity it lies between {low:.4g} "
                f"and {high:.4g} kJ/m3. If that is MGOe, write energy_product_mgoe.",
            )

    # ------------------------------------------------------------ built

    def _magnet(self, own: bool) -> Magnet:
        if "magnet.grade" in self.given:
            grade, finish = self.given["magnet.grade"]
            slug, finish = grade
            path = self.given["magnet.grade"].path
            self.given["magnet.grade"] = Given(slug, path)
            if finish is not None:
                said = self.given.setdefault("magnet.finish", Given(finish, path))
                if said.value != finish:
                    self.faults.add(said.path, f"says {said.value}, but the grade says {finish}.")
        lacks = self.built.lacks
        keys = tuple(key for key in layout.PICKUP_TABLES["magnet"][0] if not key.attr.startswith(lacks))
        values = self.filler.fill(keys, self.given, self.defaults, f"{self.path}.")
        more: dict[str, Any] = {}
        if own:
            complete = all(f"constants.{name}" in values for name in NEEDED)
            constants = make(MagnetConstants, values, "constants.") if complete else None
            more = {"grade": "own", "constants": constants}
        if self.built.magnet_is_the_pole:
            more |= {"magnetised_through": "length", "bar_to_pole_gap": 0.0}
        magnet: Magnet = make(Magnet, values, "magnet.", **more)
        return magnet

    def _poles(self) -> Poles:
        lacks = self.built.lacks
        law_given = {part: self._steel_law_given(part) for part in STEEL_PARTS}
        no_keeper = "poles.keeper_x_min" in self.given and self.given["poles.keeper_x_min"].value is None
        if no_keeper:
            self.given["poles.keeper_x_max"] = Given(None, self.given["poles.keeper_x_min"].path)

        def wanted(key: Parameter) -> bool:
            if key.attr.startswith(lacks):
                return False
            if no_keeper and key.attr.startswith("poles.keeper_") and key.attr not in self.given:
                return False
            part = key.attr.removeprefix("poles.").partition("_steel.")[0]
            return not (key.attr.endswith("_steel.name") and law_given[part] and key.attr not in self.given)

        keys = tuple(key for key in layout.POLE_KEYS if wanted(key))
        values = self.filler.fill(keys, self.given, self.defaults, f"{self.path}.")
        self._one_for_each_pole(values)
        steels = {}
        for part in STEEL_PARTS:
            prefix = f"poles.{part}_steel."
            unnamed = {"name": None} if law_given[part] and f"{prefix}name" not in self.given else {}
            steels[f"{part}_steel"] = make(Steel, values, prefix, **unnamed)
        poles: Poles = make(Poles, values, "poles.", **steels)
        return poles

    def _steel_law_given(self, part: str) -> bool:
        """Tell whether the magnetic law of one steel part is given; one law, and a whole one."""
        names = ("name", "permeability", "saturation", "langevin_a")
        given = {name: self.given.get(f"poles.{part}_steel.{name}") for name in names}
        said = {name: one for name, one in given.items() if one is not None}
        langevin = said.keys() & {"saturation", "langevin_a"}
        if len(said) - len(langevin) + bool(langevin) > 1:
            laws = "a named steel, or permeability, or saturation_t with langevin_a_a_per_m"
            self.faults.add(list(said.values())[-1].path, f"is one law too many; give {laws}.")
        elif len(langevin) == 1:
            path = said[langevin.pop()].path
            self.faults.add(path, "needs its partner; saturation_t and langevin_a_a_per_m belong together.")
        return bool(said)

    def _one_for_each_pole(self, values: dict[str, Any]) -> None:
        """Lists along the row: one number counts for every pole; otherwise one each."""
        count = values["poles.count"]
        for attr in ("poles.screw_raise", "poles.second_screw_raise", "poles.rod_lengths"):
            listed = values.get(attr, ((17.0e-3,) if attr == "poles.rod_lengths" else (0.0,)))
            if attr not in self.given or len(listed) == 1:
                listed = (listed[0],) * count
            if len(listed) != count:
                sentence = f"has {len(listed)} values; it needs one for each of the {count} poles, string 1 first."
                self.faults.add(self.given[attr].path, sentence)
            values[attr] = listed

    def _coils(self, given: list[Values]) -> tuple[Coil, ...]:
        one_by_one = bool(self.table.get("coils"))
        built = []
        for place, one in enumerate(given):
            path = f"{self.path}.coils[{place}]." if one_by_one else f"{self.path}.coil."
            built.append(make(Coil, self.filler.fill(layout.COIL_KEYS, one, self.defaults, path, prefix="coil.")))
        return tuple(built)

    def _gauged(self, given: list[Values], coils: tuple[Coil, ...], top: dict[str, Any]) -> tuple[Coil, ...]:
        """Give coils whose gauge is not said the one that fits; list what else would, and the turns that follow."""
        readings = {name: top[name] for name in ("wiring", "resistance", "coil_resistances", "temperature")
                    if name in top}  # fmt: skip
        winding = Winding(construction=self.construction, coils=coils, **readings)
        known = any("wire_awg" in one for one in given)
        if not known:
            for path in self._assumed_of_coils(GAUGE):
                self.filler.instead(gauge_assumption(path, winding))
            winding = with_gauge(winding, nominal_gauge(winding))
        if winding.resistance is not None or winding.coil_resistances or any(one.resistance for one in coils):
            for path in self._assumed_of_coils(TURNS):
                self.filler.instead(turns_assumption(path, winding, gauge_known=known))
        return winding.coils

    def _assumed_of_coils(self, key: str) -> list[str]:
        """Return the paths of one key that is assumed of the coils, or of each."""
        start = f"{self.path}.coil"
        return [one.path for one in self.filler.assumed if one.path.startswith(start) and one.path.endswith(f".{key}")]

    def _sheet(self, name: Literal["base_plate", "cover"]) -> Sheet | None:
        """Read a base plate or cover: a metal, "none", "unknown", or a table."""
        raw, here = self.table.get(name), f"{self.path}.{name}"
        if raw is None or is_unknown(raw):
            self.filler.assume(self.defaults[name], here)
            raw = self.defaults[name].value
        if _is_no(raw):
            return None
        raw = {"material": raw} if isinstance(raw, str) else raw
        if not isinstance(raw, Mapping):
            metals = ", ".join(SHEET_METALS)
            self.faults.add(here, f'is {printed(raw)}; it must be "none", a metal ({metals}) or a table.')
            return None
        given = read_table(raw, layout.SHEET_KEYS, here, self.faults)
        sizes = {attr: Default(one) for attr, one in self.built.sheet_sizes(name).items()}
        usual = defaults_of(layout.SHEET_KEYS) | sizes
        usual["length"] = replace(usual["length"], value=usual["length"].value + self.row_longer)  # type: ignore[operator]
        sheet: Sheet = make(Sheet, self.filler.fill(layout.SHEET_KEYS, given, usual, f"{here}."))
        for attr in ("permeability", "reversible_permeability"):
            if attr in given and sheet.material != "steel":
                sentence = (
                    f"is of a steel sheet, but this one is {sheet.material}; is it steel (a fridge magnet sticks)?"
                )
                self.faults.add(given[attr].path, sentence)
        return sheet


def _is_no(raw: object) -> bool:
    return raw is False or (isinstance(raw, str) and raw.strip().lower() in NO_WORDS)
