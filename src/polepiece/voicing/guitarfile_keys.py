"""Every key of a guitar file in one table: where it goes, its unit, its range, what it means.

Reading, writing, the JSON schema and the reference page are all made from this table. Ranges are input
checks from the bench (common practice, no source), never constants of the physics.
"""

from dataclasses import dataclass
from decimal import Decimal

from polepiece.voicing.guitarfile_units import UNITS, Unit, unit_with_suffix

CATALOGUE_GRADES = (
    "alnico-2",
    "alnico-3",
    "alnico-4",
    "alnico-5",
    "alnico-5-7",
    "alnico-6",
    "alnico-8",
    "alnico-9",
    "alnico-5-unoriented",
    "ceramic-5",
    "ceramic-8",
)
STEELS = ("1006", "1010", "1018", "1020", "1117", "12L14", "416", "430")
SHEET_METALS = ("nickel-silver", "brass")


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key: ``stem`` plus the suffix of any unit of ``dimension``."""

    stem: str
    attr: str  # attribute of the record, dotted inside a pickup ("poles.slug_diameter")
    kind: str = "number"  # number numbers readings word text texts flag grade charge
    dimension: str = "number"
    written: str = ""  # suffix that is written and in which low and high are given
    low: float | None = None
    high: float | None = None
    usual: tuple[float, float] | None = None  # asked about outside, not refused
    choices: tuple[str, ...] = ()
    none_word: str = ""  # the word for "there is none" or "not known", if the value may be missing
    noun: str = ""  # plural subject of the range sentence: "magnets lie between"
    extra_units: tuple[tuple[str, str], ...] = ()  # (word, factor to SI) of slips that are no key of ours
    aliases: tuple[str, ...] = ()
    whole: bool = False
    meaning: str = ""

    @property
    def name(self) -> str:
        """The key as it is written."""
        return self.stem + self.written

    @property
    def unit(self) -> Unit:
        """The unit in which the key is written."""
        return unit_with_suffix(self.dimension, self.written)

    def names(self) -> dict[str, Unit]:
        """Every accepted spelling of the key and its unit."""
        return {
            stem + unit.suffix: unit for stem in (self.stem, *self.aliases) for unit in UNITS[self.dimension]
        }

    def limits(self, unit: Unit) -> tuple[float, float]:
        """The allowed range in another unit of the same dimension."""
        scale = self.unit.factor / unit.factor
        low = float("-inf") if self.low is None else float(Decimal(str(self.low)) * scale)
        high = float("inf") if self.high is None else float(Decimal(str(self.high)) * scale)
        return low, high


def _length(stem: str, attr: str, low: float, high: float, meaning: str, **more: object) -> Key:
    fields: dict[str, object] = {"noun": "it must lie", **more}
    return Key(stem=stem, attr=attr, dimension="length", low=low, high=high, meaning=meaning, **fields)  # type: ignore[arg-type]


GUITAR_KEYS: tuple[Key, ...] = (
    Key(stem="name", attr="name", kind="text", meaning="what you call the guitar"),
    Key(stem="invented", attr="invented", kind="flag", meaning="true for demonstration files"),
    Key(stem="note", attr="note", kind="text", meaning="anything worth keeping"),
    _length(
        "scale_length",
        "scale_length",
        500,
        900,
        "nut to saddle",
        written="_mm",
        usual=(600, 700),
        noun="scales lie",
        aliases=("scale",),
    ),
    Key(
        stem="string_set",
        attr="string_set",
        kind="text",
        meaning="9-42, 10-46, 11-49, 12-54, or a name of your own with [[strings]]",
    ),
    Key(stem="string_age", attr="string_age", kind="text", meaning="how old the strings are, in words"),
    Key(
        stem="tuning",
        attr="tuning",
        kind="texts",
        meaning="open notes, string 1 (the thin one) first: E4 B3 G3 D3 A2 E2",
    ),
    Key(
        stem="symptoms",
        attr="symptoms",
        kind="texts",
        meaning="faults in words, e.g. suddenly thin and humming",
    ),
)

PICKUP_KEYS: tuple[Key, ...] = (
    Key(stem="name", attr="name", kind="text", meaning="what you call the pickup; no two alike"),
    Key(
        stem="position",
        attr="position",
        kind="word",
        choices=("neck", "middle", "bridge"),
        meaning="where it sits",
    ),
    Key(
        stem="construction",
        attr="construction",
        kind="word",
        choices=("humbucker", "rod-single", "bar-single", "two-bar-single"),
        meaning="how it is built",
    ),
    Key(
        stem="screws_face",
        attr="screws_face",
        kind="word",
        choices=("neck", "bridge"),
        meaning="where the screw row looks",
    ),
    Key(
        stem="wiring",
        attr="wiring",
        kind="word",
        choices=("series", "parallel", "split-screws", "split-slugs", "out-of-phase"),
        meaning="split-screws: the screw coil stays on; split-slugs: the slug coil stays on",
    ),
    Key(
        stem="lead",
        attr="lead",
        kind="word",
        choices=("two-conductor", "four-conductor", "unknown"),
        meaning="lead out",
    ),
    _length(
        "distance_from_bridge",
        "distance_from_bridge",
        15,
        250,
        "middle of the pickup to the saddle",
        written="_mm",
    ),
    _length(
        "gap_bass",
        "gap_bass",
        0.3,
        8,
        "string pressed at the last fret: its underside to the pole top, thickest string",
        written="_mm",
        usual=(1.5, 6),
        noun="gaps lie",
    ),
    _length(
        "gap_treble",
        "gap_treble",
        0.3,
        8,
        "the same at string 1, the thin one",
        written="_mm",
        usual=(1.5, 6),
        noun="gaps lie",
    ),
    Key(
        stem="resistance",
        attr="resistance",
        dimension="resistance",
        written="_kohm",
        low=1,
        high=30,
        usual=(3, 20),
        none_word="unknown",
        noun="pickups lie",
        aliases=("dc_resistance",),
        meaning="ohmmeter across the whole pickup, off the pots",
    ),
    Key(
        stem="coil_resistances",
        attr="coil_resistances",
        kind="numbers",
        dimension="resistance",
        written="_kohm",
        low=0,
        high=30,
        noun="coils lie",
        meaning="coil by coil: slug coil, screw coil",
    ),
    Key(
        stem="coil_to_plate_open",
        attr="coil_to_plate_open",
        kind="flag",
        none_word="unknown",
        meaning="true: the meter reads open from coil to base plate, as it should",
    ),
    Key(
        stem="inductance",
        attr="inductance",
        dimension="inductance",
        written="_h",
        low=0.5,
        high=20,
        none_word="unknown",
        noun="pickups lie",
        meaning="measured at 120 Hz with nothing connected",
    ),
    Key(
        stem="capacitance",
        attr="capacitance",
        dimension="capacitance",
        written="_pf",
        low=5,
        high=1000,
        none_word="unknown",
        noun="windings lie",
        aliases=("winding_capacitance",),
        meaning="of the winding, measured",
    ),
    Key(
        stem="temperature",
        attr="temperature",
        dimension="temperature",
        written="_c",
        low=-10,
        high=50,
        noun="rooms lie",
        meaning="when the resistance was read; copper moves 0.4 % a degree",
    ),
    Key(stem="potted", attr="potted", kind="flag", none_word="unknown", meaning="wax-potted"),
)

MAGNET_KEYS: tuple[Key, ...] = (
    Key(
        stem="grade",
        attr="magnet.grade",
        kind="grade",
        choices=(*CATALOGUE_GRADES, "alnico-5-rough-cast", "unknown"),
        meaning='the grade of the bar; `-rough-cast` may follow any alnico and means finish = "rough-cast"',
    ),
    Key(
        stem="charge",
        attr="magnet.charge",
        kind="charge",
        low=0,
        high=1,
        choices=("in-place", "outside", "unknown"),
        noun="fractions lie",
        meaning="magnetised after assembly, before it, not known, or what fraction of `outside` is left",
    ),
    Key(
        stem="finish",
        attr="magnet.finish",
        kind="word",
        choices=("polished", "rough-cast"),
        meaning="surface of the bar",
    ),
    Key(stem="flipped", attr="magnet.flipped", kind="flag", meaning="true: turned end for end; phase only"),
    Key(
        stem="pure_recoil",
        attr="magnet.pure_recoil",
        kind="flag",
        meaning="verification only: recoil line without its cap",
    ),
    _length("bar_length", "magnet.length", 20, 90, "along the row of poles", usual=(55, 65), noun="bars lie"),
    _length("bar_width", "magnet.width", 3, 30, "along the strings", usual=(8, 14), noun="bars lie"),
    _length(
        "bar_thickness", "magnet.thickness", 1, 12, "up to the strings", usual=(3.0, 4.2), noun="bars lie"
    ),
    Key(
        stem="magnetised_through",
        attr="magnet.magnetised_through",
        kind="word",
        choices=("width", "thickness", "length"),
        meaning="width: the long edges attract; thickness: the broad faces attract",
    ),
    _length(
        "bar_to_pole_gap",
        "magnet.bar_to_pole_gap",
        0,
        1,
        "air a side between bar and steel, beyond the drawn sizes",
        noun="gaps lie",
    ),
    Key(
        stem="measured",
        attr="magnet.measured_gauss",
        kind="readings",
        dimension="gauss",
        written="_gauss",
        low=20,
        high=2000,
        noun="pole tops read",
        meaning='at the pole tops, string 1 first, sign kept; "unknown" where a pole was not read',
    ),
)

CONSTANT_KEYS: tuple[Key, ...] = (
    Key(
        stem="remanence",
        attr="constants.remanence",
        dimension="flux_density",
        written="_t",
        low=0.05,
        high=1.6,
        noun="magnets lie",
        meaning="own constants instead of a grade: remanence",
    ),
    Key(
        stem="coercivity",
        attr="constants.coercivity",
        dimension="field_strength",
        written="_ka_per_m",
        low=10,
        high=400,
        noun="magnets lie",
        meaning="coercivity HcB (not the intrinsic one)",
    ),
    Key(
        stem="energy_product",
        attr="constants.energy_product",
        dimension="energy",
        written="_kj_per_m3",
        low=1,
        high=120,
        noun="magnets lie",
        meaning="largest energy product",
    ),
    Key(
        stem="recoil_permeability",
        attr="constants.recoil_permeability",
        low=1,
        high=10,
        noun="magnets lie",
        meaning="relative",
    ),
    Key(
        stem="resistivity",
        attr="constants.resistivity",
        dimension="resistivity",
        written="_microohm_cm",
        low=1,
        high=1e14,
        none_word="none",
        noun="magnets lie",
        meaning='absent or "none": does not conduct',
    ),
    Key(
        stem="law",
        attr="constants.law",
        kind="word",
        choices=("hyperbola", "curve"),
        meaning="law of the demagnetisation curve",
    ),
)


def _steel(part: str) -> tuple[Key, ...]:
    """Keys of one steel part; inside its own table the prefix is left out."""
    owner = f"poles.{part}_steel"
    return (
        Key(stem=f"{part}_steel", attr=f"{owner}.name", kind="word", choices=STEELS, meaning="a named steel"),
        Key(
            stem=f"{part}_permeability",
            attr=f"{owner}.permeability",
            low=1,
            high=20000,
            noun="steels lie",
            meaning="linear relative permeability, instead of a named steel",
        ),
        Key(
            stem=f"{part}_saturation",
            attr=f"{owner}.saturation",
            dimension="flux_density",
            written="_t",
            low=0.2,
            high=2.5,
            noun="steels lie",
            meaning="mu0 Ms of a Langevin law, with langevin_a",
        ),
        Key(
            stem=f"{part}_langevin_a",
            attr=f"{owner}.langevin_a",
            dimension="field_strength",
            written="_a_per_m",
            low=1,
            high=1e5,
            noun="steels lie",
            meaning="a of M = Ms (coth(H/a) - a/H)",
        ),
        Key(
            stem=f"{part}_reversible_permeability",
            attr=f"{owner}.reversible_permeability",
            low=1,
            high=2000,
            none_word="unknown",
            noun="steels lie",
            meaning="relative, for small alternating fields",
        ),
        Key(
            stem=f"{part}_resistivity",
            attr=f"{owner}.resistivity",
            dimension="resistivity",
            written="_microohm_cm",
            low=1,
            high=200,
            none_word="unknown",
            noun="steels lie",
            meaning="absent: that of the named steel",
        ),
    )


POLE_KEYS: tuple[Key, ...] = (
    Key(
        stem="pole_count",
        attr="poles.count",
        low=1,
        high=12,
        whole=True,
        noun="rows lie",
        aliases=("count",),
        meaning="poles in a row",
    ),
    _length(
        "pole_spacing",
        "poles.pole_spacing",
        5,
        20,
        "pole to pole (spread over six poles divided by five)",
        usual=(9.5, 10.8),
        noun="rows lie",
    ),
    _length("row_offset", "poles.row_offset", 4, 20, "middle of the pickup to each row", noun="rows lie"),
    _length("slug_diameter", "poles.slug_diameter", 1, 12, "slug", usual=(4, 6), noun="slugs lie"),
    _length(
        "slug_bottom",
        "poles.slug_bottom",
        -15,
        15,
        "lower end above the underside of the bar",
        noun="slugs lie",
    ),
    _length(
        "slug_height",
        "poles.slug_height",
        3,
        35,
        "top above the underside of the bar",
        noun="slugs lie",
        aliases=("slug_top",),
    ),
    *_steel("slug"),
    _length("screw_diameter", "poles.screw_diameter", 1, 8, "thread", usual=(2.5, 4), noun="screws lie"),
    _length("screw_bottom", "poles.screw_bottom", -30, 15, "lower end", noun="screws lie"),
    _length("screw_top", "poles.screw_top", 3, 35, "underside of the head, as drawn", noun="screws lie"),
    _length("head_diameter", "poles.head_diameter", 1, 12, "screw head", noun="heads lie"),
    _length("head_height", "poles.head_height", 0, 6, "screw head", noun="heads lie"),
    Key(
        stem="screw_raise",
        attr="poles.screw_raise",
        kind="numbers",
        dimension="length",
        low=-5,
        high=8,
        noun="screws lie",
        meaning="how far each screw is up from where the gaps were measured, string 1 first; negative = down",
    ),
    *_steel("screw"),
    _length(
        "keeper_x_min",
        "poles.keeper_x_min",
        -30,
        30,
        "box the screws pass through: edge away from the bridge",
        noun="keepers lie",
        none_word="none",
    ),
    _length(
        "keeper_x_max",
        "poles.keeper_x_max",
        -30,
        30,
        "edge towards the bridge",
        noun="keepers lie",
        none_word="none",
    ),
    _length("keeper_length", "poles.keeper_length", 5, 90, "along the row", noun="keepers lie"),
    _length("keeper_bottom", "poles.keeper_bottom", -15, 15, "lower face", noun="keepers lie"),
    _length("keeper_top", "poles.keeper_top", -15, 20, "upper face", noun="keepers lie"),
    *_steel("keeper"),
    _length("rod_diameter", "poles.rod_diameter", 1, 12, "rod magnet", usual=(4, 6), noun="rods lie"),
    Key(
        stem="rod_length",
        attr="poles.rod_lengths",
        kind="numbers",
        dimension="length",
        low=3,
        high=35,
        noun="rods lie",
        aliases=("rod_lengths",),
        meaning="one number, or one for each rod, string 1 first",
    ),
)

COIL_KEYS: tuple[Key, ...] = (
    _length("inner_half_x", "inner_half_x", 0.5, 30, "hole, half, along the strings", noun="coils lie"),
    _length("inner_half_y", "inner_half_y", 2, 60, "hole, half, along the row", noun="coils lie"),
    _length("outer_half_x", "outer_half_x", 1, 40, "winding, half, along the strings", noun="coils lie"),
    _length("outer_half_y", "outer_half_y", 3, 70, "winding, half, along the row", noun="coils lie"),
    _length("bottom", "bottom", -15, 30, "lower face of the winding", noun="coils lie"),
    _length("top", "top", -10, 40, "upper face of the winding", noun="coils lie"),
    Key(stem="turns", attr="turns", low=100, high=20000, noun="coils lie", meaning="turns of this coil"),
    Key(
        stem="wire_awg",
        attr="wire_awg",
        low=38,
        high=46,
        whole=True,
        noun="coil wires lie",
        aliases=("awg",),
        meaning="wire gauge",
    ),
    Key(
        stem="wire_build",
        attr="wire_build",
        kind="word",
        choices=("single", "heavy"),
        meaning="insulation build",
    ),
    Key(
        stem="resistance",
        attr="resistance",
        dimension="resistance",
        written="_kohm",
        low=0.5,
        high=30,
        none_word="unknown",
        noun="coils lie",
        meaning="ohmmeter on this coil alone, at 20 degC",
    ),
)

SHEET_KEYS: tuple[Key, ...] = (
    Key(
        stem="material",
        attr="material",
        kind="word",
        choices=SHEET_METALS,
        meaning="non-magnetic sheet; try a fridge magnet",
    ),
    _length("thickness", "thickness", 0.1, 3, "of the sheet", noun="sheets lie"),
    _length("length", "length", 20, 120, "along the row", noun="sheets lie"),
    _length("width", "width", 5, 80, "along the strings", noun="sheets lie"),
    _length("z", "z", -30, 40, "middle plane of the sheet (cover: of its top)", noun="sheets lie"),
    _length("skirt", "skirt", 0, 30, "cover: height of its side walls", noun="covers lie"),
)

STRING_KEYS: tuple[Key, ...] = (
    _length("diameter", "diameter", 0.15, 2.1, "outer", usual=(0.17, 2.05), noun="strings lie"),
    _length(
        "core_diameter", "core_diameter", 0.1, 1.5, "core; left out for a plain string", noun="cores lie"
    ),
    Key(
        stem="unit_mass",
        attr="unit_mass",
        dimension="mass_per_length",
        written="_g_per_m",
        low=0.1,
        high=30,
        none_word="unknown",
        noun="strings lie",
        meaning="mass a metre",
    ),
    Key(
        stem="pitch",
        attr="pitch",
        dimension="frequency",
        written="_hz",
        low=20,
        high=1200,
        none_word="unknown",
        noun="strings lie",
        meaning="open string",
    ),
    Key(
        stem="permeability",
        attr="permeability",
        low=1,
        high=5000,
        none_word="none",
        noun="strings lie",
        meaning="linear law",
    ),
    Key(
        stem="saturation",
        attr="saturation",
        dimension="flux_density",
        written="_t",
        low=0,
        high=2.5,
        noun="strings lie",
        meaning="of the saturating law",
    ),
    Key(
        stem="initial_permeability",
        attr="initial_permeability",
        low=1,
        high=5000,
        noun="strings lie",
        meaning="of the saturating law",
    ),
    _length(
        "y",
        "y",
        -60,
        60,
        "across the strings; left out = over its pole",
        none_word="unknown",
        noun="strings lie",
    ),
    _length(
        "height",
        "height",
        -20,
        60,
        "axis above the pickup's z = 0; left out = from the gaps",
        none_word="unknown",
        noun="strings lie",
    ),
    _length("length", "length", 5, 300, "magnetised length that is modelled", noun="it lies"),
    Key(
        stem="wrap",
        attr="wrap",
        kind="word",
        choices=("none", "nickel-plated-steel", "pure-nickel", "stainless", "bronze"),
        meaning="wrap wire",
    ),
)

CONTROL_KEYS: tuple[Key, ...] = (
    Key(
        stem="volume_pot",
        attr="volume_pot",
        dimension="resistance",
        written="_kohm",
        low=50,
        high=2000,
        noun="pots lie",
        meaning="as marked",
    ),
    Key(
        stem="volume_pot_measured",
        attr="volume_pot_measured",
        dimension="resistance",
        written="_kohm",
        low=50,
        high=2000,
        none_word="unknown",
        noun="pots lie",
        meaning="across the outer lugs, one end free",
    ),
    Key(
        stem="volume_setting",
        attr="volume_setting",
        low=0,
        high=10,
        noun="knobs lie",
        aliases=("volume",),
        meaning="as printed on the knob",
    ),
    Key(
        stem="tone_pot",
        attr="tone_pot",
        dimension="resistance",
        written="_kohm",
        low=50,
        high=2000,
        none_word="none",
        noun="pots lie",
        meaning='as marked; "none": no tone control',
    ),
    Key(
        stem="tone_pot_measured",
        attr="tone_pot_measured",
        dimension="resistance",
        written="_kohm",
        low=50,
        high=2000,
        none_word="unknown",
        noun="pots lie",
        meaning="across the outer lugs",
    ),
    Key(
        stem="tone_setting",
        attr="tone_setting",
        low=0,
        high=10,
        noun="knobs lie",
        aliases=("tone",),
        meaning="as printed on the knob",
    ),
    Key(
        stem="tone_cap",
        attr="tone_cap",
        dimension="capacitance",
        written="_nf",
        low=0.5,
        high=220,
        usual=(2, 110),
        noun="tone capacitors lie",
        meaning="tone capacitor",
    ),
    Key(
        stem="tone_tap",
        attr="tone_tap",
        kind="word",
        choices=("before", "after"),
        meaning="tone control before or after the volume control",
    ),
    Key(
        stem="bleed_cap",
        attr="bleed_cap",
        dimension="capacitance",
        written="_pf",
        low=50,
        high=5000,
        none_word="none",
        noun="treble bleeds lie",
        aliases=("bleed",),
        meaning="treble bleed across the volume control",
    ),
    Key(
        stem="bleed_resistor",
        attr="bleed_resistor",
        dimension="resistance",
        written="_kohm",
        low=10,
        high=2000,
        none_word="none",
        noun="treble bleeds lie",
        meaning="with the bleed capacitor",
    ),
    Key(
        stem="bleed_wiring",
        attr="bleed_wiring",
        kind="word",
        choices=("series", "parallel"),
        meaning="bleed resistor to bleed capacitor",
    ),
    Key(
        stem="shunt_resistor",
        attr="shunt_resistor",
        dimension="resistance",
        written="_kohm",
        low=10,
        high=5000,
        none_word="none",
        noun="they lie",
        aliases=("shunt",),
        meaning="resistor clipped across the pickup",
    ),
    Key(
        stem="cable",
        attr="cable_capacitance",
        dimension="capacitance",
        written="_pf",
        low=50,
        high=3000,
        usual=(150, 1500),
        noun="cables lie",
        meaning="whole cable up to the first pedal or amplifier",
    ),
    Key(
        stem="cable",
        attr="_cable_length",
        dimension="distance",
        written="_m",
        low=0.3,
        high=30,
        noun="cables lie",
        meaning="with cable_pf_per_m instead of cable_pf",
    ),
    Key(
        stem="cable",
        attr="_cable_per_metre",
        dimension="capacitance_per_length",
        written="_pf_per_m",
        low=20,
        high=300,
        noun="cables lie",
        meaning="with cable_m",
    ),
    Key(
        stem="input",
        attr="input_resistance",
        dimension="resistance",
        written="_kohm",
        low=10,
        high=20000,
        noun="inputs lie",
        aliases=("input_resistance",),
        meaning="amplifier or first pedal",
    ),
    Key(
        stem="input",
        attr="input_capacitance",
        dimension="capacitance",
        written="_pf",
        low=0,
        high=2000,
        noun="inputs lie",
        aliases=("input_capacitance",),
        meaning="amplifier or first pedal",
    ),
    Key(
        stem="selector",
        attr="selector",
        kind="word",
        choices=("neck", "bridge", "both", "middle", "neck+middle", "middle+bridge", "all"),
        meaning="which pickup is on",
    ),
)

COMPLAINT_KEYS: tuple[Key, ...] = (
    Key(
        stem="word",
        attr="word",
        kind="text",
        meaning="what is wrong, in trade words: muddy, piercing, weak ...",
    ),
    Key(stem="pickup", attr="pickup", kind="text", meaning="on which pickup; left out = the guitar"),
    Key(
        stem="strength",
        attr="strength",
        low=1,
        high=3,
        whole=True,
        noun="strengths lie",
        meaning="1 slight, 2 clear, 3 strong",
    ),
)

ASSUMED_KEYS: tuple[Key, ...] = (
    Key(stem="path", attr="path", kind="text", meaning="key that was assumed"),
    Key(stem="value", attr="value", kind="text", meaning="what was assumed, with its unit"),
    Key(stem="low", attr="low", noun="it lies", none_word="none", meaning="lower end of the 90 % spread"),
    Key(stem="high", attr="high", noun="it lies", none_word="none", meaning="upper end"),
    Key(stem="basis", attr="basis", kind="text", meaning="why"),
    Key(stem="settle", attr="settle", kind="text", meaning="the cheapest measurement that settles it"),
)

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
    "blade": "blades are one long pole, and neither the network nor the string balance of this version is made for them",
    "two-adjustable-rows": "two rows of screws need a keeper on both sides, which is not modelled yet",
    "small-humbucker": "its bar, keeper and coils are laid out differently, and no geometry of it has been verified",
    "twin-blade": "twin blades in a single-coil size are one long pole each, and are not modelled yet",
    "three-ferrite-bars": "three ferrite bars share one circuit that has not been verified",
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
    return names + [
        name.removeprefix(prefix) for prefix in prefixes for name in names if name.startswith(prefix)
    ]
