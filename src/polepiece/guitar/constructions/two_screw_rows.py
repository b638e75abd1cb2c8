"""Humbucker with two rows of screws: a keeper on each row, the bar between both, a coil round each row."""

from polepiece.geometry import Assembly
from polepiece.guitar.assumption import LOOK, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import BESIDE_POLES
from polepiece.guitar.constructions.pole import SCREWS, SECOND_SCREWS, Row
from polepiece.guitar.constructions.shapes import (
    bar_between,
    keeper,
    mirrored_keeper,
    one_bar,
    row_of_screws,
)
from polepiece.guitar.constructions.usual import MAGNET_TELLS
from polepiece.guitar.parts import Magnet, Poles

_LOOSEN = (
    "the tape where it must be; back off the bobbin screws 3 to 4 turns. "
    "Do not lift the bobbins; coil leads stay where they are, pole screws stay in."
)


def _shapes(magnet: Magnet, poles: Poles) -> Assembly:
    x = poles.row_offset
    return Assembly(
        rods=row_of_screws(poles, x, second=True) + row_of_screws(poles, -x),
        bars=keeper(poles, -x) + mirrored_keeper(poles, x), magnets=(bar_between(magnet, poles),),
    )  # fmt: skip


TWO_SCREW_ROWS = Construction(
    slug="two-screw-rows",
    words="two-screw-rows",
    also=("two-adjustable-rows", "twelve-screws", "double-screw"),
    placed=(
        "as a humbucker, with screws and a keeper (the mirror image) at +row_offset too. Gaps are measured to "
        "the row at -row_offset; `second_screw_raise` is that of the other row. `[[pickups.coils]]`: second "
        "coil, then screw coil; split-slugs leaves the second coil on"
    ),
    beside_finite_elements=True,
    rows=(Row(pole=SECOND_SCREWS, side=1, coil="second coil"), Row(pole=SCREWS, side=-1, coil="screw coil")),
    bars=1,
    has_keeper=True,
    shapes=_shapes,
    bar_stretches=one_bar,
    wirings=("series", "parallel", "split-screws", "split-slugs", "out-of-phase"),
    defaults={
        "base_plate": Default("nickel-silver", settle=MAGNET_TELLS, words="nickel silver, 0.5 mm"),
        "cover": Default("none", settle=LOOK, words="no cover"),
    },
    base_plate={"thickness": 0.5, "length": 69.0, "width": 38.0, "z": -1.5},
    cover={"thickness": 0.5, "length": 70.0, "width": 38.5, "z": 13.0, "skirt": 14.0},
    takes_metal_cover=True,
    lowest_usual_resistance=5.0e3,
    height_turn="0.45 to 0.53",
    polarity="N or S at the screws of the first row",
    compass_over="screws",
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(key="loosen", text=f"Cut {_LOOSEN}", uncovered=f"Uncovered: cut {_LOOSEN}"),
            BenchStep(
                key="slide",
                text="Slide the bar out endwise with wood, brass or plastic. A keeper stays on each row of screws.",
            ),
        ),
        bar_faces="screws",
        new_bar_in="New bar in with no force, the marked way round; it must touch both keepers. To: {to}.",
        snug="Bobbin screws snug, no more; bar touches both keepers; no coil lead is pinched; "
        "meter on the coil while you tighten.",
        fit_words={**BESIDE_POLES, ("width", "too large"): "too wide: do not force it between the keepers, take "
                   "another bar"},
    ),
)  # fmt: skip
