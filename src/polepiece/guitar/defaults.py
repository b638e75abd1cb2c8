"""What is assumed when a guitar file is silent: one table, with spreads and what would settle each value.

Values are in the units of the guitar file (mm, kohm, nF, pF). The spread is meant as 90 %: nineteen in
twenty instruments on a bench are above ``low``, nineteen in twenty below ``high``. Everything here is common
practice without a source unless its ``basis`` says otherwise; none of it is a constant of the physics.
"""

from dataclasses import dataclass, replace

from polepiece.guitar.records import Assumption

PRACTICE = "common practice, no source"
DRAWN = "the drawn geometry is used as it is, because own magnet constants are given"
GAUGE = "plastic or brass caliper"


@dataclass(frozen=True, slots=True)
class Default:
    """One assumed value in the unit of the file, its 90 % spread and the measurement that replaces it."""

    value: float | str | bool | tuple[float, ...] | tuple[str, ...] | None
    low: float | None = None
    high: float | None = None
    settle: str = GAUGE
    basis: str = PRACTICE
    words: str = ""  # printed instead of the value

    def assumption(self, path: str, unit: str = "") -> Assumption:
        """Return the line for ``Guitar.assumed``."""
        value = self.value
        if self.words:
            text = self.words
        elif isinstance(value, tuple):
            text = " ".join(f"{one:g}" if isinstance(one, float | int) else one for one in value)
        elif value is None or isinstance(value, bool):
            text = {True: "yes", False: "no", None: "not known"}[value]
        elif isinstance(value, str):
            text = value
        else:
            text = f"{value:g}"
        tail = f" {unit}" if unit and not self.words else ""
        return Assumption(
            path=path, value=text + tail, low=self.low, high=self.high, basis=self.basis, settle=self.settle
        )


LOOK = "look at it"
METER = "ohmmeter across the pickup, off the pots"
POT = "ohmmeter across the outer lugs, one end free"

GUITAR = {
    "name": Default("unnamed guitar", settle="give it a name"),
    "scale_length": Default(648.0, 628.0, 650.0, "tape: nut to the 12th fret, doubled"),
    "string_set": Default("10-46", settle="read the packet", words="10-46, six nickel-plated steel strings"),
    "string_age": Default("unknown", settle="ask when they were fitted"),
    "tuning": Default(("E4", "B3", "G3", "D3", "A2", "E2"), settle="ask, or a tuner"),
    "fingerboard_radius": Default(
        None,
        settle="radius gauge on the frets: 184 to 508 mm (7.25 to 20 in) are usual",
        words="flat: the strings lie in one plane over the poles",
    ),
}

CONTROLS = {
    "volume_pot": Default(500.0, 400.0, 600.0, POT, words="500 kohm, marked and measured alike, +-20 %"),
    "volume_setting": Default(10.0, settle="look at the knob"),
    "tone_pot": Default(500.0, 400.0, 600.0, POT, words="500 kohm, marked and measured alike, +-20 %"),
    "tone_setting": Default(10.0, settle="look at the knob"),
    "tone_cap": Default(22.0, 19.8, 24.2, "read it, or a capacitance meter"),
    "tone_tap": Default("before", settle="follow the wire from the tone pot"),
    "cable_capacitance": Default(500.0, 300.0, 900.0, "capacitance meter on the cable, or its length"),
    "input_resistance": Default(1000.0, 500.0, 1100.0, "amplifier's sheet"),
    "input_capacitance": Default(0.0, 0.0, 100.0, "amplifier's sheet"),
    "selector": Default("neck", settle="say which pickup is meant"),
}
CABLE_PER_METRE = Default(100.0, 60.0, 160.0, "capacitance meter on the cable")

# attribute of the pickup -> default; what holds for every construction
COMMON = {
    "magnet.grade": Default(
        "unknown",
        settle="ohmmeter on the bare bar: open = ferrite, near zero = alnico; which alnico cannot be told",
        words="not known: several grades are carried",
    ),
    "magnet.charge": Default(
        "unknown",
        settle="gauss reading at the pole tops",
        words="not known: computed as charged outside, the interval spans both",
    ),
    "magnet.finish": Default("polished", settle="look at the bar: grey and pitted is rough cast"),
    "magnet.flipped": Default(False, settle="compass at the poles"),
    "wound": Default("normal", settle="tap test with another pickup on: a reverse-wound one swings the other way"),
    "screws_face": Default("neck", settle=LOOK),
    "wiring": Default("series", settle="follow the leads"),
    "lead": Default("unknown", settle=LOOK),
    "resistance": Default(None, settle=METER, words="from turns and wire"),
    "inductance": Default(None, settle="inductance meter at 120 Hz, nothing connected", words="computed"),
    "capacitance": Default(
        None,
        settle="resonance with a known capacitor across the coil",
        words="estimated from the winding; its spread is large",
    ),
    "temperature": Default(20.0, 15.0, 27.0, "thermometer"),
    "potted": Default(None, settle="look for wax", words="not known"),
    "poles.count": Default(6, settle="count them"),
    "poles.pole_spacing": Default(10.0, 9.7, 10.5, "caliper over the outer poles, divided by five"),
    "coil.wire_awg": Default(42, words="AWG 42"),  # the reader takes the gauge that fits: see `gauges`
    "coil.wire_build": Default("single", settle="micrometer on a loose end"),
}

