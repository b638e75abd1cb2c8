"""One instrument as a frozen record, SI units throughout.

Axes and signs (the same in every rung): x runs along the strings, +x towards the bridge; y runs across
them, string 1 (the thin one) at +y; z points from the body to the player. A pickup's origin is the middle
of the underside of its bar magnet (or of its rod magnets). A magnet is positive when its field leaves the
face named by its easy axis (+x for a bar magnetised through its width, +z for rods).

A *gap* is the distance from the underside of a string, pressed at the last fret, to the top of the pole
under it as drawn (humbucker: the screw head). Raising a pickup makes gaps smaller; a raised screw
(``Poles.screw_raise``) comes nearer to its own string by as much, see ``gaps.py``.

A two-bar-single has two bars of the size of ``Magnet``, one on each side of the keeper in the middle, like
poles to the screws; a bar-single has its poles (the slug fields) standing on one bar.

``None`` in a field means "not known and not needed"; values that were filled in by default are listed in
``Guitar.assumed`` with their spread and the cheap measurement that would settle them; values with the interval of
a measurement in ``Guitar.measured``.
"""

from dataclasses import dataclass, field, replace
from typing import Literal

from polepiece.errors import InputError
from polepiece.guitar.coil import Coil
from polepiece.guitar.windings import winding_faults

Position = Literal["neck", "middle", "bridge"]
Construction = Literal["humbucker", "rod-single", "bar-single", "two-bar-single"]
Law = Literal["hyperbola", "curve"]
Facing = Literal["neck", "bridge"]
Wiring = Literal["series", "parallel", "split-screws", "split-slugs", "out-of-phase"]
Wound = Literal["normal", "reverse"]
Charge = Literal["in-place", "outside", "unknown"] | float

