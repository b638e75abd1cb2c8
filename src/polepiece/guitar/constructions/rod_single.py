"""Single coil wound on or round rod magnets, one under each string."""

from typing import get_args

from polepiece.geometry import Assembly
from polepiece.guitar.assumption import FEELER, METER, SPACING, Default
from polepiece.guitar.constructions.construction import Construction
from polepiece.guitar.constructions.pole import RODS, Row
from polepiece.guitar.constructions.shapes import row_of_magnets
from polepiece.guitar.constructions.usual import NO_BASE_PLATE, NO_METAL_COVER, RODS_STAY
from polepiece.guitar.parts import Position

_SITS_LOWER = {  # rods pull, wherever they are
    "gap_bass": Default(3.2, 2.5, 4.0, FEELER),
    "gap_treble": Default(2.5, 2.0, 3.0, FEELER),
}

ROD_SINGLE = Construction(
    slug="rod-single",
    words="rod-single",
    also=("rod-magnet-single", "rod-magnets", "rods", "magnetic-poles", "single-coil-with-rods", "pole-magnets"),
    placed=(
        "rod magnets from z = 0 up, one coil round them. `slug_diameter` and `slug_height` are accepted for "
        "rods; a list of `rod_length` staggers them. There is no bar. Eight rods and four strings: two rods a "
        "string"
    ),
    beside_finite_elements=True,
    rows=(Row(pole=RODS),),
    bars=0,
    shapes=lambda magnet, poles: Assembly(magnets=row_of_magnets(magnet, poles)),
    defaults={
        "poles.pole_spacing": Default(10.4, 10.2, 10.6, SPACING),
        "coil.inner_half_x": Default(3.0, 2.5, 3.2),
        "coil.inner_half_y": Default(29.0, 28.5, 29.8),
        "coil.outer_half_x": Default(8.0, 6.5, 8.5),
        "coil.outer_half_y": Default(34.0, 32.5, 34.5),
        "coil.bottom": Default(3.0, 2.4, 3.5),
        "coil.top": Default(14.0, 13.0, 14.5),
        "coil.turns": Default(8000.0, 7300.0, 8600.0, METER),
        "base_plate": NO_BASE_PLATE,
        "cover": NO_METAL_COVER,
    },
    defaults_by_position=dict.fromkeys(get_args(Position), _SITS_LOWER),
    base_plate={"thickness": 0.5, "length": 82.0, "width": 17.0, "z": -1.5},
    cover={"thickness": 0.4, "length": 72.0, "width": 20.0, "z": 17.8, "skirt": 12.0},
    takes_metal_cover=True,
    safe_gap_treble=2.0e-3,  # rod magnets pull harder
    safe_gap_bass=2.5e-3,
    lowest_usual_resistance=3.5e3,
    polarity="N or S up",
    compass_over="rods",
    magnets_stay=RODS_STAY,
)
