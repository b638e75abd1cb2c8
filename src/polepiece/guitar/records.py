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

from dataclasses import dataclass, replace
from typing import Annotated, Literal, get_args

from polepiece.coil import Wiring
from polepiece.errors import InputError
from polepiece.guitar.assumption import FEELER, LOOK, METER, Assumption
from polepiece.guitar.checks import Checked, check
from polepiece.guitar.coil import Coil
from polepiece.guitar.constructions import SLUGS, Construction, construction_of
from polepiece.guitar.controls import Controls
from polepiece.guitar.one_string import String
from polepiece.guitar.parameter import (
    NEEDED,
    celsius,
    choice,
    flag,
    henry,
    hertz,
    kohm,
    mm,
    number,
    part,
    picofarad,
    text,
    texts,
    unwritten,
)
from polepiece.guitar.parts import Charge, Magnet, MagnetConstants, Poles, Position, Sheet, Steel
from polepiece.guitar.windings import winding_faults
from polepiece.kept import HashedOnce
from polepiece.strings import THOUSANDTH, USUAL_SCALE

__all__ = [
    "PICKUP_POSITIONS", "Assumption", "Charge", "Coil", "Complaint", "Controls", "Guitar", "Magnet",
    "MagnetConstants", "Measured", "Pickup", "Poles", "Sheet", "Steel", "String",
]  # fmt: skip

PICKUP_POSITIONS: tuple[Position, ...] = get_args(Position)

MEASURED_KEY = (
    "key that was measured: of a pickup resistance_kohm, inductance_h, capacitance_pf, magnet.charge, "
    "magnet.measured_gauss"
)
WOUND = (
    "reverse: the winding runs the other way, or its two leads are exchanged. With magnet.flipped it is "
    "the hum-cancelling middle pickup, in phase with the others; one of the two alone is out of phase with them"
)
INDUCTANCE = (
    "read with nothing connected, by a meter in series mode; the turns and the steel are moved to it, "
    "with 2 % for the meter; an entry of [[measured]] (`measure impedance --guitar`) has its own interval"
)
GAP = "string pressed at the last fret: its underside to the pole top, thickest string"
TAP_TEST = "tap test with another pickup on: a reverse-wound one swings the other way"
WINDING = "resonance with a known capacitor across the coil"
RADIUS_GAUGE = "radius gauge on the frets: 184 to 508 mm (7.25 to 20 in) are usual"

