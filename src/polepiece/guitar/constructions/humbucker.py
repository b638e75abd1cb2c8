"""Full-size humbucker: a row of slugs and a row of screws, one bar between slugs and keeper, a coil round each row."""

from polepiece.guitar.assumption import LOOK, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import BESIDE_POLES
from polepiece.guitar.constructions.pole import SCREWS, SLUGS, Row
from polepiece.guitar.constructions.shapes import one_bar, slugs_and_screws
from polepiece.guitar.constructions.usual import MAGNET_TELLS

_LOOSEN = (
    "the tape where it must be; back off the four bobbin screws 3 to 4 turns. "
    "Do not lift the bobbins; coil leads stay where they are."
)

HUMBUCKER = Construction(
    slug="humbucker",
    words="humbucker",
    also=("hum-bucker", "humbucking", "humbucking-pickup"),
    placed=(
        "bar in the middle, slugs at +row_offset, screws at -row_offset through the keeper. Gaps are measured "
        "to the screw heads, as drawn. `[[pickups.coils]]`: slug coil, then screw coil"
    ),
    beside_finite_elements=True,
    rows=(Row(pole=SLUGS, side=1, coil="slug coil"), Row(pole=SCREWS, side=-1, coil="screw coil")),
    bars=1,
    has_keeper=True,
    shapes=slugs_and_screws,
    bar_stretches=one_bar,
    wirings=("series", "parallel", "split-screws", "split-slugs", "out-of-phase"),
    defaults={
        "base_plate": Default("nickel-silver", settle=MAGNET_TELLS, words="nickel silver, 0.5 mm"),
        "cover": Default("none", settle=LOOK, words="no cover"),
    },
    defaults_by_position={"bridge": {"screws_face": Default("bridge", settle=LOOK)}},
    base_plate={"thickness": 0.5, "length": 69.0, "width": 38.0, "z": -1.5},
    cover={"thickness": 0.5, "length": 70.0, "width": 38.5, "z": 13.0, "skirt": 14.0},
    takes_metal_cover=True,
    lowest_usual_resistance=5.0e3,
    height_turn="0.45 to 0.53",
    polarity="N or S at the screws",
    compass_over="screws",
    trade_speaks_of_it=True,
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(
                key="loosen",
                text=f"Cut {_LOOSEN}",
                uncovered=f"Uncovered: cut {_LOOSEN}",
            ),
            BenchStep(
                key="slide",
                text="Slide the bar out endwise with wood, brass or plastic. Keep the spacer beside the slugs "
                "and the keeper on the screws.",
            ),
        ),
        bar_faces="screws",
        new_bar_in="New bar in with no force, the marked way round; it must touch the poles on both sides. To: {to}.",
        snug="Bobbin screws snug, no more; bar touches slugs and keeper; no coil lead is pinched; "
        "meter on the coil while you tighten.",
        fit_words=BESIDE_POLES,
    ),
)
