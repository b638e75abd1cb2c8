"""Twin blade in the size of a single coil: two narrow coils, each round a blade, the bar between their lower ends."""

from polepiece.guitar.assumption import METER, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import BETWEEN_BLADES
from polepiece.guitar.constructions.pole import BLADES, SECOND_BLADES, Row
from polepiece.guitar.constructions.shapes import one_bar, two_blades
from polepiece.guitar.constructions.usual import NO_BASE_PLATE, NO_METAL_COVER

SMALL_TWIN_BLADE = Construction(
    slug="small-twin-blade",
    words="small-twin-blade",
    also=("single-size-twin-blade", "small-twin-rail"),
    placed="as twin-blade, in the width of a single coil",
    beside_finite_elements=True,
    rows=(Row(pole=BLADES, side=1, coil="bridge-side coil"), Row(pole=SECOND_BLADES, side=-1, coil="neck-side coil")),
    bars=1,
    shapes=two_blades,
    bar_stretches=one_bar,
    wirings=("series", "parallel", "split-screws", "split-slugs", "out-of-phase"),
    defaults={
        "magnet.length": Default(58.0, 54.0, 60.0),
        "magnet.width": Default(6.6, 6.4, 6.8),
        "magnet.thickness": Default(4.0, 3.2, 5.0),
        "poles.row_offset": Default(4.5, 4.4, 4.6),
        "poles.blade_thickness": Default(2.0, 1.8, 2.0),
        "poles.blade_length": Default(57.0, 55.0, 58.0),
        "poles.blade_top": Default(15.5, 14.5, 16.5),
        "coil.inner_half_x": Default(1.4, 1.3, 1.5),
        "coil.inner_half_y": Default(29.5, 29.2, 30.0),
        "coil.outer_half_x": Default(4.3, 4.0, 4.4),
        "coil.outer_half_y": Default(32.4, 31.8, 32.8),
        "coil.bottom": Default(5.3, 5.2, 6.0),
        "coil.top": Default(14.0, 13.5, 14.4),
        "coil.turns": Default(4000.0, 3500.0, 4800.0, METER),
        "base_plate": NO_BASE_PLATE,
        "cover": NO_METAL_COVER,
    },
    base_plate={"thickness": 0.5, "length": 82.0, "width": 17.0, "z": -1.5},
    cover={"thickness": 0.4, "length": 72.0, "width": 20.0, "z": 17.0, "skirt": 12.0},
    lowest_usual_resistance=3.0e3,
    polarity="N or S at the blade on the bridge side",
    compass_over="blades",
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(
                key="loosen",
                text="Open the bottom: often a glued sheet; warm the glue, not the coils. "
                "Coil leads stay where they are.",
            ),
            BenchStep(
                key="slide",
                text="Slide the bar out endwise with wood, brass or plastic; the blades stay in their coils.",
            ),
        ),
        bar_faces="bridge",
        new_bar_in="New bar in with no force, the marked way round; it must touch both blades. To: {to}.",
        snug="Nothing rattles; the bar touches both blades along its length; no coil lead is pinched; "
        "meter on the coil while you tighten.",
        fit_words=BETWEEN_BLADES,
    ),
)
