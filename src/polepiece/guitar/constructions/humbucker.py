"""Full-size humbucker: a row of slugs and a row of screws, one bar between slugs and keeper, a coil round each row."""

from polepiece.geometry import Assembly
from polepiece.guitar.assumption import LOOK, METER, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import BESIDE_POLES
from polepiece.guitar.constructions.pole import SCREWS, SLUGS, Row
from polepiece.guitar.constructions.shapes import bar, contact, keeper, one_bar, row_of_screws, row_of_slugs
from polepiece.guitar.constructions.usual import LONG_BAR, SCREW_PITCH, SCREW_RAISE, STEEL
from polepiece.guitar.parts import Magnet, Poles

_LOOSEN = (
    "the tape where it must be; back off the four bobbin screws 3 to 4 turns. "
    "Do not lift the bobbins; coil leads stay where they are."
)


def _shapes(magnet: Magnet, poles: Poles) -> Assembly:
    """The air is taken from the bar's width: steel and screws stay where they are drawn."""
    through_width, x = magnet.magnetised_through == "width", poles.row_offset
    half = 0.5 * magnet.width - (contact(magnet)[0] if through_width else 0.0)
    easy = 2 if magnet.magnetised_through == "thickness" else 0
    return Assembly(
        rods=row_of_slugs(poles, x) + row_of_screws(poles, -x), bars=keeper(poles, -x),
        magnets=(bar(magnet, poles, (-half, half), easy=easy),),
    )  # fmt: skip


HUMBUCKER = Construction(
    slug="humbucker",
    words="humbucker",
    rows=(Row(pole=SLUGS, side=1, coil="slug coil"), Row(pole=SCREWS, side=-1, coil="screw coil")),
    bars=1,
    has_keeper=True,
    shapes=_shapes,
    bar_stretches=one_bar,
    wirings=("series", "parallel", "split-screws", "split-slugs", "out-of-phase"),
    defaults={
        **LONG_BAR,
        "magnet.bar_to_pole_gap": Default(0.1, 0.02, 0.2, "feeler strip between bar and slug"),
        "poles.row_offset": Default(9.0, 8.8, 9.3, "caliper between the rows, halved"),
        "poles.slug_diameter": Default(4.8, 4.7, 4.9),
        "poles.slug_bottom": Default(0.0, -1.0, 0.5),
        "poles.slug_height": Default(12.5, 12.0, 13.5),
        "poles.slug_steel.name": STEEL,
        "poles.screw_diameter": Default(3.0, 2.9, 3.5),
        "poles.screw_bottom": Default(-6.0, -9.0, -4.0),
        "poles.screw_top": Default(12.5, 12.0, 13.5),
        "poles.head_diameter": Default(5.0, 4.8, 5.5),
        "poles.head_height": Default(1.5, 1.2, 2.0),
        "poles.screw_raise": SCREW_RAISE,
        "poles.screw_pitch": SCREW_PITCH,
        "poles.screw_steel.name": STEEL,
        "poles.keeper_x_min": Default(-11.6, -11.8, -11.3),
        "poles.keeper_x_max": Default(-6.4, -6.6, -6.37),
        "poles.keeper_length": Default(62.0, 58.0, 64.0),
        "poles.keeper_bottom": Default(0.0, -0.3, 0.1),
        "poles.keeper_top": Default(3.175, 3.0, 3.4),
        "poles.keeper_steel.name": STEEL,
        "coil.inner_half_x": Default(3.2, 3.0, 3.3),
        "coil.inner_half_y": Default(29.0, 28.5, 29.5),
        # 5000 turns of AWG 42 (0.071 mm over all) fill 69 % of it; the flanges of bobbins 18 mm apart end at 9 mm
        "coil.outer_half_x": Default(7.6, 6.6, 8.4),
        "coil.outer_half_y": Default(33.4, 32.2, 34.4),
        "coil.bottom": Default(4.5, 4.0, 5.0),
        "coil.top": Default(11.0, 10.5, 11.5),
        "coil.turns": Default(5000.0, 4600.0, 5600.0, METER),
        "base_plate": Default(
            "nickel-silver", settle="look; a fridge magnet tells steel", words="nickel silver, 0.5 mm"
        ),
        "cover": Default("none", settle=LOOK, words="no cover"),
    },
    defaults_by_position={"bridge": {"screws_face": Default("bridge", settle=LOOK)}},
    base_plate={"thickness": 0.5, "length": 69.0, "width": 38.0, "z": -1.5},
    cover={"thickness": 0.5, "length": 70.0, "width": 38.5, "z": 13.0, "skirt": 14.0},
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