SCREW_PITCH = Default(
    0.635,
    0.5,
    0.8,
    "count the turns over 5 mm of thread, or a thread gauge",
    words="0.635 mm a turn, 40 threads an inch; an M3 moves 0.5 mm",
)
STEEL = Default(
    "1010",
    settle="cannot be told at a bench; a fit to a measured inductance curve",
    words="low-carbon steel 1010",
)

HUMBUCKER = {
    "magnet.length": Default(63.5, 57.0, 64.0),
    "magnet.width": Default(12.7, 12.4, 12.8),
    "magnet.thickness": Default(3.175, 3.05, 3.45),
    "magnet.magnetised_through": Default("width", settle="two bars: long edges attract, or broad faces?"),
    "magnet.bar_to_pole_gap": Default(0.1, 0.02, 0.2, "feeler strip between bar and slug"),
    "poles.row_offset": Default(9.0, 8.8, 9.3, "caliper between the rows, halved"),
    "poles.slug_diameter": Default(4.8, 4.7, 4.9),
    "poles.slug_bottom": Default(0.0, -1.0, 0.5),
    "poles.slug_height": Default(12.5, 12.0, 13.5),
    "poles.slug_steel.name": STEEL,
    "poles.screw_diameter": Default(3.0, 2.9, 3.5),
    "poles.screw_bottom": Default(-6.0, -9.0, -4.0),
    "poles.screw_top": Default(12.5, 12.0, 13.5),
    "poles.head_diameter": Default(5.0, 4.8, 5.5),
    "poles.head_height": Default(1.5, 1.2, 2.0),
    "poles.screw_raise": Default(
        (0.0,) * 6,
        -0.5,
        0.5,
        "the gap of each string at its screw",
        words="0 mm each: the gaps were measured to the screws as they are",
    ),
    "poles.screw_pitch": SCREW_PITCH,
    "poles.screw_steel.name": STEEL,
    "poles.keeper_x_min": Default(-11.6, -11.8, -11.3),
    "poles.keeper_x_max": Default(-6.4, -6.6, -6.37),
    "poles.keeper_length": Default(62.0, 58.0, 64.0),
    "poles.keeper_bottom": Default(0.0, -0.3, 0.1),
    "poles.keeper_top": Default(3.175, 3.0, 3.4),
    "poles.keeper_steel.name": STEEL,
    "coil.inner_half_x": Default(3.2, 3.0, 3.3),
    "coil.inner_half_y": Default(29.0, 28.5, 29.5),
    # 5000 turns of AWG 42 (0.071 mm over all) fill 69 % of it; the flanges of bobbins 18 mm apart end at 9 mm
    "coil.outer_half_x": Default(7.6, 6.6, 8.4),
    "coil.outer_half_y": Default(33.4, 32.2, 34.4),
    "coil.bottom": Default(4.5, 4.0, 5.0),
    "coil.top": Default(11.0, 10.5, 11.5),
    "coil.turns": Default(5000.0, 4600.0, 5600.0, METER),
    "base_plate": Default("nickel-silver", settle="look; a fridge magnet tells steel", words="nickel silver, 0.5 mm"),
    "cover": Default("none", settle=LOOK, words="no cover"),
}

ROD_SINGLE = {
    "poles.pole_spacing": Default(10.4, 10.2, 10.6, "caliper over the outer poles, divided by five"),
    "poles.rod_diameter": Default(4.8, 4.7, 5.0),
    "poles.rod_lengths": Default((17.0,) * 6, 16.0, 18.5, words="17 mm each, not staggered"),
    "coil.inner_half_x": Default(3.0, 2.5, 3.2),
    "coil.inner_half_y": Default(29.0, 28.5, 29.8),
    "coil.outer_half_x": Default(8.0, 6.5, 8.5),
    "coil.outer_half_y": Default(34.0, 32.5, 34.5),
    "coil.bottom": Default(3.0, 2.4, 3.5),
    "coil.top": Default(14.0, 13.0, 14.5),
    "coil.turns": Default(8000.0, 7300.0, 8600.0, METER),
    "base_plate": Default("none", settle="look under it; a fridge magnet tells steel", words="no base plate"),
    "cover": Default("none", settle=LOOK, words="no metal cover"),
}