PICKUP_POSITIONS: tuple[Position, ...] = ("neck", "middle", "bridge")
CONSTRUCTIONS: tuple[Construction, ...] = ("humbucker", "rod-single", "bar-single", "two-bar-single")


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """One value that the file did not give: the default, its 90 % spread and what would settle it."""

    path: str  # key path in the guitar file, e.g. "pickups[0].magnet.charge"
    value: str  # what was assumed, with its unit, ready to print
    low: float | None = None  # 90 % spread in the file's unit; None where a spread has no number
    high: float | None = None
    basis: str = "common practice, no source"
    settle: str = ""  # the one cheap measurement that would replace it


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One value that was measured, in the unit of its key, with its 90 % interval and where it comes from.

    ``computed`` is what the model said of the same thing when it was measured, with the bar that sat in the pickup then
    (``bar`` and ``bar_charge``, as in the file): what is learnt is the ratio of the two. ``with_resistance`` and
    ``with_inductance`` are correlations with the entries of the same recordings: one resistor sets the scale of all.
    ``pickup`` is the pickup as it was when a value was typed without such a ratio: it is computed from there. It lives
    in memory only; a guitar file has the value at the pickup itself.
    """

    path: str  # key path in the guitar file, e.g. "pickups[0].inductance_h"
    value: float
    low: float
    high: float
    date: str  # ISO
    method: str = ""
    computed: float | None = None
    bar: str = ""
    bar_charge: str = ""
    with_resistance: float = 0.0
    with_inductance: float = 0.0
    files: tuple[str, ...] = ()  # SHA-256 of the recordings, or of the readings
    frequency: float | None = None  # Hz, of the meter; None: free of what the winding's capacitance adds, 120 Hz
    pickup: "Pickup | None" = None


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Pickup:
    """One pickup as it sits in the guitar."""

    name: str
    position: Position
    construction: Construction
    magnet: Magnet = Magnet()
    poles: Poles = Poles()
    coils: tuple[Coil, ...] = (Coil(), Coil())  # humbucker: (slug coil, screw coil); single coils: one
    base_plate: Sheet | None = None
    cover: Sheet | None = None
    lead: Literal["two-conductor", "four-conductor", "unknown"] = "unknown"
    wiring: Wiring = "series"
    wound: Wound = "normal"  # reverse: the winding's sense turned, or the two leads exchanged
    screws_face: Facing = "neck"
    distance_from_bridge: float = 0.155  # m, middle of the pickup to the string's bridge end
    gap_bass: float = 3.0e-3  # m, thickest string, pressed at the last fret
    gap_treble: float = 2.5e-3  # m, thinnest string
    resistance: float | None = None  # ohm, whole pickup, measured at ``temperature``
    coil_resistances: tuple[float, ...] = ()  # ohm, measured coil by coil (fault gate)
    coil_to_plate_open: bool | None = None
    inductance: float | None = None  # H, measured
    inductance_frequency: float = 120.0  # Hz, test frequency of the meter that read it
    capacitance: float | None = None  # F, winding; None = estimated from the geometry
    temperature: float = 20.0  # degC
    potted: bool | None = None
    fingerboard_radius: float | None = None  # m, of the guitar it is in (which sets it); None: strings in one plane

    def __post_init__(self) -> None:
        """Refuse windings that cannot be: see `windings`."""
        if wrong := winding_faults(self):
            raise InputError("\n".join(f"{self.name} {one}" for one in wrong))


@dataclass(frozen=True, slots=True, kw_only=True)
class String:
    """One string over the pickups; ``height`` overrides what the gaps say (verification)."""

    diameter: float  # m, outer
    core_diameter: float  # m; equal to diameter for a plain string
    unit_mass: float | None = None  # kg/m
    pitch: float | None = None  # Hz, open
    permeability: float | None = None  # relative, linear law
    saturation: float = 1.8  # T
    initial_permeability: float = 245.0
    y: float | None = None  # m; None = over its pole
    height: float | None = None  # m, string axis above the pickup's z = 0; None = from the gaps
    length: float = 0.05  # m, magnetised length that is modelled, centred on x = 0
    wrap: Literal["none", "nickel-plated-steel", "pure-nickel", "stainless", "bronze"] = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Controls:
    """Controls, cable and input after the pickup. Settings run 0-10 as printed on a knob."""

    volume_pot: float = 500e3  # ohm, marked
    volume_pot_measured: float | None = None
    volume_setting: float = 10.0
    tone_pot: float | None = 500e3  # None: no tone control
    tone_pot_measured: float | None = None
    tone_setting: float = 10.0
    tone_cap: float = 22e-9  # F
    tone_tap: Literal["before", "after"] = "before"  # before or after the volume control
    bleed_cap: float | None = None  # F, treble bleed across the volume control
    bleed_resistor: float | None = None  # ohm
    bleed_wiring: Literal["series", "parallel"] = "parallel"
    shunt_resistor: float | None = None  # ohm, clipped across the pickup
    cable_capacitance: float = 500e-12  # F
    input_resistance: float = 1e6  # ohm
    input_capacitance: float = 0.0  # F
    selector: Literal["neck", "bridge", "both", "middle", "neck+middle", "middle+bridge", "all"] = "neck"


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """What is wrong, in trade words, and how strong (1 slight, 2 clear, 3 strong)."""

    word: str
    pickup: str | None = None
    strength: int = 2
    position: str | None = None  # of the switch in which it is heard, such as "both"; None: the pickup by itself


@dataclass(frozen=True, slots=True, kw_only=True)
class Guitar:
    """A guitar as it is; ``assumed`` lists what the file did not say."""

    name: str
    pickups: tuple[Pickup, ...]
    strings: tuple[String, ...]
    scale_length: float = 0.648  # m
    fingerboard_radius: float | None = None  # m, the arch that the strings follow; None: they lie in one plane
    string_set: str = "10-46"
    string_age: str = "unknown"
    tuning: tuple[str, ...] = ("E4", "B3", "G3", "D3", "A2", "E2")
    controls: Controls = Controls()
    complaints: tuple[Complaint, ...] = ()
    symptoms: tuple[str, ...] = ()  # words of the fault gate, e.g. "suddenly thin and humming"
    invented: bool = False
    note: str = ""
    assumed: tuple[Assumption, ...] = field(default=())
    measured: tuple[Measured, ...] = field(default=())

    def __post_init__(self) -> None:
        """Hand the radius to the pickups: the heights of their strings follow from it."""
        if any(one.fingerboard_radius != self.fingerboard_radius for one in self.pickups):
            arched = tuple(replace(one, fingerboard_radius=self.fingerboard_radius) for one in self.pickups)
            object.__setattr__(self, "pickups", arched)

    def pickup(self, name: str) -> Pickup:
        """Return the pickup called ``name``; a position word works where it is the only one there."""
        for one in self.pickups:
            if one.name == name:
                return one
        there = [one for one in self.pickups if one.position == name]
        if len(there) == 1:
            return there[0]
        known = ", ".join(one.name for one in self.pickups)
        raise InputError(f"there is no pickup called {name!r} in this guitar; it has: {known}.")
