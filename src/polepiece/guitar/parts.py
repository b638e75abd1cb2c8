"""The parts of a pickup as frozen records: magnet, steel, poles, sheets. SI units; axes as in `records`.

Defaults are those of a humbucker, and of the rods of a rod-single; what another construction has is in `constructions`.
"""

from dataclasses import dataclass
from typing import Annotated, Literal, get_args

from polepiece.guitar.assumption import SPACING
from polepiece.guitar.checks import Checked
from polepiece.guitar.parameter import (
    GAUGE,
    NEEDED,
    ampere_per_metre,
    choice,
    flag,
    kiloampere_per_metre,
    kilojoule_per_m3,
    microohm_cm,
    mm,
    number,
    part,
    tesla,
)
from polepiece.materials import catalogue

Position = Literal["neck", "middle", "bridge"]
Charge = Literal["in-place", "outside", "unknown"] | float
SheetMetal = Literal["nickel-silver", "brass", "steel"]
SHEET_METALS: tuple[SheetMetal, ...] = get_args(SheetMetal)
CATALOGUE_GRADES = tuple(one.slug for one in catalogue.magnets())
STEELS = ("1006", "1010", "1018", "1020", "1117", "12L14", "416", "430")
LOW_CARBON_STEEL = "1010"
LOW_CARBON = f"low-carbon steel {LOW_CARBON_STEEL}"
NO_BENCH_TELLS = "cannot be told at a bench; a fit to a measured inductance curve"
AS_DRAWN = "0 mm each: the gaps were measured to the screws as they are"
PITCH_WORDS = "0.635 mm a turn, 40 threads an inch; an M3 moves 0.5 mm"

# fmt: off


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetConstants(Checked):
    """Own constants of a magnet, given in the file instead of a grade."""

    remanence: Annotated[float, tesla(NEEDED, 0.05, 1.6, "magnets lie", "own constants instead of a grade: remanence")]
    coercivity: Annotated[  # HcB, positive
        float, kiloampere_per_metre(NEEDED, 10, 1100, "magnets lie", "coercivity HcB (not the intrinsic one)")]
    energy_product: Annotated[float, kilojoule_per_m3(NEEDED, 1, 450, "magnets lie", "largest energy product")]
    recoil_permeability: Annotated[float, number(NEEDED, 1, 10, "magnets lie", "relative")]
    resistivity: float | None = microohm_cm(
        None, 1, 1e14, "magnets lie", 'absent or "none": does not conduct', none="none")
    law: Literal["hyperbola", "curve"] = choice("hyperbola", "law of the demagnetisation curve")


@dataclass(frozen=True, slots=True, kw_only=True)
class Magnet(Checked):
    """The bar (or the set of rods) of one pickup; ``grade`` is "own" where ``constants`` are given."""

    grade: str = choice(
        "unknown", 'the grade of the bar; `-rough-cast` may follow any alnico and means finish = "rough-cast"',
        kind="grade", choices=(*CATALOGUE_GRADES, "alnico-5-rough-cast", "unknown"), label="grade of the magnet",
        settle="ohmmeter on the bare bar: open = ferrite, near zero = alnico; which alnico cannot be told",
        words="not known: several grades are carried")
    charge: Charge = number(
        "unknown", 0, 1, "fractions lie",
        "magnetised after assembly, before it, not known, or what fraction of `outside` is left", kind="charge",
        label="way the magnet was charged", settle="gauss reading at the pole tops",
        words="not known: computed as charged outside, the interval spans both")
    finish: Literal["polished", "rough-cast"] = choice(
        "polished", "surface of the bar", label="surface of the magnet",
        settle="look at the bar: grey and pitted is rough cast")
    flipped: bool = flag(  # its field is of opposite sign
        False, "true: turned end for end; phase only. The winding's sense is `wound`", settle="compass at the poles",
        label="magnet turned end for end")
    pure_recoil: bool = flag(False, "verification only: recoil line without its cap", quiet=True)
    length: float = mm(  # along y; rods: ignored
        63.5, 20, 135, "bars lie", "along the row of poles", stem="bar_length", usual=(55, 65), spread=(57.0, 64.0))
    width: float = mm(  # along x
        12.7, 3, 30, "bars lie", "along the strings", stem="bar_width", usual=(5, 14), spread=(12.4, 12.8))
    thickness: float = mm(  # along z
        3.175, 1, 12, "bars lie", "up to the strings", stem="bar_thickness", usual=(3.0, 6.5), spread=(3.05, 3.45))
    outer_width: float = mm(
        6.0, 2, 15, "bars lie", "along the strings, of the bars outside the rows where there are three",
        stem="bar_outer_width", spread=(4.0, 6.5), settle=GAUGE)
    magnetised_through: Literal["width", "thickness", "length"] = choice(  # rods: length
        "width", "width: the long edges attract; thickness: the broad faces attract",
        settle="two bars: long edges attract, or broad faces?")
    bar_to_pole_gap: float = mm(
        0.1, 0, 1, "gaps lie", "air a side between bar and steel, beyond the drawn sizes", spread=(0.02, 0.2),
        settle="feeler strip between bar and slug")
    measured_gauss: tuple[float | None, ...] = number(
        (), 20, 2000, "pole tops read",
        'at the pole tops, string 1 first, sign kept; "unknown" where a pole was not read', kind="readings",
        dimension="gauss", stem="measured", written="_gauss")
    constants: MagnetConstants | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Steel(Checked):
    """Material of one steel part: a named steel, a linear permeability, or a Langevin law.

    In the file every key has the part before it: slug_permeability. None in the last two: from the material.
    """

    name: str | None = choice(
        "1010", "a named steel", stem="steel", choices=STEELS, settle=NO_BENCH_TELLS, words=LOW_CARBON)
    permeability: float | None = number(
        None, 1, 20000, "steels lie", "linear relative permeability, instead of a named steel")
    saturation: float | None = tesla(None, 0.2, 2.5, "steels lie", "mu0 Ms of a Langevin law, with langevin_a")
    langevin_a: float | None = ampere_per_metre(None, 1, 1e5, "steels lie", "a of M = Ms (coth(H/a) - a/H)")
    reversible_permeability: float | None = number(
        None, 1, 2000, "steels lie", "relative, for small alternating fields", none="unknown")
    resistivity: float | None = microohm_cm(
        None, 1, 200, "steels lie", "absent: that of the named steel", none="unknown")