BAR_SINGLE = {
    "magnet.length": Default(62.0, 55.0, 65.0),
    "magnet.width": Default(10.0, 9.0, 13.0),
    "magnet.thickness": Default(5.0, 3.2, 6.5),
    "magnet.magnetised_through": Default("thickness", settle="two bars: long edges attract, or broad faces?"),
    "magnet.bar_to_pole_gap": Default(0.1, 0.02, 0.2, "feeler strip between bar and poles"),
    "poles.slug_diameter": Default(4.8, 4.5, 5.0),
    "poles.slug_bottom": Default(5.0, 3.2, 6.5),
    "poles.slug_height": Default(17.5, 16.0, 19.5),
    "poles.slug_steel.name": STEEL,
    "coil.inner_half_x": Default(3.0, 2.6, 3.3),
    "coil.inner_half_y": Default(29.0, 28.0, 29.5),
    "coil.outer_half_x": Default(8.0, 6.5, 8.5),
    "coil.outer_half_y": Default(34.0, 32.5, 34.5),
    "coil.bottom": Default(6.5, 5.0, 8.0),
    "coil.top": Default(15.5, 14.5, 16.5),
    "coil.turns": Default(8000.0, 6000.0, 9000.0, METER),
    "base_plate": Default("none", settle="look under it; a fridge magnet tells steel", words="no base plate"),
    "cover": Default("none", settle=LOOK, words="no metal cover"),
}

TWO_BAR_SINGLE = {
    "magnet.length": Default(63.5, 57.0, 64.0),
    "magnet.width": Default(12.7, 12.4, 12.8),
    "magnet.thickness": Default(3.175, 3.05, 3.45),
    "magnet.magnetised_through": Default("width", settle="two bars: long edges attract, or broad faces?"),
    "magnet.bar_to_pole_gap": Default(0.1, 0.02, 0.2, "feeler strip between bar and keeper"),
    "poles.screw_diameter": Default(3.0, 2.9, 3.5),
    "poles.screw_bottom": Default(-3.0, -8.0, 0.0),
    "poles.screw_top": Default(12.5, 12.0, 14.0),
    "poles.head_diameter": Default(5.0, 4.8, 5.5),
    "poles.head_height": Default(1.5, 1.2, 2.0),
    "poles.screw_raise": Default(
        (0.0,) * 6,
        -0.5,
        0.5,
        "the gap of each string at its screw",
        words="0 mm each: the gaps were measured to the screws as they are",
    ),
    "poles.screw_pitch": SCREW_PITCH,
    "poles.screw_steel.name": STEEL,
    "poles.keeper_x_min": Default(-2.6, -3.0, -2.4),
    "poles.keeper_x_max": Default(2.6, 2.4, 3.0),
    "poles.keeper_length": Default(62.0, 58.0, 64.0),
    "poles.keeper_bottom": Default(0.0, -0.3, 0.1),
    "poles.keeper_top": Default(3.175, 3.0, 3.4),
    "poles.keeper_steel.name": STEEL,
    "coil.inner_half_x": Default(3.5, 3.0, 4.0),
    "coil.inner_half_y": Default(29.0, 28.0, 29.5),
    "coil.outer_half_x": Default(11.5, 10.5, 14.0),
    "coil.outer_half_y": Default(37.0, 36.0, 39.5),
    "coil.bottom": Default(4.5, 4.0, 5.0),
    "coil.top": Default(11.0, 9.5, 11.5),
    "coil.turns": Default(10000.0, 9000.0, 10600.0, METER),
    "base_plate": Default("none", settle="look under it; a fridge magnet tells steel", words="no base plate"),
    "cover": Default("none", settle=LOOK, words="no metal cover"),
}

CONSTRUCTION = {
    "humbucker": HUMBUCKER,
    "rod-single": ROD_SINGLE,
    "bar-single": BAR_SINGLE,
    "two-bar-single": TWO_BAR_SINGLE,
}

SADDLE = "tape: saddle to the middle of the pickup"
DISTANCE = {
    "neck": Default(155.0, 145.0, 165.0, SADDLE),
    "middle": Default(98.0, 85.0, 110.0, SADDLE),
    "bridge": Default(43.0, 32.0, 52.0, SADDLE),
}

