"""Single coil round one steel blade that stands on one bar."""

from dataclasses import replace

from polepiece.geometry import Assembly
from polepiece.guitar.assumption import METER, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import UNDER_POLES
from polepiece.guitar.constructions.pole import BLADES, Row
from polepiece.guitar.constructions.shapes import LEAST_SEPARATION, bar, blade, contact, one_bar
from polepiece.guitar.constructions.usual import NO_BASE_PLATE, NO_METAL_COVER, TWO_BARS_TELL
from polepiece.guitar.parts import Magnet, Poles


def _shapes(magnet: Magnet, poles: Poles) -> Assembly:
    """The blade is lifted off the bar by the air between them."""
    (x,) = one_bar(magnet, poles)
    under = bar(magnet, poles, x, easy=0 if magnet.magnetised_through == "width" else 2)
    lift = max(0.0, under.z_max + max(contact(magnet)[0], LEAST_SEPARATION) - poles.blade_bottom)
    on_it = blade(poles, 0.0, lift=lift)
    inside = under.x_min < on_it.x_min and on_it.x_max < under.x_max and under.easy == 2
    under = replace(under, blade=(on_it.x_min, on_it.x_max) if inside else None, marks=())
    return Assembly(bars=(on_it,), magnets=(under,))


BLADE_SINGLE = Construction(
    slug="blade-single",
    words="blade-single",
    also=("blade", "rail", "rail-single", "single-blade"),
    placed=(
        "one blade (the `blade_*` keys) on one bar under it, magnetised through its thickness. Strings cross "
        "it where `pole_count` and `pole_spacing` say; gaps are measured to its upper edge"
    ),
    beside_finite_elements=True,
    rows=(Row(pole=BLADES),),
    bars=1,
    shapes=_shapes,
    bar_stretches=one_bar,
    defaults={
        "magnet.length": Default(62.0, 55.0, 65.0),
        "magnet.width": Default(10.0, 9.0, 13.0),
        "magnet.thickness": Default(5.0, 3.2, 6.5),
        "magnet.magnetised_through": Default("thickness", settle=TWO_BARS_TELL),
        "magnet.bar_to_pole_gap": Default(0.1, 0.02, 0.2, "feeler strip between bar and blade"),
        "poles.blade_thickness": Default(3.0, 2.0, 4.0),
        "poles.blade_length": Default(57.0, 55.0, 58.0),
        "poles.blade_bottom": Default(5.0, 3.2, 6.5),
        "poles.blade_top": Default(17.5, 16.0, 19.5),
        "coil.inner_half_x": Default(2.6, 2.2, 3.0),
        "coil.inner_half_y": Default(29.5, 29.2, 30.0),
        "coil.outer_half_x": Default(8.0, 6.5, 8.5),
        "coil.outer_half_y": Default(34.5, 33.0, 35.0),
        "coil.bottom": Default(6.7, 6.6, 8.0),
        "coil.top": Default(15.5, 14.5, 15.9),
        "coil.turns": Default(8000.0, 6000.0, 9000.0, METER),
        "base_plate": NO_BASE_PLATE,
        "cover": NO_METAL_COVER,
    },
    base_plate={"thickness": 0.5, "length": 82.0, "width": 17.0, "z": -1.5},
    cover={"thickness": 0.4, "length": 72.0, "width": 20.0, "z": 18.2, "skirt": 12.0},
    lowest_usual_resistance=3.5e3,
    polarity="N or S up",
    compass_over="blade",
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(
                key="loosen",
                text="Open the base plate; the bar lies flat under the blade. Lift it off straight, keep the "
                "spacers, do not bend the coil leads.",
            ),
        ),
        bar_faces="bridge",
        new_bar_in="New bar in with no force, the marked face up; the blade stands on all of it. To: {to}.",
        snug="Close the base plate without force; nothing rattles; no coil lead is pinched.",
        fit_words={
            **UNDER_POLES,
            ("width", "fits"): "lies under the blade",
            ("width", "shim"): "narrow: centre it under the blade",
            ("thickness", "fits"): "the blade stands on it",
            ("thickness", "shim"): "thin: brass or card under it; the blade must touch it along its whole length",
        },
    ),
)
