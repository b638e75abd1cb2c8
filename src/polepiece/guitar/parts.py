"""The parts of a pickup as frozen records: magnet, steel, poles, sheets. SI units; axes as in `records`."""

from dataclasses import dataclass
from typing import Literal

Position = Literal["neck", "middle", "bridge"]
Law = Literal["hyperbola", "curve"]
Charge = Literal["in-place", "outside", "unknown"] | float


@dataclass(frozen=True, slots=True, kw_only=True)
class MagnetConstants:
    """Own constants of a magnet, given in the file instead of a grade."""

    remanence: float  # T
    coercivity: float  # A/m, HcB, positive
    energy_product: float  # J/m3
    recoil_permeability: float  # relative
    resistivity: float | None = None  # ohm m; None does not conduct
    law: Law = "hyperbola"


@dataclass(frozen=True, slots=True, kw_only=True)
class Magnet:
    """The bar (or the set of rods) of one pickup."""

    grade: str = "unknown"  # a slug of the catalogue, "unknown", or "own" when ``constants`` is given
    constants: MagnetConstants | None = None
    charge: Charge = "unknown"
    pure_recoil: bool = False  # verification only: the recoil line is not capped by the major curve
    finish: Literal["polished", "rough-cast"] = "polished"
    flipped: bool = False  # turned end for end: field of opposite sign, phase only
    length: float = 63.5e-3  # along y, m (rods: ignored)
    width: float = 12.7e-3  # along x
    thickness: float = 3.175e-3  # along z
    magnetised_through: Literal["width", "thickness", "length"] = "width"  # rods: length
    bar_to_pole_gap: float = 0.0  # extra distance a side beyond the drawn geometry, m
    measured_gauss: tuple[float | None, ...] = ()  # at the pole tops, string 1 first, sign kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Steel:
    """Material of one steel part: a named steel, a linear permeability, or a Langevin law."""

    name: str | None = "1010"
    permeability: float | None = None  # relative, linear
    saturation: float | None = None  # T, mu0 Ms
    langevin_a: float | None = None  # A/m
    reversible_permeability: float | None = None  # relative, small fields; None = from the material
    resistivity: float | None = None  # ohm m; None = from the material


@dataclass(frozen=True, slots=True, kw_only=True)
class Poles:
    """Pole parts of one pickup; lengths in m. Rows sit at x = -/+ row_offset (screws at -x before facing)."""

    count: int = 6
    pole_spacing: float = 10.0e-3
    row_offset: float = 9.0e-3
    slug_diameter: float = 4.8e-3
    slug_bottom: float = 0.0
    slug_height: float = 12.5e-3  # top of the slug above z = 0 (slug_bottom is its lower end)
    slug_steel: Steel = Steel()
    screw_diameter: float = 3.0e-3
    screw_bottom: float = -6.0e-3
    screw_top: float = 12.5e-3  # underside of the head
    head_diameter: float = 5.0e-3
    head_height: float = 1.5e-3
    screw_steel: Steel = Steel()
    screw_raise: tuple[float, ...] = (0.0,) * 6  # m up from the drawn height, string 1 first
    screw_pitch: float = 0.635e-3  # m a turn of a screw; 40 threads an inch (common practice, no source)
    keeper_x_min: float | None = -11.6e-3  # None: no keeper
    keeper_x_max: float | None = -6.4e-3
    keeper_length: float = 62.0e-3  # along y, centred
    keeper_bottom: float = 0.0
    keeper_top: float = 3.175e-3
    keeper_steel: Steel = Steel()
    rod_diameter: float = 4.8e-3  # rod-single
    rod_lengths: tuple[float, ...] = (17.0e-3,) * 6  # rod-single, string 1 first, from z = 0 up


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A thin conducting sheet: base plate or cover. Non-magnetic; a steel one is refused plainly.

    ``length``, ``width`` and ``skirt`` are outer sizes; currents flow in the middle planes of top and walls.
    """

    material: Literal["nickel-silver", "brass"] = "nickel-silver"
    thickness: float = 0.5e-3
    length: float = 69.0e-3  # along y
    width: float = 38.0e-3  # along x
    z: float = -1.5e-3  # base plate: its middle plane; cover: the middle plane of its top
    skirt: float = 0.0  # cover: from the upper face of its top to the lower edge of its walls, m; 0 for a flat plate
    resistivity: float | None = None  # ohm m; None = the material's
    hole: float | None = None  # diameter of the holes that poles go through, m; None = the pole's and a clearance
