"""Wide single coil: screws through a keeper in the middle, a bar on each side of it, like poles to the screws."""

from polepiece.geometry import Assembly
from polepiece.guitar.assumption import METER, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import BESIDE_POLES
from polepiece.guitar.constructions.pole import SCREWS, Row
from polepiece.guitar.constructions.shapes import Stretch, bars_beside, keeper, row_of_screws, two_stretches
from polepiece.guitar.constructions.usual import NO_BASE_PLATE, NO_METAL_COVER
from polepiece.guitar.parts import Magnet, Poles


def _between(poles: Poles) -> Stretch:
    """Return the stretch of the keeper, or of the screws where there is none."""
    radius = 0.5 * poles.screw_diameter
    if poles.keeper_x_min is None or poles.keeper_x_max is None:
        return -radius, radius
    return poles.keeper_x_min, poles.keeper_x_max


def _shapes(magnet: Magnet, poles: Poles) -> Assembly:
    return Assembly(
        rods=row_of_screws(poles, 0.0), bars=keeper(poles, 0.0), magnets=bars_beside(magnet, poles, _between(poles))
    )


TWO_BAR_SINGLE = Construction(
    slug="two-bar-single",
    words="two-bar-single",
    also=("wide-single-coil",),
    placed=(
        "screws through a keeper in the middle; two bars of the size that is given, one on each side, inner "
        "faces `bar_to_pole_gap` from the keeper, like poles to the screws"
    ),
    beside_finite_elements=True,
    rows=(Row(pole=SCREWS),),
    bars=2,
    has_keeper=True,
    shapes=_shapes,
    bar_stretches=lambda magnet, poles: two_stretches(magnet, _between(poles)),
    defaults={
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
        "base_plate": NO_BASE_PLATE,
        "cover": NO_METAL_COVER,
    },
    base_plate={"thickness": 0.5, "length": 84.0, "width": 38.0, "z": -1.5, "skirt": 0.0},
    cover={"thickness": 0.5, "length": 85.0, "width": 40.0, "z": 12.2, "skirt": 10.0},
    lowest_usual_resistance=4.0e3,
    polarity="N or S at the screws",
    compass_over="screws",
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(
                key="loosen",
                text="Back off the screws that hold the base plate 3 to 4 turns; slide out one bar at a "
                "time, endwise, keeper stays on the screws.",
            ),
        ),
        bar_faces="screws",
        bars_together="like poles to the screws",
        checks=(
            BenchStep(
                key="two_bars",
                text="Both bars show the SAME pole to the screws: held like that across the screws they repel each "
                "other. One bar turned leaves almost no output.",
            ),
        ),
        new_bar_in="New bar in with no force, the marked way round; it must touch the poles on both sides. To: {to}.",
        snug="Close the base plate without force; nothing rattles; no coil lead is pinched.",
        fit_words=BESIDE_POLES,
    ),
)
