"""Single coil round steel slugs with one bar on one side of their lower ends."""

from polepiece.geometry import Assembly
from polepiece.guitar.assumption import METER, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import BESIDE_SLUGS
from polepiece.guitar.constructions.pole import SLUGS, Row
from polepiece.guitar.constructions.shapes import bars_beside, row_of_slugs, slug_stretch, two_stretches
from polepiece.guitar.constructions.usual import NO_BASE_PLATE, NO_METAL_COVER
from polepiece.guitar.parts import Magnet, Poles


def _shapes(magnet: Magnet, poles: Poles) -> Assembly:
    return Assembly(rods=row_of_slugs(poles, 0.0), magnets=bars_beside(magnet, poles, slug_stretch(poles))[:1])


SIDE_BAR_SINGLE = Construction(
    slug="side-bar-single",
    words="side-bar-single",
    also=("one-side-bar",),
    placed="slugs in the middle, one bar on the neck side (-x) of their lower ends, `bar_to_pole_gap` from them",
    beside_finite_elements=True,
    rows=(Row(pole=SLUGS),),
    bars=1,
    shapes=_shapes,
    bar_stretches=lambda magnet, poles: two_stretches(magnet, slug_stretch(poles))[:1],
    defaults={
        "magnet.length": Default(62.0, 55.0, 65.0),
        "magnet.width": Default(10.0, 6.0, 12.0),
        "magnet.thickness": Default(5.0, 4.0, 6.0),
        "magnet.bar_to_pole_gap": Default(0.1, 0.02, 0.2, "feeler strip between bar and slugs"),
        "poles.slug_diameter": Default(4.8, 4.5, 5.0),
        "poles.slug_height": Default(17.0, 16.0, 19.0),
        "coil.inner_half_x": Default(3.0, 2.6, 3.3),
        "coil.inner_half_y": Default(29.0, 28.0, 29.5),
        "coil.outer_half_x": Default(8.0, 6.5, 8.5),
        "coil.outer_half_y": Default(34.0, 32.5, 34.5),
        "coil.bottom": Default(6.5, 6.0, 8.0),
        "coil.top": Default(15.0, 14.0, 16.0),
        "coil.turns": Default(7000.0, 5000.0, 8000.0, METER),
        "base_plate": NO_BASE_PLATE,
        "cover": NO_METAL_COVER,
    },
    base_plate={"thickness": 0.5, "length": 82.0, "width": 24.0, "z": -1.5},
    cover={"thickness": 0.4, "length": 72.0, "width": 25.0, "z": 17.6, "skirt": 12.0},
    lowest_usual_resistance=3.0e3,
    polarity="N or S at the slugs",
    compass_over="slugs",
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(
                key="loosen",
                text="The bar is often glued: warm the glue with a hair dryer, not the coil; slide it out endwise; the "
                "slugs stay in the coil.",
            ),
        ),
        bar_faces="slugs",
        new_bar_in="New bar in with no force, the marked way round; it must touch every slug. To: {to}.",
        snug="The bar sits firmly against the slugs; no coil lead is pinched.",
        fit_words=BESIDE_SLUGS,
    ),
)
