"""Small humbucker: the full-size one with its rows, bar, keeper and coils nearer to one another."""

from polepiece.guitar.assumption import LOOK, METER, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import BESIDE_POLES
from polepiece.guitar.constructions.pole import SCREWS, SLUGS, Row
from polepiece.guitar.constructions.shapes import one_bar, slugs_and_screws
from polepiece.guitar.constructions.usual import MAGNET_TELLS

_LOOSEN = (
    "the tape where it must be; back off the bobbin screws 3 to 4 turns. "
    "Do not lift the bobbins; coil leads stay where they are."
)

SMALL_HUMBUCKER = Construction(
    slug="small-humbucker",
    words="small-humbucker",
    also=("mini-humbucker", "narrow-humbucker"),
    placed="as a humbucker, everything nearer to the middle",
    beside_finite_elements=True,
    rows=(Row(pole=SLUGS, side=1, coil="slug coil"), Row(pole=SCREWS, side=-1, coil="screw coil")),
    bars=1,
    has_keeper=True,
    shapes=slugs_and_screws,
    bar_stretches=one_bar,
    wirings=("series", "parallel", "split-screws", "split-slugs", "out-of-phase"),
    defaults={
        "magnet.length": Default(60.0, 54.0, 64.0),
        "magnet.width": Default(8.0, 7.8, 8.2),
        "poles.row_offset": Default(6.1, 5.95, 6.3),
        "poles.slug_diameter": Default(4.0, 3.8, 4.2),
        "poles.slug_height": Default(11.5, 11.0, 12.5),
        "poles.screw_diameter": Default(2.8, 2.5, 3.0),
        "poles.screw_bottom": Default(-5.0, -8.0, -3.0),
        "poles.screw_top": Default(11.5, 11.0, 12.5),
        "poles.head_diameter": Default(4.4, 4.0, 4.6),
        "poles.head_height": Default(1.3, 1.0, 1.8),
        "poles.keeper_x_min": Default(-8.0, -8.3, -7.8),
        "poles.keeper_x_max": Default(-4.1, -4.2, -4.0),
        "poles.keeper_length": Default(60.0, 56.0, 64.0),
        "coil.inner_half_x": Default(2.4, 2.2, 2.5),
        "coil.inner_half_y": Default(28.5, 28.0, 29.0),
        "coil.outer_half_x": Default(5.6, 5.2, 5.9),
        "coil.outer_half_y": Default(31.7, 31.0, 32.5),
        "coil.bottom": Default(4.2, 3.8, 4.8),
        "coil.top": Default(10.5, 10.0, 11.0),
        "coil.turns": Default(4000.0, 3600.0, 4250.0, METER),
        "base_plate": Default("nickel-silver", settle=MAGNET_TELLS, words="nickel silver, 0.5 mm"),
        "cover": Default("none", settle=LOOK, words="no cover"),
    },
    defaults_by_position={"bridge": {"screws_face": Default("bridge", settle=LOOK)}},
    base_plate={"thickness": 0.5, "length": 66.0, "width": 27.0, "z": -1.5},
    cover={"thickness": 0.5, "length": 67.0, "width": 28.0, "z": 12.0, "skirt": 13.0},
    takes_metal_cover=True,
    lowest_usual_resistance=4.0e3,
    polarity="N or S at the screws",
    compass_over="screws",
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(key="loosen", text=f"Cut {_LOOSEN}", uncovered=f"Uncovered: cut {_LOOSEN}"),
            BenchStep(
                key="slide",
                text="Slide the bar out endwise with wood, brass or plastic; it is narrower than that of a full-size "
                "pickup. Keep spacers and the keeper on the screws.",
            ),
        ),
        bar_faces="screws",
        new_bar_in="New bar in with no force, the marked way round; it must touch the poles on both sides. To: {to}.",
        snug="Bobbin screws snug, no more; bar touches slugs and keeper; no coil lead is pinched; "
        "meter on the coil while you tighten.",
        fit_words=BESIDE_POLES,
    ),
)
