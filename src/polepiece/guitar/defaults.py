"""What is assumed when a guitar file is silent: one table, with spreads and what would settle each value.

Values are in the units of the guitar file (mm, kohm, nF, pF). The spread is meant as 90 %: nineteen in
twenty instruments on a bench are above ``low``, nineteen in twenty below ``high``. Everything here is common
practice without a source unless its ``basis`` says otherwise; none of it is a constant of the physics.
"""

from dataclasses import replace

from polepiece.guitar.assumption import FEELER, LOOK, METER, Default
from polepiece.guitar.constructions import construction_of
from polepiece.guitar.parts import Position

DRAWN = "the drawn geometry is used as it is, because own magnet constants are given"
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

SADDLE = "tape: saddle to the middle of the pickup"
DISTANCE = {
    "neck": Default(155.0, 145.0, 165.0, SADDLE),
    "middle": Default(98.0, 85.0, 110.0, SADDLE),
    "bridge": Default(43.0, 32.0, 52.0, SADDLE),
}

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


def pickup_defaults(*, construction: str, position: Position, drawn: bool) -> dict[str, Default]:
    """Return the defaults of one pickup by attribute.

    Parameters
    ----------
    construction, position : str
        As in the guitar file.
    drawn : bool
        Own magnet constants are given: the drawn geometry is used as it is (no extra gap, no base plate).
    """
    placed = {"distance_from_bridge": DISTANCE[position]}
    placed |= {"gap_bass": GAP_BASS[position], "gap_treble": GAP_TREBLE[position]}
    found = {**COMMON, **placed, **construction_of(construction).defaults_at(position)}
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
