"""What is assumed of a pickup by its construction and position, where that is not what its parameters say.

Every parameter has its default in its own line (`records`, `parts`, `coil`, `controls`): that of a humbucker at the
neck. Here is what is otherwise. Values are in the units of the guitar file (mm, kohm, nF, pF). The spread is meant as
90 %: nineteen in twenty instruments on a bench are above ``low``, nineteen in twenty below ``high``. Everything here is
common practice without a source unless its ``basis`` says otherwise; none of it is a constant of the physics.
"""

from dataclasses import replace

from polepiece.guitar.assumption import FEELER, LOOK, METER, Default, defaults_of
from polepiece.guitar.coil import Coil
from polepiece.guitar.parameter import parameters_of
from polepiece.guitar.parts import Magnet, Poles
from polepiece.guitar.records import Pickup

DRAWN = "the drawn geometry is used as it is, because own magnet constants are given"

USUAL = defaults_of((
    *parameters_of(Pickup), *parameters_of(Magnet, "magnet."), *parameters_of(Poles, "poles."),
    *parameters_of(Coil, "coil."),
))  # fmt: skip

LOOK_UNDER = "look under it; a fridge magnet tells steel"
NO_PLATE = Default("none", settle=LOOK_UNDER, words="no base plate")
NO_METAL_COVER = Default("none", settle=LOOK, words="no metal cover")

HUMBUCKER = {
    "base_plate": Default("nickel-silver", settle="look; a fridge magnet tells steel", words="nickel silver, 0.5 mm"),
    "cover": Default("none", settle=LOOK, words="no cover"),
}

ROD_SINGLE = {
    "poles.pole_spacing": Default(10.4, 10.2, 10.6, "caliper over the outer poles, divided by five"),
    "coil.inner_half_x": Default(3.0, 2.5, 3.2),
    "coil.inner_half_y": Default(29.0, 28.5, 29.8),
    "coil.outer_half_x": Default(8.0, 6.5, 8.5),
    "coil.outer_half_y": Default(34.0, 32.5, 34.5),
    "coil.bottom": Default(3.0, 2.4, 3.5),
    "coil.top": Default(14.0, 13.0, 14.5),
    "coil.turns": Default(8000.0, 7300.0, 8600.0, METER),
    "base_plate": NO_PLATE,
    "cover": NO_METAL_COVER,
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
    "coil.inner_half_x": Default(3.0, 2.6, 3.3),
    "coil.inner_half_y": Default(29.0, 28.0, 29.5),
    "coil.outer_half_x": Default(8.0, 6.5, 8.5),
    "coil.outer_half_y": Default(34.0, 32.5, 34.5),
    "coil.bottom": Default(6.5, 5.0, 8.0),
    "coil.top": Default(15.5, 14.5, 16.5),
    "coil.turns": Default(8000.0, 6000.0, 9000.0, METER),
    "base_plate": NO_PLATE,
    "cover": NO_METAL_COVER,
}

TWO_BAR_SINGLE = {
    "magnet.bar_to_pole_gap": Default(0.1, 0.02, 0.2, "feeler strip between bar and keeper"),
    "poles.screw_bottom": Default(-3.0, -8.0, 0.0),
    "poles.screw_top": Default(12.5, 12.0, 14.0),
    "poles.keeper_x_min": Default(-2.6, -3.0, -2.4),
    "poles.keeper_x_max": Default(2.6, 2.4, 3.0),
    "coil.inner_half_x": Default(3.5, 3.0, 4.0),
    "coil.inner_half_y": Default(29.0, 28.0, 29.5),
    "coil.outer_half_x": Default(11.5, 10.5, 14.0),
    "coil.outer_half_y": Default(37.0, 36.0, 39.5),
    "coil.top": Default(11.0, 9.5, 11.5),
    "coil.turns": Default(10000.0, 9000.0, 10600.0, METER),
    "base_plate": NO_PLATE,
    "cover": NO_METAL_COVER,
}

CONSTRUCTION = {
    "humbucker": HUMBUCKER,
    "rod-single": ROD_SINGLE,
    "bar-single": BAR_SINGLE,
    "two-bar-single": TWO_BAR_SINGLE,
}

SADDLE = "tape: saddle to the middle of the pickup"
POSITION: dict[str, dict[str, Default]] = {
    "neck": {},
    "middle": {
        "distance_from_bridge": Default(98.0, 85.0, 110.0, SADDLE),
        "gap_bass": Default(2.5, 2.0, 3.0, FEELER),
        "gap_treble": Default(2.1, 1.7, 2.6, FEELER),
    },
    "bridge": {
        "distance_from_bridge": Default(43.0, 32.0, 52.0, SADDLE),
        "gap_bass": Default(2.25, 1.9, 2.7, FEELER),
        "gap_treble": Default(1.75, 1.5, 2.2, FEELER),
    },
}
ROD_GAPS = {  # rods pull: they sit lower
    "gap_bass": Default(3.2, 2.5, 4.0, FEELER),
    "gap_treble": Default(2.5, 2.0, 3.0, FEELER),
}

SHEETS = {  # sizes of base plate and cover by construction, mm; what is not here is said by the lines of `Sheet`
    ("base_plate", "rod-single"): {"thickness": 0.5, "length": 82.0, "width": 17.0, "z": -1.5},
    ("base_plate", "bar-single"): {"thickness": 0.5, "length": 82.0, "width": 17.0, "z": -1.5},
    ("base_plate", "two-bar-single"): {"thickness": 0.5, "length": 84.0, "width": 38.0, "z": -1.5, "skirt": 0.0},
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
    found = {**USUAL, **CONSTRUCTION[construction], **POSITION[position]}
    if construction == "rod-single":
        found |= ROD_GAPS
    if construction == "humbucker" and position == "bridge":
        found["screws_face"] = Default("bridge", settle=LOOK)
    if drawn:
        del found["magnet.grade"]
        found["base_plate"] = Default("none", settle=LOOK, basis=DRAWN, words="no base plate")
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
