"""Single coil round screws that stand over one bar: a screw that is turned up leaves air under it."""

from dataclasses import replace

from polepiece.geometry import Assembly, MagnetBox, SteelRod
from polepiece.guitar.assumption import METER, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import UNDER_POLES
from polepiece.guitar.constructions.pole import SCREWS, Row
from polepiece.guitar.constructions.shapes import LEAST_SEPARATION, bar, contact, one_bar, row_of_screws
from polepiece.guitar.constructions.usual import NO_BASE_PLATE, NO_METAL_COVER, TWO_BARS_TELL
from polepiece.guitar.parts import Magnet, Poles


def _off(screw: SteelRod, under: MagnetBox, air: float) -> SteelRod:
    """Return a screw whose lower end is no nearer to the bar than the air of their contact."""
    lowest, least = screw.sections[0], under.z_max + air
    return replace(screw, sections=(replace(lowest, bottom=max(lowest.bottom, least)), *screw.sections[1:]))


def _shapes(magnet: Magnet, poles: Poles) -> Assembly:
    (x,) = one_bar(magnet, poles)
    under = bar(magnet, poles, x, easy=0 if magnet.magnetised_through == "width" else 2)
    air = max(contact(magnet)[0], LEAST_SEPARATION)
    return Assembly(rods=tuple(_off(one, under, air) for one in row_of_screws(poles, 0.0)), magnets=(under,))


SCREWS_OVER_BAR = Construction(
    slug="screws-over-bar",
    words="single with screws over a bar",
    also=("screws-on-a-bar", "adjustable-poles-on-a-bar", "screws-over-a-bar"),
    placed=(
        "screws in the middle whose lower ends (`screw_bottom`) stand over one bar magnetised through its thickness; a "
        "screw that is turned up leaves that much air under it"
    ),
    rows=(Row(pole=SCREWS),),
    bars=1,
    shapes=_shapes,
    bar_stretches=one_bar,
    defaults={
        "magnet.length": Default(62.0, 55.0, 65.0),
        "magnet.width": Default(10.0, 9.0, 13.0),
        "magnet.thickness": Default(5.0, 3.2, 6.5),
        "magnet.magnetised_through": Default("thickness", settle=TWO_BARS_TELL),
        "magnet.bar_to_pole_gap": Default(0.1, 0.02, 0.2, "feeler strip between bar and screws"),
        "poles.screw_diameter": Default(3.5, 2.9, 4.8),
        "poles.screw_bottom": Default(5.5, 5.2, 7.0, "depth gauge from the top of a screw, less its length"),
        "poles.screw_top": Default(16.0, 15.0, 18.0),
        "coil.inner_half_x": Default(3.0, 2.6, 3.3),
        "coil.inner_half_y": Default(29.0, 28.0, 29.5),
        "coil.outer_half_x": Default(8.0, 6.5, 8.5),
        "coil.outer_half_y": Default(34.0, 32.5, 34.5),
        "coil.bottom": Default(6.5, 5.5, 8.0),
        "coil.top": Default(15.0, 14.0, 16.0),
        "coil.turns": Default(8000.0, 6000.0, 9000.0, METER),
        "base_plate": NO_BASE_PLATE,
        "cover": NO_METAL_COVER,
    },
    base_plate={"thickness": 0.5, "length": 82.0, "width": 17.0, "z": -1.5},
    cover={"thickness": 0.4, "length": 72.0, "width": 20.0, "z": 15.8, "skirt": 10.0},
    lowest_usual_resistance=3.5e3,
    polarity="N or S up",
    compass_over="screws",
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(
                key="loosen",
                text="Open the base plate; the bar lies flat under the screws. Note how far each screw is in and turn "
                "none. Lift the bar off straight, keep the spacers, do not bend the coil leads.",
            ),
        ),
        bar_faces="bridge",
        new_bar_in="New bar in with no force, the marked face up, screws as they were, none pressing on it. To: {to}.",
        snug="Close the base plate without force; nothing rattles; no coil lead is pinched; no screw sits on the bar.",
        fit_words=UNDER_POLES,
    ),
)
