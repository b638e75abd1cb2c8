"""Records of a guitar made in Python are checked as the file is: the same sentence, one set of defaults."""

from dataclasses import replace

import pytest

from polepiece.errors import GuitarFileError, InputError
from polepiece.guitar import (
    Coil,
    Controls,
    Guitar,
    Magnet,
    Pickup,
    Poles,
    String,
    key_of,
    key_path,
    parameter_of,
    parse_guitar,
    unchecked,
)
from polepiece.guitar.file.layout import COIL_KEYS, CONTROL_KEYS, GUITAR_KEYS
from polepiece.moves import apply, parse_changes

SHORTEST = '[[pickups]]\nname = "p"\nposition = "neck"\nconstruction = "humbucker"\n'


def pickup(**values: object) -> Pickup:
    return Pickup(name="p", position="neck", construction="humbucker", **values)  # type: ignore[arg-type]


def shortest(more: str = "") -> Guitar:
    return parse_guitar(SHORTEST + more)


@pytest.mark.parametrize(
    ("make", "line"),
    [
        (lambda: pickup(gap_bass=26e-3), "gap_bass_mm = 26"),
        (lambda: pickup(resistance=45e3), "resistance_kohm = 45"),
        (lambda: pickup(wiring="serial"), 'wiring = "serial"'),
        (lambda: Magnet(thickness=0.2), "magnet.bar_thickness = 200"),
        (lambda: Magnet(charge=1.2), "magnet.charge = 1.2"),
        (lambda: Coil(turns=50.0), "coil.turns = 50"),
        (lambda: Poles(screw_raise=(0.0, 9e-3)), "screws.screw_raise = [0, 9]"),
        (lambda: Controls(tone_cap=223e-9), "controls.tone_cap_nf = 223"),
    ],
)
def test_python_is_refused_in_the_words_of_the_file(make, line):
    key = line.partition(" = ")[0]
    with pytest.raises(GuitarFileError) as file:
        parse_guitar(f"{line}\n{SHORTEST}" if key.startswith("controls.") else f"{SHORTEST}{line}\n")
    with pytest.raises(InputError) as python:
        make()
    sentence, name = str(python.value).partition(". ")[0].rstrip("."), key.rpartition(".")[2]
    assert sentence.startswith(f"{name} is ")
    assert sentence.partition(" is ")[2] in str(file.value).replace(f"{name}[1]", name).partition(f"{name} is ")[2]


def test_several_faults_of_a_record_are_reported_at_once():
    with pytest.raises(InputError) as said:
        Coil(top=11.0, turns=1e6, wire_awg=30)
    first, second, third = str(said.value).splitlines()
    assert first == "top is 11000 mm; coils lie between -10 and 40 mm. Is that mm where m is meant?"
    assert second.startswith("turns is 1000000; coils lie between 100 and 20000")
    assert third.startswith("wire_awg is 30; coil wires lie between 38 and 46")


def test_one_set_of_defaults_serves_the_file_and_python():
    """What is left out of a file of a humbucker at the neck is what Python's records have where nothing is given."""
    guitar = shortest()
    read, made = guitar.pickups[0], pickup()
    assert (read.magnet, read.poles, read.coils) == (made.magnet, made.poles, made.coils)
    assert replace(read, base_plate=None) == made
    assert guitar.controls == Controls()
    bare = Guitar(pickups=(made,), strings=guitar.strings)
    for line in GUITAR_KEYS:
        assert getattr(guitar, line.field) == getattr(bare, line.field), line.name


def test_a_length_typed_in_inches_at_the_limit_is_taken():
    """20 mm are 0.78740... in, and 0.7874015748031497 in are 4e-18 m more: that is the rounding, and no fault."""
    pickup = shortest("poles.pole_spacing_in = 0.7874015748031497\n").pickups[0]
    assert pickup.poles.pole_spacing == pytest.approx(20e-3, rel=1e-12)  # of a float's 2e-16


def test_an_assumption_may_have_no_reason():
    """A file may say `basis = ""`: the record that is made of it is not refused."""
    said = '[[assumed]]\npath = "pickups[0].coil.turns"\nvalue = "5000"\nbasis = ""\n'
    assert [one.basis for one in shortest(said).assumed if one.path == "pickups[0].coil.turns"] == [""]


def test_a_string_needs_its_diameter_and_a_test_string_may_have_the_rest_left_out():
    assert String(diameter=1e-3, core_diameter=1e-3).unit_mass is None
    with pytest.raises(TypeError, match="diameter"):
        String(core_diameter=1e-3)  # type: ignore[call-arg]


def test_a_state_on_the_way_is_not_checked_and_its_end_is():
    far = unchecked(pickup(), gap_bass=9e-3)
    assert far.gap_bass == 9e-3 and far.gap_treble == pickup().gap_treble
    with pytest.raises(InputError, match=r"gap_bass_mm is 9 mm; gaps lie between 0\.3 and 8 mm"):
        replace(far, wound="reverse")


def test_a_gap_that_no_file_takes_is_refused_even_where_raised_screws_make_up_for_it():
    """Each string would be 7.5 mm from its screw; the gap of the body would be 8.5 mm, which no file says again."""
    guitar = shortest("gap_bass_mm = 7\ngap_treble_mm = 7\n")
    raised = apply(guitar, "p", parse_changes(["screws=up 1 mm"]))
    for start, changes in ((guitar, ["lower=1.5mm", "screws=up 1 mm"]), (raised, ["lower=1.5mm"])):
        with pytest.raises(InputError, match=r"lower=1\.5mm.*: gap_bass_mm is 8\.5 mm; gaps lie between 0\.3 and 8 mm"):
            apply(start, "p", parse_changes(changes))


def test_paths_of_keys_come_from_the_lines():
    guitar = shortest("coil.wire_awg = 42\n")
    places = [f"coil.{one.attr}" for one in COIL_KEYS] + [f"controls.{one.attr}" for one in CONTROL_KEYS if one.field]
    paths = {key_path(0, attr) for attr in places} | {key_of(attr) for attr in places}
    assert {one.path for one in guitar.assumed if ".coil." in one.path or "controls." in one.path} <= paths
    assert key_path(2, "poles.screw_raise") == "pickups[2].screws.screw_raise"
    assert key_of("magnet.length") == "magnet.bar_length" and key_of("scale_length") == "scale_length_mm"
    assert parameter_of("controls.cable_capacitance").unit.word == "pF"
    with pytest.raises(KeyError):
        key_of("gap_bas")
