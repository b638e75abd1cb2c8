"""Tension of six strings at 25.5 in and 27 in against a published test table.

Source: unit weights (lb/in) of a string maker's tension chart and the tensions in pounds-force that a public
calculator's test file lists for them (read second-hand). The chart's rule is T = UW (2 L F)^2 / 386.4;
the exact standard gravity is 386.0886 in/s2, so the tension in newtons lies 0.081 % above the chart's pounds.
Tolerance: 0.01 % with the chart's rounded gravity (its pitches are rounded to 0.01 Hz); 0.1 % with the
exact one.
"""

import pytest

from polepiece.constants import INCH
from polepiece.strings import note_frequency, tension
from polepiece.strings.gauges import POUND_PER_INCH
from polepiece.strings.sets import plain, round_wound
from tests.reference.tuned_strings import POUND_FORCE, tuned_set

CHART_GRAVITY = 386.4  # in/s2
TABLE = [  # string, note, lbf at 25.5 in, lbf at 27 in
    (plain(10), "E4", 16.20033474, 18.16231300),
    (plain(13), "B3", 15.36836859, 17.22958970),
    (plain(17), "G3", 16.55468548, 18.55957818),
    (round_wound(26), "D3", 18.38898783, 20.61602788),
    (round_wound(36), "A2", 19.51856637, 21.88240658),
    (round_wound(46), "E2", 17.46930001, 19.58495918),
]
NEWTONS = [72.06, 68.36, 73.64, 81.80, 86.82, 77.71]  # the same in N at 647.7 mm


@pytest.mark.parametrize(("gauge", "note", "at_25_5", "at_27"), TABLE)
def test_tension_in_the_charts_own_units(gauge, note, at_25_5, at_27):
    for inches, expected in ((25.5, at_25_5), (27.0, at_27)):
        weight = gauge.unit_mass / POUND_PER_INCH
        pounds = tension(unit_mass=weight, frequency=note_frequency(note), length=inches) / CHART_GRAVITY
        assert pounds == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(("gauge", "note", "at_25_5", "at_27"), TABLE)
def test_tension_in_newtons_differs_by_the_charts_rounded_gravity(gauge, note, at_25_5, at_27):
    for inches, pounds in ((25.5, at_25_5), (27.0, at_27)):
        newtons = tension(unit_mass=gauge.unit_mass, frequency=note_frequency(note), length=inches * INCH)
        assert newtons == pytest.approx(pounds * POUND_FORCE, rel=1e-3)
        assert newtons == pytest.approx(pounds * POUND_FORCE * CHART_GRAVITY / 386.0886, rel=1e-4)


def test_the_set_in_standard_tuning_has_the_published_tensions():
    found = [string.tension for string in tuned_set("10-46", scale_length=0.6477)]
    assert found == pytest.approx(NEWTONS, rel=1e-3)


def test_a_wire_from_a_textbook():
    # 1000 N on 15 kg per 300 m, wavelength 0.30 m: 141.4 m/s and 471.4 Hz (textbook example, printed to 4
    # digits)
    assert tension(unit_mass=0.05, frequency=471.4, length=0.15) == pytest.approx(1000.0, rel=3e-4)
