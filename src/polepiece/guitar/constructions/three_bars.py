"""Humbucker with three bars: one between the rows, one outside each row, like poles to each row."""

from dataclasses import replace

from polepiece.geometry import Assembly
from polepiece.guitar.assumption import LOOK, Default
from polepiece.guitar.constructions.construction import BarWork, BenchStep, Construction
from polepiece.guitar.constructions.fit_words import BESIDE_POLES
from polepiece.guitar.constructions.pole import SCREWS, SLUGS, Row
from polepiece.guitar.constructions.shapes import (
    LEAST_SEPARATION,
    Stretch,
    bar,
    bar_between,
    contact,
    one_bar,
    row_of_screws,
    row_of_slugs,
)
from polepiece.guitar.constructions.usual import MAGNET_TELLS
from polepiece.guitar.parts import Magnet, Poles


def _stretches(magnet: Magnet, poles: Poles) -> tuple[Stretch, ...]:
    """Return the middle bar, the one outside the screws and the one outside the slugs; with no air."""
    screws, slugs = (poles.row_offset + 0.5 * one for one in (poles.screw_diameter, poles.slug_diameter))
    return *one_bar(magnet, poles), (-screws - magnet.outer_width, -screws), (slugs, slugs + magnet.outer_width)


def _shapes(magnet: Magnet, poles: Poles) -> Assembly:
    """The air of the contact is taken from the bars that lie outside."""
    air = max(contact(magnet)[0], LEAST_SEPARATION)
    _, (far, at_screws), (at_slugs, away) = _stretches(magnet, poles)
    no_keeper = replace(poles, keeper_x_min=None)
    outside = ((far - air, at_screws - air), (at_slugs + air, away + air))
    return Assembly(
        rods=row_of_slugs(poles, poles.row_offset) + row_of_screws(no_keeper, -poles.row_offset),
        magnets=(bar_between(magnet, poles), *(bar(magnet, poles, x, easy=0, turned=-1.0) for x in outside)),
    )  # fmt: skip


THREE_BARS = Construction(
    slug="three-bars",
    words="three-bar humbucker",
    also=("three-ferrite-bars", "three-bar", "three-bar-humbucker", "triple-bar"),
    placed=(
        "as a humbucker without a keeper, and a bar `bar_outer_width` wide outside each row, `bar_to_pole_gap` off: "
        "each row has like poles on both sides. One grade for all three"
    ),
    rows=(Row(pole=SLUGS, side=1, coil="slug coil"), Row(pole=SCREWS, side=-1, coil="screw coil")),
    bars=3,
    shapes=_shapes,
    bar_stretches=_stretches,
    wirings=("series", "parallel", "split-screws", "split-slugs", "out-of-phase"),
    defaults={
        "magnet.width": Default(13.0, 12.4, 13.2),
        "magnet.thickness": Default(4.8, 3.2, 6.4),
        "poles.screw_bottom": Default(0.0, -6.0, 1.0),
        "coil.bottom": Default(6.0, 5.0, 7.0),
        "coil.top": Default(12.0, 11.0, 12.4),
        "base_plate": Default("nickel-silver", settle=MAGNET_TELLS, words="nickel silver, 0.5 mm"),
        "cover": Default("none", settle=LOOK, words="no cover"),
    },
    base_plate={"thickness": 0.5, "length": 69.0, "width": 38.0, "z": -1.5},
    cover={"thickness": 0.5, "length": 70.0, "width": 40.5, "z": 13.0, "skirt": 14.0},
    takes_metal_cover=True,
    lowest_usual_resistance=5.0e3,
    height_turn="0.45 to 0.53",
    polarity="N or S at the screws",
    compass_over="screws",
    bar_work=BarWork(
        steps_to_the_bar=(
            BenchStep(
                key="loosen",
                text="Cut the tape where it must be; back off the bobbin screws 3 to 4 turns. Do not lift the bobbins; "
                "coil leads stay where they are, pole screws stay in.",
                uncovered="Cut the tape where it must be; back off the bobbin screws 3 to 4 turns. Do not lift the "
                "bobbins; coil leads stay where they are, pole screws stay in.",
            ),
            BenchStep(
                key="slide",
                text="Slide out one bar at a time, endwise, with wood, brass or plastic: the outer ones first. They "
                "push one another away from the rows.",
            ),
        ),
        bar_faces="screws",
        bars_together="like poles to each row",
        checks=(
            BenchStep(
                key="three_bars",
                text="Each outer bar shows its row the SAME pole as the middle bar does: held like that across the row "
                "they repel each other. One bar turned leaves that row almost no output.",
            ),
        ),
        new_bar_in="New bars in with no force, the middle one first, each the marked way round to its row. To: {to}.",
        snug="Bobbin screws snug, no more; each bar touches its row; no coil lead is pinched; "
        "meter on the coil while you tighten.",
        fit_words=BESIDE_POLES,
    ),
)  # fmt: skip
