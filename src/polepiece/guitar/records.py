"""One instrument as a frozen record, SI units throughout.

Axes and signs (the same in every rung): x runs along the strings, +x towards the bridge; y runs across
them, string 1 (the thin one) at +y; z points from the body to the player. A pickup's origin is the middle
of the underside of its bar magnet (or of its rod magnets). A magnet is positive when its field leaves the
face named by its easy axis (+x for a bar magnetised through its width, +z for rods).

A *gap* is the distance from the underside of a string, pressed at the last fret, to the top of the pole
under it as drawn (humbucker: the screw head). Raising a pickup makes gaps smaller; a raised screw
(``Poles.screw_raise``) comes nearer to its own string by as much, see ``gaps.py``.

How a pickup is built, and everything that follows from it, is in `constructions`: one file each.

``None`` in a field means "not known and not needed"; values that were filled in by default are listed in
``Guitar.assumed`` with their spread and the cheap measurement that would settle them; values with the interval of
a measurement in ``Guitar.measured``.
"""

from dataclasses import dataclass, field, replace
from typing import Literal

from polepiece.coil import Wiring
from polepiece.errors import InputError
from polepiece.guitar.assumption import Assumption
from polepiece.guitar.coil import Coil
from polepiece.guitar.constructions import Construction, construction_of
from polepiece.guitar.parts import Magnet, Poles, Position, Sheet
from polepiece.guitar.windings import winding_faults

Facing = Literal["neck", "bridge"]
Wound = Literal["normal", "reverse"]

PICKUP_POSITIONS: tuple[Position, ...] = ("neck", "middle", "bridge")


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
class Pickup:
    """One pickup as it sits in the guitar."""

    name: str
    position: Position
    construction: str  # slug of a record in `constructions`; the record itself is ``built``
    magnet: Magnet = field(default_factory=Magnet)
    poles: Poles = field(default_factory=Poles)
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

    @property
    def built(self) -> Construction:
        """What its construction answers: see `constructions`."""
        return construction_of(self.construction)

    def __post_init__(self) -> None:
        """Refuse an unknown construction, and windings that cannot be: see `windings`."""
        construction_of(self.construction)
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
