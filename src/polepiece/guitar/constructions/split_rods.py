"""Two halves with a coil each, round rod magnets: the second half has its poles and its winding the other way round.

Both halves are in phase, and what the two coils pick up of a hum cancels. Made for four strings, two rods a string.
"""

from typing import get_args

from polepiece.geometry import Assembly
from polepiece.guitar.assumption import FEELER, METER, SPACING, Default
from polepiece.guitar.constructions.construction import Construction
from polepiece.guitar.constructions.pole import RODS, Row
from polepiece.guitar.constructions.shapes import halves_of_magnets
from polepiece.guitar.constructions.usual import NO_BASE_PLATE, NO_METAL_COVER, RODS_STAY
from polepiece.guitar.parts import Magnet, Poles, Position

_SITS_LOWER = {  # rods pull, wherever they are
    "gap_bass": Default(4.0, 3.0, 5.0, FEELER),
    "gap_treble": Default(3.2, 2.5, 4.0, FEELER),
}


def _shapes(magnet: Magnet, poles: Poles) -> Assembly:
    return Assembly(magnets=halves_of_magnets(magnet, poles, poles.row_offset, -poles.row_offset))


SPLIT_RODS = Construction(
    slug="split-rods",
    words="split-rods",
    also=("split-coil", "split-bass", "two-halves"),
    placed=(
        "rods of the first half of the strings at +row_offset with the treble coil, of the other half at "
        "-row_offset with the bass coil; the second half has its poles the other way round. As many poles in "
        "each half"
    ),
    beside_finite_elements=True,
    rows=(Row(pole=RODS, side=1, coil="treble coil", half=1), Row(pole=RODS, side=-1, coil="bass coil", half=-1)),
    bars=0,
    shapes=_shapes,
    wirings=("series", "parallel"),
    defaults={
        "poles.count": Default(8, settle="count them"),
        "poles.pole_spacing": Default(9.5, 9.3, 9.9, SPACING),
        "poles.row_offset": Default(10.0, 8.0, 12.0, "caliper between the halves along the strings, halved"),
        "coil.inner_half_x": Default(3.0, 2.6, 3.3),
        "coil.inner_half_y": Default(17.5, 17.2, 18.0),
        "coil.outer_half_x": Default(7.0, 6.0, 7.8),
        "coil.outer_half_y": Default(21.5, 20.5, 22.5),
        "coil.bottom": Default(3.0, 2.4, 3.5),
        "coil.top": Default(13.0, 12.0, 14.0),
        "coil.turns": Default(6000.0, 5200.0, 7000.0, METER),
        "base_plate": NO_BASE_PLATE,
        "cover": NO_METAL_COVER,
    },
    defaults_by_position=dict.fromkeys(get_args(Position), _SITS_LOWER),
    base_plate={"thickness": 0.5, "length": 94.0, "width": 44.0, "z": -1.5},
    cover={"thickness": 0.4, "length": 96.0, "width": 46.0, "z": 17.8, "skirt": 12.0},
    safe_gap_treble=2.0e-3,  # rod magnets pull harder
    safe_gap_bass=2.5e-3,
    lowest_usual_resistance=3.5e3,
    polarity="N or S up at the thin strings, the other pole at the thick ones",
    compass_over="rods",
    magnets_stay=RODS_STAY,
)
