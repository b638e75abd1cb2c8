"""Twin blade, full size: a steel blade in each of two coils, the bar between their lower ends."""

from polepiece.guitar.assumption import LOOK, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import BETWEEN_BLADES
from polepiece.guitar.constructions.pole import BLADES, SECOND_BLADES, Row
from polepiece.guitar.constructions.shapes import one_bar, two_blades
from polepiece.guitar.constructions.usual import MAGNET_TELLS

TWIN_BLADE = Construction(
    slug="twin-blade",
    words="twin-blade",
    also=("twin-rail", "rails", "blades", "twin-blades", "double-blade", "dual-blade", "blade-humbucker"),
    placed=(
        "blades at +row_offset and -row_offset, the bar between their lower ends. `[[pickups.coils]]`: "
        "bridge-side coil (+x), then neck-side coil; split-slugs leaves the bridge-side coil on"
    ),
    beside_finite_elements=True,
    rows=(Row(pole=BLADES, side=1, coil="bridge-side coil"), Row(pole=SECOND_BLADES, side=-1, coil="neck-side coil")),
    bars=1,
    shapes=two_blades,
    bar_stretches=one_bar,
    wirings=("series", "parallel", "split-screws", "split-slugs", "out-of-phase"),
    defaults={
        "poles.row_offset": Default(7.9, 7.9, 8.3),
        "poles.blade_length": Default(57.0, 55.0, 58.0),
        "poles.blade_top": Default(13.0, 12.5, 14.0),
        "coil.inner_half_x": Default(2.2, 2.0, 2.4),
        "coil.inner_half_y": Default(29.5, 29.2, 30.0),
        "coil.outer_half_x": Default(6.8, 6.2, 7.4),
        "coil.outer_half_y": Default(34.1, 33.0, 34.5),
        "base_plate": Default("nickel-silver", settle=MAGNET_TELLS, words="nickel silver, 0.5 mm"),
        "cover": Default("none", settle=LOOK, words="no cover"),
    },
    base_plate={"thickness": 0.5, "length": 69.0, "width": 38.0, "z": -1.5},
    cover={"thickness": 0.5, "length": 70.0, "width": 38.5, "z": 13.6, "skirt": 14.0},
    takes_metal_cover=True,
    lowest_usual_resistance=5.0e3,
    polarity="N or S at the blade on the bridge side",
    compass_over="blades",
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(
                key="loosen",
                text="Cut the tape where it must be; back off the bobbin screws 3 to 4 turns. Do not lift the bobbins."
                " Coil leads stay where they are.",
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
