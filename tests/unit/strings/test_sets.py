"""Records of strings: what is refused, what follows from mechanics."""

import itertools
import math

import pytest

from polepiece.errors import InputError
from polepiece.strings import (
    STRING_SETS,
    SpeakingString,
    StringGauge,
    core_spread,
    is_wound,
    mass_spread,
    may_be_either,
    note_frequency,
    string_of,
    string_set,
    usual_tuning,
)
from polepiece.strings.gauges import PLAIN, STEEL_DENSITY, WOUND
from polepiece.strings.sets import plain, round_wound
from tests.reference.tuned_strings import core_from_unit_mass, tuned_set


@pytest.mark.parametrize(
    ("name", "frequency"),
    [("E2", 82.4069), ("A2", 110.0), ("D3", 146.8324), ("G3", 195.9977), ("B3", 246.9417), ("E4", 329.6276)],
)
def test_open_strings_have_the_pitch_of_iso_16(name, frequency):
    # ISO 16 (A4 = 440 Hz) with twelve equal steps; printed to 1e-4 Hz
    assert note_frequency(name) == pytest.approx(frequency, abs=0.6e-4)


def test_accidentals_and_octaves():
    assert note_frequency("Bb3") == note_frequency("A#3")
    assert note_frequency("B#3") == pytest.approx(note_frequency("C4"))
    assert note_frequency("E3") == pytest.approx(2.0 * note_frequency("E2"))


@pytest.mark.parametrize("bad", ["", "H2", "E", "2E", "E2x"])
def test_a_word_that_is_no_note_is_refused(bad):
    with pytest.raises(InputError, match="is not a note"):
        note_frequency(bad)


def test_every_plain_string_of_the_sets_weighs_what_solid_steel_weighs():
    # mass of a solid wire, handbook density 7850 kg/m3; string wire is given between 7750 and 7850: 1.3 %
    for chosen in STRING_SETS.values():
        for gauge in chosen.strings:
            solid = STEEL_DENSITY * math.pi / 4.0 * gauge.diameter**2
            if gauge.wound:
                assert gauge.unit_mass < solid
            else:
                assert gauge.unit_mass == pytest.approx(solid, rel=0.013)


def test_sets_get_heavier_from_string_to_string_and_from_set_to_set():
    by_set = [STRING_SETS[name].strings for name in ("9-42", "10-46", "11-49", "12-54")]
    for strings in by_set:
        masses = [one.unit_mass for one in strings]
        assert masses == sorted(masses) and len(masses) == 6
    for lighter, heavier in itertools.pairwise(by_set):
        assert all(a.unit_mass < b.unit_mass for a, b in zip(lighter, heavier, strict=True))


def test_nine_of_ten_cores_that_published_weights_imply_lie_within_the_stated_spread():
    # density 7806: what the chart's own plain strings imply
    inside = []
    for gauge in (24, 26, 28, 32, 36, 38, 42, 46, 49, 54):
        string = round_wound(gauge)
        second = core_from_unit_mass(diameter=string.diameter, unit_mass=string.unit_mass, density=7806.0)
        low, high = core_spread(string.diameter)
        inside.append(low <= second / string.core_diameter <= high)
    assert sum(inside) >= 9, inside


@pytest.mark.parametrize("table", [WOUND, PLAIN])
def test_a_gauge_that_the_chart_leaves_out_weighs_what_its_neighbours_say(table):
    """Leave one gauge out of the chart: the rule finds its weight within the spread that is stated for it."""
    wound = table is WOUND
    for gauge in sorted(table)[1:-1]:
        weighed = string_of(gauge * 2.54e-5, wound=wound).unit_mass
        kept = table.pop(gauge)
        try:
            guessed = string_of(gauge * 2.54e-5, wound=wound).unit_mass
        finally:
            table[gauge] = kept
        assert guessed == pytest.approx(weighed, rel=mass_spread(gauge * 2.54e-5)), gauge


