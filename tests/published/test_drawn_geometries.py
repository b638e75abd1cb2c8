"""Pickups drawn at random: the draw itself, and a few of them against the finite elements that are kept.

All of them are judged by the study "drawn-geometries" (docs/accuracy.md); here those that take least time.
"""

import json

import numpy as np
import pytest

from polepiece.geometry import Assembly, MagnetBox, SteelRod
from polepiece.guitar import parse_guitar
from polepiece.guitar.constructions import SLUGS
from polepiece.guitar.defaults import pickup_defaults
from verification import drawn, drawn_cases
from verification.finite_elements_drawn import both_sides, is_even

HELD = ("07-rod-single", "08-bar-single")


@pytest.mark.parametrize("name", HELD)
def test_a_drawn_pickup_has_the_field_and_the_inductance_of_its_finite_elements(name: str) -> None:
    """One per cent, and what the finite elements are off themselves: their own step of order, halved."""
    rows = list(drawn.static_rows(name))
    assert [row.quantity.split(",")[0] for row in rows] == ["Bz", "inductance 1-1", "Bz per A in coil 1"]
    assert [f"{row.quantity}: {row.error}" for row in rows if row.verdict != "PASS"] == []
    assert drawn.own_error(name) < 0.01  # else the reference would not tell one per cent


@pytest.mark.parametrize(("name", "frequencies"), [("08-bar-single", 2), ("17-blade-single", 1)])
def test_complex_inductance_of_a_drawn_pickup(name: str, frequencies: int) -> None:
    """|L| within 1 %, Im L within 3 %: asked of every drawn geometry. Without its narrow faces a blade has 7 % more."""
    rows = list(drawn.alternating_rows(name))
    assert [row.quantity for row in rows] == ["|L|", "Im L"] * frequencies
    assert [f"{row.case} {row.quantity}: {row.error}" for row in rows if row.verdict != "PASS"] == []


def test_the_plan_has_every_construction_and_twenty_pickups() -> None:
    assert {construction for construction, _ in drawn_cases.PLAN} == set(SLUGS)
    assert len(drawn_cases.names()) == 20
    assert set(drawn_cases.EDDY) <= set(drawn_cases.names())


@pytest.mark.parametrize("number", [2, 6, 19])
def test_a_draw_is_its_seed_and_lies_within_the_spreads(number: int) -> None:
    """A screw row each way, four rods far apart, two halves: sizes between the ends of their 90 % ranges."""
    construction, count = drawn_cases.PLAN[number]
    text = drawn_cases.text_of(number, seed=5)
    assert text == drawn_cases.text_of(number, seed=5) != drawn_cases.text_of(number, seed=6)
    pickup = parse_guitar(text).pickups[0]
    assert (pickup.construction, pickup.poles.count) == (construction, count)
    spreads = pickup_defaults(construction=construction, position="middle", drawn=False)
    for attr, value in (
        ("coil.bottom", pickup.coils[0].bottom), ("poles.rod_diameter", pickup.poles.rod_diameter),
        ("poles.head_height", pickup.poles.head_height),
    ):  # fmt: skip
        if not attr.startswith(pickup.built.lacks):
            low, high = spreads[attr].low, spreads[attr].high
            assert low is not None and high is not None
            assert low - 0.006 <= 1e3 * value <= high + 0.006  # rounded to 0.01 mm
    if not "poles.screw_raise".startswith(pickup.built.lacks):
        raised = pickup.poles.screw_raise
        assert raised == raised[::-1] and len(set(raised)) > 1


def test_every_kept_case_is_read_over_its_highest_pole() -> None:
    for name in drawn_cases.names():
        one = drawn_cases.drawn(name)
        low, high = drawn_cases.HEIGHT
        assert 1e-3 * low <= one.above <= 1e-3 * high
        assert one.height - drawn_cases.highest(one.case) == pytest.approx(one.above)
        path = drawn_cases.FOLDER / f"{name}.json"
        if path.exists():
            kept = json.loads(path.read_text(encoding="utf-8"))
            assert np.array(kept["points_mm"]) == pytest.approx(one.points, abs=1e-6)  # solved where it is read now


def test_a_quarter_is_taken_of_what_is_its_own_image_alone() -> None:
    bar = {"part": "magnet", "y_min": -0.03, "y_max": 0.03, "z_min": 0.0, "z_max": 0.004}
    under = MagnetBox(x_min=-0.005, x_max=0.005, easy=2, **bar)
    across = MagnetBox(x_min=-0.005, x_max=0.005, easy=0, **bar)
    left = MagnetBox(x_min=-0.012, x_max=-0.005, easy=0, **bar)
    right = MagnetBox(x_min=0.005, x_max=0.012, easy=0, sign=-1.0, **bar)
    off = SteelRod(part="slugs", x=0.009, y=0.005, sections=())
    assert is_even(Assembly(magnets=(under,))) and is_even(Assembly(magnets=(left, right)))
    assert not is_even(Assembly(magnets=(across,)))
    assert not is_even(Assembly(magnets=(left,)))
    assert not is_even(Assembly(magnets=(under,), rods=(off,)))
    points = np.array([[x, 5.0, 2.0] for x in (-2.0, 0.0, 2.0)])
    assert both_sides(points, np.array([1.0, 10.0, 4.0])) == pytest.approx([5.0, 20.0, 5.0])
