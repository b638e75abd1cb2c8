"""Single coil round steel poles that stand on one bar."""

from polepiece.geometry import Assembly
from polepiece.guitar.assumption import METER, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import UNDER_POLES
from polepiece.guitar.constructions.pole import SLUGS, Row
from polepiece.guitar.constructions.shapes import LEAST_SEPARATION, bar, contact, one_bar, row_of_slugs
from polepiece.guitar.constructions.usual import NO_BASE_PLATE, NO_METAL_COVER, TWO_BARS_TELL
from polepiece.guitar.parts import Magnet, Poles


def _shapes(magnet: Magnet, poles: Poles) -> Assembly:
    """The poles are lifted off the bar by the air between them."""
    (x,) = one_bar(magnet, poles)
    under = bar(magnet, poles, x, easy=0 if magnet.magnetised_through == "width" else 2)
    lift = max(0.0, under.z_max + max(contact(magnet)[0], LEAST_SEPARATION) - poles.slug_bottom)
    return Assembly(rods=row_of_slugs(poles, 0.0, lift), magnets=(under,))


BAR_SINGLE = Construction(
    slug="bar-single",
    words="bar-single",
    also=("bar-under-poles", "steel-poles-on-a-bar"),
    placed="steel poles (the `slug_*` keys) standing on one bar under them, magnetised through its thickness",
    beside_finite_elements=True,
    rows=(Row(pole=SLUGS),),
    bars=1,
    shapes=_shapes,
    bar_stretches=one_bar,
    defaults={
        "magnet.length": Default(62.0, 55.0, 65.0),
        "magnet.width": Default(10.0, 9.0, 13.0),
        "magnet.thickness": Default(5.0, 3.2, 6.5),
        "magnet.magnetised_through": Default("thickness", settle=TWO_BARS_TELL),
        "magnet.bar_to_pole_gap": Default(0.1, 0.02, 0.2, "feeler strip between bar and poles"),
        "poles.slug_diameter": Default(4.8, 4.5, 5.0),
        "poles.slug_bottom": Default(5.0, 3.2, 6.5),
        "poles.slug_height": Default(17.5, 16.0, 19.5),
        "coil.inner_half_x": Default(3.0, 2.6, 3.3),
        "coil.inner_half_y": Default(29.0, 28.0, 29.5),
        "coil.outer_half_x": Default(8.0, 6.5, 8.5),
        "coil.outer_half_y": Default(34.0, 32.5, 34.5),
        "coil.bottom": Default(6.5, 5.0, 8.0),
        "coil.top": Default(15.5, 14.5, 16.5),
        "coil.turns": Default(8000.0, 6000.0, 9000.0, METER),
        "base_plate": NO_BASE_PLATE,
        "cover": NO_METAL_COVER,
    },
    base_plate={"thickness": 0.5, "length": 82.0, "width": 17.0, "z": -1.5},
    cover={"thickness": 0.4, "length": 72.0, "width": 20.0, "z": 18.2, "skirt": 12.0},
    lowest_usual_resistance=3.5e3,
    polarity="N or S up",
    compass_over="poles",
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(
                key="loosen",
                text="Open the base plate; the bar lies flat under the poles. Lift it off straight, keep the "
                "spacers, do not bend the coil leads.",
            ),
        ),
        bar_faces="bridge",
        new_bar_in="New bar in with no force, the marked face up; every pole stands on it. To: {to}.",
        snug="Close the base plate without force; nothing rattles; no coil lead is pinched.",
        fit_words=UNDER_POLES,
    ),
)