def test_wound_or_plain_follows_the_gauge_and_a_heavier_wrap_weighs_more():
    assert not is_wound(20 * 2.54e-5) and is_wound(22 * 2.54e-5)
    assert may_be_either(20 * 2.54e-5) and not may_be_either(17 * 2.54e-5) and not may_be_either(26 * 2.54e-5)
    steel = string_of(46 * 2.54e-5)
    nickel = string_of(46 * 2.54e-5, wrap="pure-nickel")
    # the wrap has 1 - (18/46)^2 (steel)/0.81 = 0.81 of the weight, nickel is 8900/7850: 11 %
    assert nickel.unit_mass / steel.unit_mass == pytest.approx(1.108, abs=0.01)
    assert string_of(46 * 2.54e-5) == round_wound(46)


@pytest.mark.parametrize(("gauges", "lowest"), [((10, 13, 17, 26, 36, 46), "E2"), ((10, 13, 17, 26, 36, 46, 59), "B1"),
    ((45, 65, 85, 105), "E1"), ((45, 65, 85, 105, 130), "B0"), ((30, 45, 65, 85, 105, 130), "B0")])  # fmt: skip
def test_the_usual_tuning_follows_the_number_of_strings_and_a_bass_is_known_by_its_thinnest(gauges, lowest):
    found = usual_tuning([one * 2.54e-5 for one in gauges])
    assert found is not None and len(found) == len(gauges) and found[-1] == lowest


def test_there_is_no_usual_tuning_of_four_thin_strings():
    assert usual_tuning([one * 2.54e-5 for one in (10, 13, 17, 26)]) is None


def test_a_plain_string_has_no_core_of_a_wound_one():
    gauge = plain(17)
    with pytest.raises(InputError, match="does not fit a steel string wound"):
        core_from_unit_mass(diameter=gauge.diameter, unit_mass=gauge.unit_mass * 1.02)


def test_fretting_keeps_the_tension_and_the_twelfth_fret_halves_the_string():
    string = tuned_set()[5]
    octave = string.fretted(12)
    assert octave.length == pytest.approx(string.length / 2.0)
    assert octave.pitch == pytest.approx(2.0 * string.pitch)
    assert octave.tension == pytest.approx(string.tension)
    assert string.fretted(0) == string
    assert octave.inharmonicity == pytest.approx(4.0 * string.inharmonicity)  # B goes as 1/L^2


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"diameter": 10.0}, "thousandths of an inch"),
        ({"core_diameter": 1e-3}, "core diameter"),
        ({"unit_mass": 2.2e-5}, "lb/in"),
        ({"pitch": 3.0}, "string pitch"),
        ({"length": 648.0}, "mm or inches"),
        ({"young_modulus": 200.0}, "Young's modulus"),
    ],
)
def test_values_in_the_wrong_unit_are_refused_with_the_likely_slip(change, words):
    good = {
        "diameter": 0.254e-3,
        "core_diameter": 0.254e-3,
        "unit_mass": 3.96e-4,
        "pitch": 330.0,
        "length": 0.648,
    }
    SpeakingString(**good)
    with pytest.raises(InputError, match=words):
        SpeakingString(**{**good, **change})


def test_unknown_sets_gauges_and_tunings_are_refused_by_name():
    with pytest.raises(InputError, match="known are 9-42, 10-46"):
        string_set("10")
    with pytest.raises(InputError, match="no plain string of gauge 25"):
        plain(25)
    with pytest.raises(InputError, match="tuning names 1 notes"):
        tuned_set(tuning=("E4",))
    with pytest.raises(InputError, match="fret is 25"):
        tuned_set()[0].fretted(25)


def test_a_gauge_is_wound_when_its_core_is_thinner():
    assert StringGauge(diameter=1e-3, core_diameter=0.4e-3, unit_mass=5e-3).wound
    assert not StringGauge(diameter=0.3e-3, core_diameter=0.3e-3, unit_mass=5e-4).wound