@dataclass(frozen=True, slots=True, kw_only=True)
class Poles(Checked):
    """Pole parts of one pickup. Rows sit at x = -/+ row_offset (screws at -x before facing)."""

    count: int = number(
        6, 1, 12, "rows lie", "poles in a row", stem="pole_count", aliases=("count",), whole=True,
        settle="count them")
    pole_spacing: float = mm(
        10.0, 5, 20, "rows lie", "pole to pole (over the outer poles, divided by one less than there are)",
        usual=(9.5, 10.8), spread=(9.7, 10.5), settle=SPACING)
    row_offset: float = mm(
        9.0, 4, 20, "rows lie", "middle of the pickup to each row", spread=(8.8, 9.3),
        settle="caliper between the rows, halved")
    slug_diameter: float = mm(4.8, 1, 12, "slugs lie", "slug", usual=(4, 6), spread=(4.7, 4.9))
    slug_bottom: float = mm(0.0, -15, 15, "slugs lie", "lower end above the underside of the bar", spread=(-1.0, 0.5))
    slug_height: float = mm(
        12.5, 3, 35, "slugs lie", "top above the underside of the bar", aliases=("slug_top",), spread=(12.0, 13.5))
    slug_steel: Steel = part(Steel, "slug_")
    screw_diameter: float = mm(3.0, 1, 8, "screws lie", "thread", usual=(2.5, 4), spread=(2.9, 3.5))
    screw_bottom: float = mm(-6.0, -30, 15, "screws lie", "lower end", spread=(-9.0, -4.0))
    screw_top: float = mm(12.5, 3, 35, "screws lie", "underside of the head, as drawn", spread=(12.0, 13.5))
    head_diameter: float = mm(5.0, 1, 12, "heads lie", "screw head", spread=(4.8, 5.5))
    head_height: float = mm(1.5, 0, 6, "heads lie", "screw head", spread=(1.2, 2.0))
    screw_raise: tuple[float, ...] = mm(
        (0.0,) * 6, -5, 8, "screws lie",
        "how far each screw is up from where the gaps were measured, string 1 first; negative = down", kind="numbers",
        spread=(-0.5, 0.5), settle="the gap of each string at its screw", words=AS_DRAWN)
    second_screw_raise: tuple[float, ...] = mm(
        (0.0,) * 6, -5, 8, "screws lie",
        "the same of the second row of screws, where there are two",
        kind="numbers")
    screw_pitch: float = mm(
        0.635, 0.3, 1.5, "threads lie",
        "how far one turn moves a pole screw: 0.635 with 40 threads an inch, 0.5 of an M3", usual=(0.45, 0.85),
        spread=(0.5, 0.8), settle="count the turns over 5 mm of thread, or a thread gauge", words=PITCH_WORDS)
    screw_steel: Steel = part(Steel, "screw_")
    keeper_x_min: float | None = mm(
        -11.6, -30, 30, "keepers lie", "box the screws pass through: edge away from the bridge", none="none",
        label="keeper's edge away from the bridge",
        say_none=True, spread=(-11.8, -11.3))
    keeper_x_max: float | None = mm(
        -6.4, -30, 30, "keepers lie", "edge towards the bridge", none="none",
        label="keeper's edge towards the bridge", spread=(-6.6, -6.37))
    keeper_length: float = mm(62.0, 5, 135, "keepers lie", "along the row", spread=(58.0, 64.0))  # centred
    keeper_bottom: float = mm(0.0, -15, 15, "keepers lie", "lower face", spread=(-0.3, 0.1))
    keeper_top: float = mm(3.175, -15, 20, "keepers lie", "upper face", spread=(3.0, 3.4))
    keeper_steel: Steel = part(Steel, "keeper_")
    blade_thickness: float = mm(
        3.0, 0.5, 8, "blades lie", "blade, along the strings", usual=(1.5, 5), spread=(2.8, 3.3))
    blade_length: float = mm(62.0, 10, 135, "blades lie", "along the row", spread=(58.0, 64.0))  # centred
    blade_bottom: float = mm(
        0.0, -15, 15, "blades lie", "lower edge above the underside of the bar", spread=(-0.5, 0.5))
    blade_top: float = mm(12.5, 3, 35, "blades lie", "upper edge", spread=(12.0, 13.5))
    blade_steel: Steel = part(Steel, "blade_")
    plate_thickness: float = mm(
        1.2, 0.3, 5, "plates lie", "steel plate under the rods", spread=(0.9, 1.6))
    plate_width: float = mm(22.0, 6, 80, "plates lie", "along the strings", spread=(18.0, 36.0))
    plate_length: float = mm(72.0, 20, 150, "plates lie", "along the row", spread=(66.0, 80.0))  # centred
    plate_gap: float = mm(
        0.1, 0, 3, "gaps lie", "air between the plate and the lower ends of the rods", spread=(0.02, 0.3),
        settle="feeler strip between plate and rods")
    plate_steel: Steel = part(Steel, "plate_")
    rod_diameter: float = mm(4.8, 1, 12, "rods lie", "rod magnet", usual=(4, 6), spread=(4.7, 5.0))
    rod_lengths: tuple[float, ...] = mm(  # from z = 0 up
        (17.0,) * 6, 3, 35, "rods lie", "one number, or one for each rod, string 1 first", kind="numbers",
        stem="rod_length", aliases=("rod_lengths",), spread=(16.0, 18.5), words="17 mm each, not staggered")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet(Checked):
    """A thin conducting sheet: base plate or cover; one of steel is a body of the magnetic circuit as well.

    ``length``, ``width`` and ``skirt`` are outer sizes; currents flow in the middle planes of top and walls.
    """

    material: SheetMetal = choice(
        "nickel-silver", "metal of the sheet; a fridge magnet sticks to steel alone",
        settle="look; brass is yellow under the plating, a fridge magnet sticks to steel")
    thickness: float = mm(0.5, 0.1, 3, "sheets lie", "of the sheet", settle=GAUGE)
    length: float = mm(69.0, 20, 160, "sheets lie", "along the row, outer size", settle=GAUGE)
    width: float = mm(38.0, 5, 80, "sheets lie", "along the strings, outer size", settle=GAUGE)
    z: float = mm(-1.5, -30, 40, "sheets lie", "middle plane of the sheet (cover: of its top)", settle=GAUGE)
    skirt: float = mm(0.0, 0, 30, "covers lie", "cover: from its upper face to the edge of its side walls")  # 0: flat
    resistivity: float | None = microohm_cm(
        None, 1.5, 200, "sheets lie", "of the sheet's metal, where it is known; else the material's", none="unknown")
    permeability: float | None = number(
        None, 1, 20000, "steels lie", "of a steel sheet: linear relative permeability, instead of carbon steel 1010",
        none="unknown")
    reversible_permeability: float | None = number(
        None, 1, 2000, "steels lie", "of a steel sheet: relative, for small alternating fields", none="unknown")
    hole: float | None = mm(
        None, 1, 12, "holes lie",
        "diameter of the holes that screws or other poles go through; else the pole's and 0.6 mm", none="unknown")

    @property
    def steel(self) -> Steel | None:
        """The steel it is made of; None where it is of another metal."""
        if self.material != "steel":
            return None
        return Steel(
            name=LOW_CARBON_STEEL if self.permeability is None else None, permeability=self.permeability,
            reversible_permeability=self.reversible_permeability, resistivity=self.resistivity,
        )  # fmt: skip
