"""Records of strings: what is refused, what follows from mechanics."""

import itertools
import math

import pytest

from polepiece.errors import InputError
from polepiece.strings import (
    STRING_SETS,
    SpeakingString,
    StringGauge,
    core_from_unit_mass,
    note_frequency,
    plain,
    string_set,
    tuned_set,
)
from polepiece.strings.sets import CORE_SPREAD, STEEL_DENSITY


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


def test_the_two_opinions_on_wound_cores_agree_within_their_stated_spread():
    for chosen in STRING_SETS.values():
        for gauge in chosen.strings:
            if gauge.wound:
                second = core_from_unit_mass(diameter=gauge.diameter, unit_mass=gauge.unit_mass)
                assert gauge.core_diameter == pytest.approx(second, rel=CORE_SPREAD)


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