FEELER = "ruler or feeler: each outer string pressed at the last fret, its underside to the pole top"
GAP_BASS = {
    "neck": Default(2.7, 2.2, 3.2, FEELER),
    "middle": Default(2.5, 2.0, 3.0, FEELER),
    "bridge": Default(2.25, 1.9, 2.7, FEELER),
}
GAP_TREBLE = {
    "neck": Default(2.3, 1.9, 2.9, FEELER),
    "middle": Default(2.1, 1.7, 2.6, FEELER),
    "bridge": Default(1.75, 1.5, 2.2, FEELER),
}
ROD_GAP_BASS = Default(3.2, 2.5, 4.0, FEELER)  # rods pull: they sit lower
ROD_GAP_TREBLE = Default(2.5, 2.0, 3.0, FEELER)

SHEETS = {  # base plate and cover by construction: material, thickness, length, width, z, skirt; mm
    ("base_plate", "humbucker"): {"thickness": 0.5, "length": 69.0, "width": 38.0, "z": -1.5},
    ("base_plate", "rod-single"): {"thickness": 0.5, "length": 82.0, "width": 17.0, "z": -1.5},
    ("base_plate", "bar-single"): {"thickness": 0.5, "length": 82.0, "width": 17.0, "z": -1.5},
    ("base_plate", "two-bar-single"): {
        "thickness": 0.5,
        "length": 84.0,
        "width": 38.0,
        "z": -1.5,
        "skirt": 0.0,
    },
    ("cover", "humbucker"): {"thickness": 0.5, "length": 70.0, "width": 38.5, "z": 13.0, "skirt": 14.0},
    ("cover", "rod-single"): {"thickness": 0.4, "length": 72.0, "width": 20.0, "z": 17.8, "skirt": 12.0},
    ("cover", "bar-single"): {"thickness": 0.4, "length": 72.0, "width": 20.0, "z": 18.2, "skirt": 12.0},
    ("cover", "two-bar-single"): {"thickness": 0.5, "length": 85.0, "width": 40.0, "z": 12.2, "skirt": 10.0},
}


def pickup_defaults(*, construction: str, position: str, drawn: bool) -> dict[str, Default]:
    """Return the defaults of one pickup by attribute.

    Parameters
    ----------
    construction, position : str
        As in the guitar file.
    drawn : bool
        Own magnet constants are given: the drawn geometry is used as it is (no extra gap, no base plate).
    """
    rods = construction == "rod-single"
    found = {**COMMON, **CONSTRUCTION[construction], "distance_from_bridge": DISTANCE[position]}
    found["gap_bass"] = ROD_GAP_BASS if rods else GAP_BASS[position]
    found["gap_treble"] = ROD_GAP_TREBLE if rods else GAP_TREBLE[position]
    if construction == "humbucker" and position == "bridge":
        found["screws_face"] = Default("bridge", settle=LOOK)
    if drawn:
        del found["magnet.grade"]
        found["base_plate"] = Default("none", settle=LOOK, basis=DRAWN, words="no base plate")
        if "magnet.bar_to_pole_gap" in found:
            found["magnet.bar_to_pole_gap"] = Default(0.0, settle="feeler strip", basis=DRAWN, words="0 mm")
    return found


ROW_SLACK = 3.0  # mm that a row of poles may be longer than usual before bar, keeper and coils follow it
LONGEST_ROW = 115.0  # mm, first pole to last
ALONG_THE_ROW = {"magnet.length": 1.0, "poles.keeper_length": 1.0, "coil.inner_half_y": 0.5, "coil.outer_half_y": 0.5}


def row_longer(found: dict[str, Default], count: int | None, spacing: float | None) -> float:
    """Return how much longer (mm) a row of ``count`` poles ``spacing`` mm apart is than usual; 0 if shorter."""
    usual, poles = found["poles.pole_spacing"].value, found["poles.count"].value
    assert isinstance(usual, float) and isinstance(poles, int)
    extra = ((count or poles) - 1) * (usual if spacing is None else spacing) - (poles - 1) * usual
    return round(extra, 6) if extra > ROW_SLACK else 0.0


def as_long_as_its_row(found: dict[str, Default], extra: float) -> dict[str, Default]:
    """Return the defaults of a pickup whose bar, keeper and coils are longer by as much as its row of poles is."""
    out = dict(found)
    for attr, share in ALONG_THE_ROW.items():
        one = found.get(attr)
        if extra and one is not None and isinstance(one.value, float):
            low, high = (None if end is None else round(end + share * extra, 6) for end in (one.low, one.high))
            out[attr] = replace(one, value=round(one.value + share * extra, 6), low=low, high=high)
    return out


# ---------------------------------------------------------------- strings

STRING_SET_SPREAD = Default(
    None,
    settle="micrometer on the core at the ball end",
    words="cores of the wound strings, +-20 %; nickel-plated steel wrap",
)