# fmt: off


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured(Checked):
    """One value that was measured, in the unit of its key, with its 90 % interval and where it comes from.

    ``computed`` is what the model said of the same thing when it was measured, with the bar that sat in the pickup then
    (``bar`` and ``bar_charge``, as in the file): what is learnt is the ratio of the two. ``with_resistance`` and
    ``with_inductance`` are correlations with the entries of the same recordings: one resistor sets the scale of all.
    ``pickup`` is the pickup as it was when a value was typed without such a ratio: it is computed from there. It lives
    in memory only; a guitar file has the value at the pickup itself.
    """

    path: Annotated[str, text(NEEDED, MEASURED_KEY)]  # "pickups[0].inductance_h"
    value: Annotated[float, number(NEEDED, None, None, "it lies", "what was measured, in the unit of that key")]
    low: Annotated[float, number(NEEDED, None, None, "it lies", "lower end of its 90 % interval")]
    high: Annotated[float, number(NEEDED, None, None, "it lies", "upper end")]
    computed: float | None = number(None, None, None, "it lies", "what the model said of it then", none="none")
    bar: str = text("", "grade of the bar that was in then")
    bar_charge: str = text("", "how it was charged, as the file had it")
    with_resistance: float = number(
        0.0, -1, 1, "correlations lie",
        "correlation with resistance_kohm of the same recordings: one resistor sets the scale of both")
    with_inductance: float = number(
        0.0, -1, 1, "correlations lie", "correlation with inductance_h of the same recordings")
    date: str = text("", "when: 2026-11-25")  # ISO; none where it was typed
    method: str = text("", "how")
    files: tuple[str, ...] = texts((), "SHA-256 of the recordings or readings")
    frequency: float | None = unwritten(  # Hz; None: free of what the winding's capacitance adds, 120 Hz
        None, "of the meter; the pickup has it as inductance_frequency")
    pickup: "Pickup | None" = unwritten(None, "the pickup of which a value was typed; the file has it there")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pickup(HashedOnce):
    """One pickup as it sits in the guitar."""

    name: Annotated[str, text(NEEDED, "what you call the pickup; no two alike")]
    position: Annotated[Position, choice(NEEDED, "where it sits", label="place")]
    construction: Annotated[str, choice(NEEDED, "how it is built", choices=SLUGS)]  # its record is ``built``
    screws_face: Literal["neck", "bridge"] = choice(
        "neck", "where the screw row looks", label="way it sits in its ring", settle=LOOK)
    wiring: Wiring = choice(
        "series", "split-screws: the screw coil stays on; split-slugs: the slug coil stays on",
        settle="follow the leads")
    wound: Literal["normal", "reverse"] = choice("normal", WOUND, settle=TAP_TEST, label="way it is wound")
    lead: Literal["two-conductor", "four-conductor", "unknown"] = choice("unknown", "lead out", settle=LOOK)
    distance_from_bridge: float = mm(  # of a neck pickup, and so are the gaps: see `defaults`
        155.0, 15, 250, "it must lie", "middle of the pickup to the saddle", written="_mm", spread=(145.0, 165.0),
        label="distance to the saddle",
        settle="tape: saddle to the middle of the pickup")
    gap_bass: float = mm(
        2.7, 0.3, 8, "gaps lie", GAP, written="_mm", usual=(1.5, 6), spread=(2.2, 3.2), settle=FEELER,
        label="gap at the thickest string")
    gap_treble: float = mm(
        2.3, 0.3, 8, "gaps lie", "the same at string 1, the thin one", written="_mm", usual=(1.5, 6),
        spread=(1.9, 2.9), settle=FEELER, label="gap at string 1, the thin one")
    resistance: float | None = kohm(  # measured at ``temperature``
        None, 1, 30, "pickups lie", "ohmmeter across the whole pickup as it is wired, off the pots", usual=(3, 20),
        none="unknown", aliases=("dc_resistance",), settle=METER, words="from turns and wire", label="DC resistance")
    coil_resistances: tuple[float, ...] = kohm(  # at 20 degC; for the fault gate
        (), 0, 30, "coils lie", "coil by coil: slug coil, screw coil", kind="numbers")
    coil_to_plate_open: bool | None = flag(
        None, "true: the meter reads open from coil to base plate, as it should", none="unknown")
    inductance: float | None = henry(
        None, 0.5, 20, "pickups lie", INDUCTANCE, none="unknown",
        settle="inductance meter at 120 Hz, nothing connected", words="computed")
    inductance_frequency: float = hertz(
        120.0, 50, 2000, "test frequencies lie", "of the meter that read the inductance: 120 when not said",
        quiet=True)
    capacitance: float | None = picofarad(
        None, 5, 1000, "windings lie", "of the winding, measured", none="unknown", aliases=("winding_capacitance",),
        settle=WINDING, words="estimated from the winding; its spread is large")
    temperature: float = celsius(
        20.0, -10, 50, "rooms lie", "when the resistance was read; copper moves 0.4 % a degree",
        spread=(15.0, 27.0), settle="thermometer")
    potted: bool | None = flag(None, "wax-potted", none="unknown", settle="look for wax", words="not known")
    magnet: Magnet = part(Magnet)
    poles: Poles = part(Poles)
    coils: tuple[Coil, ...] = (Coil(), Coil())  # humbucker: (slug coil, screw coil); single coils: one
    base_plate: Sheet | None = None
    cover: Sheet | None = None
    fingerboard_radius: float | None = unwritten(None, "of the guitar it is in, which sets it; m; None: in one plane")

    @property
    def built(self) -> Construction:
        """What its construction answers: see `constructions`."""
        return construction_of(self.construction)

    __hash__ = HashedOnce.__hash__

    @property
    def screw_rows(self) -> dict[Position, str]:
        """The rows of screws by where they stand to one another, "neck" or "bridge": the field of `Poles` that says it.

        Empty where there are not two: one row is just its screws.
        """
        turning = [row for row in self.built.rows if row.pole.turns]
        if len(turning) < 2:
            return {}
        other: Position = "bridge" if self.screws_face == "neck" else "neck"
        return {self.screws_face if row.side < 0 else other: row.pole.turned_by for row in turning}

    def __post_init__(self) -> None:
        """Refuse what no file may say, and windings that cannot be: see `windings`."""
        check(self)
        if wrong := winding_faults(self):
            raise InputError("\n".join(f"{self.name} {one}" for one in wrong))


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint(Checked):
    """What is wrong, in trade words, and how strong."""

    word: Annotated[str, text(NEEDED, "what is wrong, in trade words: muddy, piercing, weak ...")]
    pickup: str | None = text(None, "on which pickup; left out = the guitar")
    position: str | None = text(
        None, 'of the switch, in which it is heard: its name, several pickups joined by +, "both" or "all"; '
        "left out = the pickup by itself")
    strength: int = number(2, 1, 3, "strengths lie", "1 slight, 2 clear, 3 strong", whole=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Guitar(HashedOnce):
    """A guitar as it is; ``assumed`` lists what the file did not say."""

    name: str = text("unnamed guitar", "what you call the guitar", settle="give it a name")
    invented: bool = flag(False, "true for demonstration files", quiet=True)
    note: str = text("", "anything worth keeping", may_be_empty=True)
    scale_length: float = mm(
        1e3 * USUAL_SCALE, 500, 900, "scales lie", "nut to saddle", written="_mm", usual=(600, 700), aliases=("scale",),
        spread=(628.0, 650.0), settle="tape: nut to the 12th fret, doubled")
    fingerboard_radius: float | None = mm(
        None, 150, 1000, "fingerboards lie", 'radius that the strings follow over the pickups; "none": flat',
        written="_mm", usual=(180, 520), none="none", aliases=("radius",), settle=RADIUS_GAUGE,
        words="flat: the strings lie in one plane over the poles")
    string_set: str = text(
        "10-46", "9-42, 10-46, 11-49, 12-54, of a bass 40-100, 45-100, 45-105, 50-105, 45-130, or a name of your own "
        "with [[strings]]", settle="read the packet",
        words="10-46, six nickel-plated steel strings")
    string_age: str = text(
        "unknown", "how old the strings are, in words", settle="ask when they were fitted")
    tuning: tuple[str, ...] = texts(
        ("E4", "B3", "G3", "D3", "A2", "E2"),
        "open notes, one for each string, string 1 (the thin one) first: E4 B3 G3 D3 A2 E2", settle="ask, or a tuner")
    symptoms: tuple[str, ...] = texts((), "faults in words, e.g. suddenly thin and humming")  # of the fault gate
    controls: Controls = part(Controls)
    pickups: tuple[Pickup, ...]
    strings: tuple[String, ...]
    complaints: tuple[Complaint, ...] = ()
    assumed: tuple[Assumption, ...] = ()
    measured: tuple[Measured, ...] = ()

    # fmt: on
    __hash__ = HashedOnce.__hash__

    def __post_init__(self) -> None:
        """Hand the radius to the pickups: the heights of their strings follow from it."""
        check(self)
        if any(one.fingerboard_radius != self.fingerboard_radius for one in self.pickups):
            arched = tuple(replace(one, fingerboard_radius=self.fingerboard_radius) for one in self.pickups)
            object.__setattr__(self, "pickups", arched)

    @property
    def strings_called(self) -> str:
        """Its set by its name; strings of its own by their first and last gauge, in thousandths of an inch."""
        if self.string_set not in ("", "own") or not self.strings:
            return self.string_set or "not known"
        first, last = (one.diameter / THOUSANDTH for one in (self.strings[0], self.strings[-1]))
        return f"own, {first:.3g} to {last:.3g}"

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
